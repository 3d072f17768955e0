"""The machine-readable contract: every command's keys and types, exit codes, the JSON on stdout when it is not ok."""

from __future__ import annotations

import json
from typing import Any

import pytest

from cli_bench import Bench, run

BOARD = """
[board]
id = "dock-486"
class = "486-vlb"
buses = ["vlb", "isa"]
rails = [{ v = 5.0, amps = 3 }]
sheet_confirmed = true
dividers = { isa = { 33 = "1/4", 40 = "1/5" } }
[[jumper]]
id = "JP1"
positions = ["a", "b", "c"]
sets = { bus_mhz = { a = 25, b = 33, c = 40 } }
[[jumper]]
id = "JP9"
positions = ["open", "closed"]
sets = { vlb_ws = { open = 1, closed = 0 } }
[fitted]
cpu = "A80486DX2-66"
cache = { kb = 256, ns = 15, banks = 2, chips = 8, tag_ns = 15, tag_bits = 8 }
memory = [{ site = "b0", mb = 16, type = "fpm", ns = 60 }]
[now]
JP1 = "b"
JP9 = "?"
"""

SOURCES = {"measured", "read", "declared", "computed", "assumed", "unknown", "undefined"}


def envelope(found: dict[str, Any], verb: str) -> dict[str, Any]:
    assert found["leadoff"] == 1
    assert found["verb"] == verb
    assert isinstance(found["ok"], bool)
    assert isinstance(found["data"], dict)
    for mark in found["marks"]:
        assert set(mark) >= {"level", "code", "text", "refs"}
        assert mark["level"] in ("red", "amber", "green", "note")
        assert mark["code"]
    for error in found["errors"]:
        assert set(error) >= {"code", "text", "where", "do"}
        assert error["text"]
    every_quantity(found["data"])
    data: dict[str, Any] = found["data"]
    return data


def every_quantity(value: Any) -> None:
    """Whatever looks like a quantity is one, wherever it stands."""
    if isinstance(value, dict):
        if {"source", "unit", "value"} <= set(value):
            quantity(value)
        for inner in value.values():
            every_quantity(inner)
    elif isinstance(value, list):
        for inner in value:
            every_quantity(inner)


def quantity(found: dict[str, Any]) -> None:
    assert set(found) >= {"value", "lo", "hi", "level", "unit", "source", "refs"}
    assert found["source"] in SOURCES
    if found["source"] in ("unknown", "undefined"):
        assert found["value"] is None
        assert found["why"]
    else:
        assert isinstance(found["value"], int | float)
    if found["lo"] is not None and found["value"] is not None:
        assert found["lo"] <= found["value"] <= found["hi"]
    assert 0 < found["level"] <= 1


def keys(data: dict[str, Any], *names: str) -> None:
    assert [n for n in names if n not in data] == []


@pytest.fixture
def dock(bench: Bench) -> Bench:
    bench.board(BOARD)
    return bench


@pytest.fixture
def ran(dock: Bench) -> Bench:
    dock("log", "dock-486", "w2 23.5 23.6 frames/s")
    dock("move", "dock-486", "bus 25")
    dock("log", "dock-486", "w2 17.6 17.7")
    return dock


def test_board_add(bench: Bench) -> None:
    data = envelope(bench.board(BOARD).json, "board")
    keys(data, "board", "unknown")
    assert data["board"] == "dock-486"
    assert set(data["unknown"]) == {"jp9", "vlb_ws"}


def test_board_list(dock: Bench) -> None:
    data = envelope(dock("board", "list").json, "board")
    assert [b["board"] for b in data["boards"]] == ["dock-486"]


def test_state(ran: Bench) -> None:
    data = envelope(ran("state", "dock-486").json, "state")
    keys(data, "state", "settings", "clocks", "beyond", "open_symptoms")
    assert {"core_mhz", "bus_mhz", "vlb_mhz", "isa_mhz"} <= set(data["clocks"])
    for clock in data["clocks"].values():
        quantity(clock)
        assert clock["unit"] == "MHz"
    for setting in data["settings"].values():
        assert set(setting) >= {"value", "status", "source"}
        assert setting["status"] in ("known", "assumed", "unknown", "disputed")
        assert (setting["value"] is None) == (setting["status"] == "unknown")
    assert isinstance(data["beyond"], list)
    assert isinstance(data["open_symptoms"], list)


