"""``leadoff read old.xlsx`` as a person uses it: once, again, with a cell edited, with a row put in."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest
from evidence_files import serial_data
from sheets_mess import IN, Mess, mess, separated, workbook

from cli_bench import Bench, run, settings

BOARD = "ferry-486"


@pytest.fixture
def board(bench: Bench) -> Bench:
    bench("board", "add", "examples/ferry-486.toml")
    bench("log", BOARD, "w2", "19.6", "--unit", "frames/s")
    bench("log", BOARD, "w3", "41.5s")
    return bench


def clean(seed: int, count: int = 24) -> Mess:
    """Only the rows that may go in."""
    made = mess(seed, count)
    kept = [n for n, fate in enumerate(made.fate) if fate == IN and "/" not in str(made.rows[n][0])]
    return Mess([made.rows[n] for n in kept], [IN] * len(kept), [made.truth[n] for n in kept])


def put(place: Path, made: Mess) -> str:
    (place / "old.xlsx").write_bytes(workbook(made))
    return str(place / "old.xlsx")


def take(bench: Bench, file: str) -> dict[str, Any]:
    return bench("read", file, "--board", BOARD, "--yes").data


def held(bench: Bench) -> int:
    count: int = bench("state", BOARD).data["runs_in_all"]
    return count


def test_read_again_changes_nothing(board: Bench, tmp_path: Path) -> None:
    made = clean(1)
    file = put(tmp_path, made)
    expected = sum(len(t.results) for t in made.truth if t is not None)
    shown = board("read", file, "--board", BOARD).data
    assert (shown["would_add"], shown["added"]) == (expected, 0)
    assert held(board) == 2
    assert take(board, file)["added"] == expected
    assert held(board) == 2 + expected
    again = take(board, file)
    assert (again["added"], again["already"]) == (0, expected)
    assert held(board) == 2 + expected


def test_the_same_rows_in_another_form_are_there_already(board: Bench, tmp_path: Path) -> None:
    made = clean(1)
    take(board, put(tmp_path, made))
    before = held(board)
    (tmp_path / "copy.csv").write_bytes(separated(made))
    assert take(board, str(tmp_path / "copy.csv"))["added"] == 0
    assert held(board) == before


@pytest.mark.parametrize("column", ["score", "settings", "day"])
def test_one_edited_cell_changes_one_run(board: Bench, tmp_path: Path, column: str) -> None:
    made = clean(2)
    take(board, put(tmp_path, made))
    before = held(board)
    row = next(r for r in made.rows if r[5] == "" or (isinstance(r[4], str) and r[4][0].isdigit()))
    if column != "score":  # a row with one result, so that one run is what changes
        row[5] = ""
        take(board, put(tmp_path, made))
        row = next(r for r in made.rows if r[5] == "")
    if column == "score":
        row[4] = "27,7"
    elif column == "settings":
        row[3] = "dram read ws 2"
    else:
        row[0] = date(2001, 5, 6).strftime("%d.%m.%y")
    assert take(board, put(tmp_path, made))["added"] == 1
    assert held(board) == before
    assert take(board, put(tmp_path, made))["added"] == 0
    entries = board("book", "verify").data
    assert not entries["faults"]


def test_a_row_put_in_adds_one(board: Bench, tmp_path: Path) -> None:
    made = clean(3)
    take(board, put(tmp_path, made))
    before = held(board)
    made.rows.insert(2, ["1.2.98", "33", "2", "l2 wb", "14,5", "", ""])
    assert take(board, put(tmp_path, made))["added"] == 1
    assert held(board) == before + 1
    twin = list(made.rows[2])
    made.rows.insert(2, twin)
    assert take(board, put(tmp_path, made))["added"] == 1, "a row twice is two runs"
    assert take(board, put(tmp_path, made))["added"] == 0


def test_history_does_not_move_what_is_set_today(board: Bench, tmp_path: Path) -> None:
    """Rows stand on their own: what one does not name is unknown in it, and the board of today stays as it is."""
    before = board("state", BOARD).data["settings"]
    made = Mess(
        [["3.4.99", "40", "2", "l2 wb", "23,1", "", "cold; day"], ["4.4.99", "33", "", "", "19,2", "", ""]],
        [],
        [],
    )
    take(board, put(tmp_path, made))
    assert board("state", BOARD).data["settings"] == before
    assert board("why", "3", "4").data["difference"]["unit"] == "frames/s"
    from leadoff.loop.history import read_history
    from leadoff.loop.session import Session

    session = Session()
    try:
        first, second = (read_history(session).run(n) for n in ("3", "4"))
    finally:
        session.close()
    assert (first.when, second.when) == ("1999-04-03", "1999-04-04")
    assert first.setup.state.value("l2_policy") == "wb"
    assert second.setup.state.value("l2_policy") is None
    assert first.setup.clock("bus_mhz") == 40
    assert first.setup.state.get("cpu").status == "assumed"
    assert "old.xlsx Runs!E" in first.said
    assert "cold, day" in first.said
    assert settings(board("state", BOARD).data)["cpu"] is not None


def test_what_the_wiring_cannot_do_is_set_aside_with_the_reason(board: Bench, tmp_path: Path) -> None:
    made = Mess(
        [["3.4.99", "45", "2", "", "23,1", "", ""], ["4.4.99", "40", "2", "", "23,2", "", ""]], [], []
    )
    data = take(board, put(tmp_path, made))
    assert data["added"] == 1
    assert "no position of jp7 for bus clock 45 MHz" in data["quarantined"][0]["why"]


def test_notes_in_plain_text(board: Bench, tmp_path: Path) -> None:
    notes = """\
