"""Sixty sampled boards: the tables against themselves, not a figure of accuracy on a real bench."""

from __future__ import annotations

import importlib.util
from pathlib import Path

import numpy as np
import pytest

SCRIPT = Path(__file__).parents[2] / "validation" / "faults_simulation.py"


@pytest.fixture(scope="module")
def simulation():
    import sys

    spec = importlib.util.spec_from_file_location("faults_simulation", SCRIPT)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["faults_simulation"] = module
    spec.loader.exec_module(module)
    return module


@pytest.mark.slow
def test_sixty_boards_cost_less_than_by_checklist_or_by_chance_over_cost(simulation):
    found = [simulation.run(20, era, seed=1) for era in ("e286_386", "e486", "socket7")]
    mean = {name: np.mean([f[name]["mean_minutes"] for f in found]) for name in simulation.POLICIES}
    assert mean["tool"] < mean["checklist"]
    assert mean["tool"] < mean["chance_over_cost"]
    assert np.mean([f["tool"]["top3"] for f in found]) > 0.5


@pytest.mark.slow
def test_factor_two_in_every_chance_costs_less_than_half_as_much_again(simulation):
    right = simulation.run(8, "e486", seed=2, policies=["tool"])["tool"]["mean_minutes"]
    wrong = simulation.run(8, "e486", seed=2, perturb=2.0, policies=["tool"])["tool"]["mean_minutes"]
    assert wrong < 1.5 * right
