"""Two states' scores against each other: shown, tied, or not told apart; across rigs only over a bridge."""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec

from leadoff.claims.rows import limit
from leadoff.claims.values import Trial
from leadoff.forecast.compare import compare
from leadoff.forecast.repeat import Repeatability
from leadoff.forecast.rows import values
from leadoff.forecast.student import t_quantile
from leadoff.record.runs import Direction, Outcome, Reading, Run, Workload


class Mean(msgspec.Struct, frozen=True, kw_only=True):
    """All readings of one state under one rig, put together. ``sd_log`` is the error of the mean: repeats,
    boots (one level each, which repeats in one go share) and rounding."""

    value: float
    sd_log: float
    runs: tuple[str, ...]
    readings: tuple[Reading, ...]

    @property
    def boots(self) -> int:
        return len(self.runs)


class Pair(msgspec.Struct, frozen=True, kw_only=True):
    """Second against first. ``lo_pct`` and ``hi_pct`` are what the readings leave possible at 95 %; ``shown``:
    no difference is left out even after the error from boot to boot; ``tied``: everything the readings allow
    is too small to matter; ``faster``: +1 when the second is the better by sign, -1 the first."""

    pct: float
    lo_pct: float
    hi_pct: float
    shown: bool
    tied: bool
    faster: int


def boot_sd() -> float:
    """Standard deviation of the level of a boot, log score."""
    return next(v for n, v in values("repeat").items() if n.endswith("boot"))


def mean_of(trials: Sequence[Trial], house: Repeatability) -> Mean:
    """The mean of these runs, all of one state and rig; at least one reading."""
    readings = tuple(r for t in trials for r in t.readings)
    value = sum(r.value for r in readings) / len(readings)
    rounding = max(r.hi - r.lo for r in readings) / value
    var = house.sd_log**2 / len(readings) + boot_sd() ** 2 / len(trials) + rounding**2 / 12 / len(readings)
    return Mean(value=value, sd_log=math.sqrt(var), runs=tuple(t.number for t in trials), readings=readings)


def reach(sd: float) -> float:
    """Half of the 95 % interval for this standard error."""
    return t_quantile(0.5 + 0.5 * limit("level"), 60.0) * sd


def pair(a: Mean, b: Mean, workload: Workload, house: Repeatability) -> Pair:
    """Like for like: the same rig on both sides."""
    compared = compare(_merged(a, workload), _merged(b, workload), workload, house)
    lo, hi = compared.possible_pct
    pct = compared.ratio_pct.value or 0.0
    boots = 100.0 * boot_sd() * math.sqrt(1.0 / a.boots + 1.0 / b.boots)
    return Pair(
        pct=pct,
        lo_pct=lo,
        hi_pct=hi,
        shown=compared.verdict == "shown" and abs(pct) > math.hypot(0.5 * (hi - lo), reach(boots)),
        tied=max(abs(lo), abs(hi)) <= limit("tie_pct"),
        faster=compared.better,
    )


def pair_adjusted(a: Mean, b: Mean, workload: Workload, effect_log: float, effect_sd: float) -> Pair:
    """Across rigs: ``effect_log`` is log(score under b's rig / score under a's) for one and the same state."""
    d = math.log(b.value / a.value) - effect_log
    half = reach(math.sqrt(a.sd_log**2 + b.sd_log**2 + effect_sd**2))
    lo, hi = (100.0 * math.expm1(x) for x in (d - half, d + half))
    return Pair(
        pct=100.0 * math.expm1(d),
        lo_pct=lo,
        hi_pct=hi,
        shown=lo > 0.0 or hi < 0.0,
        tied=max(abs(lo), abs(hi)) <= limit("tie_pct"),
        faster=0 if d == 0.0 else (1 if (d > 0.0) == (workload.direction is Direction.HIGHER) else -1),
    )


def _merged(mean: Mean, workload: Workload) -> Run:
    return Run(
        number=", ".join(mean.runs),
        board="",
        workload=workload.name,
        outcome=Outcome.REPEATS if len(mean.readings) > 1 else Outcome.FINISHES,
        unit=workload.unit,
        readings=mean.readings,
    )
