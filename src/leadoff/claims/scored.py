"""Sealed forecasts against what came: hit rates, sharpness, a proper score, and who was closer."""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec

from leadoff.claims.values import Ledger, Sealed

LEVEL = 0.9


class Scored(msgspec.Struct, frozen=True, kw_only=True):
    """One forecast that a later run answered. Errors and widths are percent of the score, in logs; ``interval`` is
    the interval score of the 90 % band (T. Gneiting and A. Raftery, JASA 102, 2007, eq. 43), less is better."""

    number: str
    board: str
    workload: str
    median: float
    score: float
    in50: bool | None
    in90: bool
    error_pct: float
    width90_pct: float
    interval: float
    guess: float | None
    guess_error_pct: float | None


class Tally(msgspec.Struct, frozen=True, kw_only=True):
    """All of them in the order of their numbers. ``late`` were sealed when the result was in the book, ``untried``
    have no run yet, ``replaced`` were sealed anew before the run, whose result counts once, for the last of them;
    none of these counts. ``closer`` counts tool, own guess and draws."""

    scored: tuple[Scored, ...]
    late: int
    untried: int
    replaced: int
    hit50: tuple[int, int]
    hit90: tuple[int, int]
    mean_width90_pct: float | None
    mean_interval: float | None
    closer: tuple[int, int, int]


def scored_forecasts(ledger: Ledger) -> Tally:
    """Every sealed forecast held against the first run that came after it."""
    numbers = {t.number: t for t in ledger.trials}
    answered = [s for s in ledger.sealed if s.answered_by and not s.late_for]
    last: dict[str, Sealed] = {}
    for s in answered:
        old = last.pop(s.answered_by[0], None)
        if old is not None and s.guess is None:
            s = msgspec.structs.replace(s, guess=old.guess)
        last[s.answered_by[0]] = s
    scored = []
    for run, s in last.items():
        readings = numbers[run].readings
        scored.append(_one(s, sum(r.value for r in readings) / len(readings)))
    own = [(abs(x.error_pct), abs(x.guess_error_pct)) for x in scored if x.guess_error_pct is not None]
    halves = [x.in50 for x in scored if x.in50 is not None]
    return Tally(
        scored=tuple(scored),
        late=sum(bool(s.late_for) for s in ledger.sealed),
        replaced=len(answered) - len(scored),
        untried=sum(not s.late_for and not s.answered_by for s in ledger.sealed),
        hit50=(sum(halves), len(halves)),
        hit90=(sum(x.in90 for x in scored), len(scored)),
        mean_width90_pct=_mean([x.width90_pct for x in scored]),
        mean_interval=_mean([x.interval for x in scored]),
        closer=(sum(t < g for t, g in own), sum(g < t for t, g in own), sum(g == t for t, g in own)),
    )


def _one(s: Sealed, score: float) -> Scored:
    lo, hi, y = math.log(s.lo), math.log(s.hi), math.log(score)
    miss = max(lo - y, y - hi, 0.0)
    return Scored(
        number=s.number,
        board=s.board,
        workload=s.workload,
        median=s.median,
        score=score,
        in50=None if s.band50 is None else s.band50[0] <= score <= s.band50[1],
        in90=s.lo <= score <= s.hi,
        error_pct=100.0 * (y - math.log(s.median)),
        width90_pct=100.0 * (hi - lo),
        interval=100.0 * (hi - lo + 2.0 / (1.0 - LEVEL) * miss),
        guess=s.guess,
        guess_error_pct=None if s.guess is None else 100.0 * (y - math.log(s.guess)),
    )


def _mean(values: Sequence[float]) -> float | None:
    return sum(values) / len(values) if values else None
