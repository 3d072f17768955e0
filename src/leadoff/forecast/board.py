"""One board refitted by itself against what all the others teach, for every alternative and misfit scale."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from msgspec.structs import astuple

from leadoff.forecast import noise
from leadoff.forecast.arrow import Arrow, without
from leadoff.forecast.datum import Datum
from leadoff.forecast.fit import Alternative, Fit
from leadoff.forecast.layout import BEHIND, Index, Name, deviations
from leadoff.forecast.normal import Vec
from leadoff.forecast.solve import Mode, Problem, local_problem, newton
from leadoff.forecast.sweeps import demand_of
from leadoff.forecast.terms import Arr


class Board(NamedTuple):
    """Refit of one board. ``keep``: indices of its parameters in the layout, its own first; ``recurring``:
    places of the recurring misfits behind them. ``weights``: of each component (misfit scale major,
    alternative minor); ``g`` and ``alternative`` say which it is."""

    keep: Index
    recurring: dict[Name, int]
    rows: tuple[int, ...]
    mode: Mode
    weights: Vec
    g: Vec
    alternative: Index
    prior_sd: Arr
    problem: Problem


def refit(fit: Fit, board: str, alternatives: Sequence[Alternative], wanted: Index) -> Board:
    """Posterior of one board's parameters and the shared ones it needs, mixed over alternatives and misfit.

    ``wanted``: further layout indices that the states asked for depend on. From each joint mode the board's
    own runs are taken out by the Schur complement; what remains is a normal on the shared parameters. Here,
    unlike in the joint fit, most of the misfit of a term recurs where the settings behind it do.
    """
    own = fit.blocks.get(board, np.empty(0, dtype=np.intp))
    mine = tuple(i for i, d in enumerate(fit.rows.data) if d.setup.board == board)
    seen = [fit.rows.data[i] for i in mine]
    count = len(alternatives)

    def told(over: Alternative) -> list[tuple[float, ...]]:
        return [astuple(demand_of(fit.rows.workloads, d, over)) for d in seen]

    problem, keep = local_problem(fit.problem, mine, [told(a) for a in alternatives], own)
    extra = np.setdiff1d(wanted, keep)
    if len(extra):
        # The dummy slot sits behind the last parameter: it moves when parameters are added.
        at = np.where(problem.at == len(keep), len(keep) + len(extra), problem.at)
        problem = problem._replace(at=at)
        keep = np.concatenate([keep, extra]).astype(np.intp)
    scales, log_prior = noise.grid()
    number = list(fit.blocks).index(board) if mine else None
    parts = [_before(mode, fit.shared, number, keep, len(own)) for mode in fit.modes]
    if not parts:
        parts = [(np.zeros(len(keep)), np.eye(len(keep)))] * len(scales)
    means = np.stack([m for m, _ in parts])
    precisions = np.stack([np.linalg.inv(c) for _, c in parts])
    start = np.stack([m.z[keep] for m in fit.modes]) if mine else means
    others = np.array([m.log_evidence for m in fit.modes] or np.zeros(len(scales)))
    if mine:
        # What the other boards say of the scales: the joint evidence less this board's part of it.
        chosen = fit.rows.alternatives[board][fit.chosen[board]]
        plain, _ = local_problem(fit.problem, mine, [told(chosen)] * len(scales), own)
        plain = plain._replace(at=problem.at)
        others = others - _mode(plain, start, precisions, means, scales, 8).log_evidence
    structured, recurring = _recurring(problem, seen, len(keep))
    wide = [_grown(p, len(recurring), float(g)) for p, g in zip(precisions, scales, strict=True)]
    pad = np.zeros((len(scales), len(recurring)))
    tiled = structured._replace(
        features={n: np.tile(v, (len(scales), 1)) for n, v in structured.features.items()}
    )
    g_all = np.repeat(scales, count)
    got = _mode(
        tiled,
        np.repeat(np.concatenate([start, pad], axis=1), count, axis=0),
        np.repeat(np.stack(wide), count, axis=0),
        np.repeat(np.concatenate([means, pad], axis=1), count, axis=0),
        g_all,
        20,
    )
    log_weight = np.repeat(log_prior + others, count) + got.log_evidence
    weights = np.exp(log_weight - log_weight.max())
    return Board(
        keep=keep,
        recurring=recurring,
        rows=mine,
        mode=got,
        weights=weights / weights.sum(),
        g=g_all,
        alternative=np.tile(np.arange(count), len(scales)).astype(np.intp),
        prior_sd=np.sqrt(np.stack([np.diag(c) for _, c in parts])),
        problem=tiled,
    )


def _before(mode: Arrow, shared: int, number: int | None, keep: Index, own: int) -> tuple[Vec, Arr]:
    """Mean and covariance of the kept parameters given all runs but the board's own, whose parameters fall
    back to their prior."""
    mean, cov = without(mode, shared, number)
    rest = keep[own:]
    out = np.eye(len(keep))
    out[own:, own:] = cov[np.ix_(rest, rest)]
    return np.concatenate([np.zeros(own), mean[rest]]), out


def _mode(problem: Problem, z: Arr, precision: Arr, mean: Arr, g: Arr, steps: int) -> Mode:
    row = noise.outlier()
    return newton(
        problem,
        z,
        precision,
        mean,
        g,
        outlier_share=row["share"],
        outlier_sd=row["sd"],
        steps=steps,
        tolerance=1e-4,
    )


def _recurring(problem: Problem, seen: Sequence[Datum], size: int) -> tuple[Problem, dict[Name, int]]:
    """The problem with its recurring misfits as parameters behind the kept ones."""
    names = [deviations(d.setup) for d in seen]
    places: dict[Name, int] = {}
    for row in names:
        for name in row:
            places.setdefault(name, size + len(places))
    if not seen:
        return problem, places
    end = problem.at.shape[1] - len(BEHIND)
    at = np.where(problem.at == size, size + len(places), problem.at)
    at[:, end:] = [[places[n] for n in row] for row in names]
    sds = problem.sds.copy()
    sds[:, end:] = recurring_sds()
    return problem._replace(at=at, sds=sds, loose=1.0 - noise.recurring_share()), places


def recurring_sds() -> Vec:
    """Spread of each term's recurring misfit at g = 1."""
    row = noise.misfit()
    return np.array([row[t] for t in BEHIND]) * float(np.sqrt(noise.recurring_share()))


def _grown(precision: Arr, more: int, g: float) -> Arr:
    """Room for recurring misfits, whose spread goes with ``g``."""
    size = len(precision)
    out = np.zeros((size + more, size + more))
    out[:size, :size] = precision
    out[range(size, size + more), range(size, size + more)] = 1.0 / g**2
    return out
