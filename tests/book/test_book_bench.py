"""The benchmark command runs and measures what it says; figures themselves are looked at, not tested."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]


def test_the_benchmark_runs_and_reports_every_goal() -> None:
    command = [
        sys.executable,
        str(ROOT / "benchmarks" / "book.py"),
        "--entries",
        "1000",
        "--repeats",
        "1",
        "--json",
    ]
    ended = subprocess.run(command, capture_output=True, text=True, check=False)
    assert ended.returncode == 0, ended.stderr
    rows = {row["name"]: row for row in json.loads(ended.stdout)["rows"]}
    goals = {name: row["goal"] for name, row in rows.items() if row["goal"] is not None}
    assert goals == {
        "append in bulk": 25,
        "verify, all": 6,
        "verify from a checkpoint": 50,
        "rebuild the projection": 11,
    }
    assert all(row["value"] > 0 for row in rows.values())
    assert rows["append in bulk"]["to_sqlite3"] > 1, "hashes and chain cost something"
    assert rows["verify from a checkpoint"]["value"] < 50, "a goal with room to spare on any machine"
