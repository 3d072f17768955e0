"""The part over the socket, as a person meets it: at the command line and on the page's card."""

from __future__ import annotations

import contextlib
import io
import json
import re
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from leadoff.doors.cli.main import main
from leadoff.doors.web.app import make_app
from leadoff.loop.desk import Desk

JUMPERED = """[board]
id = "quay-486"
class = "486-vlb"
buses = ["vlb", "isa"]
rails = [{ v = "3.45", amps = 5.0 }, { v = "5" }]
sheet_confirmed = true
[[jumper]]
id = "jp5"
positions = ["1-2", "2-3"]
sets = { core_v = { "1-2" = "3.45", "2-3" = "5" } }
[fitted]
cpu = "486dx2-66-5v"
[now]
jp5 = "2-3"
bus = "33"
"""
ONLY_FIVE = (
    '[board]\nid = "pier-486"\nclass = "486-isa"\nrails = [{ v = "5" }]\n[fitted]\ncpu = "486dx2-66-5v"\n'
)
PLANE = '[board]\nid = "mole-386"\nclass = "386dx"\n[fitted]\ncpu = "386dx-33"\n'
PART = "x5-133-3v45"


class Bench:
    """One book with invented boards, by both doors."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.book = folder, str(folder / "doors.db")

    def say(self, *words: str) -> dict[str, Any]:
        out = io.StringIO()
        with contextlib.redirect_stdout(out), pytest.raises(SystemExit):
            main([*words, "--json", "--book", self.book])
        found: dict[str, Any] = json.loads(out.getvalue().splitlines()[-1])
        return found

    def volts(self, board: str, want: str = "") -> tuple[str, str]:
        """Verdict on the core volts at both doors (they must agree) and all that the line says."""
        said = self.say("card", board, *(["--want", want] if want else []))
        line = next(x for x in said["data"]["lines"] if x["topic"] == "core_volts")
        desk = Desk(book=self.book, config=self.folder / "pen", cache=self.folder / "cache")
        with TestClient(make_app(desk), base_url="http://127.0.0.1:8486", client=("127.0.0.1", 5)) as client:
            page = client.get(f"/board/{board}/socket", params={"want": want} if want else {}).text
        before = page[: page.index(line["why"][:30])]
        assert re.findall(r'class="(?:verdict|signal) (\w+)"', before)[-1] == line["verdict"]
        return line["verdict"], f"{line['why']} {line['caution']}"


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Bench:
    for name in ("LEADOFF_CONFIG", "LEADOFF_CACHE", "XDG_CONFIG_HOME", "XDG_CACHE_HOME"):
        monkeypatch.setenv(name, str(tmp_path / name.lower()))
    made = Bench(tmp_path)
    for n, text in enumerate((JUMPERED, ONLY_FIVE, PLANE)):
        file = tmp_path / f"{n}.toml"
        file.write_text(text)
        assert made.say("board", "add", str(file))["ok"]
    return made


def test_a_part_of_three_and_a_half_volts_over_a_five_volt_socket_is_stopped(bench: Bench) -> None:
    """Fitting it in an unchanged 5 V socket destroys it (source: encyclopedia article on the 3.3 V 486)."""
    verdict, said = bench.volts("pier-486", f"cpu {PART}")
    assert verdict == "red"
    assert "kill" in said
    assert bench.say("move", "quay-486", f"cpu {PART}")["ok"]
    verdict, said = bench.volts("quay-486")
    assert verdict == "red"
    assert "kill" in said


def test_the_way_to_it_sets_the_volts_and_measures_before_the_part_goes_in(bench: Bench) -> None:
    moves = [m["what"] for m in bench.say("card", "quay-486", "--want", f"cpu {PART}")["data"]["moves"]]
    jumper = next(n for n, m in enumerate(moves) if "jp5" in m)
    measure = next(n for n, m in enumerate(moves) if "empty" in m and "measure" in m)
    fit = next(n for n, m in enumerate(moves) if f"fit {PART}" in m)
    assert jumper < measure < fit


def test_green_only_when_the_empty_socket_was_measured_at_this_setting(bench: Bench) -> None:
    assert bench.say("move", "quay-486", "jp5 1-2")["ok"]
    verdict, said = bench.volts("quay-486", f"cpu {PART}")
    assert verdict == "amber"
    assert "measure" in said.lower()
    assert bench.say("move", "quay-486", "core 3.44 V measured")["ok"]
    assert bench.volts("quay-486", f"cpu {PART}")[0] == "green"
    assert bench.say("move", "quay-486", "jp5 2-3")["ok"]
    assert bench.say("move", "quay-486", "jp5 1-2")["ok"]
    assert bench.volts("quay-486", f"cpu {PART}")[0] == "amber"


def test_a_board_on_the_five_volt_plane_has_no_line_about_volts_nobody_can_set(bench: Bench) -> None:
    """Common practice, no source: 286 and 386 boards have no regulator between the plane and the socket."""
    topics = [x["topic"] for x in bench.say("card", "mole-386")["data"]["lines"]]
    assert "core_volts" not in topics
