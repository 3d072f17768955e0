from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from cli_bench import Bench

STORY = (
    ("log", "ferry-486", "w2 19.6 19.7", "--unit", "frames/s", "--at", "2024-03-01T18:10"),
    ("forecast", "ferry-486", "--want", "bus 40", "--at", "2024-03-01T18:20"),
    ("move", "ferry-486", "bus 40", "--at", "2024-03-01T18:30"),
    ("log", "ferry-486", "w2 23.1 23.2", "--at", "2024-03-01T18:40"),
    ("log", "ferry-486", "hang memcount", "--at", "2024-03-01T18:50"),
)
"""A small invented story: two states, a sealed forecast with its answer, an open symptom."""


@pytest.fixture(scope="session")
def story(tmp_path_factory: pytest.TempPathFactory, shared_cache: Path, pytestconfig: pytest.Config) -> Path:
    """The story's book and its public file, made once; tests work on copies."""
    folder = tmp_path_factory.mktemp("story")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("LEADOFF_BOOK", str(folder / "book.db"))
        patch.setenv("LEADOFF_CONFIG", str(folder / "config"))
        patch.setenv("LEADOFF_CACHE", str(shared_cache))
        bench = Bench(folder)
        example = pytestconfig.rootpath / "examples" / "ferry-486.toml"
        bench("board", "add", str(example), "--at", "2024-03-01T18:00")
        for words in STORY:
            bench(*words)
        bench(
            "publish", "ferry-486", "--to", str(folder / "out"), "--only", "page", "--at", "2024-03-02T10:00"
        )
    return folder


@pytest.fixture
def told(bench: Bench, story: Path, tmp_path: Path) -> Bench:
    """A command line with a copy of the story's book."""
    for file in story.glob("book.db*"):
        shutil.copy(file, tmp_path / file.name)
    return bench


@pytest.fixture
def file(told: Bench, story: Path, tmp_path: Path) -> Path:
    """The story's public file, in a copy."""
    return Path(shutil.copy(story / "out" / "ferry-486.leadoff.json", tmp_path / "ferry-486.leadoff.json"))
