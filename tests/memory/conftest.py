"""The workload kit, built once: real programs to trace. Needs a C compiler; valgrind for its own checks."""

from __future__ import annotations

import importlib.util
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import pytest
from memory_needs import tool

from leadoff.memory.traces import Trace, from_hooks

KIT = Path(__file__).parents[2] / "workloads"


@pytest.fixture(scope="session")
def kit() -> ModuleType:
    """``workloads/build.py`` as a module."""
    tool("cc")
    spec = importlib.util.spec_from_file_location("kit_build", KIT / "build.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def kit_trace(kit: ModuleType, tmp_path_factory: pytest.TempPathFactory) -> Callable[[str, int], Trace]:
    """Traces a workload of the kit, each once."""
    made: dict[tuple[str, int], Trace] = {}

    def get(name: str, units: int) -> Trace:
        if (name, units) not in made:
            raw, _ = kit.trace(tmp_path_factory.mktemp(name), name, units)
            made[name, units] = from_hooks(raw, name)
        return made[name, units]

    return get
