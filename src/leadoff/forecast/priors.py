"""Priors of the score model, from ``data/priors.toml``: every parameter is centre + sd x z in logs."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from functools import lru_cache
from importlib.resources import files

import msgspec

LEVELS = ("w", "s", "c", "e", "cw", "f", "v", "k", "d", "b")
"""Per workload, shared, per core design, per design of a part by its exact name, per core design and workload, per
family of boards, per display bus, per chipset, per display card and its bus, per board."""


class Prior(msgspec.Struct, frozen=True, kw_only=True):
    """One parameter's prior: normal in logs (in logits for the shifts), with ``centre`` in logs."""

    level: str
    name: str
    centre: float
    sd: float


@lru_cache(maxsize=1)
def priors() -> tuple[Prior, ...]:
    """All parameters in file order. A row's ``centre`` is natural there (1 for a factor that is usually 1);
    ``linear`` rows are used as the log itself, once for each unit of what they multiply."""
    text = files("leadoff.forecast").joinpath("data/priors.toml").read_text(encoding="utf-8")
    tree: Mapping[str, Mapping[str, Mapping[str, float]]] = {
        k: v for k, v in tomllib.loads(text).items() if isinstance(v, dict)
    }
    out = []
    width = tree["all"]["width"]["value"]
    for level in LEVELS:
        for name, row in tree[level].items():
            centre = math.log(row["centre"]) if row["centre"] > 0.0 else 0.0
            out.append(Prior(level=level, name=name, centre=centre, sd=_sd(name, row["sd"], width)))
    return tuple(out)


def _sd(name: str, sd: float, width: float) -> float:
    """A level is only kept finite; the widths of all others go with the file's common factor."""
    return float(sd if name == "level" else sd * width)


@lru_cache(maxsize=64)
def prior(level: str, name: str) -> Prior:
    """One parameter by level and name."""
    return next(p for p in priors() if p.level == level and p.name == name)


COLUMNS: tuple[str, ...] = tuple(f"{p.level}.{p.name}" for p in priors())
"""Names of the parameters one run depends on, generic ones apart."""
