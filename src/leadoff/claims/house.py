"""The house as an instrument: how well a workload repeats, whether it drifts within an evening, whether evenings
differ, and which state anchors them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime

import msgspec

from leadoff.claims.pairs import boot_sd
from leadoff.claims.rows import limit
from leadoff.claims.standings import state_words
from leadoff.claims.values import Ledger, Trial
from leadoff.forecast.repeat import Repeatability, repeatability
from leadoff.forecast.student import f_tail, t_quantile
from leadoff.record.runs import Workload


class Drift(msgspec.Struct, frozen=True, kw_only=True):
    """Change of the score within evenings, percent an hour with its 95 % limits, from states run more than once in
    one evening. ``shown``: no change is left out."""

    pct_per_hour: float
    lo: float
    hi: float
    runs: int
    shown: bool


class Evenings(msgspec.Struct, frozen=True, kw_only=True):
    """Spread between evenings of states run in more than one, percent of score. ``chance``: of as much spread if
    evenings did not differ; ``shown``: that is under one in twenty."""

    sd_pct: float
    chance: float
    evenings: int
    states: int
    shown: bool


class Anchor(msgspec.Struct, frozen=True, kw_only=True):
    """The state that was run in most evenings."""

    board: str
    state: str
    rig: str
    runs: tuple[str, ...]
    evenings: int


class House(msgspec.Struct, frozen=True, kw_only=True):
    """One workload. ``step_pct``: what one step of the printed score is; ``coarse``: it hides how the runs repeat;
    ``too_close``: states were run again within an evening, but all too soon to show a drift."""

    workload: str
    repeatability: Repeatability
    step_pct: float | None
    coarse: bool
    drift: Drift | None
    too_close: bool
    evenings: Evenings | None
    anchor: Anchor | None
    advice: tuple[str, ...]


class _Point(msgspec.Struct, frozen=True):
    """One run: when, in hours, its evening, its log score and the variance of that."""

    trial: Trial
    hour: float
    evening: int
    log: float
    var: float


def house_of(ledger: Ledger, workload: Workload) -> House:
    """Everything that the runs of one workload tell about the house."""
    found = repeatability(workload, (t.run for t in ledger.trials))
    cells = _cells(ledger, workload, found)
    steps = [100.0 * (r.hi - r.lo) / r.value for t in ledger.of(workload.name) for r in t.readings]
    step = sorted(steps)[len(steps) // 2] if steps else None
    coarse = step is not None and step / math.sqrt(12.0) > 100.0 * found.sd_log
    drift, between, anchor = _drift(cells), _between(cells), _anchor(cells)
    again = any(len({p.hour for p in g}) > 1 for c in cells for g in _by_evening(c))
    return House(
        workload=workload.name,
        repeatability=found,
        step_pct=step,
        coarse=coarse,
        drift=drift,
        too_close=again and drift is None,
        evenings=between,
        anchor=anchor,
        advice=_advice(workload, coarse, drift, between, anchor),
    )


def _cells(ledger: Ledger, workload: Workload, house: Repeatability) -> list[list[_Point]]:
    """Runs of one state under one rig together, in their order; runs whose time is not known are left out. A state
    with a setting that nobody knows is another one each time the board came back to it."""
    timed = sorted(
        ((h, t.number, t) for t in ledger.trials if (h := _hour(t)) is not None), key=lambda x: x[:2]
    )
    out: dict[tuple[object, ...], list[_Point]] = {}
    evening, last = 0, -math.inf
    stands: dict[str, tuple[object, int]] = {}
    for hour, _, t in timed:
        state = (t.key, t.hold_key)
        was, visit = stands.get(t.board, (None, 0))
        stands[t.board] = state, visit + (was != state)
        if t.workload != workload.name or not t.readings:
            continue
        evening += hour - last > limit("evening_gap_h")
        last = hour
        known = None not in t.settings.values()
        key = (t.board, *state, t.rig, 0 if known else stands[t.board][1])
        out.setdefault(key, []).append(_Point(t, hour, evening, *_told(t, house)))
    return list(out.values())


def _told(t: Trial, house: Repeatability) -> tuple[float, float]:
    """Log score of a run and its variance; repeats that print alike were all rounded alike."""
    n, mean = len(t.readings), sum(r.value for r in t.readings) / len(t.readings)
    step = max(r.hi - r.lo for r in t.readings) / mean
    return math.log(mean), house.sd_log**2 / n + boot_sd() ** 2 + step**2 / 12.0


def _hour(t: Trial) -> float | None:
    try:
        return datetime.fromisoformat(t.observed.when).timestamp() / 3600.0
    except ValueError:
        return None


def _by_evening(cell: Sequence[_Point]) -> list[list[_Point]]:
    found: dict[int, list[_Point]] = {}
    for p in cell:
        found.setdefault(p.evening, []).append(p)
    return list(found.values())


def _drift(cells: Sequence[Sequence[_Point]]) -> Drift | None:
    """One slope over all states and evenings, each with a level of its own."""
    groups = [g for c in cells for g in _by_evening(c) if g[-1].hour - g[0].hour >= limit("drift_span_h")]
    x = [p.hour - sum(q.hour for q in g) / len(g) for g in groups for p in g]
    y = [p.log - sum(q.log for q in g) / len(g) for g in groups for p in g]
    free = len(x) - len(groups) - 1
    xx = math.fsum(a * a for a in x)
    if not groups:
        return None
    slope = math.fsum(a * b for a, b in zip(x, y, strict=True)) / xx
    known = math.fsum(p.var for g in groups for p in g) / len(x)
    left = math.fsum((b - slope * a) ** 2 for a, b in zip(x, y, strict=True))
    enough = free >= limit("house_free")
    var = max(left / free, 0.25 * known) if enough else known
    half = t_quantile(0.975, float(free) if enough else 60.0) * math.sqrt(var / xx)
    return Drift(
        pct_per_hour=100.0 * slope,
        lo=100.0 * (slope - half),
        hi=100.0 * (slope + half),
        runs=len(x),
        shown=abs(slope) > half,
    )


def _between(cells: Sequence[Sequence[_Point]]) -> Evenings | None:
    """One-way analysis of variance within each state, added up; the house's own noise where a state has one run an
    evening only."""
    split = [gs for c in cells if len(gs := _by_evening(c)) > 1]
    if not split:
        return None
    among, among_free, inside, inside_free, weight = 0.0, 0, 0.0, 0, 0.0
    for groups in split:
        points = [p for g in groups for p in g]
        whole = sum(p.log for p in points) / len(points)
        for g in groups:
            mean = sum(p.log for p in g) / len(g)
            among += len(g) * (mean - whole) ** 2
            inside += math.fsum((p.log - mean) ** 2 for p in g)
        among_free += len(groups) - 1
        inside_free += len(points) - len(groups)
        weight += len(points) - math.fsum(len(g) ** 2 for g in groups) / len(points)
    points = [p for groups in split for g in groups for p in g]
    known = math.fsum(p.var for p in points) / len(points)
    enough = inside_free >= limit("house_free")
    noise, free = (max(inside / inside_free, 0.25 * known), inside_free) if enough else (known, 60)
    chance = f_tail(among / among_free / noise, among_free, free)
    return Evenings(
        sd_pct=100.0 * math.sqrt(max(0.0, (among - among_free * noise) / weight)),
        chance=chance,
        evenings=len({p.evening for p in points}),
        states=len(split),
        shown=chance < 1.0 - limit("level"),
    )


def _anchor(cells: Sequence[Sequence[_Point]]) -> Anchor | None:
    best = max(cells, key=lambda c: (len({p.evening for p in c}), len(c), c[-1].hour), default=None)
    if best is None or (evenings := len({p.evening for p in best})) < 2:
        return None
    t = best[0].trial
    return Anchor(
        board=t.board,
        state=state_words(t),
        rig=t.rig,
        runs=tuple(p.trial.number for p in best),
        evenings=evenings,
    )


def _advice(
    workload: Workload, coarse: bool, drift: Drift | None, between: Evenings | None, anchor: Anchor | None
) -> tuple[str, ...]:
    out = []
    if coarse:
        out.append(f"one step of {workload.name} hides its noise: time it in seconds, or over more work")
    if anchor is None:
        out.append(
            "no state was run in two evenings: run one as the first and the last of each, as an anchor"
        )
    if drift is not None and drift.shown:
        out.append("the score moves within an evening: let it warm up, and alternate A B B A")
    if between is not None and between.shown:
        out.append("evenings differ: compare only within one, or with the anchor run in both")
    if drift is None and anchor is not None:
        out.append(
            "run one state at the start and the end of an evening: whether it drifts within one is not known"
        )
    return tuple(out)
