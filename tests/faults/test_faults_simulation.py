"""Sixty sampled boards: the tables against themselves, not a figure of accuracy on a real bench."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

SCRIPT = Path(__file__).parents[2] / "validation" / "faults_simulation.py"
ERAS = ("e286_386", "e486", "socket7")


def simulated(*options: str) -> dict[str, Any]:
    command = [sys.executable, str(SCRIPT), "--json", *options]
    return json.loads(subprocess.run(command, capture_output=True, text=True, check=True).stdout)


@pytest.mark.slow
def test_sixty_boards_cost_less_than_by_checklist_or_by_chance_over_cost():
    found = simulated("--boards", "20", "--seed", "1", "--most", "240")
    mean = {
        p: sum(found[e][p]["mean_minutes"] for e in ERAS) / 3
        for p in ("tool", "checklist", "chance_over_cost")
    }
    assert mean["tool"] < mean["checklist"]
    assert mean["tool"] < mean["chance_over_cost"]
    assert sum(found[e]["tool"]["top3"] for e in ERAS) / 3 > 0.5


@pytest.mark.slow
def test_factor_two_in_every_chance_costs_less_than_half_as_much_again():
    options = ("--boards", "6", "--most", "240", "--era", "e486", "--seed", "2", "--policy", "tool")
    right = simulated(*options)["e486"]["tool"]["mean_minutes"]
    wrong = simulated(*options, "--perturb", "2")["e486"]["tool"]["mean_minutes"]
    assert wrong < 1.5 * right
