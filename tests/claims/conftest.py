from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from blind_book import write

from cli_bench import Bench
from leadoff.loop.session import Session


@pytest.fixture(scope="session")
def shared_cache(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Rows are compiled once for all tests here, not once for each."""
    return tmp_path_factory.mktemp("cache")


@pytest.fixture
def bench(tmp_path: Path, shared_cache: Path, monkeypatch: pytest.MonkeyPatch) -> Bench:
    """A command line with an empty book of its own."""
    monkeypatch.setenv("LEADOFF_CACHE", str(shared_cache))
    return Bench(tmp_path)


@pytest.fixture(scope="session")
def blind(tmp_path_factory: pytest.TempPathFactory, shared_cache: Path) -> Iterator[Session]:
    """A session on the invented book of the blind test."""
    folder = tmp_path_factory.mktemp("blind")
    session = Session(book=str(folder / "b.db"), config=folder / "c", cache=shared_cache)
    write(session)
    yield session
    session.close()
