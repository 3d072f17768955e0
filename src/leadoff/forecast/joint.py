"""Forecasts by the score model: delta method for each component, then the mixture. No draws."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np
from msgspec.structs import astuple
from numpy.typing import NDArray

from leadoff.forecast import noise
from leadoff.forecast.board import Board, recurring_sds, refit
from leadoff.forecast.datum import state_key
from leadoff.forecast.facts import Setup
from leadoff.forecast.families import PARAMETERS, Lean, lean
from leadoff.forecast.fit import Alternative, Fit
from leadoff.forecast.geometry import FIELDS, demand
from leadoff.forecast.kinds import kind_of
from leadoff.forecast.layout import BEHIND, Columns, Index, Layout, Name, deviations, generics
from leadoff.forecast.mixture import Mixture
from leadoff.forecast.normal import Vec
from leadoff.forecast.solve import Mode, Problem, columns_by, evaluate, spread
from leadoff.forecast.terms import Arr
from leadoff.forecast.unknowns import combinations
from leadoff.record.runs import Workload

MODEL = "joint 7"
"""Name and version of the score model, kept in sealed forecasts."""


class Ask(NamedTuple):
    """One score asked for: workload and state."""

    workload: Workload
    setup: Setup


class Told(NamedTuple):
    """Components of the forecasts: means, parameter variance, misfit and noise variance, each (components, asks).

    ``jac`` by the parameters of ``hessian`` for differences between asks, ``prior_var`` theirs before any run;
    ``new_var``: of what no run touched, ``unseen`` derivatives by it in its deviations; ``plain_*``: before a state's
    own misfit was carried over; ``leans``: what the profile families make of each workload; ``names``: workload of
    each ask."""

    board: Board
    alternatives: tuple[Alternative, ...]
    mean: Arr
    param_var: Arr
    misfit_var: Arr
    noise_var: Vec
    jac: Arr
    new_var: Arr
    unseen: Arr
    hessian: Arr
    prior_var: Arr
    plain_mean: Arr
    plain_misfit: Arr
    asked: Problem
    z: Arr
    leans: Mapping[str, Lean]
    names: tuple[str, ...]


ROUGH = 6
"""Components kept where many states are only to be put in order."""


def tell(
    fit: Fit, asks: Sequence[Ask], board: str, *, rig: str = "", rough: bool = False, apart: bool = False
) -> Told:
    """Everything the model says of several states of one board. ``rough``: by the heaviest components alone,
    which is enough to rank and not to give a band. ``apart``: what no run touched one by one, for differences.

    Raises:
        Gap: when a state lacks its core or bus clock.
    """
    own = [d for d in fit.rows.data if d.setup.board == board]
    alternatives = combinations([*(d.setup for d in own), *(a.setup for a in asks)])
    grown = Layout()
    grown.index = dict(fit.layout.index)
    rows = [_columns(fit, grown, ask, rig or (own[-1].rig if own else "")) for ask in asks]
    size = len(fit.layout)
    at = np.array([r.at for r in rows], dtype=np.intp)
    sds = np.array([r.sds for r in rows])
    wanted = np.unique(at[(at >= 0) & (at < size)])
    known = refit(fit, board, alternatives, wanted)
    local, sds = _local_index(at, sds, known, size, [deviations(a.setup) for a in asks])
    live = known.weights > 1e-9 * known.weights.max()
    if rough:
        live = np.zeros_like(live)
        live[np.argsort(-known.weights, kind="stable")[:ROUGH]] = True
    needed = {int(i): k for k, i in enumerate(np.unique(known.alternative[live]))}
    told = [[astuple(demand(a.workload, a.setup, alternatives[i])) for a in asks] for i in needed]
    table = np.array(told).reshape(len(needed), len(asks), len(FIELDS))
    pick = [needed[int(i)] for i in known.alternative[live]]
    problem = Problem(
        at=local,
        sds=sds,
        centres=np.stack([r.centres for r in rows]),
        features={n: np.ascontiguousarray(table[pick, :, k]) for k, n in enumerate(FIELDS)},
        lo=np.zeros(len(asks)),
        hi=np.zeros(len(asks)),
        noise_var=np.zeros(len(asks)),
        level0=np.array([fit.levels[a.workload.name] for a in asks]),
        loose=1.0 - noise.recurring_share(),
    )
    z = known.mode.z[live]
    fresh = max(int(local.max(initial=0)) - z.shape[1], 0)
    padded = np.concatenate([z, np.zeros((len(z), fresh))], axis=1)
    mu, columns, misfit = evaluate(problem, padded)
    whole = spread(problem, columns, padded.shape[1])
    own_jac = whole[:, :, : z.shape[1]]
    solved = np.linalg.solve(known.mode.hessian[live], np.swapaxes(own_jac, 1, 2))
    variance = np.einsum("bnd,bdn->bn", own_jac, solved)
    g2 = known.g[live][:, None] ** 2
    new = _new_variance(columns, local, z.shape[1], fresh, g2)
    # Unseen recurring misfits stand behind the other unseen parameters and go with the misfit scale.
    plain = len({int(i) for i in at.ravel() if i >= size})
    scale = np.concatenate(
        [np.ones((len(z), plain)), np.repeat(known.g[live][:, None], fresh - plain, axis=1)], axis=1
    )
    unseen = whole[:, :, z.shape[1] :] * scale[:, None, :] if apart else np.zeros((len(z), len(asks), 0))
    boots = noise.boot_var(columns_by(problem, columns, "b.curve"), problem.features["luck"])
    weights = known.weights[live]
    repeat = np.array([fit.rows.repeat[a.workload.name].sd_log for a in asks])
    misfit_new = g2 * misfit
    mean, misfit = _same_state(fit, known, live, asks, board, mu, misfit_new)
    return Told(
        board=known._replace(
            mode=Mode(*(x[live] for x in known.mode)),
            weights=known.weights[live],
            g=known.g[live],
            alternative=known.alternative[live],
        ),
        alternatives=alternatives,
        mean=mean,
        param_var=variance,
        misfit_var=misfit,
        noise_var=repeat**2 + weights @ boots / weights.sum(),
        jac=own_jac,
        new_var=new,
        unseen=unseen,
        hessian=known.mode.hessian[live],
        prior_var=_prior_var(known, live),
        plain_mean=mu,
        plain_misfit=_plain(columns, misfit_new, g2),
        asked=problem,
        z=padded,
        leans={} if rough else _leans(fit, asks, known, live),
        names=tuple(a.workload.name for a in asks),
    )


def mixture(told: Told, k: int, only: NDArray[np.bool_] | None = None) -> Mixture:
    """Predictive distribution of the log time of one ask: components times profile families, times the wider part for
    a next state that is itself wrongly declared. ``only``: components to take."""
    row = noise.outlier()
    share, extra = row["predicted_share"], row["predicted_sd"]
    rest = told.misfit_var[:, k] + told.new_var[:, k] + told.noise_var[k]
    pick = np.ones(len(rest), dtype=bool) if only is None else only
    w, mean, var = told.board.weights[pick], told.mean[pick, k], (told.param_var[:, k] + rest)[pick]
    if (by := told.leans.get(told.names[k])) is not None:
        shift, less = by.of(told.jac[:, k])
        w = ((w * by.factor[pick])[:, None] * by.weight[pick]).ravel()
        var = np.repeat(var - less[pick], by.weight.shape[1])
        mean = (mean[:, None] + shift[pick]).ravel()
    return Mixture(
        np.concatenate([(1.0 - share) * w, share * w]),
        np.tile(mean, 2),
        np.sqrt(np.concatenate([var, var + extra**2])),
    )


def _leans(fit: Fit, asks: Sequence[Ask], known: Board, live: NDArray[np.bool_]) -> dict[str, Lean]:
    """Each workload under the profile families, where its rates are among the board's parameters."""
    place = {int(i): k for k, i in enumerate(known.keep)}
    out: dict[str, Lean] = {}
    for workload in {a.workload.name: a.workload for a in asks}.values():
        names = [("w", n, workload.name) for n in PARAMETERS.values()]
        at = [place[i] for n in names if (i := fit.layout.index.get(n, -1)) in place]
        if len(at) == len(names):
            z, hessian = known.mode.z[live], known.mode.hessian[live]
            out[workload.name] = lean(z, hessian, at, kind_of(workload), known.weights[live])
    return out


