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


@pytest.fixture
def told(bench: Bench, pytestconfig: pytest.Config) -> Bench:
    """A small invented story: two states, a sealed forecast with its answer, an open symptom, private words."""
    bench(
        "board", "add", str(pytestconfig.rootpath / "examples" / "ferry-486.toml"), "--at", "2024-03-01T18:00"
    )
    bench("log", "ferry-486", "w2 19.6 19.7", "--unit", "frames/s", "--at", "2024-03-01T18:10")
    bench("forecast", "ferry-486", "--want", "bus 40", "--at", "2024-03-01T18:20")
    bench("move", "ferry-486", "bus 40", "--at", "2024-03-01T18:30")
    bench("log", "ferry-486", "w2 23.1 23.2", "--at", "2024-03-01T18:40")
    bench("log", "ferry-486", "hang memcount", "--at", "2024-03-01T18:50")
    return bench