Invented notes, garage bench

3.4.99 bus 40, l2 wb
w2 23,5 23,6
w3 38.2s

12.4.99: bus 33, w2 hang
bought coffee
w2 about the same
w2 19,2
"""
    (tmp_path / "notes.txt").write_text(notes, encoding="utf-8")
    data = take(board, str(tmp_path / "notes.txt"))
    assert [(p["at"], p["line"]) for p in data["proposed"]] == [
        ("1999-04-03", "bus 40, l2 wb, w2 23,5 23,6"),
        ("1999-04-03", "bus 40, l2 wb, w3 38.2s"),
        ("1999-04-12", "bus 33, w2 hang"),
        ("1999-04-12", "bus 33, w2 19,2"),
    ]
    assert [q["text"] for q in data["quarantined"]] == ["w2 about the same"]
    assert data["added"] == 4


def test_the_board_by_its_own_name_and_the_workload_in_its_heading_are_not_asked(
    board: Bench, tmp_path: Path
) -> None:
    file = tmp_path / "old.csv"
    file.write_text(
        "Board;date;setting;Benchmark w2 (fps)\n"
        "Ferry-486;13/04/2021;bus 33;19,6\n"
        "ferry-486;15/04/2021;bus 40 jp9 open;23,1\n",
        encoding="utf-8",
    )
    shown = board("read", str(file), "--board", BOARD, "--yes").data
    assert (shown["questions"], shown["quarantined"], shown["added"]) == ([], [], 2)
    runs = board("state", BOARD).data
    assert runs["runs_in_all"] == 4
    assert all("benchmark" not in p["line"] for p in shown["proposed"])


def test_without_a_board_the_row_says_that_no_book_was_looked_in(board: Bench, tmp_path: Path) -> None:
    file = tmp_path / "old.csv"
    file.write_text(
        "Board;date;setting;w2 (fps)\nferry-486;13/04/2021;bus 33;19,6\nferry-486;14/04/2021;bus 40;23,1\n",
        encoding="utf-8",
    )
    shown = board("read", str(file)).data
    assert {q["why"] for q in shown["quarantined"]} == {
        'which board of the book is "ferry-486"? No book was looked in without --board'
    }


def test_undo_takes_a_whole_table_back_and_an_edit_alone(board: Bench, tmp_path: Path) -> None:
    """All rows of one reading are one step; a later edit of a cell is a step of its own, and the row stays."""
    made = clean(2)
    added = take(board, put(tmp_path, made))["added"]
    full = board("state", BOARD).data["runs"]
    row = next(r for r in made.rows if isinstance(r[4], str) and r[4][0].isdigit())
    row[4] = "27,7"
    edit = take(board, put(tmp_path, made))
    assert (edit["added"], len(edit["entries"])) == (1, 1)
    back = board("undo").data
    assert [u["kind"] for u in back["undone"]] == ["amend"]
    assert "edited at" in back["undone"][0]["what"]
    assert board("state", BOARD).data["runs"] == full
    back = board("undo").data
    assert len(back["undone"]) == added
    assert held(board) == 2
    again = take(board, put(tmp_path, made))
    assert again["added"] == added, "what was taken back can be read again"


def test_undo_takes_workloads_that_came_with_a_table_and_every_file_of_one_reading(
    board: Bench, tmp_path: Path
) -> None:
    (tmp_path / "a.csv").write_text("date;setting;w9 (fps)\n13/04/2021;bus 33;19,6\n14/04/2021;bus 40;23,1\n")
    (tmp_path / "module.bin").write_bytes(serial_data())
    args = ("read", str(tmp_path / "a.csv"), str(tmp_path / "module.bin"), "--board", BOARD, "--yes")
    before = board("state", BOARD).data
    assert board(*args).data["added"] > 10
    kinds = sorted(u["kind"] for u in board("undo").data["undone"])
    assert kinds == ["fact", "row", "run", "run"]
    after = board("state", BOARD).data
    assert (after["runs_in_all"], after["settings"]) == (before["runs_in_all"], before["settings"])
    assert not board("book", "verify").data["faults"]


def test_many_rows_taken_back_are_told_in_a_line(board: Bench, tmp_path: Path) -> None:
    added = take(board, put(tmp_path, clean(1)))["added"]
    out = " ".join(run("undo").out.split())
    assert f"all that was read in one go: {added} runs" in out
    assert len(out) < 400