def _columns(fit: Fit, grown: Layout, ask: Ask, rig: str) -> Columns:
    """Columns of a state asked for; parameters that no run touches get numbers behind the layout's."""
    kinds = {name[1] for row in fit.generic for name, _ in row}
    return grown.row(ask.workload, ask.setup, [x for x in generics(ask.setup, rig) if x[0][1] in kinds])


def _local_index(
    at: Index, sds: Arr, known: Board, size: int, recurring: Sequence[Sequence[Name]]
) -> tuple[Index, Arr]:
    """Layout indices to places among the board's parameters; unseen ones follow, the dummy comes last.

    Unseen parameters of different asks share one number where they are the same: they are independent of
    everything known, and only their variance is used.
    """
    where = {int(i): k for k, i in enumerate(known.keep)}
    end = at.shape[1] - len(BEHIND)
    places = dict(known.recurring)
    base = len(known.keep) + len(places)
    for i in sorted({int(i) for i in at.ravel() if i >= size}):
        where[i] = base
        base += 1
    for row in recurring:
        for name in row:
            if name not in places:
                places[name] = base
                base += 1
    where[-1] = base
    out = np.array([[where[int(i)] for i in row] for row in at], dtype=np.intp).reshape(at.shape)
    out[:, end:] = [[places[n] for n in row] for row in recurring]
    scaled = sds.copy()
    scaled[:, end:] = recurring_sds()
    return out, scaled


