"""Data rows of a folder of the house. They are ours: a mistake in them is a bug, not the user's case."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

_HOUSE = Path(__file__).parents[1]
"""Read by path, since importing importlib.resources costs every start of the command line about 10 ms."""


@cache
def table(folder: str, name: str) -> Mapping[str, Any]:
    """``data/<name>.toml`` of a folder, read once."""
    return tomllib.loads((_HOUSE / folder / "data" / f"{name}.toml").read_text(encoding="utf-8"))


def limit(folder: str, name: str) -> float:
    """The value of one row of a folder's ``limits.toml``, where its unit, source and certainty stand too."""
    return float(table(folder, "limits")[name]["value"])
