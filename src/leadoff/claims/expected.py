"""About what a run should have read, from all the other runs: clocks, settings, rig, class, board. A rough rule that
is only there to see what stands far out; the forecast's bands are another matter."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import msgspec
import numpy as np

from leadoff.claims.rows import limit
from leadoff.claims.values import Ledger, Trial
from leadoff.forecast.normal import Vec
from leadoff.record.runs import Direction

ROUNDS = 12
MOST_OWN = 0.9999
"""Share of its own expectation that a run may be, so that nothing is divided by zero."""


class Expected(msgspec.Struct, frozen=True, kw_only=True):
    """What the other runs make of one run: ``value`` in its unit, ``log`` the run over it, ``sd`` of that."""

    value: float
    log: float
    sd: float


def expected(ledger: Ledger) -> dict[str, Expected]:
    """For every run with a score and known clocks; empty where too few runs tell anything."""
    trials = [
        t for t in ledger.trials if t.readings and t.core_mhz and _bus(t) and t.workload in ledger.workloads
    ]
    if len(trials) < limit("expected_runs"):
        return {}
    sign = np.array([1.0 if _up(ledger, t) else -1.0 for t in trials])
    y = sign * np.array([math.log(sum(r.value for r in t.readings) / len(t.readings)) for t in trials])
    x, prior = _columns(ledger, trials)
    printed = np.array([max((r.hi - r.lo) / r.value for r in t.readings) ** 2 / 12.0 for t in trials])
    weight = np.ones(len(trials))
    sd = 0.1
    spread = left = np.zeros(len(trials))
    for _ in range(ROUNDS):
        noise = sd**2 + printed
        root = x * (weight / noise)[:, None]
        cov = np.linalg.inv(x.T @ root + np.diag(1.0 / prior**2))
        level = cov @ (root.T @ y)
        told = (x @ cov * x).sum(axis=1)
        own = 1.0 - np.minimum(MOST_OWN, told * weight / noise)
        left = (y - x @ level) / own
        # What the other runs leave open of this one, a run that counts for little included.
        spread = np.sqrt(noise + told / own)
        sd = max(limit("expected_least_log"), float(np.median(np.abs(left / spread)) / 0.6745) * sd)
        weight = 1.0 / (1.0 + (left / (2.5 * spread)) ** 2) ** 2
    return {
        t.number: Expected(
            value=math.exp(sign[n] * (y[n] - left[n])), log=float(sign[n] * left[n]), sd=float(spread[n])
        )
        for n, t in enumerate(trials)
    }


def _up(ledger: Ledger, t: Trial) -> bool:
    return ledger.workloads[t.workload or ""].direction is Direction.HIGHER


def _bus(t: Trial) -> float | None:
    return t.clock("bus_mhz")


def _columns(ledger: Ledger, trials: Sequence[Trial]) -> tuple[Vec, Vec]:
    """A matrix of what may matter, and the prior of each column."""
    at: dict[tuple[str, str], int] = {}
    cells: list[tuple[int, int, float]] = []

    def put(row: int, kind: str, name: str, value: float = 1.0) -> None:
        cells.append((row, at.setdefault((kind, name), len(at)), value))

    for n, t in enumerate(trials):
        core, bus = math.log((t.core_mhz or 1.0) / 100.0), math.log((_bus(t) or 1.0) / 50.0)
        work, kind = t.workload or "", ledger.boards.get(t.board, "")
        put(n, "workload", work)
        put(n, "core", "", core)
        put(n, "bus", "", bus)
        put(n, "curve", "core", core * core)
        put(n, "curve", "bus", bus * bus)
        put(n, "curve", "both", core * bus)
        put(n, "workload core", work, core)
        put(n, "workload bus", work, bus)
        put(n, "workload class", f"{work} {kind}")
        put(n, "class", kind)
        put(n, "class core", kind, core)
        put(n, "board", t.board)
        put(n, "rig", f"{work} {t.rig}")
        for setting, said in _settings(t.settings):
            put(n, "setting", f"{setting} {said}")
    x = np.zeros((len(trials), len(at)))
    for row, column, value in cells:
        x[row, column] += value
    return x, np.array([limit(f"effect_{kind.replace(' ', '_')}") for kind, _ in at])


def _settings(settings: Mapping[str, str | None]) -> list[tuple[str, str]]:
    return [(n, "?" if v is None else v) for n, v in settings.items() if n not in ("bus_mhz", "ratio")]
