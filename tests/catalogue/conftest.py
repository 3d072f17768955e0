"""Our rows, loaded once, and a folder of the user's."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from leadoff.catalogue import Catalogue, load


@pytest.fixture(scope="session")
def ours() -> Catalogue:
    """The catalogue without anything of a user's."""
    return load()


@pytest.fixture
def rows(tmp_path: Path) -> Callable[..., Path]:
    """Write a file of rows to a folder and give the folder."""

    def write(text: str, name: str = "mine.toml") -> Path:
        folder = tmp_path / "rows"
        folder.mkdir(exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")
        return folder

    return write
