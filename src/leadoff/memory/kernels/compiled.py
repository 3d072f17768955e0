"""How the inner loops are compiled, and where the compiled code is kept.

numba keeps code by the file of the function that was called and does not notice an edit in another that it calls.
So the code is kept in a folder named by a digest of every source in this package: after an edit there is none yet.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

import numba

F = TypeVar("F", bound=Callable[..., Any])
config: Any = numba.config
SOURCES = Path(__file__).parent


def digest(folder: Path = SOURCES) -> str:
    """Digest of all sources of a folder, names and bytes."""
    found = hashlib.sha256()
    for path in sorted(folder.glob("*.py")):
        text = path.read_bytes()
        found.update(f"{path.name} {len(text)} ".encode() + text)
    return found.hexdigest()[:16]


@cache
def kept_in() -> str | None:
    """The folder for compiled code: ``NUMBA_CACHE_DIR`` where it is set, else beside the sources, else the user's
    cache. ``None`` where none can be written: then it is compiled again in each process."""
    home = os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache"
    given = config.CACHE_DIR
    for base in [given] if given else [SOURCES / "__pycache__", Path(home) / "leadoff"]:
        folder = Path(base) / f"loops-{digest()}"
        try:
            folder.mkdir(parents=True, exist_ok=True)
            tempfile.TemporaryFile(dir=folder).close()
        except OSError:
            continue
        return str(folder)
    return None


def inner(function: F) -> F:
    """A loop that is called from compiled code only."""
    made: Any = numba.njit(nogil=True, boundscheck=False)(function)
    return made  # type: ignore[no-any-return]


def entry(function: F) -> F:
    """A loop that is called from Python: compiled at its first call, kept."""
    made: Any = inner(function)
    folder = kept_in()
    if folder is not None:
        before, config.CACHE_DIR = config.CACHE_DIR, folder
        try:
            made.enable_caching()
        finally:
            config.CACHE_DIR = before
    return made  # type: ignore[no-any-return]
