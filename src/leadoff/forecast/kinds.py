"""What kind of work a workload is: as its record says, or as the unit it counts in shows."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from importlib.resources import files

from leadoff.record.runs import Workload

MIXED = "mixed"
"""Nothing is known of the kind of work."""


def kind_of(workload: Workload) -> str:
    """The kind of work: declared by its mix, else seen from its unit, else ``MIXED``."""
    return _by("words", workload.mix) or _by("units", workload.unit) or MIXED


def seen_from_unit(workload: Workload) -> str:
    """The kind that only the unit shows; empty where the record says one, or nothing does."""
    return "" if _by("words", workload.mix) else _by("units", workload.unit)


def seen_words(workloads: Iterable[Workload]) -> str:
    """What was taken from units, in words; empty when every record says its kind."""
    told = [(w, kind) for w in workloads if (kind := seen_from_unit(w))]
    return "; ".join(f"{w.name} taken as {kind} work because it counts {w.unit}" for w, kind in told)


def kinds() -> tuple[str, ...]:
    """All kinds of work that are told apart."""
    return tuple(_table("words")[1])


def _by(what: str, text: str) -> str:
    return _table(what)[0].get(text.strip().lower(), "")


@lru_cache(maxsize=2)
def _table(what: str) -> tuple[Mapping[str, str], tuple[str, ...]]:
    """Kind by word or unit, and the kinds in file order."""
    text = files("leadoff.forecast").joinpath("data/kinds.toml").read_text(encoding="utf-8")
    told: Mapping[str, Mapping[str, Sequence[str]]] = {
        k: v for k, v in tomllib.loads(text).items() if isinstance(v, dict)
    }
    return {word: kind for kind, row in told.items() for word in row.get(what, ())}, tuple(told)
