"""The difference of two runs, with an interval, and what it would take to show it."""

from __future__ import annotations

import math

import msgspec
import numpy as np

from leadoff.forecast import scale
from leadoff.forecast.repeat import Repeatability, repeatability
from leadoff.forecast.student import runs_each, t_quantile
from leadoff.record.errors import LeadoffError
from leadoff.record.quantity import Quantity, Source
from leadoff.record.runs import Direction, Reading, Run, Workload

HOUSE_DF = 4
"""Worth of the house repeatability in degrees of freedom while it is assumed (judgement)."""


class Comparison(msgspec.Struct, frozen=True, kw_only=True):
    """Second run less first. ``verdict`` is ``shown`` when the 95 % interval leaves out no difference.

    ``possible_pct``: the largest change, either way, that the runs do not rule out. ``better``: 1 when the
    second is the better one by sign, -1 the first, 0 equal. ``house_used``: the spread is that of the house,
    not of these runs, because they repeat too little.
    """

    difference: Quantity
    ratio_pct: Quantity
    p95: tuple[float, float]
    verdict: str
    possible_pct: tuple[float, float]
    better: int
    house_used: bool
    sd: float
    n: tuple[int, int]
    advice: tuple[str, ...] = ()

    @property
    def runs_each(self) -> int | None:
        """Runs in each state that would show a difference as large; worked out when asked for, it takes long."""
        return runs_each(self.difference.value or 0.0, self.sd)


def compare(a: Run, b: Run, workload: Workload, house: Repeatability | None = None) -> Comparison:
    """Compare two runs of the same workload.

    A pooled t interval on the score; with fewer than four degrees of freedom the house repeatability takes
    part as a prior estimate (``house_used``). The rounding of what was printed is part of the spread.

    Raises:
        LeadoffError: when one of the runs has no score, or they are of different workloads.
    """
    one, two = _scores(a, workload), _scores(b, workload)
    x, y = np.array([r.value for r in one]), np.array([r.value for r in two])
    n, m = len(x), len(y)
    mean = 0.5 * float(x.mean() + y.mean())
    house = house or repeatability(workload, (a, b))
    df = n + m - 2
    ss = float(((x - x.mean()) ** 2).sum() + ((y - y.mean()) ** 2).sum())
    rounding = float(np.mean([(r.hi - r.lo) ** 2 / 12.0 for r in (*one, *two)]))
    used = df < HOUSE_DF
    if used:
        worth = HOUSE_DF if house.assumed else max(HOUSE_DF, house.pairs)
        ss += worth * ((house.sd_log * mean) ** 2 + rounding)
        df += worth
    # Values that all print alike still scatter within the printed digit.
    var = max(ss / df, rounding)
    se = math.sqrt(var * (1.0 / n + 1.0 / m))
    d = float(y.mean() - x.mean())
    t = t_quantile(0.975, float(df))
    lo, hi = d - t * se, d + t * se
    base = float(x.mean())
    shown = lo > 0.0 or hi < 0.0
    better = 0 if d == 0.0 else (1 if (d > 0.0) == (workload.direction is Direction.HIGHER) else -1)
    refs = tuple(r.number for r in (a, b))
    return Comparison(
        difference=_quantity(d, lo, hi, workload.unit, refs),
        ratio_pct=_quantity(100.0 * d / base, 100.0 * lo / base, 100.0 * hi / base, "%", refs),
        p95=(lo, hi),
        verdict="shown" if shown else "not_shown",
        possible_pct=(100.0 * lo / base, 100.0 * hi / base),
        better=better,
        house_used=used,
        sd=math.sqrt(var),
        n=(n, m),
        advice=_advice(workload, one, two, shown, used, house),
    )


def _quantity(value: float, lo: float, hi: float, unit: str, refs: tuple[str, ...]) -> Quantity:
    return Quantity(value=value, unit=unit, source=Source.COMPUTED, lo=lo, hi=hi, level=0.95, refs=refs)


def _scores(run: Run, workload: Workload) -> tuple[Reading, ...]:
    if run.workload is not None and run.workload != workload.name:
        raise LeadoffError.one(
            "other-workload",
            f"run {run.number} is of {run.workload}, not of {workload.name}: scores of two workloads have no "
            "difference",
            where=run.number,
            do="name two runs of one workload",
        )
    readings = scale.usable(run)
    if not readings:
        raise LeadoffError.one(
            "no-score",
            f"run {run.number} has no score ({run.outcome.value.replace('_', ' ')}): a failure is not a zero",
            where=run.number,
            do="name a run that finished",
        )
    return readings


def _advice(
    workload: Workload,
    one: tuple[Reading, ...],
    two: tuple[Reading, ...],
    shown: bool,
    used: bool,
    house: Repeatability,
) -> tuple[str, ...]:
    out = []
    if used:
        what = "assumed, not measured" if house.assumed else f"from {house.pairs} repeats"
        out.append(
            f"so few repeats say little about their own spread: the repeatability of the house "
            f"({100.0 * house.sd_log:.2g} %, {what}) takes part in the interval"
        )
    if len(one) > 1 and len(two) > 1:
        out.append(
            "the two blocks ran one after the other: drift and the memory layout of each boot look like an "
            "effect; alternate in the order A B B A, with a restart between blocks"
        )
    elif not shown:
        out.append("repeat both in the order A B B A, so that drift falls out of the difference")
    step = min(r.hi - r.lo for r in (*one, *two))
    spread = house.sd_log * float(np.mean([r.value for r in (*one, *two)]))
    if workload.direction is Direction.HIGHER and not shown:
        text = "time it in seconds for a fixed amount of work instead of a rate"
        if step > spread:
            text += (
                f": the last printed digit ({step:g} {workload.unit}) is coarser than the spread of the runs"
            )
        else:
            text += ": a clock resolves more than a rate printed to one decimal"
        out.append(text)
    if not shown:
        out.append("not shown is not the same as no difference: see the interval for what is possible")
    return tuple(out)
