"""An impossible request: refused with every cause, never a move, the nearest that can be set (shared scenario A).

The part, the board and the figures are invented; 2.8 V nominal with 3.3 V on it is arithmetic.
"""

from __future__ import annotations

import pytest

from cli_bench import Answer, Bench

BODY = """
id = "lever-s5"
class = "{board_class}"
buses = ["pci", "isa"]
sheet_confirmed = true
"""
LIMITS = """
rails = [{ v = 3.3, amps = 5.0 }, { v = 3.52, amps = 5.0 }]
ratio_pins_wired = ["BF0"]
dividers = { pci = { 66 = "1/2" } }
"""
JUMPERS = """
[[jumper]]
id = "JP1"
positions = ["1-2", "2-3", "open"]
sets = { bus_mhz = { "1-2" = 50, "2-3" = 60, "open" = "200/3" } }
[[jumper]]
id = "JP2"
positions = ["open", "closed"]
sets = { ratio = { open = "1.5", closed = "2" } }
"""
NOW = '[now]\nJP1 = "open"\nJP2 = "closed"\n'


def spelt(how: str) -> str:
    """The same board as several people would write it."""
    if how == "top":
        return f"{LIMITS}[board]{BODY}{JUMPERS}{NOW}"
    if how == "fitted":
        return f"[board]{BODY}[fitted]\n{LIMITS}{JUMPERS}{NOW}"
    if how == "rails_v":
        limits = LIMITS.replace(
            "rails = [{ v = 3.3, amps = 5.0 }, { v = 3.52, amps = 5.0 }]", "rails_v = [3.3, 3.52]"
        )
        return f"[board]{BODY}{limits}{JUMPERS}{NOW}"
    if how == "volts by jumper":
        volts = (
            '[[jumper]]\nid = "JP5"\npositions = ["1-2", "2-3"]\n'
            'sets = { core_v = { "1-2" = 3.3, "2-3" = 3.52 } }\n'
        )
        return f'[board]{BODY}{LIMITS}{JUMPERS}{volts}{NOW}JP5 = "1-2"\n'
    if how == "without ratio jumper":
        jumper = JUMPERS.split("[[jumper]]")[1]
        return f'[board]{BODY}{LIMITS}[[jumper]]{jumper}[now]\nJP1 = "open"\nratio = 2\n'
    return f"[board]{BODY}{LIMITS}{JUMPERS}{NOW}"


ROWS = {
    "table of codes": 'core = "p55c"\nratios = { "11" = "7/2", "10" = 2, "00" = "5/2", "01" = 3 }',
    "list": 'core = "p55c"\nratios = [2, 2.5, 3, 3.5]',
    "core only": 'core = "p55c"',
    "no core": "ratios = [2, 2.5, 3, 3.5]",
}


def row(ratios: str) -> str:
    return f'[[cpu]]\nid = "late200"\nv = 2.8\namps = 5.7\nwatts = 15.7\nmhz = 200\n{ROWS[ratios]}\n'


def test_every_spelling_of_board_and_row_is_refused_with_the_pin(bench: Bench) -> None:
    for how in ("board", "top", "fitted", "rails_v", "volts by jumper", "without ratio jumper"):
        for ratios in ROWS:
            folder = bench.folder / f"{how}-{ratios}".replace(" ", "_")
            folder.mkdir()
            other = Bench(folder)
            bench_book = str(folder / "b.db")
            other.own_rows(row(ratios))
            file = folder / "x.toml"
            file.write_text(_filled(how), encoding="utf-8")
            other("board", "add", str(file), "--book", bench_book)
            found = other.refused("card", "lever-s5", "--want", "cpu late200 3x66", "--book", bench_book)
            assert "ratio_pin" in found.codes, (how, ratios)
            assert any("BF1" in c["text"] for c in found.data["causes"]), (how, ratios)
            assert "core_volts" in found.codes, (how, ratios)
            assert found.data["moves"] == []
            cores = [n["clocks"]["core_mhz"] for n in found.data["nearest"]]
            assert any(c == pytest.approx(133.33, rel=2e-3) for c in cores), (how, ratios)


def _filled(how: str) -> str:
    return spelt(how).replace("{board_class}", "socket5")


