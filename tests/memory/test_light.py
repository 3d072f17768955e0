"""What a forecast or a sweep loads: no compiled kernels."""

from __future__ import annotations

import subprocess
import sys

import pytest


@pytest.mark.parametrize(
    ("module", "without"),
    [
        ("leadoff.memory.geometry", ("numba", "numpy")),
        ("leadoff.memory.sweep_values", ("numba", "numpy")),
        ("leadoff.memory.sweep_text", ("numba", "numpy")),
        ("leadoff.memory.sweep_compare", ("numba", "numpy")),
        ("leadoff.memory.demand", ("numba",)),
        ("leadoff.memory.sweep", ("numba", "scipy")),
        ("leadoff.memory.advice", ("numba", "scipy")),
    ],
)
def test_modules_load_without(module: str, without: tuple[str, ...]) -> None:
    code = f"import sys, {module}; print([m for m in {without!r} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
