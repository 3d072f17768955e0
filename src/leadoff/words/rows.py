"""Reads the data rows of this floor, once."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any


@cache
def rows(name: str) -> Mapping[str, Any]:
    """The tables of ``data/<name>.toml``. They are ours: a mistake in them is a bug, not the user's case."""
    return tomllib.loads(files("leadoff.words.data").joinpath(f"{name}.toml").read_text(encoding="utf-8"))
