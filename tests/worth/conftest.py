from __future__ import annotations

from pathlib import Path

import pytest

from cli_bench import Bench


@pytest.fixture(scope="session")
def shared_cache(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Rows are compiled once for all tests here, not once for each."""
    return tmp_path_factory.mktemp("cache")


@pytest.fixture
def bench(tmp_path: Path, shared_cache: Path, monkeypatch: pytest.MonkeyPatch) -> Bench:
    """A command line with an empty book of its own."""
    monkeypatch.setenv("LEADOFF_CACHE", str(shared_cache))
    return Bench(tmp_path)
