from __future__ import annotations

from pathlib import Path

import pytest

from cli_bench import Bench


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    """A command line with an empty book of its own."""
    return Bench(tmp_path)
