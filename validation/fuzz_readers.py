"""Mutated files through every reader: never an exception that is not the user's case, bounded time and memory.

    python validation/fuzz_readers.py [--inputs 1000000] [--seconds SECONDS] [--seed 1]

A million inputs take about half an hour of one quiet core; ``--seconds`` stops it before.

Prints inputs read, the slowest one, the growth of memory, and fails on the first exception with its input kept.
"""

from __future__ import annotations

import argparse
import importlib.util
import random
import resource
import sys
import time
from pathlib import Path
from typing import Any

from leadoff.catalogue import load
from leadoff.evidence.facts import Hints, Source
from leadoff.evidence.sniff import READERS, read_source, reader_of
from leadoff.record.errors import LeadoffError

HERE = Path(__file__).resolve().parent
SLOWEST_S = 2.0
OWN = ("firmware", "pci", "cpuid", "spd", "cmos", "post")


def makers() -> Any:
    """The builders of the tests: one place for both."""
    path = HERE.parent / "tests" / "evidence" / "evidence_files.py"
    spec = importlib.util.spec_from_file_location("evidence_files", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["evidence_files"] = module
    spec.loader.exec_module(module)
    return module


def seeds(made: Any) -> list[tuple[str, bytes]]:
    """A good file of every kind, small ones, so that many can be tried."""
    image = made.firmware(3, kib=64, smbios="new")
    text = (
        "FLAGS-TOGGLE 00240000\nCPUID 00000000 00000002 756E6547 6C65746E 49656E69\n"
        "CPUID 00000001 00000634 00000000 00000000 0080F9FF\nCPUID 00000002 03020101 00000000 00000000 0C040843\n"
        "core 233.3 MHz by the cycle counter\nDX at reset 0543\nDIR0 33 DIR1 21\n"
        + "".join(f"CMOS {k:02X}: {made.clock_ram()[k : k + 16].hex(' ')}\n" for k in range(0, 128, 16))
    )
    pci = made.pci_text(
        {f"00:{n:02x}.0": made.pci_header(0x8086, 0x1237, 0x060000, header=n % 2) for n in range(3)}
    )
    serial = made.serial_data()
    return [
        ("firmware", image[-8192:]),
        ("firmware", image[-32768:]),
        (
            "firmware",
            b"\x55\xaa\x10" + bytes(21) + b"\x1c\x00\x40\x00PCIR" + bytes(60) + b"$PnP\x01\x02" + bytes(8192),
        ),
        ("cpuid", text.encode()),
        ("pci", pci),
        ("spd", serial),
        ("spd", made.serial_data(2)),
        ("cmos", made.clock_ram(64)),
        ("cmos", made.clock_ram(128)),
        ("cmos", made.clock_ram(256)),
        ("post", b"post codes\n01\n03\n05\nC1\nC1\n0D\n"),
        ("spd", "".join(f"{k:08x}: {serial[k : k + 16].hex(' ')}\n" for k in range(0, 256, 16)).encode()),
    ]


def mutated(rng: random.Random, data: bytes) -> bytes:
    """One to eight changes: bytes, cuts, repeats, runs of one value, pieces moved."""
    d = bytearray(data)
    for _ in range(rng.randint(1, 8)):
        if not d:
            return bytes(rng.randbytes(rng.randint(0, 64)))
        at, n = rng.randrange(len(d)), rng.randint(1, 40)
        kind = rng.randrange(7)
        if kind == 0:
            d[at] = rng.randrange(256)
        elif kind == 1:
            d[at] ^= 1 << rng.randrange(8)
        elif kind == 2:
            del d[at : at + n]
        elif kind == 3:
            d[at:at] = d[at : at + n]
        elif kind == 4:
            d[at : at + n] = bytes([rng.choice((0, 255, 0x20, 0x39, 0x41))]) * len(d[at : at + n])
        elif kind == 5:
            d[at : at + n] = rng.randbytes(n)
        else:
            other = rng.randrange(len(d))
            d[at : at + n] = d[other : other + n]
    return bytes(d[: 1 << 17])


def main(argv: list[str] | None = None) -> int:
    """Run; 0 when nothing failed."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--inputs", type=int, default=1_000_000)
    ask.add_argument("--seconds", type=float, default=float("inf"))
    ask.add_argument("--seed", type=int, default=1)
    given = ask.parse_args(argv)
    rng = random.Random(given.seed)
    start_of = seeds(makers())
    # large images cost a hundred times as much as the rest and are drawn less often
    weights = [0.02 if len(d) > 4096 else 1.0 for _, d in start_of]
    assert {k for k, _ in start_of} == set(OWN) <= {r.kind for r in READERS}
    catalogue = load(cache_dir=Path("/tmp") / "leadoff-fuzz")
    began, slowest, slow_kind, read, refused, others = time.monotonic(), 0.0, "", 0, 0, 0
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    done = 0
    while done < given.inputs and time.monotonic() - began < given.seconds:
        kind, data = rng.choices(start_of, weights)[0]
        data = mutated(rng, data)
        forced = kind if rng.random() < 0.7 else ""
        at = time.perf_counter()
        try:
            source = Source.of("file", data)
            chosen = reader_of(source, forced)
            if chosen is None or chosen[0].kind in OWN:
                read_source(source, Hints(kind=forced, catalogue=catalogue))
                read += 1
            else:  # readers of pictures and tables have tests of their own
                others += 1
        except LeadoffError:
            refused += 1
        except Exception:
            kept = Path("fuzz-failure.bin")
            kept.write_bytes(data)
            print(f"input {done} ({kind}, forced {forced!r}) failed; kept as {kept}")
            raise
        took = time.perf_counter() - at
        if took > slowest:
            slowest, slow_kind = took, kind
        done += 1
    grown = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - memory) / 1024
    spent = time.monotonic() - began
    print(
        f"{done} inputs in {spent:.0f} s: {read} read, {refused} refused, {others} taken for a picture or a table; "
        f"no exception; slowest {slowest * 1e3:.1f} ms ({slow_kind}), memory grew by {grown:.0f} MB"
    )
    return 0 if slowest < SLOWEST_S else 1


if __name__ == "__main__":
    raise SystemExit(main())
