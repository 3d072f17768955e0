"""Mutated files through every reader: never an exception that is not the user's case, bounded time and memory.

    python validation/fuzz_readers.py [--inputs 1000000] [--jobs 2] [--seconds SECONDS] [--seed 1]

Inputs are spread over all kinds of file by the weights of ``SHARES``: pictures, workbooks and whole images cost a
hundred times as much as the rest and are drawn less often; the table that is printed says how many of each were read.
Prints the slowest input of each kind and the growth of memory; fails on the first exception, its input kept.
"""

from __future__ import annotations

import argparse
import importlib.util
import random
import resource
import sys
import time
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor, as_completed
from functools import cache
from pathlib import Path
from typing import Any

import msgspec

from leadoff.catalogue import load
from leadoff.evidence.facts import Hints, Source
from leadoff.evidence.sniff import READERS, kinds, read_source, reader_of
from leadoff.record.errors import LeadoffError

HERE = Path(__file__).resolve().parent
SLOWEST_S = 6.0
"""No input of at most ``LARGEST`` bytes may take longer (processor time; judgement: what a person waits for)."""
LARGEST = 1 << 17
SHARES = {"image": 0.02, "sheet": 0.05, "workbook": 0.005, "screen": 0.001}
"""How often a kind of seed is drawn; the others, 1."""
PART = 5000
"""Inputs of one seed; parts are numbered, so a failure is found again by its part alone."""
FORCED = 0.95
"""Share of inputs that are read as what they were made of, whatever the changes did to them."""


