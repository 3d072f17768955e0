"""README shows what the commands really print, names both commands for both systems, and opens with the job."""

from __future__ import annotations

import importlib.util
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_console_blocks_are_true() -> None:
    spec = importlib.util.spec_from_file_location("readme_tool", ROOT / "tools" / "readme.py")
    assert spec is not None
    assert spec.loader is not None
    tool = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(tool)
    assert tool.true_text(README) == README, "run: python tools/readme.py --write"


def test_opens_with_the_job_in_one_paragraph() -> None:
    title, first = README.split("\n\n")[:2]
    assert title == "# leadoff"
    assert "restores and tunes vintage PC motherboards" in first.replace("\n", " ")


def test_both_commands_stand_there_for_both_systems() -> None:
    lines = README.splitlines()
    assert any(line.startswith("python3 -m venv") and line.endswith("leadoff tour") for line in lines)
    assert any(line.startswith("python3 -m venv") and line.endswith("pytest") for line in lines)
    assert any(line.startswith("py -m venv") and line.endswith("leadoff tour") for line in lines)
    assert any(line.startswith("py -m venv") and line.endswith("pytest") for line in lines)
