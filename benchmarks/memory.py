"""Cache simulation side by side: ``python benchmarks/memory.py [--threads N] [--long]``. Figures of one run belong
together.

Needs the registry's simulator (pycachesim), a C compiler and valgrind; the traced program is the kit's packing
workload. Figures of one thread are processor seconds of that thread (other work on the machine adds less to them than
to the clock on the wall), those of several threads are by the clock on the wall for both sides, so that they count on
a quiet machine only; each is the least of several rounds taken in turn. ``--threads``: as many as there are
processors for this process unless given. ``--long`` instead runs 10^9 references made on the fly, for memory use.
``--host`` instead sweeps the host's own caches (guests and shared caches differ: a figure to look at, never a test).
"""

from __future__ import annotations

import argparse
import importlib
import importlib.util
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
from numba import njit

from leadoff.memory.geometry import Cache, Hierarchy
from leadoff.memory.grid import all_geometries, filtered, one_by_one
from leadoff.memory.simulate import Simulator, processors, simulate
from leadoff.memory.sweep import Point, Sweep, SweepKind, read_sweep
from leadoff.memory.trace_text import read_lines
from leadoff.memory.traces import Trace, from_hooks

ROOT = Path(__file__).resolve().parent.parent
SIZES_KB, WAYS = (64, 128, 256, 512, 1024), (1, 2, 4, 8)
ROUNDS = 5


def best(
    work: Callable[[], Any], rounds: int = ROUNDS, clock: Callable[[], float] = time.thread_time
) -> float:
    """Seconds of the fastest of several rounds; a shared machine only ever adds."""
    times = []
    for _ in range(rounds):
        start = clock()
        work()
        times.append(clock() - start)
    return min(times)


def children() -> float:
    """Processor seconds of the programs that were run and have ended."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def kit() -> Any:
    spec = importlib.util.spec_from_file_location("kit_build", ROOT / "workloads" / "build.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def shape(order: str) -> Hierarchy:
    made: dict[str, Any] = {"allocate": True, "replacement": order, "fetch_victims": True}
    return Hierarchy(l1=Cache(size_kb=16, ways=4, **made), l2=Cache(size_kb=256, **made))


def feed(trace: Trace, hierarchy: Hierarchy, threads: int = 1) -> None:
    Simulator(hierarchy, threads=threads).feed(trace.addr, trace.info)


def registry(
    trace: Trace, clock: Callable[[], float] = time.thread_time
) -> tuple[float, float, dict[str, int]]:
    """Seconds for building the registry simulator's input, for its batch call, and its counts."""
    cachesim: Any = importlib.import_module("cachesim")
    memory = cachesim.MainMemory()
    outer = cachesim.Cache("L2", 16384, 1, 16, "LRU")
    memory.load_to(outer)
    memory.store_from(outer)
    inner = cachesim.Cache("L1", 256, 4, 16, "LRU", store_to=outer, load_from=outer)
    machine = cachesim.CacheSimulator(inner, memory)
    start = clock()
    pairs = zip(trace.addr.tolist(), (trace.info & 3).tolist(), strict=True)
    batch = [(None, (a,)) if k else ((a,), None) for a, k in pairs]
    built = clock()
    machine.loadstore(batch, length=1)
    done = clock()
    return built - start, done - built, {"l1": inner.stats()["MISS_count"], "l2": outer.stats()["MISS_count"]}


@njit(nogil=True)
def read_through(addr: Any, info: Any) -> int:
    """Reads every reference and does nothing with it: no simulator can be faster."""
    total = np.uint32(0)
    for i in range(addr.size):
        total += np.uint32(addr[i] + info[i])
    return int(total)


def against_registry(trace: Trace, label: str, threads: int) -> None:
    """Speed at plain last use; counts at the registry's rule (a store does not renew), which must be equal."""
    n = len(trace)
    one = Trace(name="one", form="x", addr=trace.addr, info=(trace.info & 3).astype(np.uint8))
    order, plain = shape("lru-reads"), shape("lru")
    counts = simulate(one, order).levels
    ours = {"l1": counts[0].misses, "l2": counts[1].misses + counts[1].victim_misses}
    floor = best(lambda: read_through(trace.addr, trace.info), 10)
    same = simulate(one, plain, threads=threads) == simulate(one, plain, threads=1)
    for many, clock, unit in ((1, time.thread_time, "processor"), (threads, time.perf_counter, "wall clock")):
        if many == 1 and unit != "processor":
            continue
        feed(one, plain, many)
        rounds = []
        for _ in range(3):
            build, kernel, theirs = registry(one, clock)
            rounds.append((build, kernel, best(partial(feed, one, plain, many), 10, clock)))
        build, kernel, mine = (1e9 / n * min(r[i] for r in rounds) for i in range(3))
        if many == 1:
            print(
                f"{label}: {n} references, counts equal: {ours == theirs}, on {threads} threads too: {same}"
            )
        print(f"  registry batch   {kernel:7.1f} ns/reference, building its input {build:.0f} ({unit})")
        print(f"  ours, {many} thread{'s' if many > 1 else ' '}  {mine:7.2f} ns/reference ({unit})")
        print(f"  ratio kernel     {kernel / mine:7.1f}   with its input {(kernel + build) / mine:.0f}")
        if many == 1:
            read = 1e9 * floor / n
            print(
                f"  reading the trace {read:6.2f} ns/reference: we are at {mine / read:.1f} times this floor"
            )