def test_move(dock: Bench) -> None:
    data = envelope(dock("move", "dock-486", "bus 40").json, "move")
    keys(data, "before", "after", "moves", "entry")
    for move in data["moves"]:
        assert set(move) >= {"n", "what", "minutes", "power_off", "reversible", "hazard"}
        assert isinstance(move["n"], int)
        assert isinstance(move["minutes"], float)
        assert isinstance(move["power_off"], bool)
    for side in (data["before"], data["after"]):
        keys(side, "settings", "clocks")


def test_undo(ran: Bench) -> None:
    data = envelope(ran("undo").json, "undo")
    keys(data, "undone", "orphaned")
    assert data["undone"]
    assert isinstance(data["orphaned"], list)


def test_log(ran: Bench) -> None:
    ran("forecast", "dock-486", "--want", "bus 40")
    ran("move", "dock-486", "bus 40")
    data = envelope(ran("log", "dock-486", "w2 28.1").json, "log")
    keys(data, "run", "forecast", "understood")
    keys(data["run"], "entry", "workload", "score", "resolution", "outcome", "flags")
    quantity(data["run"]["score"])
    assert data["run"]["resolution"] == pytest.approx(0.1)
    assert isinstance(data["run"]["flags"], list)
    keys(data["forecast"], "entry", "sealed_before", "in50", "in90")
    assert isinstance(data["forecast"]["sealed_before"], bool)
    assert "w2" in data["understood"]


def test_log_of_a_failure(dock: Bench) -> None:
    score = dock("log", "dock-486", "hang memcount").data["run"]["score"]
    assert (score["value"], score["source"]) == (None, "undefined")


@pytest.mark.parametrize("want", [(), ("--want", "bus 40"), ("--want", "bus 66")])
def test_card(dock: Bench, want: tuple[str, ...]) -> None:
    answer = dock.try_("card", "dock-486", *want)
    data = envelope(answer.json, "card")
    keys(data, "reachable", "causes", "nearest", "moves", "lines", "patterns", "cacheable_mb")
    assert isinstance(data["reachable"], bool)
    assert (answer.code == 0) == data["reachable"]
    for cause in data["causes"]:
        assert set(cause) >= {"code", "text"}
    for near in data["nearest"]:
        assert set(near) >= {"settings", "clocks", "beyond"}
    assert data["moves"] == [] if not data["reachable"] else isinstance(data["moves"], list)
    for line in data["lines"]:
        assert set(line) >= {"topic", "verdict", "value", "limit", "over_pct", "power_pct", "why", "caution"}
        assert line["verdict"] in ("red", "amber", "green")
    for pattern in data["patterns"]:
        assert set(pattern) >= {"pattern", "slack_ns", "inside_max", "chance_hold"}
        quantity(pattern["slack_ns"])
        quantity(pattern["chance_hold"])
    quantity(data["cacheable_mb"])


def test_card_without_a_board(bench: Bench) -> None:
    data = envelope(
        bench("card", "--class", "486", "--bus", "50", "--sram", "15", "--banks", "2").json, "card"
    )
    keys(data, "reachable", "causes", "nearest", "moves", "lines", "patterns", "cacheable_mb")
    assert data["patterns"]


def test_forecast(ran: Bench) -> None:
    data = envelope(ran("forecast", "dock-486", "--want", "bus 40").json, "forecast")
    keys(data, "state", "entry", "basis", "workloads", "chance", "best_first_run", "widened_by")
    assert data["basis"] in ("runs", "family", "clocks")
    for w in data["workloads"]:
        keys(w, "workload", "unit", "median", "band50", "band90", "lower", "upper", "undefined")
        assert len(w["band50"]) == len(w["band90"]) == 2
    for name in ("start", "boot", "hold"):
        quantity(data["chance"][name])
        assert data["chance"][name]["value"] is None or 0 <= data["chance"][name]["value"] <= 1
    for w in data["widened_by"]:
        assert set(w) >= {"setting", "pct"}


def test_why(ran: Bench) -> None:
    data = envelope(ran("why", "1", "2").json, "why")
    keys(
        data,
        "difference",
        "ratio_pct",
        "p95",
        "runs_each",
        "verdict",
        "factors",
        "cannot_tell",
        "cheapest_run",
        "advice",
    )
    quantity(data["difference"])
    quantity(data["ratio_pct"])
    assert data["verdict"] in ("shown", "not_shown")
    assert len(data["p95"]) == 2
    for factor in data["factors"]:
        quantity(factor["share"])
        assert factor["verdict"] in ("shown", "expected", "cannot_tell", "not_shown")
    for group in data["cannot_tell"]:
        assert set(group) >= {"factors", "because"}
    if data["cheapest_run"] is not None:
        keys(data["cheapest_run"], "moves", "minutes")
    assert isinstance(data["advice"], list)


