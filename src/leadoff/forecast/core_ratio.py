"""Clocks per unit of work of a core design over those of a 486, by kind of work."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import lru_cache

from leadoff.forecast.facts import Setup
from leadoff.forecast.kinds import MIXED
from leadoff.forecast.rows import group

MIXES = ("integer", "coprocessor", "copy")


def core_key(setup: Setup) -> str:
    """The row of ``cores.toml`` that fits: the part's core design, else its class of board."""
    part = setup.processor
    told = () if part is None else (part.core, part.id)
    return _key((*told, setup.state.value("cpu") or "", setup.sheet.board_class, setup.sheet.socket or ""))


@lru_cache(maxsize=1024)
def _key(told: tuple[str, ...]) -> str:
    # Longest first, so that a 386sx is not taken for a 386.
    names = sorted(_rows(), key=len, reverse=True)
    for text in told:
        word = text.lower().replace("-", "").replace(" ", "").replace("_", "")
        for name in names:
            if word and word.startswith(name):
                return name
    return "486"


def mix_weights(kind: str) -> Mapping[str, float]:
    """How much of the time of that kind of work goes to each of ``MIXES``."""
    return {k: v for k, v in group("cores", f"mix.{kind}").items() if k in MIXES}


def log_core_ratio(setup: Setup, kind: str = MIXED) -> float:
    """Log of clocks per unit of work over a 486's. Judgement rows; the fit learns what they miss."""
    return _log_ratio(core_key(setup), kind)


@lru_cache(maxsize=512)
def _log_ratio(core: str, kind: str) -> float:
    row = _rows()[core]
    return math.log(sum(w * row[k] for k, w in mix_weights(kind).items()))


def store_buffers(core: str) -> float:
    """How many stores the core's write buffer holds."""
    return _rows()[core]["buffers"]


@lru_cache(maxsize=1)
def _rows() -> Mapping[str, Mapping[str, float]]:
    out: dict[str, dict[str, float]] = {}
    for name, value in group("cores", "core").items():
        core, kind = name.split(".")
        out.setdefault(core, {})[kind] = value
    return out
