"""The name of a setting as a board file may write it."""

from __future__ import annotations

import difflib
import tomllib
from functools import lru_cache
from importlib.resources import files

from leadoff.record.settings import SETTINGS


@lru_cache(maxsize=1)
def _table() -> dict[str, str]:
    text = files("leadoff.machine").joinpath("data/names.toml").read_text(encoding="utf-8")
    out = {word: name for name, words in tomllib.loads(text).items() for word in words}
    return out | {name: name for name in SETTINGS}


def setting_name(typed: str) -> str | None:
    """The setting meant by a key of a board file, ``None`` when it is none."""
    return _table().get(typed.strip().lower().replace(" ", "_").replace("-", "_"))


def near_setting(typed: str) -> str | None:
    """The setting that a misspelt key is likely to mean; ``None`` for words of the board's own, such as pins."""
    near = difflib.get_close_matches(typed.strip().lower(), _table(), n=1, cutoff=0.8)
    return _table()[near[0]] if near else None
