"""Any bytes and any cells: never another exception, never a proposal that the bench would not understand."""

from __future__ import annotations

import io

import openpyxl
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from leadoff.evidence.facts import Hints, Source
from leadoff.evidence.sheets import read, sniff
from leadoff.record.errors import LeadoffError
from leadoff.record.phrases import Context, FailurePhrase, ScorePhrase, WorkloadWord
from leadoff.words import parse

HINTS = Hints(workloads={"w2": "frames/s"}, board="b", boards=("b",))
CONTEXT = Context(workloads=(WorkloadWord(name="w2", unit="frames/s"),))
CELL = st.one_of(
    st.sampled_from(
        [
            "",
            "23,5",
            "1,234",
            "3/4/99",
            "3.4.99",
            "w2",
            "Date",
            "bus 40",
            "crash",
            '"',
            "*",
            "-",
            "23.5*",
            "total",
        ]
    ),
    st.text(max_size=12),
)
COMMON = settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))


def check(source: Source) -> None:
    assert 0 <= sniff(source) <= 1
    try:
        found = read(source, HINTS)
    except LeadoffError:
        return
    assert len(found.questions) <= 3
    for p in found.proposals:
        said = parse(p.line, CONTEXT)
        assert sum(isinstance(s, ScorePhrase | FailurePhrase) for s in said.phrases) == 1, p.line
        assert '"' not in p.key + p.id
        assert "#" not in p.key + p.id


@COMMON
@given(st.binary(max_size=400))
def test_any_bytes(data: bytes) -> None:
    check(Source.of("x", data))


@COMMON
@given(st.binary(max_size=200))
def test_broken_workbooks(data: bytes) -> None:
    check(Source.of("x", b"PK\x03\x04xl/" + data))


@COMMON
@given(st.lists(st.lists(CELL, min_size=3, max_size=6), max_size=8), st.sampled_from(";\t,"))
def test_any_separated_cells(rows: list[list[str]], mark: str) -> None:
    text = "\n".join(mark.join(row) for row in [["Date", "Settings", "w2"], *rows])
    check(Source.of("x", text.encode("utf-8", "replace")))


@settings(COMMON, max_examples=40)
@given(st.lists(st.lists(st.one_of(CELL, st.floats(), st.integers(), st.dates()), max_size=5), max_size=6))
def test_any_workbook(rows: list[list[object]]) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["Date", "Settings", "w2"])
    for row in rows:
        try:
            sheet.append(row)
        except (openpyxl.utils.exceptions.IllegalCharacterError, ValueError):
            continue
    buffer = io.BytesIO()
    try:
        book.save(buffer)
    except (ValueError, TypeError):
        return
    check(Source.of("x", buffer.getvalue()))
