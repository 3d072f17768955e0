"""A public file in somebody else's hands: loaded into an empty book, compared, and caught when it was changed."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from cli_bench import Bench, run, settings

AT = ("--at", "2024-03-02T10:00")


def other(tmp_path: Path) -> tuple[str, str]:
    return "--book", str(tmp_path / "theirs.db")


def test_round_trip_into_an_empty_book(told: Bench, file: Path, tmp_path: Path) -> None:
    book = other(tmp_path)
    answer = told("repeat", str(file), *book)
    assert answer.data["loaded"]["runs"] == 3
    assert answer.data["older_than_result"] == ["f1 before run 2"]
    theirs, mine = told("state", "ferry-486", *book).data, told("state", "ferry-486").data
    assert settings(theirs) == settings(mine)
    assert [r["score"] for r in theirs["runs"]] == [r["score"] for r in mine["runs"]]
    again = told("publish", "ferry-486", "--to", str(tmp_path / "again"), *AT, *book).data
    data = json.loads(Path(again["files"][0]["path"]).read_text(encoding="utf-8"))
    assert (
        data["shown"]["score"]["value"]
        == json.loads(file.read_text(encoding="utf-8"))["shown"]["score"]["value"]
    )


def test_sealed_forecasts_come_along_and_are_seen_to_be_older(
    told: Bench, file: Path, tmp_path: Path
) -> None:
    """The recipient sees what was said before and what came; none of it counts as this book's own."""
    book = other(tmp_path)
    answer = told("repeat", str(file), *book)
    (f,) = answer.data["forecasts"]
    (w,) = [w for w in f["workloads"] if w["workload"] == "w2"]
    assert (f["number"], w["run"], w["older"]) == ("f1", "2", True)
    assert w["came"] == 23.15
    assert answer.data["loaded"]["forecasts"] == 1
    told("publish", "ferry-486", "--to", str(tmp_path / "again"), "--only", "page", *AT, *book)
    again = json.loads((tmp_path / "again" / "ferry-486.leadoff.json").read_text(encoding="utf-8"))
    mine = json.loads(file.read_text(encoding="utf-8"))
    assert again["forecasts"][0]["expected"] == mine["forecasts"][0]["expected"]
    assert again["forecasts"][0]["when"] == mine["forecasts"][0]["when"]
    assert [a["run"] for a in again["forecasts"][0]["answers"]] == ["2"]
    body = next(s["body"] for s in again["sealed"] if s["entry"] == again["forecasts"][0]["entry"])
    assert mine["forecasts"][0]["entry"] in json.loads(body)["origin"]
    assert told("proof", "--forecasts", *book).data["scored"] == []
    assert len(told("proof", "--forecasts").data["scored"]) == 1
    said = run("repeat", str(file), "--check").out
    assert "older by the chain" in said
    assert "the forecast" in said
    assert told("repeat", str(tmp_path / "again" / "ferry-486.leadoff.json"), "--check").data["faults"] == []


def test_a_name_that_is_taken_is_not_overwritten(told: Bench, file: Path) -> None:
    assert told.refused("repeat", str(file)).codes == ["board_there"]
    assert told("repeat", str(file), "--as", "twin").data["loaded"]["board"] == "twin"


def test_against_a_board_of_ones_own_gives_the_moves(told: Bench, file: Path) -> None:
    """The board hung at 40 after its run there, so the score that counts is the one at 33.33."""
    before = told.entries()
    data = told("repeat", str(file), "--against", "ferry-486").data["against"]
    assert any(d["setting"] == "bus_mhz" and d["theirs"] == "100/3" for d in data["differs"])
    assert any("jp7" in m["what"] for m in data["moves"])
    assert data["minutes"] > 0
    assert told.entries() == before, "comparing keeps nothing"


def test_the_moves_begin_where_one_says(told: Bench, file: Path) -> None:
    """From 40, from 50, from the very state: other jumpers each time, none at the end; what cannot be is refused."""
    base = ("repeat", str(file), "--against", "ferry-486", "--from")
    found = {bus: told(*base, f"bus {bus}").data["against"] for bus in ("50", "33", "40")}
    assert found["33"]["moves"] == []
    assert found["40"]["minutes"] > 0
    jumpers = {bus: [m["what"] for m in a["moves"] if "jp" in m["what"]] for bus, a in found.items()}
    assert jumpers["50"]
    assert jumpers["50"] != jumpers["40"]
    assert told.refused(*base, "bus 95").codes == ["no_such_state"]
    assert told("repeat", str(file), "--as", "twin", "--from", "bus 40").data["moves"]


def changed(file: Path, edit: Any, *, resealed: bool = False) -> Path:
    data = json.loads(file.read_text(encoding="utf-8"))
    edit(data)
    if resealed:
        from leadoff.loop.public_board import digest_of

        data["digest"] = digest_of(data)
    to = file.with_name("changed.json")
    to.write_text(json.dumps(data), encoding="utf-8")
    return to


def better_score(data: dict[str, Any]) -> None:
    data["runs"][1]["readings"][0] |= {"text": "29.1", "value": 29.1, "lo": 29.05, "hi": 29.15}


def better_body(data: dict[str, Any]) -> None:
    s = next(s for s in data["sealed"] if s["entry"] == data["runs"][1]["entry"])
    s["body"] = s["body"].replace("23.1", "29.1")
    better_score(data)


def later_forecast(data: dict[str, Any]) -> None:
    data["forecasts"][0]["expected"][0]["median"] = 23.15


def no_chain(data: dict[str, Any]) -> None:
    data["chain"] = []
    data["sealed"] = [{**s, "line": s["line"].replace('"prev":"', '"prev":"0')} for s in data["sealed"]]


def no_limits(data: dict[str, Any]) -> None:
    data["limits"] = []


@pytest.mark.parametrize(
    ("edit", "resealed", "said"),
    [
        (better_score, False, "own digest does not fit"),
        (better_score, True, "run 2: what is shown is not what its entry says"),
        (better_body, True, "body is not the one that was sealed"),
        (later_forecast, True, "forecast f1: what is shown is not what was sealed"),
        (no_chain, True, "nothing shows that forecast f1 is older than run 2"),
        (no_limits, False, "own digest does not fit"),
    ],
)
def test_tampering_is_caught_and_nothing_is_loaded(
    told: Bench, file: Path, tmp_path: Path, edit: Any, resealed: bool, said: str
) -> None:
    answer = told.refused("repeat", str(changed(file, edit, resealed=resealed)), *other(tmp_path))
    assert any(said in e["text"] for e in answer.json["errors"])
    assert not (tmp_path / "theirs.db").exists()


@pytest.mark.parametrize("text", ["", "{}", "[1]", '{"leadoff_public": 99}', "not json"])
def test_what_is_no_public_file_is_said_to_be_none(told: Bench, tmp_path: Path, text: str) -> None:
    path = tmp_path / "odd.json"
    path.write_text(text, encoding="utf-8")
    assert told.refused("repeat", str(path)).codes[0] in {"public_file", "public_newer"}
