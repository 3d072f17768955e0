"""Reads the data rows of this floor, once."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

_DATA = Path(__file__).parent / "data"
"""Read by path, since importing importlib.resources costs every start of the command line about 10 ms."""


@cache
def rows(name: str) -> Mapping[str, Any]:
    """The tables of ``data/<name>.toml``. They are ours: a mistake in them is a bug, not the user's case."""
    return tomllib.loads((_DATA / f"{name}.toml").read_text(encoding="utf-8"))
