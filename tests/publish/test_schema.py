"""The public file against its shipped JSON Schema, with a validator that knows nothing of this project."""

from __future__ import annotations

import copy
import json
import subprocess
import sys
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator


@pytest.fixture(scope="module")
def schema() -> Draft202012Validator:
    text = files("leadoff.record").joinpath("public.schema.json").read_text(encoding="utf-8")
    found = json.loads(text)
    Draft202012Validator.check_schema(found)
    return Draft202012Validator(found)


@pytest.fixture(scope="module")
def data(story: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((story / "out" / "ferry-486.leadoff.json").read_text(encoding="utf-8"))
    return found


@pytest.mark.reference
def test_the_file_is_valid_and_other_things_are_not(
    schema: Draft202012Validator, data: dict[str, Any]
) -> None:
    """JSON Schema 2020-12 by the jsonschema package."""
    assert list(schema.iter_errors(data)) == []
    for key in ("limits", "sealed", "runs", "digest", "shown"):
        assert [e.validator for e in schema.iter_errors({k: v for k, v in data.items() if k != key})] == [
            "required"
        ]
    for path, value in (
        (("runs", 0, "outcome"), "wonderful"),
        (("limits", 0, "text"), 4),
        (("sealed", 0, "entry"), "abc"),
        (("leadoff_public",), 2),
        (("show_pieces", 0, "minutes"), "four"),
    ):
        other = copy.deepcopy(data)
        at: Any = other
        for step in path[:-1]:
            at = at[step]
        at[path[-1]] = value
        assert list(schema.iter_errors(other)), path


def test_every_key_is_described(pytestconfig: pytest.Config, data: dict[str, Any]) -> None:
    """docs/public-file.md names every key of the file."""
    text = (pytestconfig.rootpath / "docs" / "public-file.md").read_text(encoding="utf-8")
    assert [k for k in data if f"`{k}`" not in text] == []


def test_the_shipped_schema_is_that_of_the_values(pytestconfig: pytest.Config) -> None:
    tool = pytestconfig.rootpath / "tools" / "public_schema.py"
    done = subprocess.run([sys.executable, str(tool)], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
