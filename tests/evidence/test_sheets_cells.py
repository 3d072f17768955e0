"""Traps of spreadsheets and text files, one by one."""

from __future__ import annotations

import io
from datetime import datetime, time

import openpyxl
import pytest

from leadoff.evidence.facts import Hints, Reading, Source
from leadoff.evidence.sheets import read
from leadoff.evidence.sheets.days import day_of
from leadoff.evidence.sheets.files import decoded, delimiter, separated, shown_number

WORKLOADS = {"w2": "frames/s", "w3": "s"}


def workbook(*rows: list[object], merge: str = "") -> bytes:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for row in rows:
        sheet.append(row)
    if merge:
        sheet.merge_cells(merge)
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def reading(data: bytes, **answers: str) -> Reading:
    return read(Source.of("x", data), Hints(workloads=WORKLOADS, answers=answers, board="b", boards=("b",)))


def test_three_twenty_in_a_spreadsheet_is_a_time_of_day_and_is_asked() -> None:
    data = workbook(["Date", "w3"], [datetime(1999, 4, 3), time(3, 20)])
    asked = reading(data)
    assert [q.id for q in asked.questions] == ["clock-times"]
    assert asked.proposals == ()
    assert [p.line for p in reading(data, **{"clock-times": "ms"}).proposals] == ["w3 3:20"]
    assert [p.line for p in reading(data, **{"clock-times": "hms"}).proposals] == ["w3 3:20:00"]


def test_formulas_without_a_stored_result_are_said() -> None:
    found = reading(
        workbook(["Date", "w2"], [datetime(1999, 4, 3), "=10+13.5"], [datetime(1999, 4, 4), 23.5])
    )
    assert [p.at for p in found.proposals] == ["1999-04-04"]
    assert "1 formulas have no stored result (Sheet!B2)" in found.warnings[0]


def test_merged_cells_hold_for_all_their_rows() -> None:
    rows = [["Date", "Settings", "w2"], [datetime(1999, 4, 3), "bus 40", 23.5], [None, "bus 33", 19.5]]
    found = reading(workbook(*rows, merge="A2:A3"))
    assert [(p.at, p.line) for p in found.proposals] == [
        ("1999-04-03", "bus 40, w2 23.5"),
        ("1999-04-03", "bus 33, w2 19.5"),
    ]


def test_a_decimal_comma_that_split_a_row_is_set_aside() -> None:
    found = reading(
        b"Date,Settings,w2\n1999-04-03,bus 40,23,5\n1999-04-04,bus 40,23.5\n1999-04-05,bus 33,19.5\n"
    )
    assert [p.at for p in found.proposals] == ["1999-04-04", "1999-04-05"]
    assert found.quarantined[0].text == "1999-04-03 | bus 40 | 23 | 5"


def test_settings_between_rows_are_asked() -> None:
    text = b"Date;Bus;w2\n1999-04-03;40;23,5\nfrom here turbo off;;\n1999-04-04;40;12,1\n"
    assert [p.at for p in reading(text).proposals] == ["1999-04-03"]
    assert [q.id for q in reading(text).questions] == ["lines-between"]
    below = reading(text, **{"lines-between": "below"}).proposals
    assert [p.line for p in below] == ["bus_mhz 40, w2 23,5", "bus_mhz 40, turbo off, w2 12,1"]


def test_a_zero_is_no_result() -> None:
    found = reading(b"Date;Bus;w2\n1999-04-03;40;0\n1999-04-04;40;23,1\n")
    assert [p.at for p in found.proposals] == ["1999-04-04"]
    assert [q.id for q in found.questions] == ["mark-0"]


def test_ditto_marks_follow_the_date_above_even_of_a_row_set_aside() -> None:
    text = b'Date;Bus;w2\n1999-04-03;40;23,5\n1999-04-09;0;9,9\n";40;23,6\nsoon;40;23,7\n";40;23,8\n'
    found = reading(text)
    assert [(p.at, p.line) for p in found.proposals] == [
        ("1999-04-03", "bus_mhz 40, w2 23,5"),
        ("1999-04-09", "bus_mhz 40, w2 23,6"),
    ]
    assert [q.why for q in found.quarantined][1:] == [
        "'soon' is no date",
        "a ditto mark with no date above it",
    ]


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("1999-04-03", "1999-04-03"),
        ("3.4.99", "1999-04-03"),
        ("03.04.2003", "2003-04-03"),
        ("25/4/99", "1999-04-25"),
        ("4/25/99", "1999-04-25"),
        ("4/4/99", "1999-04-04"),
        ("3 Apr 1999", "1999-04-03"),
        ("3. April 99", "1999-04-03"),
        ("Apr 3, 1999", "1999-04-03"),
        ("5. Dez 98", "1998-12-05"),
        ("29.2.2000", "2000-02-29"),
    ],
)
def test_days_that_are_sure(text: str, day: str) -> None:
    found = day_of(text)
    assert found is not None
    assert found.sure == day


@pytest.mark.parametrize(
    "text", ["31.2.99", "29.2.1999", "13/13/99", "36253", "23.5", "spring", "1.2", "", "0/1/99"]
)
def test_what_is_no_day(text: str) -> None:
    assert day_of(text) is None


def test_a_day_of_two_ways() -> None:
    found = day_of("3/4/99")
    assert found is not None
    assert (found.sure, found.dmy, found.mdy) == ("", "1999-04-03", "1999-03-04")


@pytest.mark.parametrize("coding", ["cp1252", "cp850", "cp437", "utf-8", "utf-16", "utf-8-sig"])
def test_code_pages(coding: str) -> None:
    text = "Datum;Größe;Bemerkung\n3.4.99;40;Gehäuse geöffnet, Lüfter größer, übertaktet für später\n" * 6
    assert decoded(Source.of("x", text.encode(coding)))[0].replace("\ufeff", "") == text


def test_columns_and_running_text_are_told_apart() -> None:
    assert delimiter("a;b;c\n1;2,5;3\n4;5;6\n") == ";"
    assert delimiter("a\tb\n1\t2\n") == "\t"
    assert delimiter("w2 23,5 23,6\nbus 40, l2 wb\nw3 41s\n") is None
    assert [len(r) for r in separated('a;b\n"x;y";2\n";3\n', ";")] == [2, 2, 2]


@pytest.mark.parametrize(
    ("value", "form", "shown"),
    [
        (23.5, "General", "23.5"),
        (23.5, "0.00", "23.50"),
        (1234.0, "#,##0", "1234"),
        (0.5, "0%", "50 %"),
        (3, "0", "3"),
    ],
)
def test_numbers_as_the_sheet_shows_them(value: float, form: str, shown: str) -> None:
    assert shown_number(value, form) == shown
