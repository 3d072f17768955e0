"""Runs that hardly fit what was declared for them, what they look like instead, and what is then not told."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from leadoff.forecast.facts import Observed
from leadoff.forecast.fit import Fit
from leadoff.forecast.hybrid import with_value
from leadoff.forecast.joint import Ask, Told, tell
from leadoff.forecast.normal import Vec
from leadoff.forecast.rows import values
from leadoff.forecast.unknowns import choices
from leadoff.forecast.why import BUS, CORE, Changed
from leadoff.record.quantity import Source
from leadoff.record.runs import Workload
from leadoff.record.state import Setting, Status

_SEEN = (Source.MEASURED, Source.READ)
_PATTERNS = ("l2_read", "dram_read", "l2_read_ws", "dram_read_ws", "l2_write_ws", "l2_policy", "l1_policy")


class Doubted(NamedTuple):
    """A run in doubt: its place among the rows of the fit, and the probability that its declaration is wrong."""

    seen: Observed
    at: int
    wrong: float


def wrong_odds(fit: Fit, told: Told, workload: Workload, seen: Observed) -> tuple[int, Vec]:
    """Place of a run among the rows of the fit (-1: not there), and the probability in each component that its
    declaration is wrong, by the wider part of the likelihood."""
    for k, i in enumerate(told.board.rows):
        d = fit.rows.data[i]
        if seen.run.number in d.numbers and d.workload == workload.name:
            return i, told.board.mode.wide[:, k]
    return -1, np.zeros(len(told.board.weights))


def doubted_runs(
    fit: Fit, told: Told, workload: Workload, pair: Sequence[Observed], doubt: float
) -> tuple[Doubted, ...]:
    """The runs of a pair that hardly fit their state; both, where neither stands out and the difference leaves over
    more than the limit. ``doubt``: the remainder in deviations."""
    row = values("explain")
    weights = told.board.weights / told.board.weights.sum()
    found = [(seen, *wrong_odds(fit, told, workload, seen)) for seen in pair]
    known = [Doubted(seen, at, float(weights @ odds)) for seen, at, odds in found if at >= 0]
    out = tuple(d for d in known if d.wrong > row["wrong"])
    return out or (tuple(known) if doubt > row["remainder"] else ())


def not_read_back(factors: Sequence[Changed], doubted: Sequence[Doubted]) -> tuple[str, ...]:
    """Changed factors whose value in a doubted run was only declared: a reading outranks a declaration. Clocks are
    not among them: what a clock does to a score is hardly hidden by another setting."""
    return tuple(
        f.factor
        for f in factors
        if f.factor not in (CORE, BUS)
        and any(
            (s := d.seen.setup.state.settings.get(n)) is None or s.source not in _SEEN
            for d in doubted
            for n in f.settings
        )
    )


def suspicion(doubted: Sequence[Doubted]) -> str:
    """Why the changes of these runs are not told."""
    names = " and ".join(d.seen.run.number for d in doubted)
    many = len(doubted) > 1
    return (
        f"suspected wrong declaration: run{'s' * many} {names} hardly fit{'s' * (not many)} the declared state; "
        "read the settings back and say what they were"
    )


def hints(fit: Fit, workload: Workload, doubted: Sequence[Doubted]) -> tuple[str, ...]:
    """Where a declared pattern does not fit its run: what it looks like instead."""
    out = []
    for d in doubted:
        number = d.seen.run.number
        looks = _looks_like(fit, workload, d.seen, d.at)
        if looks:
            out.append(f"run {number}: {looks}")
        elif d.wrong > values("explain")["wrong"]:
            out.append(f"run {number}: what was declared does not fit what it scored; read it back")
    return tuple(out)


def _looks_like(fit: Fit, workload: Workload, seen: Observed, at: int) -> str:
    """Another value of one declared pattern that brings the run much nearer to the model."""
    tries: list[tuple[str, str]] = [("", "")]
    for name in _PATTERNS:
        declared = seen.setup.state.value(name)
        if declared is not None:
            tries += [(name, v) for v in choices(name, seen.setup) if v != declared]
    setups = [
        with_value(seen.setup, n, Setting(value=v, status=Status.ASSUMED, source=Source.ASSUMED))
        if n
        else seen.setup
        for n, v in tries
    ]
    told = tell(fit, [Ask(workload, s) for s in setups], seen.setup.board, rig=seen.run.rig)
    d = fit.rows.data[at]
    mean = told.board.weights @ told.plain_mean
    left = np.abs(d.mid - mean)
    sd = math.sqrt(float(told.board.weights @ told.plain_misfit[:, 0]) + float(told.noise_var[0]))
    best = int(np.argmin(left))
    if best == 0 or left[0] < 2.0 * sd or left[best] > sd:
        return ""
    name, value = tries[best]
    return f"declared {name} {seen.setup.state.value(name)} looks like {value}"
