"""The benchmark runs and prints what it promises, on a small book."""

from __future__ import annotations

import asyncio
import importlib.util
from pathlib import Path
from typing import Any

import pytest


def benchmark() -> Any:
    place = Path(__file__).parents[2] / "benchmarks" / "web.py"
    spec = importlib.util.spec_from_file_location("web_benchmark", place)
    assert spec is not None
    assert spec.loader is not None
    made = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(made)
    return made


@pytest.mark.slow
def test_the_command_serves_and_is_measured(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """``leadoff serve`` as a process of its own; twenty times the goals, for a machine that is shared."""
    web = benchmark()
    web.make_book(tmp_path, runs=100)
    with web.serving(tmp_path) as (address, first_s):
        assert 0 < first_s < 60
        asyncio.run(web.one_book(address, "100 runs", 50, patience=20))
    said = capsys.readouterr().out
    assert "page weight without charts" in said
    assert "input line kept, 100 runs, median" in said
    assert "MISSED" not in said
