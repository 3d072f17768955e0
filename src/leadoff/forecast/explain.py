"""Where a difference comes from: exact Shapley split in log time by the score model, with three verdicts.

``shown``: the book's runs tested it (they cut its spread to half, or it is known to a seventh of its size).
``expected``: physics fixes its sign beforehand and no run tested it. ``cannot_tell``: neither. What the model
leaves over is printed; a large remainder throws doubt on every verdict, and often means a wrong declaration: settings
that were only declared, of a run that hardly fits them, are not told but suspected.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from pathlib import Path

import numpy as np

from leadoff.forecast import scale
from leadoff.forecast.compare import compare
from leadoff.forecast.effects import Effects, effects_of
from leadoff.forecast.facts import Observed, Setup
from leadoff.forecast.fit import Fit
from leadoff.forecast.geometry import Gap, demand
from leadoff.forecast.hybrid import hybrid
from leadoff.forecast.joint import Ask, Told, tell
from leadoff.forecast.misdeclared import doubted_runs, hints, not_read_back, suspicion, wrong_odds
from leadoff.forecast.normal import ndtr, quantile
from leadoff.forecast.repeat import repeatability
from leadoff.forecast.rig_factor import across_rigs
from leadoff.forecast.rows import values
from leadoff.forecast.shapley import MOST
from leadoff.forecast.store import fit_of
from leadoff.forecast.sweeps import is_sweep
from leadoff.forecast.why import (
    Changed,
    Factor,
    Group,
    Separating,
    Why,
    changed_factors,
    way_back,
    way_minutes,
    why_first_form,
)
from leadoff.machine.prices import minutes
from leadoff.record.quantity import Quantity, Source
from leadoff.record.runs import Workload
from leadoff.record.settings import SettingKind, kind_of

_Z90 = quantile(0.95)


def why(
    a: Observed,
    b: Observed,
    workload: Workload,
    runs: Sequence[Observed],
    *,
    workloads: Sequence[Workload] = (),
    model: str = "best",
    cache_dir: Path | None = None,
) -> Why:
    """Explain the difference of two runs of one workload.

    ``workloads``: all workloads of the book (the fit takes them all). Runs of two boards, runs with a gap in
    their clocks and runs with nothing changed get the first form: what changed, not split.

    Raises:
        LeadoffError: when one of the runs has no score of this workload.
    """
    if a.run.rig != b.run.rig:
        return across_rigs(
            a,
            b,
            workload,
            runs,
            lambda x, y: why(x, y, workload, runs, workloads=workloads, model=model, cache_dir=cache_dir),
        )
    first = why_first_form(a, b, workload, runs)
    factors = tuple(f for f in changed_factors(a.setup, b.setup))
    usable = a.setup.board == b.setup.board and 1 <= len(factors) <= MOST and model != "clocks"
    if not usable or not _speaks(workload, a.setup, b.setup):
        return first
    all_of = tuple(workloads) or (workload,)
    fit = fit_of(all_of, runs, cache_dir)
    if not any(d.workload == workload.name for d in fit.rows.data):
        return first
    subsets = _subsets(a.setup, b.setup, factors)
    told = tell(fit, [Ask(workload, s) for s in subsets], a.setup.board, rig=b.run.rig, apart=True)
    wrong = wrong_odds(fit, told, workload, a)[1], wrong_odds(fit, told, workload, b)[1]
    if len(factors) == 1:
        # Nothing else changed, so the runs measure it whatever the model makes of them.
        wrong = 0.0 * wrong[0], 0.0 * wrong[1]
    scored = sum(not is_sweep(d) for d in fit.rows.data)
    effects = effects_of(told, factors, scored, wrong)
    remainder, doubt = _remainder(fit, told, workload, a, b, float(effects.mean.sum()))
    doubted = doubted_runs(fit, told, workload, (a, b), doubt)
    toward = scale.sign(workload)  # a longer time is a worse rate: effects are shown as change of the score
    refs = (a.run.number, b.run.number)
    suspects = not_read_back(factors, doubted) if len(factors) > 1 else ()
    made = tuple(
        _factor(f, i, effects, doubt, toward, refs, suspected=f.factor in suspects)
        for i, f in enumerate(factors)
    )
    groups = _groups(made, effects, toward, suspects)
    if suspects:
        groups = (Group(factors=suspects, because=suspicion(doubted)), *groups)
    return Why(
        comparison=compare(a.run, b.run, workload, repeatability(workload, (o.run for o in runs))),
        factors=made,
        cannot_tell=groups,
        cheapest_run=_deciding(factors, made, effects, told, a.setup, b.setup),
        remainder_pct=remainder,
        hints=hints(fit, workload, doubted),
    )


def _speaks(workload: Workload, *setups: Setup) -> bool:
    for setup in setups:
        try:
            demand(workload, setup)
        except Gap:
            return False
    return True


def _subsets(a: Setup, b: Setup, factors: Sequence[Changed]) -> list[Setup]:
    out = []
    for m in range(2 ** len(factors)):
        taken = {f.factor for i, f in enumerate(factors) if m >> i & 1}
        out.append(hybrid(a, b, factors, taken))
    return out


def _remainder(
    fit: Fit, told: Told, workload: Workload, a: Observed, b: Observed, predicted: float
) -> tuple[Quantity, float]:
    """Observed less predicted difference in percent of the score, and how many deviations that is."""
    ends, var = [], 0.0
    repeat = fit.rows.repeat[workload.name].sd_log
    for seen in (a, b):
        marks = [scale.interval(workload, r) for r in scale.usable(seen.run)]
        ends.append(sum(0.5 * (lo + hi) for lo, hi in marks) / len(marks))
        var += repeat**2 / len(marks) + sum((hi - lo) ** 2 for lo, hi in marks) / (12.0 * len(marks))
    left = ends[1] - ends[0] - predicted
    # Plain misfit, before the runs themselves taught it: otherwise every remainder would look small.
    w = told.board.weights
    var += float(w @ (told.plain_misfit[:, 0] + told.plain_misfit[:, -1]))
    sd = math.sqrt(var)
    pct = 100.0 * scale.sign(workload) * left
    half = 100.0 * _Z90 * sd
    quantity = Quantity(value=pct, unit="%", source=Source.COMPUTED, lo=pct - half, hi=pct + half)
    return quantity, abs(left) / sd


def _factor(
    changed: Changed,
    i: int,
    effects: Effects,
    doubt: float,
    toward: float,
    refs: tuple[str, str],
    *,
    suspected: bool,
) -> Factor:
    row = values("explain")
    mean, sd = float(effects.mean[i]), math.sqrt(max(float(effects.cov[i, i]), 1e-18))
    size = 100.0 * abs(mean)
    sure = float(ndtr(abs(mean) / sd)) >= row["sign"]
    pattern = any(kind_of(n) is SettingKind.PATTERN for n in changed.settings)
    enough = size > row["least_pattern_pct" if pattern else "least_pct"]
    tested = sd / float(effects.prior_sd[i]) < row["contraction"] or sd < row["sharp"] * abs(mean)
    if suspected:
        verdict = "cannot_tell"
    elif sure and enough and tested and doubt < row["remainder"]:
        verdict = "shown"
    elif sure and size > row["least_pct"]:
        verdict = "expected"
    else:
        verdict = "cannot_tell"
    ends = sorted(100.0 * math.expm1(toward * (mean + s * _Z90 * sd)) for s in (-1.0, 1.0))
    share = Quantity(
        value=100.0 * math.expm1(toward * mean),
        unit="%",
        source=Source.COMPUTED,
        lo=ends[0],
        hi=ends[1],
        refs=refs,
    )
    return Factor(
        factor=changed.factor, before=changed.before, after=changed.after, share=share, verdict=verdict
    )


def _groups(
    made: Sequence[Factor], effects: Effects, toward: float, suspects: Collection[str]
) -> tuple[Group, ...]:
    """Factors that the runs do not separate: strongly anticorrelated ones together, the untold ones alone but for
    the suspects, which are said already."""
    limit = values("explain")["correlated"]
    sd = np.sqrt(np.maximum(np.diag(effects.cov), 1e-18))
    corr = effects.cov / np.outer(sd, sd)
    n = len(made)
    owner = list(range(n))
    for i in range(n):
        for j in range(i):
            unsure = made[i].verdict != "shown" or made[j].verdict != "shown"
            if corr[i, j] < limit and unsure:
                old, new = owner[i], owner[j]
                owner = [new if o == old else o for o in owner]
    out = []
    for o in sorted(set(owner)):
        mine = [i for i in range(n) if owner[i] == o]
        alone = made[mine[0]]
        if len(mine) == 1 and (alone.verdict != "cannot_tell" or alone.factor in suspects):
            continue
        pick = np.zeros(n)
        pick[mine] = 1.0
        mean, spread = float(pick @ effects.mean), math.sqrt(float(pick @ effects.cov @ pick))
        ends = sorted(100.0 * math.expm1(toward * (mean + s * _Z90 * spread)) for s in (-1.0, 1.0))
        because = (
            "what one gains the other may lose: the runs fix their sum and not the split"
            if len(mine) > 1
            else "the runs do not fix its sign"
        )
        total = Quantity(
            value=100.0 * math.expm1(toward * mean), unit="%", source=Source.COMPUTED, lo=ends[0], hi=ends[1]
        )
        out.append(Group(factors=tuple(made[i].factor for i in mine), because=because, total=total))
    return tuple(out)


def _deciding(
    factors: Sequence[Changed], made: Sequence[Factor], effects: Effects, told: Told, a: Setup, b: Setup
) -> Separating | None:
    """The state between the two whose run is expected to narrow the untold effects most per minute."""
    open_ = [i for i, f in enumerate(made) if f.verdict != "shown"]
    if not open_ or len(factors) < 2:
        return None
    sd = np.sqrt(np.diag(effects.cov))
    full = 2 ** len(factors) - 1
    best: tuple[float, int, float, int, float, float] | None = None
    for f, changed in enumerate(factors):
        m = full & ~(1 << f)
        way = way_back(changed, a, b)
        if way is None:
            continue
        cost = way_minutes(way) + minutes("run")
        for i in open_:
            # Seen against the second run, which is known: what is new is the difference of the two states.
            c = float(effects.with_subset[i, full] - effects.with_subset[i, m])
            gap = told.jac[:, full] - told.jac[:, m]
            spread = float(
                told.board.weights @ np.einsum("bd,bde,be->b", gap, np.linalg.inv(told.hessian), gap)
            )
            v = effects.runs_for_one * spread + 2.0 * float(told.noise_var[m])
            drop = sd[i] - math.sqrt(max(sd[i] ** 2 - c * c / v, 0.0))
            if best is None or drop / cost > best[0] + 1e-15:
                best = (drop / cost, f, cost, i, float(sd[i]), float(sd[i] - drop))
    if best is None or best[5] > (1.0 - values("explain")["worth_deciding"]) * best[4]:
        return None
    _, f, cost, i, before, after = best
    changed = factors[f]
    text = (
        f"the second state with {changed.factor} back at {changed.before}: expected to bring the spread of "
        f"{made[i].factor} from {100 * before:.2g} to {100 * after:.2g} % of the score"
    )
    return Separating(settings=way_back(changed, a, b) or {}, minutes=cost, why=text)
