"""Priors of the score model, from ``data/priors.toml``: every parameter is centre + sd x z in logs.

A workload's own parameters have further rows for the kinds of work that the file knows (``[kind.render]``): a
renderer draws and a sort does not, so a row for all work is wide for both.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from functools import lru_cache
from importlib.resources import files

import msgspec
import numpy as np

from leadoff.forecast.kinds import MIXED, kinds
from leadoff.forecast.normal import Vec

LEVELS = ("w", "s", "c", "e", "cw", "f", "v", "k", "d", "b")
"""Per workload, shared, per core design, per design of a part by its exact name, per core design and workload, per
family of boards, per display bus, per chipset, per display card and its bus, per board."""


class Prior(msgspec.Struct, frozen=True, kw_only=True):
    """One parameter's prior: normal in logs (in logits for the shifts), with ``centre`` in logs."""

    level: str
    name: str
    centre: float
    sd: float


@lru_cache(maxsize=8)
def priors(kind: str = MIXED) -> tuple[Prior, ...]:
    """All parameters in file order, for work of that kind. A row's ``centre`` is natural there (1 for a factor that
    is usually 1); ``linear`` rows are used as the log itself, once for each unit of what they multiply."""
    text = files("leadoff.forecast").joinpath("data/priors.toml").read_text(encoding="utf-8")
    tree = {k: v for k, v in tomllib.loads(text).items() if isinstance(v, dict)}
    by_kind: Mapping[str, Mapping[str, Mapping[str, float]]] = tree["kind"]
    if unknown := [f"{k}.{n}" for k in by_kind for n in by_kind[k] if k not in kinds() or n not in tree["w"]]:
        raise ValueError(f"priors.toml, [kind]: {', '.join(unknown)}: no kind of work, or no row of [w]")
    own = by_kind.get(kind, {})
    out = []
    width: Mapping[str, float] = tree["width"]
    for level in LEVELS:
        for name, general in tree[level].items():
            row: Mapping[str, float] = own.get(name, general) if level == "w" else general
            centre = math.log(row["centre"]) if row["centre"] > 0.0 else 0.0
            out.append(Prior(level=level, name=name, centre=centre, sd=_sd(name, row["sd"], width[level])))
    return tuple(out)


@lru_cache(maxsize=8)
def centres(kind: str = MIXED) -> Vec:
    """Centres of all parameters in the order of ``COLUMNS``, in logs."""
    out = np.array([p.centre for p in priors(kind)])
    out.setflags(write=False)
    return out


def _sd(name: str, sd: float, width: float) -> float:
    """A level is only kept finite; the widths of all others go with the factor of their level."""
    return float(sd if name == "level" else sd * width)


@lru_cache(maxsize=64)
def prior(level: str, name: str, kind: str = MIXED) -> Prior:
    """One parameter by level and name."""
    return next(p for p in priors(kind) if p.level == level and p.name == name)


COLUMNS: tuple[str, ...] = tuple(f"{p.level}.{p.name}" for p in priors())
"""Names of the parameters one run depends on, generic ones apart."""
