"""Many states of one board at once, for a ranking: the likeliest component, no bands.

States come as arrays by field of ``Demand``, so that two hundred thousand of them cost a few array operations
and not two hundred thousand objects. The best few are then forecast in full.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from msgspec.structs import astuple

from leadoff.forecast.facts import Setup
from leadoff.forecast.fit import Fit
from leadoff.forecast.geometry import FIELDS, demand
from leadoff.forecast.joint import Ask, Told, tell
from leadoff.forecast.layout import SLOTS, Layout, generics
from leadoff.forecast.normal import Vec
from leadoff.forecast.priors import COLUMNS
from leadoff.forecast.terms import log_time_only
from leadoff.record.runs import Workload


class Ranker:
    """The likeliest component's parameters of one board and workload, ready for arrays of states."""

    def __init__(self, fit: Fit, workload: Workload, base: Setup) -> None:
        told: Told = tell(fit, [Ask(workload, base)], base.board)
        best = int(np.argmax(told.board.weights))
        size = int(told.asked.at.max(initial=0))
        z = np.zeros(size + 1)
        z[: told.hessian.shape[1]] = told.board.mode.z[best]
        raw = z[told.asked.at[0]] * told.asked.sds[0]
        self.values = {name: np.asarray(told.asked.centres[0, k] + raw[k]) for k, name in enumerate(COLUMNS)}
        self.values["w.level"] = self.values["w.level"] + told.asked.level0[0]
        self.offset = float(raw[len(COLUMNS) : len(COLUMNS) + SLOTS].sum())
        self.workload = workload

    def log_times(self, table: Mapping[str, Vec]) -> Vec:
        """Log times of states given as arrays by field of ``Demand``; recurring misfits left at zero."""
        return log_time_only(self.values, table) + self.offset


def glance_log_times(fit: Fit, workload: Workload, setups: Sequence[Setup]) -> Vec:
    """Log times of states of one board by the mode of the whole book as it stands, for a first look over many boards:
    nothing is fitted again, and a setting that no run touched has no effect of its own.

    Raises:
        Gap: when a state lacks its core or bus clock.
    """
    board = setups[0].board
    grown = Layout()
    grown.index = dict(fit.layout.index)
    kinds = {name[1] for row in fit.generic for name, _ in row}
    rows = [grown.row(workload, s, [x for x in generics(s, "") if x[0][1] in kinds]) for s in setups]
    mode = fit.modes[len(fit.modes) // 2].z
    z = np.concatenate([mode, np.zeros(len(grown) - len(fit.layout) + 1)])
    z[len(fit.layout) :] = 0.0
    raw = z[np.array([r.at for r in rows])] * np.array([r.sds for r in rows])
    values = {name: rows[0].centres[k] + raw[:, k] for k, name in enumerate(COLUMNS)}
    values["w.level"] = values["w.level"] + fit.levels[workload.name]
    known = fit.rows.alternatives.get(board)
    over = known[fit.chosen[board]] if known and board in fit.chosen else {}
    told = np.array([astuple(demand(workload, s, over)) for s in setups])
    table = {name: np.ascontiguousarray(told[:, k]) for k, name in enumerate(FIELDS)}
    other: Vec = raw[:, len(COLUMNS) : len(COLUMNS) + SLOTS].sum(axis=1)
    return np.asarray(log_time_only(values, table) + other)


def table_of(workload: Workload, setups: Sequence[Setup]) -> dict[str, Vec]:
    """Fields of ``Demand`` of states given one by one."""
    rows = np.array([astuple(demand(workload, s)) for s in setups]).reshape(-1, len(FIELDS))
    return {name: np.ascontiguousarray(rows[:, k]) for k, name in enumerate(FIELDS)}


def best_first(log_times: Vec, chances: Vec, minutes: Vec, record: float, most: int = 50) -> Vec:
    """Indices of the states worth most a minute: gain over the record x chance / minutes, best first."""
    worth = (record - log_times) * chances / minutes
    most = min(most, len(worth))
    top = np.argpartition(-worth, most - 1)[:most]
    return np.asarray(top[np.argsort(-worth[top], kind="stable")])
