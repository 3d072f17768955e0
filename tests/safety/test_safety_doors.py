"""The part over the socket, as a person meets it: at the command line and on the page's card."""

from __future__ import annotations

import re

import pytest
from starlette.testclient import TestClient

from cli_bench import Bench
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


@pytest.fixture
def boards(bench: Bench) -> Bench:
    """A book with three invented boards."""
    for text in (JUMPERED, ONLY_FIVE, PLANE):
        bench.board(text)
    return bench


def volts(bench: Bench, board: str, want: str = "") -> tuple[str, str]:
    """Verdict on the core volts at both doors (they must agree) and all that the line says."""
    line = bench.try_("card", board, *(["--want", want] if want else [])).lines()["core_volts"]
    with TestClient(make_app(Desk()), base_url="http://127.0.0.1:8486", client=("127.0.0.1", 5)) as client:
        page = client.get(f"/board/{board}/socket", params={"want": want} if want else {}).text
    before = page[: page.index(line["why"][:30])]
    assert re.findall(r'class="(?:verdict|signal) (\w+)"', before)[-1] == line["verdict"]
    return line["verdict"], f"{line['why']} {line['caution']}"


def test_a_part_of_three_and_a_half_volts_over_a_five_volt_socket_is_stopped(boards: Bench) -> None:
    """Fitting it in an unchanged 5 V socket destroys it (source: encyclopedia article on the 3.3 V 486)."""
    verdict, said = volts(boards, "pier-486", f"cpu {PART}")
    assert verdict == "red"
    assert "kill" in said
    boards("move", "quay-486", f"cpu {PART}")
    verdict, said = volts(boards, "quay-486")
    assert verdict == "red"
    assert "kill" in said


def test_the_way_to_it_sets_the_volts_and_measures_before_the_part_goes_in(boards: Bench) -> None:
    moves = [m["what"] for m in boards.try_("card", "quay-486", "--want", f"cpu {PART}").data["moves"]]
    jumper = next(n for n, m in enumerate(moves) if "jp5" in m)
    measure = next(n for n, m in enumerate(moves) if "empty" in m and "measure" in m)
    fit = next(n for n, m in enumerate(moves) if f"fit {PART}" in m)
    assert jumper < measure < fit


def test_green_only_when_the_empty_socket_was_measured_at_this_setting(boards: Bench) -> None:
    boards("move", "quay-486", "jp5 1-2")
    verdict, said = volts(boards, "quay-486", f"cpu {PART}")
    assert verdict == "amber"
    assert "measure" in said.lower()
    boards("move", "quay-486", "core 3.44 V measured")
    assert volts(boards, "quay-486", f"cpu {PART}")[0] == "green"
    boards("move", "quay-486", "jp5 2-3")
    boards("move", "quay-486", "jp5 1-2")
    assert volts(boards, "quay-486", f"cpu {PART}")[0] == "amber"


def test_a_board_on_the_five_volt_plane_has_no_line_about_volts_nobody_can_set(boards: Bench) -> None:
    """Common practice, no source: 286 and 386 boards have no regulator between the plane and the socket."""
    topics = [x["topic"] for x in boards("card", "mole-386").data["lines"]]
    assert "core_volts" not in topics