def against_cachegrind(program: Path, trace: Trace) -> None:
    def grind(*more: str) -> None:
        command = ["valgrind", *more, str(program), "2"]
        subprocess.run(command, check=True, capture_output=True)

    shape_16 = ["--D1=16384,4,32", "--I1=16384,4,32", "--LL=262144,1,32"]
    whole = best(
        lambda: grind("--tool=cachegrind", "--cache-sim=yes", "--cachegrind-out-file=/dev/null", *shape_16),
        3,
        children,
    )
    bare = best(lambda: grind("--tool=none"), 3, children)
    h = Hierarchy(
        l1=Cache(size_kb=16, ways=4, line_bytes=32, allocate=True),
        l2=Cache(size_kb=256, line_bytes=32, allocate=True),
    )
    feed(trace, h)
    mine = best(lambda: feed(trace, h))
    n = len(trace)
    print(f"whole process: cachegrind {whole:.2f} s (valgrind alone {bare:.2f} s), instructions and data")
    over = 1e9 * (whole - bare) / n
    print(
        f"  {1e9 * whole / n:.1f} ns/data reference all in, {over:.1f} over bare; ours {1e9 * mine / n:.2f}"
    )


def one_pass(trace: Trace) -> None:
    inner = Cache(size_kb=16, ways=4, allocate=True)
    stream = filtered(trace, inner)
    all_geometries(stream, SIZES_KB, WAYS)
    one_by_one(stream, SIZES_KB, WAYS)

    def twenty() -> None:
        for size in SIZES_KB:
            for ways in WAYS:
                feed(trace, Hierarchy(l1=inner, l2=Cache(size_kb=size, ways=ways, allocate=True)))

    full = best(twenty, 2)
    together = best(lambda: all_geometries(filtered(trace, inner), SIZES_KB, WAYS), 3)
    passes = best(lambda: one_by_one(stream, SIZES_KB, WAYS), 2)
    single = best(lambda: all_geometries(stream, SIZES_KB, WAYS), 3)
    same = all_geometries(stream, SIZES_KB, WAYS) == one_by_one(stream, SIZES_KB, WAYS)
    print(
        f"20 geometries, counts equal: {same}; the stream is {stream.addr.size / len(trace):.3f} of the trace"
    )
    print(f"  20 full passes {full:.3f} s; filter and one pass {together:.3f} s: {full / together:.1f} x")
    print(f"  on the stream: 20 passes {passes:.3f} s, one pass {single:.3f} s")


def long_trace() -> None:
    """10^9 references made on the fly: peak memory at the start, after a tenth, at the end."""
    peaks: list[float] = []

    def peak() -> None:
        peaks.append(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)

    def made() -> Iterator[tuple[Any, Any]]:
        n = 1 << 20
        base = np.arange(n, dtype=np.uint32)
        info = np.where(base % 5 == 0, 13, 12).astype(np.uint8)
        for k in range(1_000_000_000 // n + 1):
            if k == 100_000_000 // n:
                peak()
            yield (base * np.uint32(4 + 4 * (k % 7))) % np.uint32(1 << 22), info

    simulate([next(made())] * 2, shape("lru"))
    peak()
    start, wall = time.process_time(), time.perf_counter()
    counts = simulate(made(), shape("lru"))
    spent, wall = time.process_time() - start, time.perf_counter() - wall
    peak()
    each = 1e9 * spent / counts.references
    print(
        f"{counts.references} references on {processors()} threads at most, {spent:.1f} s of processor time "
        f"({each:.1f} ns each, making them included), {wall:.1f} s by the clock"
    )
    first, tenth, last = peaks
    print(
        f"  peak memory {first:.0f} MB after two million, {tenth:.0f} MB after a tenth, {last:.0f} MB at the end"
    )


def host_sweep() -> None:
    """Reads blocks of this machine's memory; what its guests do is in it."""

    @njit(nogil=True)
    def walk(block: Any, rounds: int) -> int:
        total = 0
        for _ in range(rounds):
            for i in range(0, block.size, 8):
                total += block[i]
        return total

    points = []
    for kb in (4, 8, 16, 32, 64, 128, 256, 512, 1024, 2048, 4096, 8192, 16384, 65536):
        block = np.ones(kb * 128, dtype=np.int64)
        rounds = max(1, 65536 // kb)
        walk(block, 1)
        spent = best(partial(walk, block, rounds), 3)
        points.append(Point(size_kb=kb, us_per_kb=1e6 * spent / rounds / kb))
    reading = read_sweep(Sweep(kind=SweepKind.READ, points=tuple(points)), line_bytes=64)
    for level in reading.levels:
        print(f"  host level {level.size_kb.value:g} KB, {level.ns_per_line.value:.2f} ns/line of 64 bytes")


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--threads", type=int, default=processors())
    parser.add_argument("--long", action="store_true")
    parser.add_argument("--host", action="store_true")
    given = parser.parse_args()
    print(f"load {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors")
    if given.host:
        host_sweep()
    if given.long:
        long_trace()
    if given.host or given.long:
        return 0
    build = kit()
    with tempfile.TemporaryDirectory() as folder:
        raw, plain = build.trace(Path(folder), "packing", 3)
        against_registry(
            from_hooks(raw), "packing by access hooks (register spills not in it)", given.threads
        )
        command = ["valgrind", "--tool=lackey", "--trace-mem=yes", str(plain), "2"]
        with subprocess.Popen(command, stderr=subprocess.PIPE, stdout=subprocess.DEVNULL) as child:
            assert child.stderr is not None
            everything = read_lines(child.stderr, name="packing", code=False)
        against_registry(everything, "packing by lackey (every data access)", given.threads)
        against_cachegrind(plain, everything)
        render = from_hooks(build.trace(Path(folder), "render", 3)[0])
        against_registry(render.unit(0, 2), "renderer by access hooks", given.threads)
        one_pass(render)
    print(f"load {os.getloadavg()[0]:.1f}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