def _new_variance(columns: Arr, local: Index, known: int, fresh: int, g2: Arr) -> Arr:
    """Prior variance of what the board's runs do not touch; recurring misfits go with the misfit scale."""
    end = columns.shape[2] - len(BEHIND)
    unseen = (local >= known) & (local < known + fresh)
    squared = columns**2 * unseen
    return np.asarray(squared[:, :, :end].sum(axis=2) + g2 * squared[:, :, end:].sum(axis=2))


def _prior_var(known: Board, live: NDArray[np.bool_]) -> Arr:
    """Variance of each parameter before any run: one, and g squared for a recurring misfit."""
    count = int(live.sum())
    out = np.ones((count, known.mode.z.shape[1]))
    out[:, len(known.keep) :] = (known.g[live] ** 2)[:, None]
    return out


def _plain(columns: Arr, misfit: Arr, g2: Arr) -> Arr:
    """Misfit variance of a state as if none of it recurred."""
    end = columns.shape[2] - len(BEHIND)
    return np.asarray(misfit + g2 * (columns[:, :, end:] ** 2).sum(axis=2))


def _same_state(
    fit: Fit, known: Board, live: Arr, asks: Sequence[Ask], board: str, mu: Arr, misfit: Arr
) -> tuple[Arr, Arr]:
    """A state that was run before keeps its misfit: what is left of it moves the centre, the rest narrows."""
    mean, left = mu.copy(), misfit.copy()
    places = {i: k for k, i in enumerate(known.rows)}
    keys = {(d.workload, d.key): i for i, d in enumerate(fit.rows.data) if d.setup.board == board}
    for k, ask in enumerate(asks):
        i = keys.get((ask.workload.name, state_key(ask.setup)))
        if i is None:
            continue
        d = fit.rows.data[i]
        noise_var = fit.problem.noise_var[i] + (d.hi - d.lo) ** 2 / 12.0
        kept = misfit[:, k] / (misfit[:, k] + noise_var)
        mean[:, k] += kept * (d.mid - known.mode.mu[live][:, places[i]])
        left[:, k] *= 1.0 - kept
    return mean, left
