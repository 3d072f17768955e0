"""Makes a profile from a trace: the whole grid of geometries, over several drawings of the pages."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from itertools import count
from threading import Lock
from typing import Any

import numpy as np
from numpy.typing import NDArray

from leadoff.memory.geometry import Cache
from leadoff.memory.grid import Stream
from leadoff.memory.kernels.level import STORE_OPS
from leadoff.memory.levels import CHUNK, Level, Memory, placed
from leadoff.memory.placement import Placement, PlacementKind
from leadoff.memory.profile import Profile
from leadoff.memory.profile_grid import INNER_QUANTITIES, OUTER_QUANTITIES, drams, inners, outers
from leadoff.memory.rows import rows
from leadoff.memory.simulate import processors
from leadoff.memory.traces import CODE, Trace
from leadoff.record.errors import LeadoffError

F64 = NDArray[np.float64]
FLOOR = 0.02
"""Events per thousand references below which a count says nothing: rates are kept at least that large."""

SMALL_SHARE = 0.01
"""Rates below this share of what was asked cost no time that shows, and their logs would drown the spread."""

SHORTEST = 20000
REACH = 63
"""Bytes that a reference may reach beyond its address: its last line may lie in another page."""

Progress = Callable[[int, int | None], None]


def make_profile(
    trace: Trace,
    name: str,
    *,
    text: str = "",
    instructions: int | None = None,
    placements: int | None = None,
    made: str | None = None,
    progress: Progress | None = None,
    threads: int | None = None,
) -> Profile:
    """A profile of the data references of ``trace`` (``leadoff profile TRACE``).

    The first unit of work warms the caches and is not counted; without marks the first quarter does.
    ``instructions``: executed in the counted units; taken from the trace where it has fetches, else not known.
    ``placements``: drawings of random pages besides the pages of the trace. ``threads``: as many as there are
    processors for this process where ``None``; the profile is the same. Raises LeadoffError for a trace too short to
    say anything of a large cache.
    """
    if len(trace) < SHORTEST:
        raise LeadoffError.one(
            "trace_short",
            f"{trace.name} has {len(trace)} references: below {SHORTEST} a profile shows the cold start only",
            where=trace.name,
            do="trace several units of work",
        )
    begin = trace.marks[1] if len(trace.marks) > 1 else len(trace) // 4
    is_code = (trace.info & 3) == CODE
    if instructions is None and is_code.any():
        instructions = int(is_code[begin:].sum())
    data = ~is_code
    warm = int(data[:begin].sum())
    addr, info = trace.addr[data], trace.info[data]
    draws = _placements(placements)
    shape = (len(draws), len(inners()))
    inner_all = np.empty((*shape, len(INNER_QUANTITIES)))
    outer_all = np.empty((*shape, len(outers()), len(OUTER_QUANTITIES)))
    done, one_at_a_time = count(1), Lock()

    def behind(i: int) -> None:
        row = inners()[i]
        cache = row.cache()
        streams = _through(cache, addr, info, warm)
        for p, placement in enumerate(draws):
            if cache is not None and cache.way_bytes > 4096 and placement.kind is not PlacementKind.IDENTITY:
                moved_addr = placed(addr, placement.table(trace.top + REACH))
                cold, hot, inner = _through(cache, moved_addr, info, warm)
            else:
                cold, hot, inner = streams
                cold, hot = _moved(cold, placement, trace.top), _moved(hot, placement, trace.top)
            per = 1000.0 / max(1, addr.size - warm)
            inner_all[p, i] = inner * per
            for o, (size, ways) in enumerate(outers()):
                outer_all[p, i, o] = _behind(cold, hot, size, ways, row.line_bytes, per)
            if progress is not None:
                with one_at_a_time:
                    progress(next(done), len(inners()) * len(draws))

    # First levels know nothing of each other, and the compiled loops let other threads run.
    with ThreadPoolExecutor(threads or processors()) as pool:
        try:
            for ready in [pool.submit(behind, i) for i in range(len(inners()))]:
                ready.result()
        except BaseException:
            pool.shutdown(cancel_futures=True)
            raise
    inner_mean, inner_sd = _spread(inner_all, np.full(inner_all.shape[1:], FLOOR))
    floors = _floors(inner_all)
    outer_mean, outer_sd = _spread(outer_all[1:] if len(draws) > 1 else outer_all, floors)
    units = max(1, len(trace.marks) - 1)
    return Profile(
        name=name,
        text=text,
        made=made or datetime.date.today().isoformat(),
        references=addr.size - warm,
        units=units,
        instructions=instructions,
        form=trace.form,
        inner=inner_mean,
        inner_log_sd=inner_sd,
        contiguous=np.maximum(outer_all[0], floors).astype(np.float32),
        outer=outer_mean,
        outer_log_sd=outer_sd,
    )


def _placements(random: int | None) -> list[Placement]:
    row = rows("grid")["placements"]
    count = int(row["random"]) if random is None else random
    drawn = [
        Placement(kind=PlacementKind.RANDOM, seed=s + 1, ram_kb=int(row["ram_kb"])) for s in range(count)
    ]
    return [Placement(), *drawn]


def _through(cache: Cache | None, addr: Any, info: Any, warm: int) -> tuple[Stream, Stream, F64]:
    """The stream behind a first level, warming and counted apart, and the counted quantities."""
    level = Level(cache) if cache is not None else None
    parts: list[Stream] = []
    for begin, end in ((0, warm), (warm, addr.size)):
        if level is not None:
            level.forget_counts()
        out_a, out_i = [np.empty(0, np.uint32)], [np.empty(0, np.uint8)]
        for start in range(begin, end, CHUNK):
            stop = min(end, start + CHUNK)
            a, f = addr[start:stop], info[start:stop]
            if level is not None:
                a, f, _ = level.run(a, f)
            out_a.append(a.copy())
            out_i.append(f.copy())
        parts.append(Stream(addr=np.concatenate(out_a), info=np.concatenate(out_i), references=end - begin))
    if level is None:
        stores = float(((parts[1].info & 3) == STORE_OPS[0]).sum())
        return parts[0], parts[1], np.array([parts[1].addr.size - stores, stores, 0.0])
    c = level.counts()
    return parts[0], parts[1], np.array([c.fills, c.stores_out, c.victims_out], dtype=float)


def _moved(stream: Stream, placement: Placement, top: int) -> Stream:
    if placement.kind is PlacementKind.IDENTITY or not stream.addr.size:
        return stream
    table = placement.table(top + REACH)
    return Stream(addr=placed(stream.addr, table), info=stream.info, references=stream.references)


def _behind(cold: Stream, hot: Stream, size: int, ways: int, line: int, per: float) -> list[float]:
    """Quantities behind a second level (none for size 0), in the order of OUTER_QUANTITIES."""
    level = Level(Cache(size_kb=size, ways=ways, line_bytes=line)) if size else None
    memories = [Memory(d) for d in drams()]
    for stream in (cold, hot):
        for memory in memories:
            memory.forget_counts()
        if level is not None:
            level.forget_counts()
        for start in range(0, stream.addr.size, CHUNK):
            a, f = stream.addr[start : start + CHUNK], stream.info[start : start + CHUNK]
            if level is not None:
                a, f, _ = level.run(a, f)
            for memory in memories:
                memory.run(a, f)
    cases = [m.counts() for m in memories]
    shares = []
    for c in cases:
        total = max(1, c.fills.total)
        shares += [c.fills.row_miss / total, c.fills.page_miss / total]
    if level is not None:
        n = level.counts()
        head = [n.fills, n.stores_out, n.victims_passed, n.victims_out]
    else:
        head = [cases[0].fills.total, cases[0].stores.total, cases[0].victims.total, 0]
    return [h * per for h in head] + shares


def _floors(inner: F64) -> F64:
    """Least rate told apart from none, for each quantity behind each first level: a hundredth of what was asked."""
    fills = SMALL_SHARE * inner[:, :, 0].mean(axis=0)
    stores = SMALL_SHARE * inner[:, :, 1].mean(axis=0)
    by_quantity = [stores if n == "stores_memory" else fills for n in OUTER_QUANTITIES]
    by_quantity = [
        np.full_like(fills, SMALL_SHARE) if n.startswith(("row_miss", "page_miss")) else f
        for n, f in zip(OUTER_QUANTITIES, by_quantity, strict=True)
    ]
    held: F64 = np.maximum(np.stack(by_quantity, axis=-1), FLOOR)
    return held[:, None, :]


def _spread(values: F64, floor: F64) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Mean over the placements (traffic adds up), and the standard deviation of logs."""
    held = np.maximum(values, floor)
    return held.mean(axis=0).astype(np.float32), np.log(held).std(axis=0).astype(np.float32)
