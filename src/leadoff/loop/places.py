"""Where things live on this machine: the book, this installation's pen, caches."""

from __future__ import annotations

import os
from pathlib import Path


def book_place(given: str | None) -> str:
    """Path or URL of the book: as given, else ``LEADOFF_BOOK``, else the user-data folder."""
    if given:
        return given
    if from_env := os.environ.get("LEADOFF_BOOK"):
        return from_env
    from platformdirs import user_data_path

    return str(user_data_path("leadoff", appauthor=False) / "book.db")


def config_dir() -> Path:
    """Folder that remembers this installation's pens: ``LEADOFF_CONFIG`` or the user-config folder."""
    if from_env := os.environ.get("LEADOFF_CONFIG"):
        return Path(from_env)
    from platformdirs import user_config_path

    return user_config_path("leadoff", appauthor=False)


def cache_dir() -> Path:
    """Folder for what can be computed again: ``LEADOFF_CACHE`` or the user-cache folder."""
    if from_env := os.environ.get("LEADOFF_CACHE"):
        return Path(from_env)
    from platformdirs import user_cache_path

    return user_cache_path("leadoff", appauthor=False)
