"""The short form of validation/fuzz_readers.py: whatever is read ends in facts or in the user's case, in time."""

from __future__ import annotations

import contextlib
import time

import pytest
from evidence_files import clock_ram, firmware, pci_header, pci_text, serial_data
from hypothesis import given, settings
from hypothesis import strategies as st

from leadoff.evidence.facts import Hints, Source
from leadoff.evidence.sniff import read_source
from leadoff.record.errors import LeadoffError

SEEDS: dict[str, bytes] = {
    "firmware": firmware(3)[-8192:],
    "cmos": clock_ram(128),
    "spd": serial_data(),
    "pci": pci_text({f"00:{n:02x}.0": pci_header(0x8086, 0x1237, 0x060000, header=n) for n in range(2)}),
    "cpuid": b"CPUID 00000000 00000002 756E6547 6C65746E 49656E69\n"
    b"CPUID 00000002 03020101 00000000 00000000 0C040843\n"
    b"DX at reset 0543\ncore 100.2 MHz timer\nCMOS 00: 27 00 13 00 08 00 04 25 11 26 26 02 00 80 00 00\n",
    "post": b"post codes\n01\n03\n05\nC1\n",
}
CHANGE = st.tuples(st.integers(0, 8191), st.binary(max_size=6), st.integers(0, 6))
SLOWEST_S = 2.0


@pytest.mark.parametrize("kind", sorted(SEEDS))
@settings(max_examples=150, deadline=None)
@given(st.lists(CHANGE, max_size=6), st.booleans())
def test_changed_files(kind: str, changes: list[tuple[int, bytes, int]], forced: bool) -> None:
    data = bytearray(SEEDS[kind])
    for at, put, removed in changes:
        data[at : at + removed] = put
    began = time.perf_counter()
    read, said = None, set[str]()
    try:
        read = read_source(Source.of("file", bytes(data)), Hints(kind=kind if forced else ""))
    except LeadoffError as refused:
        said = {p.do for p in refused.problems}
    if read is None:
        assert said
        assert all(said)
    else:
        assert len(read.lines) <= 8
        assert all(f.digest == read.digest for f in read.facts)
    assert time.perf_counter() - began < SLOWEST_S


@pytest.mark.parametrize("kind", sorted(SEEDS))
@settings(max_examples=100, deadline=None)
@given(st.binary(min_size=1, max_size=300))
def test_anything_read_as_what_it_is_not(kind: str, data: bytes) -> None:
    assert read_source(Source.of("file", data), Hints(kind=kind)).kind == kind


PIECES = (
    ":", "\n", " \n", "00: 00 00\n", "CPUID ", "a: b ", "1.", '"', "note of nothing\n"
)  # fmt: skip


@pytest.mark.parametrize("piece", PIECES)
def test_lines_without_an_end_and_ends_without_lines(piece: str) -> None:
    """Twice the length may take about twice the time: no pattern looks back over all of a line again and again."""
    took = []
    for size in (20_000, 80_000):
        source = Source.of("file", (piece * (size // len(piece))).encode())
        began = time.process_time()
        for kind in ("", "pci", "cpuid", "post", "sheet"):
            with contextlib.suppress(LeadoffError):
                assert read_source(source, Hints(kind=kind, workloads={"w2": "frames/s"})).digest
        took.append(time.process_time() - began)
    assert took[1] < 10 * took[0] + 0.3
    assert took[1] < 5.0


def test_what_was_not_read_is_said() -> None:
    leaf = "CPUID 00000001 00000480 00000000 00000000 00000009\n"
    read = read_source(Source.of("file", (leaf + "x" * 5000).encode()), Hints())
    assert any("the rest of them was not read" in w for w in read.warnings)
    prose = "".join(f"{n} words that say nothing of a bench\n" for n in range(2000))
    read = read_source(Source.of("file", prose.encode()), Hints(workloads={"w2": "frames/s"}))
    assert "no result in the first 300 lines" in read.warnings[-1]
    assert len(read.quarantined) == 300
