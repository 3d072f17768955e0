"""The name of a setting as a board file may write it."""

from __future__ import annotations

import difflib
from functools import lru_cache

from leadoff.record.settings import SETTINGS
from leadoff.record.tables import table
from leadoff.words.vocabulary import likeness


@lru_cache(maxsize=1)
def _table() -> dict[str, str]:
    out = {word: name for name, words in table("machine", "names").items() for word in words}
    return out | {name: name for name in SETTINGS}


def setting_name(typed: str) -> str | None:
    """The setting meant by a key of a board file, ``None`` when it is none."""
    return _table().get(typed.strip().lower().replace(" ", "_").replace("-", "_"))


def near_setting(typed: str) -> str | None:
    """The setting that a misspelt key is likely to mean; ``None`` for words of the board's own, such as pins."""
    near = difflib.get_close_matches(typed.strip().lower(), _table(), n=1, cutoff=likeness("setting"))
    return _table()[near[0]] if near else None


def class_name(typed: str) -> str:
    """The one name of a class of boards: ``Socket 7`` is ``socket7``, ``486vlb`` is ``486-vlb``."""
    word = "-".join(typed.lower().split())
    bare = word.replace("-", "")
    return next((n for n in table("machine", "classes")["names"] if n.replace("-", "") == bare), word)
