"""What a page tells to do is done on a page: no command line, no option of one."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient
from test_web_reads import PATHS
from test_web_words import OTHERS, seen
from web_bench import HEART, OWN

from leadoff.doors.cli.main import COMMANDS
from leadoff.record.marks import Level, Mark
from leadoff.record.results import Result
from leadoff.show.pages.render import page
from leadoff.show.pages.ways import FIELDS, here

SRC = Path(__file__).parents[2] / "src" / "leadoff"
COMMAND = re.compile(rf"(?<!at the command line: `)\bleadoff ({'|'.join(COMMANDS)})\b|(?<!\S)--[a-z]")
BARE = re.compile(rf"(?<![`\w])leadoff ({'|'.join(COMMANDS)})\b")


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("`leadoff log pier-486 copy 60/60`", 'type "copy 60/60" on the bench of pier-486'),
        ('gone: `leadoff log pier-486 "hang gone"`', 'gone: type "hang gone" on the bench of pier-486'),
        ("`leadoff log BOARD w2 23.5`", 'type "w2 23.5" on the bench'),
        ("`leadoff state BOARD` lists its runs", "the bench lists its runs"),
        ("`leadoff undo` and say it again", 'press "undo" and say it again'),
        ("when `leadoff why 1 2` parts them", 'when the page "why" of 1 and 2 parts them'),
        ("run `leadoff book verify`", 'run "verify" on the page "book"'),
        ("`leadoff card BOARD` is the judge", 'the page "over the socket" is the judge'),
        ("`leadoff electric heat in 5`", 'type heat in 5 on the page "volts, heat"'),
        ('`leadoff sweep BOARD "8K 10"`', 'type "8K 10" on the page "sweep"'),
        ("`leadoff book export` works", "at the command line: `leadoff book export` works"),
        ("`leadoff board add FILE.toml`", "at the command line: `leadoff board add FILE.toml`"),
        (
            "for a difference --difference 0.5",
            'for a difference 0.5 in the field "difference, %"',
        ),
        ("give --duty and --tax", 'give the field "duty, if known" and the field "import tax, if known"'),
        ('write --rate "USD 0.92"', 'write "USD 0.92" in the field "what others cost in it"'),
        ("--yes adds these 31", 'the button "keep" adds these 31'),
        ("a -- b, 2 --today", "a -- b, 2 --today"),
    ],
)
def test_a_command_as_it_is_done_on_the_pages(said: str, told: str) -> None:
    assert here(said) == told


@pytest.mark.parametrize("path", [*PATHS, *OTHERS])
def test_no_page_tells_to_type_a_command(calm: TestClient, path: str) -> None:
    assert COMMAND.findall(seen(calm.get(path).text)) == []


@pytest.mark.parametrize(
    "path",
    [
        "/board/nobody",
        f"/board/{HEART}/why?first=1&second=9999",
        f"/board/{HEART}/forecast?want=bus+45",
        f"/board/{HEART}/socket?want=nonsense",
        "/proof?text=nothing",
        "/proof?difference_pct=1&workload=none",
        "/electric?words=heat",
        "/worth?asked=14&from_country=US",
        "/worth?asked=14&from_country=US&to_country=ZZ",
        "/worth?asked=14+USD&currency=EUR",
        "/worth?asked=14&rate=none",
        "/substitute?words=nothing+at+all",
    ],
)
def test_no_refusal_tells_to_type_a_command(calm: TestClient, path: str) -> None:
    assert COMMAND.findall(seen(calm.get(path).text)) == []


@pytest.mark.parametrize("line", ["", "sings", "w2", "as 9999", "bus 45", "back to 9999", "w2x 23.4"])
@pytest.mark.parametrize("verb", ["", "move", "log", "sick"])
def test_no_answer_of_the_line_tells_to_type_a_command(calm: TestClient, line: str, verb: str) -> None:
    sent = {"line": line, "verb": verb, "dry": "1"}
    assert COMMAND.findall(seen(calm.post(f"/board/{HEART}/say", data=sent, headers=OWN).text)) == []


def test_fields_that_are_named_are_there(calm: TestClient) -> None:
    pages = seen(calm.get("/worth").text) + seen(calm.get("/proof").text)
    assert [label for label in FIELDS.values() if label not in pages] == []


def test_only_notes_are_folded_and_a_warning_is_whole() -> None:
    text = "80 MHz; the part is rated for 66.67 MHz: +20.0 % (" + "from memory of the data sheet, " * 6 + ")"
    marks = tuple(Mark(level=level, code="x", text=text) for level in Level)
    made = page("refused", Result(verb="move", marks=marks), title="")
    assert made.count("<details>") == 2
    assert made.count(text) == 2


def messages(file: Path) -> Iterator[str]:
    """String constants that are not docstrings."""
    tree = ast.parse(file.read_text(encoding="utf-8"))
    alone = {id(n.value) for n in ast.walk(tree) if isinstance(n, ast.Expr)}
    for n in ast.walk(tree):
        if isinstance(n, ast.Constant) and isinstance(n.value, str) and id(n) not in alone:
            yield n.value


def test_commands_in_messages_stand_in_backticks() -> None:
    """By them a page knows where a command begins and ends; what only a terminal or a file shows is free."""
    files = [f for f in SRC.rglob("*.py") if f.relative_to(SRC).parts[0] not in ("doors", "show", "plan")]
    found = [(f.name, m) for f in files for m in messages(f) if "\n" not in m and BARE.search(m)]
    assert len(files) > 300
    assert found == []