def test_now(ran: Bench) -> None:
    data = envelope(ran("now", "dock-486").json, "now")
    keys(data, "acts", "stop")
    assert data["acts"]
    for act in data["acts"]:
        keys(
            act, "kind", "moves", "minutes", "chance_hold", "predicted", "worth_per_minute", "why", "cautions"
        )
        assert act["kind"] in ("run", "test")


@pytest.mark.parametrize("goal", ["fast", "safe", "cause", "record", "symptoms"])
def test_now_as_a_list(ran: Bench, goal: str) -> None:
    """More keys, none renamed: the acts stay as they are, the list stands beside them."""
    data = envelope(ran("now", "dock-486", "--minutes", "150", "--for", goal).json, "now")
    keys(data, "acts", "stop", "route")
    route = data["route"]
    keys(route, "goal", "grade", "minutes_given", "minutes", "power_offs", "gain_pct", "steps", "stop")
    assert route["goal"] == goal
    assert route["stop"]
    for n, step in enumerate(route["steps"], start=1):
        keys(step, "n", "kind", "what", "moves", "minutes", "at_minute", "chance_hold", "predicted", "why")
        assert step["n"] == n
        assert step["kind"] in ("run", "test", "back", "repeat", "copy", "soak", "check")
    if goal == "record":
        assert [s["kind"] for s in route["steps"]][-1] == "soak"
    if goal == "symptoms":
        assert route["steps"] == []


def test_book_verify(ran: Bench) -> None:
    data = envelope(ran("book", "verify").json, "book")
    keys(data, "entries", "pens", "faults", "redacted")
    assert data["entries"] == 5  # the board, the workload with its run, a move, a run
    for pen in data["pens"]:
        assert set(pen) >= {"pen", "entries", "head"}
    assert data["faults"] == []


def test_at_makes_a_call_repeatable(dock: Bench) -> None:
    args = ("log", "dock-486", "w2 23.5 frames/s", "--at", "1999-05-04T19:30")
    assert dock(*args).data["run"]["when"].startswith("1999-05-04T19:30")


def test_a_book_given_by_path(bench: Bench) -> None:
    other = str(bench.folder / "other.db")
    file = bench.folder / "b.toml"
    file.write_text(BOARD, encoding="utf-8")
    bench("board", "add", str(file), "--book", other)
    assert [b["board"] for b in bench("board", "list", "--book", other).data["boards"]] == ["dock-486"]
    assert bench.refused("state", "dock-486").codes


@pytest.mark.parametrize(
    "args",
    [
        ("state", "nobody"),
        ("state",),
        ("frobnicate",),
        ("log", "dock-486"),
        ("log", "dock-486", "gibberish", "words", "only"),
        ("move", "dock-486", "bus 4000"),
        ("move", "dock-486", "bus 66"),
        ("card",),
        ("card", "--class", "vax"),
        ("forecast", "dock-486", "--want", "flux 3"),
        ("why", "1", "99"),
        ("now", "dock-486", "--workload", "w77"),
        ("now", "dock-486", "--grade", "shiny"),
        ("undo", "99"),
        ("state", "dock-486", "--at", "yesterday"),
        ("state", "dock-486", "--rows", "nowhere"),
        ("board", "add", "nofile.toml"),
        ("book", "merge", "nofile.db"),
        ("book", "import", "nofile.zip"),
    ],
)
def test_the_users_case_is_exit_one_with_json_on_stdout(dock: Bench, args: tuple[str, ...]) -> None:
    answer = dock.refused(*args)
    envelope(answer.json, answer.json["verb"])
    assert answer.json["verb"] == args[0]
    assert len(answer.out.splitlines()) == 1


def test_the_same_case_in_words_is_on_stderr(dock: Bench) -> None:
    answer = run("state", "nobody")
    assert answer.code == 1
    assert answer.out == ""
    assert 'error: there is no board "nobody"' in answer.err
    assert "do:" in answer.err


def test_a_bug_is_exit_two_and_says_so(dock: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    from leadoff.loop import boards

    def broken(*_: object) -> object:
        raise ZeroDivisionError("made for the test")

    monkeypatch.setattr(boards, "read_history", broken)
    answer = run("state", "dock-486", "--json")
    assert answer.code == 2
    found = json.loads(answer.out)
    assert (found["ok"], found["errors"][0]["code"]) == (False, "bug")
    assert "ZeroDivisionError" in answer.err
