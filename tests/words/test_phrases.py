"""The phrase table: every line is understood as written there, before the parser existed."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from contexts import CONTEXTS

from leadoff.record.phrases import (
    AnyPhrase,
    Ask,
    FailurePhrase,
    LikePhrase,
    NotePhrase,
    ProtocolPhrase,
    ReadingPhrase,
    ScorePhrase,
    SetPhrase,
)
from leadoff.words import parse

TABLE = tomllib.loads((Path(__file__).parent / "phrases.toml").read_text(encoding="utf-8"))
ROWS = [(where, line, expected) for where, rows in TABLE.items() for line, expected in rows.items()]


def short(phrase: AnyPhrase) -> str:
    """The short form of the table for one phrase."""
    match phrase:
        case SetPhrase(name=name, value=value, measured=measured):
            return f"set {name}={'?' if value is None else value}{' meas' if measured else ''}"
        case LikePhrase(run=run, back=back):
            return f"{'back' if back else 'like'} {run}"
        case ScorePhrase():
            parts = ["score", str(phrase.workload), *(f"{r.value:g}" for r in phrase.readings), phrase.unit]
            parts += ["dropped", *(f"{r.value:g}" for r in phrase.dropped)] if phrase.dropped else []
            return " ".join(filter(None, parts))
        case FailurePhrase():
            text = f"fail {phrase.outcome.value} {phrase.what}"
            text += f" w={phrase.workload}" if phrase.workload else ""
            text += f" @{phrase.place}" if phrase.place else ""
            text += f" t={phrase.after_s:g}" if phrase.after_s is not None else ""
            return text + (f" n={phrase.count}/{phrase.of}" if phrase.count is not None else "")
        case ReadingPhrase():
            where = f" @{phrase.where}" if phrase.where else ""
            return f"reading {phrase.what} {phrase.value:g} {phrase.unit}{where}"
        case ProtocolPhrase():
            text = f"protocol {phrase.protocol}" + (
                f" h={phrase.hours:g}" if phrase.hours is not None else ""
            )
            text += f" bad={phrase.count}/{phrase.of}" if phrase.of is not None else ""
            text += " clean" if phrase.clean else " failed"
            return text + (f" after={phrase.failed_after_h:g}" if phrase.failed_after_h is not None else "")
        case NotePhrase(text=text):
            return f"note {text}"
        case Ask():
            return "ask"
        case _:
            return f"symptom {phrase.symptom}{' closed' if phrase.closed else ''}"


def test_the_table_is_large_enough() -> None:
    assert len(ROWS) >= 200


@pytest.mark.parametrize(("where", "line", "expected"), ROWS, ids=[f"{w}: {line}" for w, line, _ in ROWS])
def test_line_is_understood(where: str, line: str, expected: list[str]) -> None:
    understood = parse(line, CONTEXTS[where])
    got = [short(p) for p in understood.phrases]
    assert got == [e.split(" ~ ")[0] for e in expected], understood.echo
    for phrase, wanted in zip(understood.phrases, expected, strict=True):
        if isinstance(phrase, Ask) and " ~ " in wanted:
            said = " | ".join((phrase.question, *phrase.choices)).lower()
            assert wanted.split(" ~ ")[1].lower() in said


@pytest.mark.parametrize(("where", "line"), [(w, line) for w, line, _ in ROWS])
def test_each_phrase_keeps_what_was_typed(where: str, line: str) -> None:
    understood = parse(line, CONTEXTS[where])
    assert understood.text == line
    assert all(phrase.text in line for phrase in understood.phrases)
    assert understood.echo