def makers(name: str) -> Any:
    """The builders of the tests: one place for both."""
    if name in sys.modules:
        return sys.modules[name]
    path = HERE.parent / "tests" / "evidence" / f"{name}.py"
    spec = importlib.util.spec_from_file_location(name, path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


def seeds() -> list[tuple[str, float, bytes]]:
    """A good file of every kind with its weight, small ones, so that many can be tried."""
    made = makers("evidence_files")
    image = made.firmware(3, kib=64, smbios="new")
    text = (
        "FLAGS-TOGGLE 00240000\nCPUID 00000000 00000002 756E6547 6C65746E 49656E69\n"
        "CPUID 00000001 00000634 00000000 00000000 0080F9FF\nCPUID 00000002 03020101 00000000 00000000 0C040843\n"
        "core 233.3 MHz by the cycle counter\nDX at reset 0543\nDIR0 33 DIR1 21\n"
        + "".join(f"CMOS {k:02X}: {made.clock_ram()[k : k + 16].hex(' ')}\n" for k in range(0, 128, 16))
    )
    listed = b"vendor_id : AuthenticAMD\ncpu family : 5\nmodel : 8\nstepping : 12\ncpu MHz : 400.91\n"
    pci = made.pci_text(
        {f"00:{n:02x}.0": made.pci_header(0x8086, 0x1237, 0x060000, header=n % 2) for n in range(3)}
    )
    serial = made.serial_data()
    option = b"\x55\xaa\x10" + bytes(21) + b"\x1c\x00\x40\x00PCIR" + bytes(60) + b"$PnP\x01\x02" + bytes(8192)
    rows = "".join(f"{k:08x}: {serial[k : k + 16].hex(' ')}\n" for k in range(0, 256, 16)).encode()
    plain = [
        ("cpuid", text.encode()),
        ("cpuid", listed),
        ("pci", pci),
        ("spd", serial),
        ("spd", made.serial_data(2)),
        ("spd", rows),
        ("cmos", made.clock_ram(64)),
        ("cmos", made.clock_ram(128)),
        ("cmos", made.clock_ram(256)),
        ("post", b"post codes\n01\n03\n05\nC1\nC1\n0D\n"),
        ("post", b"[0.012 ms] post code 0x1C\n[0.5 s] post code 0xC1\n[1.1 s] post code 0x0D\n"),
    ]
    heavy = [("firmware", d) for d in (image[-8192:], image[-32768:], option)]
    return [
        *((kind, 1.0, d) for kind, d in plain),
        *((kind, SHARES["image"], d) for kind, d in heavy),
        *sheets(),
        *(("screen", SHARES["screen"], d) for d in pictures()),
    ]


def sheets() -> Iterator[tuple[str, float, bytes]]:
    """A table in two forms, notes, and a workbook."""
    mess = makers("sheets_mess")
    few = mess.mess(2, 8)
    yield "sheet", SHARES["sheet"], mess.separated(few)
    yield (
        "sheet",
        SHARES["sheet"],
        b"3.4.99 bus 40, l2 wb\nw2 23,5 23,6\nw3 38.2s\n\n12.4.99: bus 33, w2 hang\n",
    )
    yield "sheet", SHARES["workbook"], mess.workbook(few)


def pictures() -> Iterator[bytes]:
    """A text screen as a bitmap, which survives changes of its dots, and packed, which mostly does not."""
    import io

    paint = makers("screens_paint")
    image = paint.paint(*paint.start_up(random.Random(3), 40, 12), width=8).image
    for form in ("BMP", "PNG"):
        out = io.BytesIO()
        image.convert("P").save(out, form)
        yield out.getvalue()


def mutated(rng: random.Random, data: bytes) -> bytes:
    """One to eight changes: bytes, cuts, repeats, runs of one value, pieces moved; now and then one very long run."""
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
    if rng.random() < 0.002:
        at = rng.randrange(len(d) + 1)
        piece = bytes(d[at : at + rng.randint(1, 6)]) or b":"
        d[at:at] = piece * (rng.randrange(LARGEST) // len(piece))
    return bytes(d[:LARGEST])


class Counts:
    """What became of the inputs of one seed's kind."""

    def __init__(self) -> None:
        self.read = self.refused = 0
        self.slowest = self.spent = 0.0


@cache
def set_up() -> tuple[list[tuple[str, float, bytes]], dict[str, Hints]]:
    """Seeds, and what the readers are told for each kind: once for each process."""
    start_of = seeds()
    assert {k for k, _, _ in start_of} == {r.kind for r in READERS}
    plain = Hints(
        catalogue=load(cache_dir=Path("/tmp") / "leadoff-fuzz"),
        workloads={"w2": "frames/s", "w3": "s"},
        board="b",
        boards=("b",),
    )
    return start_of, {k: msgspec.structs.replace(plain, kind=k) for k in ("", *kinds())}


def some(seed: int, inputs: int, seconds: float) -> tuple[dict[str, Counts], float]:
    """Try so many inputs; counts by kind, and by how many megabytes memory grew."""
    rng = random.Random(seed)
    start_of, hints = set_up()
    weights = [w for _, w, _ in start_of]
    counts: dict[str, Counts] = {r.kind: Counts() for r in READERS}
    began = time.monotonic()
    memory = 0
    for done in range(inputs):
        if time.monotonic() - began > seconds:
            break
        if done == min(2000, inputs // 10):  # libraries are loaded by then
            memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        kind, _, data = rng.choices(start_of, weights)[0]
        data = mutated(rng, data)
        forced = kind if rng.random() < FORCED else ""
        count = counts[kind]
        at = time.process_time()
        try:
            source = Source.of("file", data)
            if forced or reader_of(source) is not None:
                read_source(source, hints[forced])
                count.read += 1
            else:
                count.refused += 1
        except LeadoffError:
            count.refused += 1
        except Exception:
            kept = Path(f"fuzz-failure-{seed}.bin")
            kept.write_bytes(data)
            print(f"input {done} ({kind}, forced {forced!r}) failed; kept as {kept}", flush=True)
            raise
        took = time.process_time() - at
        count.spent += took
        if took > count.slowest:
            count.slowest = took
            if took > SLOWEST_S:
                Path(f"fuzz-failure-slow-{seed}.bin").write_bytes(data)
    return counts, (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - memory) / 1024


def main(argv: list[str] | None = None) -> int:
    """Run; 0 when nothing failed."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--inputs", type=int, default=1_000_000)
    ask.add_argument("--jobs", type=int, default=1, help="processes that share the inputs")
    ask.add_argument("--seconds", type=float, default=float("inf"))
    ask.add_argument("--seed", type=int, default=1)
    given = ask.parse_args(argv)
    began = time.monotonic()
    parts = range(0, given.inputs, PART)
    total: dict[str, Counts] = {r.kind: Counts() for r in READERS}
    grown = 0.0
    with ProcessPoolExecutor(given.jobs) as pool:
        waiting = [
            pool.submit(some, given.seed * 1000 + n, min(PART, given.inputs - at), given.seconds)
            for n, at in enumerate(parts)
        ]
        for n, part in enumerate(as_completed(waiting), 1):
            counts, more = part.result()
            grown = max(grown, more)
            for kind, count in counts.items():
                into = total[kind]
                into.read += count.read
                into.refused += count.refused
                into.spent += count.spent
                into.slowest = max(into.slowest, count.slowest)
            if n % 10 == 0:
                done = sum(c.read + c.refused for c in total.values())
                slowest = max(c.slowest for c in total.values())
                print(f"{done} so far, {time.monotonic() - began:.0f} s, slowest {slowest:.2f} s", flush=True)
    for kind, c in total.items():
        done = c.read + c.refused
        mean = 1e3 * c.spent / max(done, 1)
        print(
            f"{kind:9} {done:8} inputs: {c.read:8} read, {c.refused:7} refused; "
            f"{mean:7.2f} ms each, slowest {c.slowest * 1e3:.0f} ms"
        )
    done = sum(c.read + c.refused for c in total.values())
    slowest = max(c.slowest for c in total.values())
    print(
        f"{done} inputs in {time.monotonic() - began:.0f} s: no exception but the user's case, "
        f"slowest {slowest:.2f} s, memory grew by {grown:.0f} MB at most in one process"
    )
    return 0 if slowest < SLOWEST_S else 1


if __name__ == "__main__":
    raise SystemExit(main())