class TestTheWholeAnswer:
    @pytest.fixture
    def answer(self, bench: Bench) -> Answer:
        bench.own_rows(row("table of codes"))
        bench.board(_filled("board"))
        return bench.refused("card", "lever-s5", "--want", "cpu late200 x3 bus 66")

    def test_it_is_not_reachable_and_has_no_moves(self, answer: Answer) -> None:
        assert answer.data["reachable"] is False
        assert answer.data["moves"] == []
        assert {"ratio_pin", "core_volts", "rail_amps"} <= {c["code"] for c in answer.data["causes"]}

    @pytest.mark.parametrize(
        ("volts", "over_pct", "power_pct", "watts"), [(3.3, 17.9, 39, 21.8), (3.52, 26, 58, 24.8)]
    )
    def test_volts_power_and_heat(
        self, answer: Answer, volts: float, over_pct: float, power_pct: float, watts: float
    ) -> None:
        line = next(
            x for x in answer.data["lines"] if x["topic"] == "core_volts" and x["value"]["value"] == volts
        )
        assert line["verdict"] == "red"
        assert line["over_pct"] == pytest.approx(over_pct, abs=0.5)
        assert line["power_pct"] == pytest.approx(power_pct, abs=1)
        assert f"({watts} W)" in line["why"]

    def test_amperes_on_the_rail(self, answer: Answer) -> None:
        amps = answer.lines()["rail_amps"]
        assert amps["verdict"] == "red"
        assert amps["value"]["value"] == pytest.approx(6.7, abs=0.05)
        assert amps["limit"]["value"] == 5.0

    def test_the_nearest_are_the_four_ways_there_are(self, answer: Answer) -> None:
        near = [(round(n["clocks"]["core_mhz"], 1), n["how"], n["settings"]) for n in answer.data["nearest"]]
        own = [n for n in near if "own ratio straps" in n[1]]
        assert [(n[0], n[2]["core_v"]) for n in own] == [(200.0, "2.8")]
        assert near[0] == own[0]
        plain = {n[0]: n[1] for n in near if "straps from the board" in n[1]}
        assert set(plain) == {133.3, 233.3}
        assert "where the part decodes it" in plain[233.3]
        assert [n[0] for n in near if "part made for 3.3" in n[1]] == [133.3]

    def test_clocks_of_the_nearest_are_exact(self, answer: Answer) -> None:
        for n in answer.data["nearest"]:
            assert n["clocks"]["bus_mhz"] == pytest.approx(66.667, rel=2e-3)

    def test_nothing_was_stored(self, bench: Bench, answer: Answer) -> None:
        before = bench.entries()
        bench.refused("move", "lever-s5", "cpu late200 x3 bus 66")
        bench.refused("forecast", "lever-s5", "--want", "cpu late200 x3 bus 66")
        bench.refused("log", "lever-s5", "w1 20.1, x3 bus 66")
        assert bench.entries() == before
        assert answer.code == 1


def test_a_move_that_is_refused_prints_no_moves_and_the_nearest(bench: Bench) -> None:
    bench.own_rows(row("list"))
    bench.board(_filled("volts by jumper"))
    answer = bench.refused("move", "lever-s5", "cpu late200 x3 bus 66")
    assert (answer.data["moves"], answer.data["after"]) == ([], None)
    assert answer.data["nearest"]
    assert "ratio_pin" in answer.codes


def test_the_adapter_that_was_proposed_can_be_described(bench: Bench) -> None:
    bench.own_rows(row("table of codes"))
    bench.board(
        _filled("volts by jumper").replace(
            "[now]", "[fitted]\ninterposer = { v = 2.8, ratio_straps = true }\n[now]"
        )
    )
    answer = bench("card", "lever-s5", "--want", "cpu late200 x3 bus 66")
    assert answer.data["reachable"] is True
    assert answer.data["clocks"]["core_mhz"]["value"] == pytest.approx(200)
    assert answer.lines()["core_volts"]["verdict"] == "amber"  # not measured yet
    assert "heat" in answer.lines()


def test_a_bus_that_is_not_on_the_sheet(bench: Bench) -> None:
    bench.board(_filled("board"))
    answer = bench.refused("move", "lever-s5", "bus 75")
    assert answer.codes == ["not_on_sheet"]
    assert "50 MHz, 60 MHz, 66.67 MHz" in answer.data["causes"][0]["text"]
