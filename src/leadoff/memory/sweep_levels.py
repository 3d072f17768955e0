"""From a sweep to levels: sizes, times per line, bus clocks, the fill between its bounds, the patterns that fit."""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec

from leadoff.memory.geometry import power_of_two
from leadoff.memory.knees import Cut, find_levels
from leadoff.memory.rows import rows
from leadoff.memory.sweep_values import Point, Sweep, SweepKind, SweepLevel, SweepReading
from leadoff.record.errors import LeadoffError
from leadoff.record.quantity import Quantity, Source, undefined, unknown

BAND = 1.645
"""Standard errors of a 90 % band."""


def read_sweep(
    sweep: Sweep,
    *,
    bus_mhz: float | None = None,
    line_bytes: int = 16,
    beats: int = 4,
    patterns: Sequence[str] | None = None,
) -> SweepReading:
    """The levels of ``sweep``. Clocks per line need ``bus_mhz``; ``patterns`` are those the board can express.

    A read sweep bounds a fill from both sides: raw time per line is the most that it can take, raw minus the
    first level's raw the least, since the loop's own time is in both and can at most hide wholly behind the fill.
    A copy moves stores as well and a write perhaps nothing else, so a copy bounds a fill from above only
    and a write does not bound it. Raises LeadoffError for fewer than two sizes, and for a line or a bus clock that
    cannot be.
    """
    points, notes = _usable(sweep)
    _check(points, bus_mhz, line_bytes)
    cut = find_levels([p.size_kb for p in points], [p.us_per_kb for p in points], [p.repeats for p in points])
    means = [_mean(points[a : b + 1]) for a, b in cut.plateaus]
    first_is_inside = _size(points, cut, 0, means)[0] <= rows("sweep")["first_level"]["largest_kb"]
    if not first_is_inside or len(means) == 1:
        notes.append("no level inside the processor shows, so the loop's own time cannot be taken off")
    base = means[0] if first_is_inside and len(means) > 1 else None
    levels = []
    for k, (a, b) in enumerate(cut.plateaus):
        band = BAND * cut.noise / math.sqrt(sum(p.repeats for p in points[a : b + 1]))
        own = k == 0 and base is not None
        levels.append(
            _level(points, cut, k, means, band, sweep.kind, base, own, bus_mhz, line_bytes, beats, patterns)
        )
    for here, there in zip(cut.plateaus, cut.plateaus[1:], strict=False):
        gap = points[there[0]].size_kb / points[here[1]].size_kb
        if gap > 2.01 and there[0] - here[1] == 1:
            low, high = points[here[1]].size_kb, points[there[0]].size_kb
            notes.append(
                f"no sizes between {low:g} and {high:g} KB: the level may reach to any size below {high:g}"
            )
    reading = SweepReading(
        kind=sweep.kind,
        levels=tuple(levels),
        line_bytes=line_bytes,
        bus_mhz=bus_mhz,
        largest_kb=points[-1].size_kb,
        smallest_kb=points[0].size_kb,
        sure=cut.sure,
        noise_pct=100 * cut.noise,
        sizes=len(points),
        notes=tuple(notes),
    )
    if not reading.too_few:
        return reading
    few = f"which levels there are {reading.too_few}: a step can hide between any two of them"
    return msgspec.structs.replace(reading, notes=(few, *notes))


def _level(
    points: Sequence[Point],
    cut: Cut,
    k: int,
    means: Sequence[float],
    band: float,
    kind: SweepKind,
    base: float | None,
    own: bool,
    bus_mhz: float | None,
    line_bytes: int,
    beats: int,
    patterns: Sequence[str] | None,
) -> SweepLevel:
    us = means[k]
    per_line = 1000.0 * line_bytes / 1024.0
    a, b = cut.plateaus[k]
    size, high = _size(points, cut, k, means)
    raw = _scaled(us * per_line, band, "ns")
    clocks = unknown("bus clocks", "the bus clock is not known")
    fill = clocks
    fits: tuple[str, ...] = ()
    if bus_mhz is not None:
        factor = per_line * bus_mhz / 1000.0
        clocks = _scaled(us * factor, band, "bus clocks")
        fill = _fill(us, base, band, factor, kind, own, beats)
        fits = _fitting(fill, beats, patterns) if fill.value is not None else ()
    return SweepLevel(
        size_kb=Quantity(
            value=size,
            unit="KB",
            source=Source.MEASURED,
            lo=points[b].size_kb,
            hi=high,
            level=cut.size_sure[k],
        ),
        us_per_kb=_scaled(us, band, "us/KB"),
        mb_per_s=_scaled(1024.0 / us, band, "MB/s"),
        ns_per_line=raw,
        bus_clocks_per_line=clocks,
        fill_bus_clocks=fill,
        patterns=fits,
        points=b - a + 1,
        sure=cut.size_sure[k],
    )


