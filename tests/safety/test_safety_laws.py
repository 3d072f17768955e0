"""Laws of the judge: more volts never help, unknown is never green, green needs a measured socket."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cli_bench import run
from leadoff.catalogue import Catalogue, load
from leadoff.machine.fold import BoardFold, after, start
from leadoff.machine.partfacts import Processor
from leadoff.machine.processors import processor
from leadoff.record.board import BoardSheet, Card, Interposer, Jumper, MemoryFit, Rail
from leadoff.record.marks import Level
from leadoff.record.moves import Change
from leadoff.record.quantity import Source
from leadoff.record.state import Setting, State, Status
from leadoff.safety.judge import beyond, judge
from leadoff.safety.line import Line
from leadoff.safety.writeback_lines import zero_of_n_limit

ROWS: Catalogue = load((), None)
GRAVITY = {Level.GREEN: 0, Level.NOTE: 0, Level.AMBER: 1, Level.RED: 2}

PART = Processor(
    id="invented",
    v_typ=3.3,
    v_min=3.135,
    v_max=3.6,
    v_abs=4.6,
    amps=3.4,
    watts=11.2,
    rated_mhz=Fraction(133),
    rated_bus_mhz=Fraction(200, 3),
    ratios=(Fraction(2),),
)
SHEET = BoardSheet(
    id="x",
    board_class="socket7",
    buses=("pci", "isa", "vlb", "agp"),
    rails=(Rail(v="3.3", amps=5.0),),
    sheet_confirmed=True,
    dividers={"pci": {"*": "1/2"}, "isa": {"*": "1/8"}, "agp": {"*": "1"}},
)


def state(**values: str | Setting) -> State:
    made = {
        name: value
        if isinstance(value, Setting)
        else Setting(value=value, status=Status.KNOWN, source=Source.DECLARED)
        for name, value in values.items()
    }
    return State(board="x", settings=made)


def measured(value: str) -> Setting:
    return Setting(value=value, status=Status.KNOWN, source=Source.MEASURED)


def lines(found: State, sheet: BoardSheet = SHEET, part: Processor | None = PART) -> dict[str, Line]:
    out: dict[str, Line] = {}
    for line in judge(found, sheet, part, ROWS):
        out.setdefault(line.topic, line)  # the gravest comes first
    return out


def grave(line: Line | None) -> int:
    return -1 if line is None else GRAVITY[line.verdict]


VOLTS = st.integers(80, 550).map(lambda c: c / 100)


@settings(max_examples=200, deadline=None)
@given(VOLTS, VOLTS, st.booleans(), st.sampled_from(["v_typ only", "whole", "no abs"]))
def test_more_volts_never_turn_red_to_anything_better(a: float, b: float, read: bool, kind: str) -> None:
    part = {
        "whole": PART,
        "no abs": msgspec.structs.replace(PART, v_abs=None),
        "v_typ only": msgspec.structs.replace(PART, v_min=None, v_max=None, v_abs=None),
    }[kind]
    lo, hi = sorted((a, b))
    one, two = (
        lines(state(core_v=measured(f"{v:g}") if read else f"{v:g}", bus_mhz="200/3", ratio="2"), part=part)
        for v in (lo, hi)
    )
    for topic in ("core_volts", "rail_amps", "heat"):
        if one[topic].verdict is Level.RED:
            assert two[topic].verdict is Level.RED, topic


@settings(max_examples=100, deadline=None)
@given(st.fractions(20, 200, max_denominator=3), st.fractions(20, 200, max_denominator=3))
def test_verdicts_on_clocks_worsen_with_the_clock(a: Fraction, b: Fraction) -> None:
    lo, hi = sorted((a, b))
    one, two = (lines(state(bus_mhz=str(bus), ratio="2", core_v="3.3")) for bus in (lo, hi))
    for topic in ("core_clock", "pci_clock", "isa_clock", "agp_clock", "vlb_clock", "heat"):
        assert grave(one[topic]) <= grave(two[topic]), topic
        assert (one[topic].over_pct or 0) <= (two[topic].over_pct or 0) + 1e-9


_NAMES = ("bus_mhz", "ratio", "core_v", "cas", "l1_policy", "snoop_line", "dma", "bus_master", "ram.d1")
_VALUES = {
    "bus_mhz": ["100/3", "200/3", "100"], "ratio": ["2", "3"], "core_v": ["2.8", "3.3", "5"], "cas": ["2", "3"],
    "l1_policy": ["wb", "wt"], "snoop_line": ["on", "off"], "dma": ["on", "off"], "bus_master": ["on", "off"],
    "ram.d1": ["1x64 sdram", "1x64 sdram10 cl2", "4x8 fpm60", "empty"],
}  # fmt: skip


def _setting(name: str) -> st.SearchStrategy[Setting]:
    def make(value: str, status: Status) -> Setting:
        if status is Status.UNKNOWN:
            return Setting(value=None, status=status, source=Source.UNKNOWN)
        against = "5" if status is Status.DISPUTED and name == "core_v" else ""
        return Setting(value=value, status=status, source=Source.DECLARED, against=against)

    return st.builds(make, st.sampled_from(_VALUES[name]), st.sampled_from(list(Status)))


_SETTINGS = st.fixed_dictionaries({}, optional={name: _setting(name) for name in _NAMES})


@settings(max_examples=300, deadline=None)
@given(_SETTINGS, st.booleans())
def test_nothing_unknown_assumed_or_only_declared_is_green(
    values: dict[str, Setting], with_part: bool
) -> None:
    found = lines(state(**values), part=PART if with_part else None)
    if "core_volts" in found:
        assert found["core_volts"].verdict is not Level.GREEN  # nothing here was measured
    rests_on = {"core_clock": ("bus_mhz", "ratio"), "pci_clock": ("bus_mhz",), "vlb_clock": ("bus_mhz",)}
    for topic, names in rests_on.items():
        if any(n not in values or values[n].status is not Status.KNOWN for n in names) and topic in found:
            assert found[topic].verdict is not Level.GREEN, topic
    for line in found.values():
        assert line.why
        if line.value is not None and line.value.value is None:
            assert line.verdict is not Level.GREEN
        if line.verdict is not Level.GREEN and line.topic != "isa_reach":
            assert line.caution, line.topic


@settings(max_examples=150, deadline=None)
@given(_SETTINGS)
def test_what_is_beyond_is_red_and_carries_its_numbers(values: dict[str, Setting]) -> None:
    found = judge(state(**values), SHEET, PART, ROWS)
    for row in beyond(found):
        assert row["over_pct"] is not None
        assert row["over_pct"] > 0  # type: ignore[operator]
    order = [GRAVITY[line.verdict] for line in found]
    assert order == sorted(order, reverse=True)


def test_green_only_after_the_socket_was_measured_at_this_setting() -> None:
    sheet = msgspec.structs.replace(
        SHEET,
        jumpers=(
            Jumper(id="jp5", positions=("1-2", "2-3"), sets={"core_v": {"1-2": "3.3", "2-3": "3.52"}}),
            Jumper(id="jp1", positions=("a", "b"), sets={"bus_mhz": {"a": "60", "b": "200/3"}}),
        ),
        now={"jp5": "1-2", "jp1": "a"},
    )
    fold = start(sheet)
    assert _volts(fold).verdict is Level.AMBER
    fold = _did(fold, Change(name="core_v", before="3.3", after="3.32", measured=True))
    assert _volts(fold).verdict is Level.GREEN
    other = _did(fold, Change(name="jp1", before="a", after="b"))
    assert _volts(other).verdict is Level.GREEN  # another jumper does not touch the volts
    moved = _did(fold, Change(name="jp5", before="1-2", after="2-3"))
    assert _volts(moved).verdict is Level.AMBER
    back = _did(moved, Change(name="jp5", before="2-3", after="1-2"))
    assert _volts(back).verdict is Level.AMBER


def _did(fold: BoardFold, change: Change) -> BoardFold:
    return BoardFold(sheet=fold.sheet, said=after(fold, [change]))


def _volts(fold: BoardFold) -> Line:
    return lines(fold.state(PART), fold.sheet)["core_volts"]


@pytest.mark.parametrize(
    ("volts", "verdict"),
    [("3.79", Level.RED), ("3.78", Level.RED), ("3.77", Level.AMBER), ("3.6", Level.GREEN), ("3.3", Level.GREEN),
     ("3.1", Level.AMBER), ("2.0", Level.AMBER)],
)  # fmt: skip
def test_red_from_five_percent_above_the_recommended_maximum(volts: str, verdict: Level) -> None:
    assert lines(state(core_v=measured(volts)))["core_volts"].verdict is verdict


def test_the_absolute_maximum_says_so() -> None:
    line = lines(state(core_v="5"))["core_volts"]
    assert "absolute maximum is 4.6 V" in line.why
    assert "kills" in line.caution


def test_volts_far_below_a_part_without_a_minimum_are_not_green() -> None:
    part = msgspec.structs.replace(PART, v_min=None)
    assert lines(state(core_v=measured("2.1")), part=part)["core_volts"].verdict is Level.AMBER


def test_disputed_volts_are_judged_both_ways() -> None:
    doubt = Setting(value="3.3", status=Status.DISPUTED, source=Source.DECLARED, against="5")
    assert lines(state(core_v=doubt))["core_volts"].verdict is Level.RED


def test_a_part_on_a_supply_beyond_every_formula_is_red_not_an_error() -> None:
    """A 2.2 V part on a 5 V rail is more than twice its volts: no figure, and certainly red."""
    part = processor("K6-2/300AFR", ROWS)
    found = lines(
        state(bus_mhz="200/3", ratio="9/2"), msgspec.structs.replace(SHEET, rails=(Rail(v="5"),)), part
    )
    assert found["core_volts"].verdict is Level.RED
    assert found["heat"].verdict is Level.RED


def test_no_supply_known_is_amber_not_silence() -> None:
    bare = msgspec.structs.replace(SHEET, rails=())
    assert lines(state(), bare)["core_volts"].verdict is Level.AMBER
    assert lines(state(), bare, None)["processor"].verdict is Level.AMBER


def test_a_386_board_without_rails_says_nothing_of_a_five_volt_part_and_stops_a_lower_one() -> None:
    """Its socket is on the 5 V plane, no regulator between: common practice, no source."""
    plane = msgspec.structs.replace(SHEET, rails=(), board_class="386")
    five = msgspec.structs.replace(PART, v_typ=5.0, v_min=4.75, v_max=5.25, v_abs=6.5)
    assert not {"core_volts", "rail_amps", "heat"} & set(lines(state(), plane, five))
    assert lines(state(), plane)["core_volts"].verdict is Level.RED
    assert lines(state(core_v=measured("5.6")), plane, five)["core_volts"].verdict is Level.RED


def test_each_rail_is_judged_when_none_is_known_to_be_set() -> None:
    two = msgspec.structs.replace(SHEET, rails=(Rail(v="3.3", amps=5.0), Rail(v="5")))
    found = [x for x in judge(state(), two, PART, ROWS) if x.topic == "core_volts"]
    assert [x.verdict for x in found] == [Level.RED, Level.AMBER]


def test_a_reading_near_a_rail_has_the_amperes_of_that_rail() -> None:
    two = msgspec.structs.replace(SHEET, rails=(Rail(v="3.3", amps=3.0), Rail(v="5", amps=9.0)))
    line = lines(state(core_v=measured("3.34")), two)["rail_amps"]
    assert line.limit is not None
    assert line.limit.value == 3.0
    assert line.verdict is Level.RED


def test_an_adapter_feeds_the_part_whatever_the_board_gives() -> None:
    adapted = msgspec.structs.replace(SHEET, rails=(Rail(v="5"),), interposer=Interposer(v="3.3", amps=7.0))
    found = lines(start(adapted).state(PART), adapted)
    assert found["core_volts"].verdict is Level.AMBER
    assert found["rail_amps"].limit is not None
    assert found["rail_amps"].limit.value == 7.0


@pytest.mark.reference
@pytest.mark.parametrize(("mhz", "allowed"), [("100/3", 3), ("40", 2), ("50", 1)])
def test_local_bus_loads(mhz: str, allowed: int) -> None:
    """Local bus: three loads at 33 MHz, two at 40, one at 50 (common practice and the catalogue's source)."""
    for count in (allowed, allowed + 1):
        cards = tuple(Card(slot=f"v{n}", bus="vlb") for n in range(count))
        found = lines(state(bus_mhz=mhz), msgspec.structs.replace(SHEET, cards=cards))
        assert ("vlb_loads" in found) == (count > allowed)


@pytest.mark.reference
@pytest.mark.parametrize(
    ("marking", "rail", "verdict"),
    [
        ("A80486DX2-66SV8B", "5", Level.RED),  # 3.3 V, write-back
        ("5X86-P75 ADZ", "5", Level.RED),  # "a 3.45 V part in a 5 V socket is stopped": common practice
        ("5X86-P75 ADZ", "3.45", Level.AMBER),
        ("CX486DX2-V80GP", "5", Level.RED),  # the 4.0 V variant
        ("CX486DX2-V80GP", "3.45", Level.AMBER),
        ("A80501-60", "3.3", Level.AMBER),  # 5 V part: too low is no damage
        ("FV80503200", "3.3", Level.RED),  # 2.8 V core
        ("K6-200ALR", "2.9", Level.AMBER),
        ("K6-2/300AFR", "2.9", Level.RED),
    ],
)
def test_volts_by_marking(marking: str, rail: str, verdict: Level) -> None:
    """Volts by marking from the makers' data sheets; each row of the catalogue has its source."""
    part = processor(marking, ROWS)
    assert part is not None
    sheet = msgspec.structs.replace(SHEET, rails=(Rail(v=rail),))
    assert lines(state(), sheet, part)["core_volts"].verdict is verdict


def test_a_name_alone_asks_for_the_marking() -> None:
    part = processor("486dx2-66", ROWS)
    assert part is not None
    found = lines(state(core_v="5"), SHEET, part)
    assert found["marking"].verdict is Level.AMBER
    assert "the marking decides" in found["marking"].why


class TestMemory:
    def line(self, text: str, **values: str) -> Line | None:
        return lines(state(**{"ram.d1": text}, **values)).get("memory_clock")

    @pytest.mark.parametrize(
        ("text", "bus", "cas", "verdict"),
        [
            ("1x64 sdram10 cl2", "100", "2", Level.GREEN),
            ("1x64 sdram10 cl2", "103", "2", Level.RED),
            ("1x64 sdram8 cl3", "100", "2", Level.AMBER),
            ("1x64 sdram8 cl3", "100", None, Level.AMBER),
            ("1x64 sdram", "100", "2", Level.AMBER),
            ("1x64 sdram8 cl3", None, "3", Level.AMBER),
        ],
    )
    def test_period_and_latency(self, text: str, bus: str | None, cas: str | None, verdict: Level) -> None:
        values = {k: v for k, v in {"bus_mhz": bus, "cas": cas}.items() if v is not None}
        line = self.line(text, **values)
        assert line is not None
        assert line.verdict is verdict

    def test_memory_without_a_clock_is_not_judged_here(self) -> None:
        assert self.line("4x8 fpm60", bus_mhz="100/3") is None

    def test_the_worst_of_several_modules_counts(self) -> None:
        sheet = msgspec.structs.replace(
            SHEET,
            memory=(
                MemoryFit(site="d1", mb=64, type="sdram", ns=7.5, cas=3),
                MemoryFit(site="d2", mb=64, type="sdram", ns=10, cas=3),
            ),
            now={"bus_mhz": "400/3", "cas": "3"},
        )
        found = [x for x in judge(start(sheet).state(), sheet, None, ROWS) if x.topic == "memory_clock"]
        assert [x.verdict for x in found] == [Level.RED, Level.GREEN]


@pytest.mark.reference
def test_exact_limit_of_zero_failures() -> None:
    """Clopper-Pearson, one-sided: 0 of n bounds the rate by 1 - 0.05^(1/n); 0 of 3 gives 63.2 %."""
    assert zero_of_n_limit(3) == pytest.approx(0.632, abs=5e-4)
    assert zero_of_n_limit(1) == pytest.approx(0.95)


def test_a_name_that_several_parts_share_is_judged_by_the_most_that_all_take(tmp_path: Path) -> None:
    board = tmp_path / "gull.toml"
    board.write_text(
        '[board]\nid = "gull-486"\nclass = "486-pci"\nrails = [{ v = 3.45 }, { v = 5 }]\n[fitted]\n'
        'cpu = "486dx4-100"\n[now]\nbus_mhz = "100/3"\nratio = 3\ncore_v = 3.45\n',
        encoding="utf-8",
    )
    book = ("--book", str(tmp_path / "b.db"))
    assert run("board", "add", str(board), *book).code == 0
    line = run("card", "gull-486", "--json", *book).lines()["core_volts"]
    assert line["verdict"] == "amber"
    assert line["why"].startswith("486dx4-100 takes at most 3.6 V; 3.45 V is not above that")
    assert run("move", "gull-486", "core 4 V", *book).code == 0
    assert run("card", "gull-486", "--json", *book).lines()["core_volts"]["verdict"] == "red"
