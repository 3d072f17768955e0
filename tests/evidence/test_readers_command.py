"""``leadoff read``: shows, asks, adds once; nothing is kept unasked and the same content never twice."""

from __future__ import annotations

from pathlib import Path

import pytest

from cli_bench import Bench, run

BOARD = """
[board]
id = "quay-586"
class = "socket7-pci"
buses = ["pci", "isa"]
rails = [{ v = 3.3 }]
"""
# Source: a maker's 64 MB PC100 module table, TS8MLS64V8C2 data sheet, bytes 0 to 35, 62 and 63.
SPD_PUBLISHED = bytes.fromhex(
    "8008040C090140000 1A060008010000 18F04060101000EA060000014141432 10201020 10".replace(" ", "")
) + bytes(26) + b"\x12\x0d" + bytes(64)  # fmt: skip


@pytest.fixture
def module(bench: Bench) -> str:
    file = bench.folder / "module.bin"
    file.write_bytes(SPD_PUBLISHED)
    return str(file)


def test_without_a_board_it_shows_and_keeps_nothing(bench: Bench, module: str) -> None:
    answer = bench("read", module)
    assert answer.data["files"][0]["kind"] == "spd"
    assert answer.data["would_add"] > 0
    assert answer.data["entries"] == []
    assert "no_board" in answer.marks("note")


def test_nothing_is_added_unasked_and_it_says_so(bench: Bench, module: str) -> None:
    bench.board(BOARD)
    before = bench.entries()
    answer = bench("read", module, "--board", "quay-586")
    assert bench.entries() == before
    assert "nothing was added" in answer.marks("note")["not_added"]


def test_the_same_content_is_added_once_whatever_its_name(bench: Bench, module: str) -> None:
    bench.board(BOARD)
    first = bench("read", module, "--board", "quay-586", "--yes").data
    assert first["added"] == first["already"] + len(first["facts"])
    entries = bench.entries()
    renamed = bench.folder / "other name.dat"
    renamed.write_bytes(SPD_PUBLISHED)
    again = bench("read", str(renamed), module, "--board", "quay-586", "--yes").data
    assert (again["added"], again["already"]) == (0, 2 * len(first["facts"]))
    assert bench.entries() == entries


def test_undo_takes_a_file_back_and_it_may_be_added_again(bench: Bench, module: str) -> None:
    bench.board(BOARD)
    first = bench("read", module, "--board", "quay-586", "--yes").data
    bench("undo")
    assert bench("read", module, "--board", "quay-586").data["would_add"] == first["added"]


def test_the_kept_bytes_are_the_file(bench: Bench, module: str) -> None:
    bench.board(BOARD)
    bench("read", module, "--board", "quay-586", "--yes")
    out = bench.folder / "out.zip"
    bench("book", "export", str(out))
    import zipfile

    with zipfile.ZipFile(out) as archive:
        kept = [archive.read(n) for n in archive.namelist() if n.startswith("files/")]
    assert SPD_PUBLISHED in kept


def test_what_nobody_knows_is_refused_with_what_to_do(bench: Bench) -> None:
    odd = bench.folder / "odd.bin"
    odd.write_bytes(bytes([7, 1, 2]) * 41)
    empty = bench.folder / "empty.bin"
    empty.write_bytes(b"")
    assert bench.refused("read", str(odd)).codes == ["file_unknown"]
    assert bench.refused("read", str(odd), "--kind", "tea").codes == ["kind_unknown"]
    assert bench.refused("read", str(empty), str(odd)).codes == ["file_empty", "file_unknown"]
    assert bench.refused("read", str(Path(bench.folder) / "none.bin")).codes == ["file_missing"]


def test_a_person_is_asked_once_and_told_what_was_done(
    bench: Bench, module: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    from leadoff.doors.cli import read as door

    bench.board(BOARD)
    monkeypatch.setattr(door, "_someone_there", lambda: True)
    entries = bench.entries()
    refused = run("read", module, "--board", "quay-586", stdin="n\n")
    assert refused.out.count("[y/N]") == 1
    assert "nothing was added" in refused.out
    assert bench.entries() == entries
    agreed = run("read", module, "--board", "quay-586", stdin="y\n")
    assert agreed.out.count("[y/N]") == 1
    assert agreed.out.count("CAS latency") == 1
    assert "added" in agreed.out.splitlines()[-1]
    assert bench.entries() == entries + 1
    again = run("read", module, "--board", "quay-586")
    assert "[y/N]" not in again.out
    assert "in the book already" in again.out


def test_in_a_folder_what_nobody_knows_is_passed_over_but_a_named_file_holds_back(
    bench: Bench, module: str
) -> None:
    bench.board(BOARD)
    folder = bench.folder / "dumps"
    folder.mkdir()
    (folder / "module.bin").write_bytes(SPD_PUBLISHED)
    junk = folder / "junk.bin"
    junk.write_bytes(bytes([7, 1, 2]) * 41)
    held = bench.refused("read", module, str(junk), "--board", "quay-586", "--yes")
    assert held.json["data"]["added"] == 0
    assert "held_back" in {m["code"] for m in held.json["marks"]}
    answer = bench("read", str(folder), "--board", "quay-586", "--yes")
    assert answer.data["added"] > 0
    assert "junk.bin" in answer.marks("note")["passed_over"]
