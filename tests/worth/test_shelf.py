"""What is due on the shelf: clock parts, capacitors without voltage, loose parts, firmware."""

from __future__ import annotations

import random
from datetime import date

import pytest

from cli_bench import Bench
from leadoff.worth.due import HOW_TO_REFORM, capacitors_due, clock_due, kind_of, stored_due

TODAY = date(2026, 11, 25)


@pytest.mark.parametrize(
    ("part", "made", "said"),
    [
        ("sealed module", date(1994, 1, 1), "presumed flat"),
        ("sealed module", date(2020, 1, 1), ""),
        ("sealed module", None, "presumed flat"),
        ("coin cell", date(2020, 1, 1), "measure it"),
        ("coin cell", date(2024, 1, 1), ""),
        ("nicd pack", date(1992, 1, 1), "before it leaks"),
        ("", date(1992, 1, 1), ""),
    ],
)
def test_clock_parts_by_age(part: str, made: date | None, said: str) -> None:
    found = clock_due(part, made, TODAY)
    assert (said in found) if said else found == ""


@pytest.mark.reference
def test_capacitors_keep_two_years_without_voltage() -> None:
    """Nippon Chemi-Con technical note, storage (read in a quotation of this source): within 2 years no voltage
    treatment is needed; a part alone gets its rated voltage through about 1 kilohm for half an hour."""
    assert capacitors_due(None, date(2025, 1, 1), TODAY) == ""
    assert "reform" in capacitors_due(None, date(2024, 11, 1), TODAY)
    assert (
        capacitors_due(None, date(2019, 11, 1), TODAY)
        == "7.1 years without voltage; reform before full power"
    )
    assert "no run in the book" in capacitors_due(None, None, TODAY)
    assert "measure them" in capacitors_due(date(1994, 1, 1), date(2026, 1, 1), TODAY)
    assert "reform" not in capacitors_due(date(1994, 1, 1), date(2026, 1, 1), TODAY)
    assert "reform" in stored_due("capacitor", date(2018, 1, 1), TODAY)
    assert "1 kilohm for half an hour" in HOW_TO_REFORM
    assert stored_due("capacitor", date(2025, 1, 1), TODAY) == ""


def test_kinds_by_their_words() -> None:
    assert [kind_of(t) for t in ("cap 1000u", "CR2032 cell", "sealed module", "dx2-66 no 4")] == [
        "capacitor",
        "cell",
        "module",
        "",
    ]


def test_a_run_is_voltage_and_a_cell_has_its_own_code(bench: Bench) -> None:
    file = bench.folder / "one.toml"
    file.write_text('[board]\nid = "one"\nclass = "486-vlb"\nclock_part = "coin cell"\n', encoding="utf-8")
    bench("board", "add", str(file), "--at", "2025-12-01")
    bench("shelf", "one", "--codes", "u3 9347, cell 202501", "--at", "2026-01-01")
    row = bench("shelf", "one", "--at", "2026-02-01").data["boards"][0]
    assert row["clock"] == "", "a cell of 2025 is not due, however old the board is"
    assert row["not_before"] == "1993-11-22", "and says nothing of the board's age"
    assert "no run" in row["capacitors"]
    bench("log", "one", "hang memcount", "--at", "2026-02-02")
    assert "no run" not in bench("shelf", "one", "--at", "2026-03-01").data["boards"][0]["capacitors"]
    assert (
        "years without voltage" in bench("shelf", "one", "--at", "2029-03-01").data["boards"][0]["capacitors"]
    )


def test_loose_parts_have_places_and_fitted_ones_are_in_their_board(bench: Bench) -> None:
    bench.board('[board]\nid = "one"\nclass = "486-vlb"\n[fitted]\ncpu = "486dx2-66-5v"\n')
    bench("shelf", "--specimen", "cap 1000u", "--in", "drawer 2", "--codes", "201847")
    bench("shelf", "--specimen", "dx2 no 4", "--in", "tray 1")
    bench("move", "one", "cpu 486dx2-66-5v #dx2-4")
    rows = {r["specimen"]: r for r in bench("shelf", "--at", "2026-03-01").data["specimens"]}
    assert (rows["cap 1000u"]["place"], rows["dx2 no 4"]["place"]) == ("drawer 2", "tray 1")
    assert rows["cap 1000u"]["due"].startswith("7 years in store: reform")
    assert bench.refused("shelf", "--specimen", "x").codes == ["nothing_said"]
    assert bench.refused("shelf", "--in", "box 1").codes == ["which_board"]


def test_an_image_that_was_read_is_a_dump(bench: Bench) -> None:
    bench.board('[board]\nid = "one"\nclass = "486-vlb"\n')
    image = bytearray(random.Random(3).randbytes(0x10000))
    image[0xFFF0:0xFFFD] = b"\xea\x5b\xe0\x00\xf0" + b"06/06/92"
    image[0xFFFE] = 0xFC
    (bench.folder / "rom.bin").write_bytes(bytes(image))
    assert bench("shelf", "one").data["boards"][0]["firmware"] == "not dumped"
    bench("read", str(bench.folder / "rom.bin"), "--board", "one", "--yes")
    assert bench("shelf", "one").data["boards"][0]["firmware"] == "dumped"
