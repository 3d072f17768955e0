"""The front door of forecasts: the score model where it can speak, two clocks where asked for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

import msgspec
import numpy as np

from leadoff.forecast import scale
from leadoff.forecast.answer import FamilyOdds, Forecast, Widening
from leadoff.forecast.facts import Observed, Question, Setup
from leadoff.forecast.fit import Fit
from leadoff.forecast.gap import Gap, gaps
from leadoff.forecast.hold import belief
from leadoff.forecast.joint import MODEL, Ask, Told, mixture, tell
from leadoff.forecast.kinds import seen_words
from leadoff.forecast.mixture import Mixture
from leadoff.forecast.needs import not_known, undefined_because
from leadoff.forecast.split import Part, time_split
from leadoff.forecast.store import fit_of
from leadoff.forecast.sweeps import is_sweep, swept
from leadoff.forecast.two_clock import FIRST_RUN, bound_noise, bounds, from_mixture, two_clock
from leadoff.forecast.why import touch_minutes
from leadoff.record.counted import counted
from leadoff.record.entries import Expected
from leadoff.record.runs import Workload

_READINGS = {
    "l2_read": "a sweep, or the chipset register, names the cache read pattern",
    "l2_read_ws": "a sweep, or the chipset register, names the cache read wait states",
    "dram_read": "a sweep beyond the cache, or the chipset register, names the memory pattern",
    "dram_read_ws": "a sweep beyond the cache, or the chipset register, names the memory wait states",
    "l1_policy": "the processor's signature at reset, or a write sweep, names the policy",
    "l2_policy": "a write sweep names the policy",
}


def forecast(question: Question, *, model: str = "best", cache_dir: Path | None = None) -> Forecast:
    """Forecast every workload of the question in its setup, with the chances to start, boot and hold.

    ``model``: ``clocks`` for the two-clock arithmetic, ``best`` for the score model. Never raises for a
    state with gaps: what cannot be said is said so, with the reason.
    """
    return forecast_many(
        (question.target,), question.workloads, question.runs, model=model, cache_dir=cache_dir
    )[0]


def forecast_many(
    targets: Sequence[Setup],
    workloads: tuple[Workload, ...],
    runs: tuple[Observed, ...],
    *,
    model: str = "best",
    cache_dir: Path | None = None,
    details: bool = True,
) -> tuple[Forecast, ...]:
    """The same for several setups of one board. ``details``: what widens the bands, which costs time."""
    if not targets:
        return ()
    known = belief(targets[0], runs)
    if model == "clocks":
        made = [two_clock(Question(target=t, workloads=workloads, runs=runs)) for t in targets]
    else:
        made = list(_model(targets, workloads, runs, cache_dir, details))
    return tuple(
        msgspec.structs.replace(f, chance=known.hold(t).chance) for f, t in zip(made, targets, strict=True)
    )


class Rough(NamedTuple):
    """A state for putting in order: its expected log time, and how sure its difference to the base is (``None`` where
    there is no base, or nothing is known of differences)."""

    log_time: float
    gap: Gap | None


def rough_log_times(
    targets: Sequence[Setup],
    workloads: tuple[Workload, ...],
    runs: tuple[Observed, ...],
    *,
    bases: Mapping[str, Setup] | None = None,
    model: str = "best",
    cache_dir: Path | None = None,
) -> list[dict[str, Rough]]:
    """Expected log time of many states of one board by workload, for putting them in order: no bands. A
    workload that nothing can be said of is left out. ``bases``: by workload the state to hold them against."""
    if model == "clocks":
        made = [two_clock(Question(target=t, workloads=workloads, runs=runs)) for t in targets]
        by_name = {w.name: w for w in workloads}
        return [
            {
                e.workload: Rough(scale.log_time(by_name[e.workload], e.median), None)
                for e in f.expected
                if e.median is not None
            }
            for f in made
        ]
    fit = fit_of(workloads, runs, cache_dir)
    out: list[dict[str, Rough]] = [{} for _ in targets]
    asks, places = [], []
    for t, target in enumerate(targets):
        for workload in workloads:
            if not _silent(fit, workload, target):
                asks.append(Ask(workload, target))
                places.append((t, workload.name))
    if not asks:
        return out
    against = {
        w.name: (w, s)
        for w in workloads
        if (s := (bases or {}).get(w.name)) is not None and not _silent(fit, w, s)
    }
    told = tell(
        fit,
        [*asks, *(Ask(w, s) for w, s in against.values())],
        targets[0].board,
        rough=True,
        apart=bool(against),
    )
    base = {n: len(asks) + k for k, n in enumerate(against)}
    pairs = [(k, base[n]) for k, (_, n) in enumerate(places) if n in base]
    found = (
        dict(zip((k for k, _ in pairs), gaps(told, *zip(*pairs, strict=True)), strict=True)) if pairs else {}
    )
    means = told.board.weights @ told.mean / told.board.weights.sum()
    for k, (t, name) in enumerate(places):
        out[t][name] = Rough(float(means[k]), found.get(k))
    return out


def _model(
    targets: Sequence[Setup],
    workloads: tuple[Workload, ...],
    runs: tuple[Observed, ...],
    cache_dir: Path | None,
    details: bool,
) -> list[Forecast]:
    # A run of a workload that was not asked for still teaches about the board, but needs its row to be read.
    fit = fit_of(workloads, runs, cache_dir)
    board = targets[0].board
    own = sum(d.setup.board == board and not is_sweep(d) for d in fit.rows.data)
    asks: list[Ask] = []
    places: dict[tuple[int, str], int] = {}
    nothing: dict[tuple[int, str], Expected] = {}
    for t, target in enumerate(targets):
        for workload in workloads:
            why = _silent(fit, workload, target)
            if why:
                nothing[t, workload.name] = Expected(
                    workload=workload.name,
                    unit=workload.unit,
                    median=None,
                    band50=None,
                    band90=None,
                    undefined=why,
                )
            else:
                places[t, workload.name] = len(asks)
                asks.append(Ask(workload, target))
    told = tell(fit, asks, board) if asks else None
    out = []
    for t, target in enumerate(targets):
        expected, widened = [], []
        splits: dict[str, tuple[Part, ...]] = {}
        noises: dict[str, float] = {}
        for workload in workloads:
            k = places.get((t, workload.name))
            if k is None or told is None:
                expected.append(nothing[t, workload.name])
                continue
            made = mixture(told, k)
            mine = [d for d in fit.rows.data if d.setup.board == board and d.workload == workload.name]
            lower, upper = bounds(workload, mine, target)
            past = bound_noise(mine, target, fit.rows.repeat[workload.name].sd_log)
            if past is not None:
                noises[workload.name] = past
            expected.append(from_mixture(workload, made, lower=lower, upper=upper))
            if details:
                widened += _widened(told, k, workload, made, target)
                splits[workload.name] = time_split(told, k)
        speechless = all(e.median is None for e in expected)
        out.append(
            Forecast(
                basis="runs" if own else "family",
                model=MODEL,
                expected=tuple(expected),
                best_first_run="" if own and not speechless else FIRST_RUN,
                widened_by=tuple(sorted(widened, key=lambda w: (-w.pct, w.workload, w.setting))),
                taught="; ".join(filter(None, (taught(fit, board, own), seen_words(workloads)))),
                time_split=splits,
                bound_noise=noises,
                families=_families(told),
            )
        )
    return out


def _to_say(lost: list[str], target: Setup) -> str:
    """What one would have to say for the clocks to follow."""
    if "bus_mhz" in lost:
        return "say the bus clock, or where its jumper stands"
    return "say the ratio or the core clock" if target.state.value("cpu") else "say which processor is fitted"


def _families(told: Told | None) -> dict[str, tuple[FamilyOdds, ...]]:
    leans = {} if told is None else told.leans
    return {
        workload: tuple(
            FamilyOdds(family=n, odds=v, before=by.start[n])
            for n, v in sorted(by.odds.items(), key=lambda x: (-x[1], x[0]))
        )
        for workload, by in leans.items()
    }


def _silent(fit: Fit, workload: Workload, target: Setup) -> str:
    """Why nothing can be said of this workload in this state; empty when something can."""
    if why := undefined_because(workload, target):
        return f"undefined: {why}"
    lost = [n for n in ("core_mhz", "bus_mhz") if target.clock(n) is None]
    if lost:
        return f"cannot say: {' and '.join(lost)} of the state is not known; {_to_say(lost, target)}"
    if fit.levels.get(workload.name, 0.0) == 0.0 and not any(
        d.workload == workload.name for d in fit.rows.data
    ):
        return "cannot say: no runs: physics and family only, and neither fixes the level"
    return ""


def _widened(told: Told, k: int, workload: Workload, whole: Mixture, target: Setup) -> list[Widening]:
    """By how much of the score each unknown setting of the state widens the 90 % band: the band as it is
    less the mean band with the setting known, each value by its odds."""
    names = sorted({n for a in told.alternatives for n in a if target.state.value(n) is None})
    lo, hi = whole.quantiles((0.05, 0.95))
    out = []
    for name in names:
        width = 0.0
        for value in sorted({a[name] for a in told.alternatives}):
            mask = np.array([told.alternatives[i][name] == value for i in told.board.alternative])
            odds = float(told.board.weights[mask].sum())
            if odds > 1e-4:
                a, b = mixture(told, k, mask).quantiles((0.05, 0.95))
                width += odds * (b - a)
        pct = 100.0 * max(0.0, hi - lo - width)
        out.append(
            Widening(
                workload=workload.name,
                setting=name,
                pct=pct,
                reading=_READINGS.get(name, f"read {name} in set-up or on the board"),
                minutes=touch_minutes(name),
            )
        )
    needed = [
        Widening(
            workload=workload.name, setting=n, pct=0.0, reading=f"whether the state meets {n} is not known"
        )
        for n in not_known(workload, target)
    ]
    return out + needed


def taught(fit: Fit, board: str, own: int) -> str:
    """What the runs of this board taught and what is prior, in words."""
    boards = len({d.setup.board for d in fit.rows.data if not is_sweep(d)})
    if own == 0:
        text = f"no runs of this board: physics and family only, from {counted(boards, 'other board')}"
    elif boards == 1:
        text = "one board alone teaches the level and the fill rate; the rest is prior knowledge"
    else:
        text = (
            f"level and fill rate from {counted(own, 'state')} of this board; the rest shared with "
            f"{counted(boards - 1, 'other')}"
        )
    if told := swept(fit.rows.data, board):
        text += f"; {told}"
    if fit.rows.left_out:
        text += f"; left out: {'; '.join(fit.rows.left_out[:3])}"
    return text
