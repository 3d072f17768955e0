"""Every leaf of a public file, changed one at a time: before and after its digest was made to fit again."""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec
import pytest

from leadoff.loop.public_board import digest_of
from leadoff.loop.public_check import check
from leadoff.record.public import PublicBoard

PathTo = tuple[str | int, ...]
HASHED = ("runs", "forecasts", "sealed", "chain", "shown")
"""What hangs on the hashes of entries, or follows from what does."""
SAID_ONLY = {
    ("runs", "state"): "the state of a run that answers no forecast is as its owner's book folds it",
    ("shown", "words"): "words",
    ("shown", "grade"): "words",
    ("shown", "grade_said"): "words",
    ("shown", "better"): "the workload's row",
    ("shown", "unit"): "the workload's row",
    ("shown", "rank_lo"): "needs the other boards",
    ("shown", "rank_hi"): "needs the other boards",
    ("shown", "boards"): "needs the other boards",
    ("shown", "lo"): "follows from the other boards and the house's repeatability",
    ("shown", "hi"): "the same",
    ("shown", "level"): "the same",
    ("shown", "refs"): "the same",
    ("shown", "why"): "words",
    ("shown", "source"): "words",
    ("shown", "flags"): "words; the limits that follow are looked for",
    ("shown", "clean"): "needs the other boards",
    ("forecasts", "withdrawn"): "an amendment, whose entry is not in the file",
}
"""Leaves that only the file's own digest holds, each with the reason; docs/public-file.md says so."""


def leaves(at: Any, path: PathTo = ()) -> Iterator[PathTo]:
    if isinstance(at, dict):
        for k, v in at.items():
            yield from leaves(v, (*path, k))
    elif isinstance(at, list):
        for n, v in enumerate(at):
            yield from leaves(v, (*path, n))
    else:
        yield path


def changed(data: dict[str, Any], path: PathTo) -> dict[str, Any]:
    """The file with one leaf changed to something of its kind."""
    out = copy.deepcopy(data)
    at: Any = out
    for step in path[:-1]:
        at = at[step]
    old = at[path[-1]]
    if isinstance(old, bool):
        at[path[-1]] = not old
    elif isinstance(old, int | float):
        at[path[-1]] = old + 1
    elif isinstance(old, str):
        at[path[-1]] = f"{old[:-1]}{'0' if old[-1:] != '0' else '1'}"
    else:
        at[path[-1]] = 1
    return out


def caught(data: dict[str, Any]) -> bool:
    try:
        public = msgspec.convert(data, PublicBoard, strict=True)
    except (msgspec.ValidationError, ValueError):
        return True
    return bool(check(public, data).faults)


@pytest.fixture(scope="module")
def data(story: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((story / "out" / "ferry-486.leadoff.json").read_text(encoding="utf-8"))
    assert not caught(found)
    return found


def test_a_change_of_any_leaf_is_caught_by_the_digest(data: dict[str, Any]) -> None:
    paths = list(leaves(data))
    assert len(paths) > 300
    missed = [p for p in paths if not caught(changed(data, p))]
    assert missed == []


def test_what_hangs_on_hashes_is_caught_when_the_digest_fits_again(data: dict[str, Any]) -> None:
    """Whoever changes a result has to forge an entry, and an entry's name is its hash."""
    missed = []
    for path in leaves(data):
        if path[0] not in HASHED:
            continue
        other = changed(data, path)
        other["digest"] = digest_of(other)
        names = {str(s) for s in path[1:]}
        free = any(path[0] == a and b in names for a, b in SAID_ONLY)
        if not free and not caught(other):
            missed.append(path)
    assert missed == []


@pytest.mark.parametrize("kind", ["not_soaked", "unknown_settings", "sheet_unconfirmed", "open_symptom"])
def test_a_limit_that_was_taken_out_is_missed(data: dict[str, Any], kind: str) -> None:
    kinds = [v["kind"] for v in data["limits"]]
    other = copy.deepcopy(data)
    if kind == "open_symptom":
        symptom = {"finding": "hang", "detail": "", "since": "2024-03-01", "entry": "0" * 64}
        other["symptoms"] = [*other["symptoms"], symptom]
    elif kind == "sheet_unconfirmed":
        other["board"]["sheet_confirmed"] = False
        other["limits"] = [v for v in other["limits"] if v["kind"] != kind]
    else:
        assert kind in kinds
        other["limits"] = [v for v in other["limits"] if v["kind"] != kind]
    other["digest"] = digest_of(other)
    faults = check(msgspec.convert(other, PublicBoard), other).faults
    assert faults == (f"a limit is missing: {kind}",)
