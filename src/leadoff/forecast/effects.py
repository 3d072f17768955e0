"""Effects of changed factors on log time with their covariance: what the runs of a book are worth for a difference.

The bands of scores hold although the parameters behind them are known less well than the fit says: errors of two
terms that every state has cancel in a score, and a split sees them. Runs that miss by the same wrong form are no
independent witnesses, so the variance that the fit gives an effect goes up with the square root of their number: the
constant was set, and this form preferred to a fixed factor, to a power of the likelihood and to errors in proportion
to an effect or to its terms, on books of another physics from 3 to 400 runs (docs/validation.md).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from leadoff.forecast.joint import Told
from leadoff.forecast.layout import BEHIND
from leadoff.forecast.normal import Vec
from leadoff.forecast.rows import values
from leadoff.forecast.shapley import shapley_matrix
from leadoff.forecast.terms import Arr
from leadoff.forecast.why import Changed

_ROUGH = (*BEHIND["video"], "profile")
"""Settings whose effect the formulas give in order of size only: a display access is hidden wholly or hardly, what
resident programs do between interrupts is not in them."""


class Effects(NamedTuple):
    """Effects on log time: mean and covariance by posterior, and prior spread; ``with_subset``: covariance of the
    effects with each subset's value, for the deciding run; ``runs_for_one``: how many runs of the book are worth one
    that is independent."""

    mean: Vec
    cov: Arr
    prior_sd: Vec
    with_subset: Arr
    runs_for_one: float


def effects_of(told: Told, factors: Sequence[Changed], runs: int, wrong: tuple[Vec, Vec]) -> Effects:
    """Shapley effects; ``told``: all 2^k states between the two, in order of their bits, from a fit of ``runs``
    states with a score; ``wrong``: by component, the odds that the declaration of the first and last is wrong. What
    such a run leaves over is no effect of what was declared. Delta method in each component, then the moments of
    the mixture."""
    row, k = values("explain"), len(factors)
    worth = 1.0 + row["alike"] * math.sqrt(runs)
    split = shapley_matrix(k)
    w = told.board.weights
    value = told.mean.copy()
    for m, odds in zip((0, -1), wrong, strict=True):
        value[:, m] -= odds * (told.mean[:, m] - told.plain_mean[:, m])
    each = value @ split.T
    mean = w @ each
    between = np.einsum("b,bi,bj->ij", w, each - mean, each - mean)
    jac = np.einsum("im,bmd->bid", split, told.jac)
    half = np.einsum("bid,bde->bie", jac, np.linalg.inv(told.hessian))
    inside = np.einsum("b,bie,bje->ij", w, half, jac)
    # What the model leaves out belongs to settings: of the misfit of the two end states little is new between them.
    ends = told.misfit_var[:, 0] + told.misfit_var[:, -1]
    own = row["own"] * float(w @ ends) / k
    # What no run touched is the same in all states that share it, so an effect has it whole.
    unseen = np.einsum("im,bmu->biu", split, told.unseen)
    fresh = np.einsum("b,biu,bju->ij", w, unseen, unseen)
    rough = np.array([row["rough"] if f.factor in _ROUGH else 0.0 for f in factors])
    cov = between + worth * inside + np.diag(own + (rough * mean) ** 2) + fresh
    prior = np.einsum("b,bid,bd->i", w, jac**2, told.prior_var) + own + np.diag(fresh)
    with_subset = worth * np.einsum("b,bie,bme->im", w, half, told.jac)
    return Effects(mean, cov, np.sqrt(prior), with_subset, worth)