def _fill(
    us: float, base: float | None, band: float, factor: float, kind: SweepKind, own: bool, beats: int
) -> Quantity:
    if own:
        return undefined("bus clocks", "nothing is filled inside the first level")
    if kind is SweepKind.WRITE:
        return undefined("bus clocks", "a write sweep times stores and lines written back, not fills alone")
    most = us * factor
    fastest = float(beats + 1)
    least = fastest
    why = "between the fastest fill there is and the raw time"
    if kind is SweepKind.READ and base is not None:
        least = max((us - base) * factor, min(fastest, most))
        why = "between raw minus the first level's raw and raw"
    elif kind is SweepKind.COPY:
        why = "the raw time of a copy holds stores as well: an upper bound only"
    least = min(least, most)
    return Quantity(
        value=(least + most) / 2,
        unit="bus clocks",
        source=Source.MEASURED,
        lo=least * math.exp(-band),
        hi=most * math.exp(band),
        why=why,
    )


def _fitting(fill: Quantity, beats: int, given: Sequence[str] | None) -> tuple[str, ...]:
    assert fill.lo is not None
    assert fill.hi is not None
    row = rows("sweep")["patterns"]
    (first, last), (quick, slow) = row["leads"], row["rests"]
    tried = given
    if tried is None:
        pairs = [(n, r) for r in range(quick, slow + 1) for n in range(max(first, r), last + 1)]
        tried = ["-".join(map(str, (n, *[r] * (beats - 1)))) for n, r in pairs]
    fits = [p for p in tried if fill.lo <= _sum(p) <= fill.hi]
    return tuple(sorted(fits, key=lambda p: (_sum(p), p)))


def _sum(pattern: str) -> int:
    return sum(int(x) for x in pattern.split("-"))


def _size(points: Sequence[Point], cut: Cut, k: int, means: Sequence[float]) -> tuple[float, float]:
    """The level's size and the first size tried that it does not hold: the power of two between the two."""
    last = points[cut.plateaus[k][1]].size_kb
    if k + 1 == len(cut.plateaus):
        return last, last
    after = cut.plateaus[k][1] + 1
    beyond = points[after].size_kb
    in_slope = after < cut.plateaus[k + 1][0]
    share = math.log(points[after].us_per_kb / means[k]) / math.log(means[k + 1] / means[k])
    # Exactly as large as the cache, a block shares it with the loop and its stack: a little up the slope.
    if in_slope and share < rows("sweep")["levels"]["at_size_share"] and power_of_two(round(beyond)) == 1:
        last = beyond
        beyond = points[after + 1].size_kb
    powers = [2.0**e for e in range(-1, 15) if last <= 2.0**e < beyond]
    return (powers[0] if len(powers) == 1 else last), beyond


def _usable(sweep: Sweep) -> tuple[list[Point], list[str]]:
    """Points one for each size, and without a start where short blocks pay for the loop itself."""
    points = list(sweep.points)
    notes: list[str] = []
    while len(points) > 4 and points[0].size_kb <= 2:
        later = sorted(p.us_per_kb for p in points[1:4])[1]
        if points[0].us_per_kb < 1.15 * later:
            break
        notes.append(
            f"{points[0].size_kb:g} KB left out: slower than the next sizes, the loop's start is in it"
        )
        points.pop(0)
    return points, notes


def _check(points: Sequence[Point], bus_mhz: float | None, line_bytes: int) -> None:
    if len(points) < 2:
        raise LeadoffError.one(
            "sweep_short",
            f"{len(points)} block size: a level shows only by the step to the next one",
            where="sweep",
            do="sweep doubling sizes from 1 KB to at least twice the cache",
        )
    if bus_mhz is not None and not 1.0 <= bus_mhz <= 250.0:
        raise LeadoffError.one(
            "bus_clock", f"a bus clock of {bus_mhz:g} MHz cannot be", where="bus_mhz", do="give it in MHz"
        )
    if not power_of_two(line_bytes) or not 4 <= line_bytes <= 64:
        raise LeadoffError.one(
            "line_size", f"a line of {line_bytes} bytes cannot be", where="line_bytes", do="16 or 32"
        )


def _mean(points: Sequence[Point]) -> float:
    weight = sum(p.repeats for p in points)
    return math.exp(sum(p.repeats * math.log(p.us_per_kb) for p in points) / weight)


def _scaled(value: float, band: float, unit: str) -> Quantity:
    return Quantity(
        value=value,
        unit=unit,
        source=Source.MEASURED,
        lo=value * math.exp(-band),
        hi=value * math.exp(band),
    )
