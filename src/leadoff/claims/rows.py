"""Constants of this folder, from data rows: value, unit, source and how it is known."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import lru_cache
from importlib.resources import files
from typing import Any


@lru_cache(maxsize=32)
def table(name: str) -> Mapping[str, Any]:
    """One file of ``claims/data``."""
    text = files("leadoff.claims").joinpath("data", f"{name}.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def limit(name: str) -> float:
    """The value of one row of ``limits.toml``."""
    return float(table("limits")[name]["value"])


def constant(name: str) -> float:
    """The value of one row of ``search.toml``."""
    return float(table("search")[name]["value"])
