"""The verbs of an ailing board through their door: sick, substitute and electric, with figures and in words."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from cli_bench import run

Say = Callable[..., tuple[int, str]]
DEAD = '[board]\nid = "quay-486"\nclass = "486-vlb"\nbuses = ["vlb", "isa"]\n[fitted]\ncpu = "486dx2-66-5v"\n'
SEALED = '[board]\nid = "quay-s7"\nclass = "socket7"\nbuses = ["pci"]\nclock_part = "sealed module"\n'


@pytest.fixture
def say(tmp_path: Path) -> Say:
    """Runs a command on a book of its own that holds two invented boards."""

    def say(*words: str) -> tuple[int, str]:
        answer = run(*words)
        return answer.code, answer.out + answer.err

    for name, text in (("dead", DEAD), ("sealed", SEALED), ("other", DEAD.replace("quay", "heron"))):
        file = tmp_path / f"{name}.toml"
        file.write_text(text)
        assert say("board", "add", str(file))[0] == 0
    return say


def data(answer: tuple[int, str]) -> dict[str, Any]:
    code, text = answer
    assert code == 0, text
    found: dict[str, Any] = json.loads(text.splitlines()[-1])
    return found


def test_a_dead_board_in_own_words(say: Say) -> None:
    answer = data(say("sick", "quay-486", "fans spin but noting on the screen, zzzx lamp", "--json"))
    found = answer["data"]
    assert found["mode"] == "several"
    assert found["respelt"] == {"noting": "nothing"}
    assert len(found["tests"]) == 3
    for test in found["tests"]:
        assert sum(r["p"] for r in test["results"]) == pytest.approx(1, abs=1e-6)
    rest = found["several_p"] + found["unlisted_p"]
    assert rest == pytest.approx(found["other_p"])
    assert any("zzzx" in m["text"] for m in answer["marks"] if m["level"] == "amber")


def test_the_words_say_results_and_what_the_rest_is(say: Say) -> None:
    code, text = say("sick", "quay-486", "fans spin, nothing on the screen")
    flat = " ".join(text.split())
    assert code == 0
    assert re.search(r"if eaten \(\d+ %\): then Battery leak with eaten traces or vias \d+ %", flat)
    assert "several causes together: curing one is not enough" in flat
    assert "the only cause a cause at all" in flat
    assert "o_look" not in flat, "no names of rows on the screen"


def test_nothing_understood_is_an_error_and_keeps_nothing(say: Say) -> None:
    code, text = say("sick", "quay-486", "wibble wobble", "--json")
    assert code == 1
    assert "wibble wobble" in json.loads(text.splitlines()[-1])["errors"][0]["text"]
    assert data(say("sick", "quay-486", "--json"))["data"]["open_symptoms"] == []


def test_tools_are_said_once_and_open_tests(say: Say) -> None:
    first = data(say("sick", "quay-486", "fans spin, no picture, rails checked, psu tested ok", "--json"))
    assert any("tools: scope" in m["text"] for m in first["marks"])
    found = data(say("sick", "quay-s7", "--have", "scope, post card and spare memory", "--json"))
    assert found["data"]["bench"] == ["oscilloscope", "diagnostic card", "memory"]
    after = data(say("sick", "quay-486", "--json"))
    assert not any(m["code"] == "faults.tools" for m in after["marks"])
    code, text = say("sick", "quay-486", "--have", "crystal ball")
    assert code == 1
    assert "crystal ball" in text


def test_a_flat_module_is_repaired_and_its_start_seen_again(say: Say) -> None:
    line = "only boots after i press reset, battery low, have to do setup every time, also warm"
    found = data(say("sick", "quay-s7", line, "--json"))["data"]
    assert found["explanations"][0]["fault"] == "rtc_flat"
    assert found["explanations"][0]["p_cause"] >= 0.8
    assert found["repair"]["fault"] == "rtc_flat"
    assert {w["id"] for w in found["repair"]["ways"]} == {"way_swap", "way_socket", "way_external"}
    assert found["repair"]["substitute"] == "clock module"
    assert any("unplug the mains for one hour" in s for s in found["repair"]["accept"])
    after = data(say("sick", "quay-s7", "I just swapped the module", "--json"))["data"]
    assert after["explanations"][0]["fault"] != "rtc_flat" or after["explanations"][0]["p_cause"] < 0.8
    assert any("from before the repair" in text for text in after["set_aside"])
    assert {s["observation"] for s in after["open_symptoms"]} == {
        s["observation"] for s in found["open_symptoms"]
    }
    assert after["symptom"] == "none", "it did start: nothing says now that it does not"
    assert after["look_first"][0].startswith("See again what was there before the repair")
    assert after["tests"] == []
    kept = data(say("sick", "quay-s7", "settings kept after a warm restart", "--json"))["data"]
    assert "o_settings_warm" not in {s["observation"] for s in kept["open_symptoms"]}
    assert "o_only_reset" in {s["observation"] for s in kept["open_symptoms"]}


def test_a_repaired_board_that_ran_teaches_the_rates(say: Say) -> None:
    before = data(say("sick", "quay-486", "fans spin, no picture", "--json"))
    assert any("no closed case" in m["text"] for m in before["marks"])
    assert before["data"]["learnt_from"] == 0
    data(say("sick", "heron-486", "no picture, bulged caps", "--json"))
    data(say("sick", "heron-486", "replaced the caps, boots fine", "--json"))
    open_still = data(say("sick", "quay-486", "--json"))
    assert open_still["data"]["learnt_from"] == 0, "a repair counts when the board ran afterwards"
    assert say("log", "heron-486", "w2 23.5 frames/s")[0] == 0
    after = data(say("sick", "quay-486", "--json"))
    assert after["data"]["learnt_from"] == 1
    chance = [
        {e["fault"]: e["p_cause"] for e in a["data"]["explanations"]}.get("elec_bad", 0.0)
        for a in (before, after)
    ]
    assert chance[1] > chance[0]


def test_own_fault_tables_come_in_with_rows_and_stay_in_the_book(say: Say, tmp_path: Path) -> None:
    rows = tmp_path / "rows"
    rows.mkdir()
    (rows / "faults-mine.toml").write_text(
        '[[wording]]\nid = "mine"\nobservation = "o_screen"\noutcome = "none"\n'
        'words = ["wobbulates"]\nsource = "judge"\n'
    )
    code, text = say("sick", "quay-486", "it wobbulates")
    assert code == 1
    assert "wobbulates" in text
    first = data(say("sick", "quay-486", "it wobbulates", "--rows", str(rows), "--json"))
    assert first["data"]["understood"] == "picture: none"
    (rows / "faults-mine.toml").unlink()
    kept = data(say("sick", "quay-486", "still it wobbulates", "--json"))
    assert kept["data"]["understood"] == "picture: none"
    assert say("state", "quay-486")[0] == 0, "the catalogue leaves fault tables alone"


@pytest.mark.parametrize(
    ("words", "verdict"),
    [
        ("64-byte for 128-byte clock module", "part"),
        ("128-byte for 64-byte clock module", "ok"),
        ("lithium coin cell for soldered rechargeable pack", "part"),
        ("3.3 v sram for 5 v sram", "no"),
        ("edo for fast page memory", "part"),
    ],
)
def test_substitutes(say: Say, words: str, verdict: str) -> None:
    found = data(say("substitute", words, "--json"))["data"]
    assert verdict in {r["verdict"] for r in found["rows"]}
    assert all(r["source_text"] for r in found["rows"])


def test_the_three_ways_to_a_clock_stand_side_by_side(say: Say) -> None:
    found = data(say("substitute", "clock module", "--at", "2026-11-25T12:00:00Z", "--json"))["data"]
    ways = {w["id"]: w for w in found["ways"]}
    assert set(ways) == {"way_swap", "way_socket", "way_external"}
    assert ways["way_socket"]["reversible"]
    assert not ways["way_swap"]["reversible"]
    assert ways["way_external"]["due_year"] == 2031
    assert all(w["minutes"] > 0 and w["cost"] > 0 for w in ways.values())


def test_what_is_not_in_the_tables_is_not_known(say: Say) -> None:
    answer = data(say("substitute", "unobtainium for capacitor", "--json"))
    assert answer["data"]["rows"] == []
    assert any("not known is not yes" in m["text"] for m in answer["marks"])
    code, text = say("substitute", "vacuum tube")
    assert code == 1
    assert "a guess could destroy the board" in " ".join(text.split())


def test_every_topic_of_electric_works_on_its_own_example(say: Say) -> None:
    from leadoff.loop.reckonings import TOPICS

    assert len(TOPICS) >= 12
    for topic in TOPICS.values():
        found = data(say("electric", *topic.example.split(), "--json"))["data"]
        assert found["topic"] == topic.name
        assert found["source"]
        assert found["results"] or found["says"]


def test_electric_figures(say: Say) -> None:
    # Source: K6-233 data sheet figures as quoted at plasma-online.de: 28.3 W at 3.2 V, 30.2 W at 3.3 V
    found = data(say("electric", "power watts 28.3 volts 3.2 to 3.3", "--json"))["data"]
    assert found["results"][0]["value"]["value"] == pytest.approx(30.2, rel=0.01)
    red = data(say("electric", "charge chemistry primary path yes", "--json"))
    assert [m["level"] for m in red["marks"]] == ["red"]
    code, text = say("electric", "heat in 5")
    assert code == 1
    assert "needs out, amps" in text
    code, text = say("electric", "heat in 3 out 5 amps 1")
    assert code == 1
    assert "a linear regulator only lowers" in " ".join(text.split())


@pytest.mark.parametrize(
    "swapped", ["swapped the ram and the video card, no change", "swapped ram, works again"]
)
def test_a_swap_is_answered_and_so_is_what_comes_after_it(say: Say, swapped: str) -> None:
    assert say("sick", "quay-486", "fans spin, no video")[0] == 0
    for answer in (data(say("sick", "quay-486", swapped, "--json")), data(say("sick", "quay-486", "--json"))):
        assert 0.0 <= answer["data"]["other_p"] <= 1.0
        assert answer["data"]["explanations"]
