"""The schema for editors and the commands beside the catalogue."""

from __future__ import annotations

import json
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest

from leadoff.catalogue.allowed import allowed
from leadoff.catalogue.check import hints_of
from leadoff.catalogue.files import DATA, NOT_ROWS
from leadoff.catalogue.kinds import KINDS
from leadoff.catalogue.schema import editor_schema

TOOLS = Path(__file__).parents[2] / "tools"


def test_schema_knows_every_key_that_our_files_use() -> None:
    kinds = editor_schema()["properties"]
    seen = 0
    for path in sorted(DATA.glob("*.toml")):
        if path.name in NOT_ROWS:
            continue
        for kind, rows in tomllib.loads(path.read_text(encoding="utf-8")).items():
            assert kind in kinds, path.name
            for row in rows if isinstance(rows, list) else []:
                missing = set(row) - set(kinds[kind]["items"]["properties"])
                assert not missing, (path.name, row["id"], missing)
                seen += 1
    assert seen > 400


def test_schema_refuses_unknown_keys_and_resolves() -> None:
    schema = editor_schema()
    for kind in KINDS:
        assert schema["properties"][kind]["items"]["additionalProperties"] is False
    text = json.dumps(schema)
    refs = {part.split('"')[0] for part in text.split('"$ref": "#/$defs/')[1:]}
    assert refs <= set(schema["$defs"])
    assert refs >= {"TagMode", "DramPattern"}


def test_schema_says_the_choices() -> None:
    kind: dict[str, Any] = editor_schema()["properties"]["dram"]["items"]["properties"]["kind"]
    assert kind["anyOf"][0]["enum"] == ["edo", "fpm", "sdram"]


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_every_key_can_be_said_in_words(kind: str) -> None:
    for key, hint in hints_of(KINDS[kind].type).items():
        words = allowed(hint)
        assert words, key
        assert "typing" not in words, (key, words)
        assert "|" not in words, (key, words)


def test_share_command_prints_a_line_for_each_kind_and_the_whole() -> None:
    done = subprocess.run([sys.executable, str(TOOLS / "catalogue_share.py")], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    lines = done.stdout.splitlines()
    assert [line.split()[0] for line in lines[1:-1]] == [*KINDS, "all"]
    assert lines[0].split()[3:] == ["read", "memory", "practice", "judgement", "invented"]
    assert lines[-2].split()[-2:] == ["0.0", "%"]  # nothing of ours is invented
    assert lines[-1].startswith("rows by their least certain value: read ")


def test_schema_command_prints_json() -> None:
    done = subprocess.run(
        [sys.executable, str(TOOLS / "catalogue_schema.py")], capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["title"] == "leadoff rows"
