"""The tables of the timing fact sheet (section 8), every row, by the general code.

Status of the tables: derived by hand from AC figures that are mostly from memory (Intel486 DX data sheet
240440, Pentium data sheet 241997), so they check the arithmetic, not the figures.
"""

from __future__ import annotations

import pytest

from leadoff.timing import Pattern, budget_terms, bus_ac, fastest_inside, patterns, period_ns, sram_of_grade
from leadoff.timing.delays import bus_family
from leadoff.timing.legs import CacheChips, Leg, read_legs, write_legs

CLOCKS = {"25": "25", "33": "100/3", "40": "40", "50": "50", "60": "60", "66": "200/3"}
GRADES = (10, 12, 15, 20, 25)

# data limit at N=2 / tag at N=2 / tag at N=3 / one bank M=1 / two banks M=1, address path
LARGEST = {
    "A": {
        "25": (52, 37, 77, 26, 66),
        "33": (38, 26, 56, 16, 46),
        "40": (30, 18, 43, 11, 36),
        "50": (22, 10, 30, 6, 26),
        "60": (22.3, 8.3, 25.0, 4.7, 21.3),
        "66": (19.9, 5.7, 20.7, 3.2, 18.2),
    },
    "B": {
        "25": (44, 29, 69, 23, 63),
        "33": (30, 18, 48, 13, 43),
        "40": (22, 10, 35, 8, 33),
        "50": (14, 2, 22, 3, 23),
        "60": (14.3, 0.3, 17.0, 1.7, 18.3),
        "66": (11.9, -2.3, 12.7, 0.2, 15.2),
    },
}

# one bank / two banks; a single pattern stands for both
READ_HITS = {
    "A": """
25 | 2-1-1-1 | 2-1-1-1 | 2-1-1-1 | 2-1-1-1 | 2-1-1-1
33 | 2-1-1-1 | 2-1-1-1 | 2-1-1-1 | 2-2-2-2/2-1-1-1 | 2-2-2-2/2-1-1-1
40 | 2-1-1-1 | 2-2-2-2/2-1-1-1 | 2-2-2-2/2-1-1-1 | 3-2-2-2/3-1-1-1 | 3-2-2-2/3-1-1-1
50 | 2-2-2-2/2-1-1-1 | 3-2-2-2/3-1-1-1 | 3-2-2-2 | 3-2-2-2 | 3-2-2-2
60 | 3-2-2-2 | 3-2-2-2 | 3-2-2-2 | 3-2-2-2 | 3-3-3-3/3-2-2-2
66 | 3-2-2-2 | 3-2-2-2 | 3-2-2-2 | 3-3-3-3/3-2-2-2 | 4-3-3-3/4-2-2-2
""",
    "B": """
25 | 2-1-1-1 | 2-1-1-1 | 2-1-1-1 | 2-1-1-1 | 2-2-2-2/2-1-1-1
33 | 2-1-1-1 | 2-1-1-1 | 2-2-2-2/2-1-1-1 | 3-2-2-2/3-1-1-1 | 3-2-2-2/3-1-1-1
40 | 2-2-2-2/2-1-1-1 | 3-2-2-2/3-1-1-1 | 3-2-2-2/3-1-1-1 | 3-2-2-2 | 3-2-2-2
50 | 3-2-2-2 | 3-2-2-2 | 3-2-2-2 | 3-2-2-2 | 4-3-3-3/4-2-2-2
60 | 3-2-2-2 | 3-2-2-2 | 3-2-2-2 | 4-3-3-3/4-2-2-2 | 4-3-3-3/4-2-2-2
66 | 3-2-2-2 | 3-2-2-2 | 4-2-2-2 | 4-3-3-3/4-2-2-2 | 4-3-3-3/4-2-2-2
""",
}


def family_of(label: str) -> str:
    return "64bit" if label in ("60", "66") else "486"


def legs_of(label: str, pattern: str, banks: int, model: str, ns: float = 15) -> dict[str, Leg]:
    chips = CacheChips(sram=sram_of_grade(ns), tag_ns=ns, banks=banks)
    family = bus_family(family_of(label))
    ac = bus_ac(family.id, CLOCKS[label])
    terms = budget_terms().at_model("A" if model == "A" else "B")
    found = read_legs(Pattern.parse(pattern), family=family, ac=ac, chips=chips, terms=terms)
    return {leg.name: leg for leg in found}


@pytest.mark.parametrize("model", ["A", "B"])
@pytest.mark.parametrize("label", list(CLOCKS))
def test_largest_access_times(model: str, label: str) -> None:
    terms = budget_terms().at_model("A" if model == "A" else "B")
    period = period_ns(CLOCKS[label])

    def room(pattern: str, banks: int, leg: str) -> float:
        return legs_of(label, pattern, banks, model)[leg].room_ns(period, terms, long_end=False)

    got = (
        room("2-1-1-1", 1, "first data"),
        room("2-1-1-1", 1, "first tag"),
        room("3-1-1-1", 1, "first tag"),
        room("2-1-1-1", 1, "next data"),
        room("2-1-1-1", 2, "next data"),
    )
    assert got == pytest.approx(LARGEST[model][label], abs=0.051)


@pytest.mark.parametrize("model", ["A", "B"])
@pytest.mark.parametrize("label", list(CLOCKS))
def test_fastest_read_hit_of_every_cell(model: str, label: str) -> None:
    terms = budget_terms().at_model("A" if model == "A" else "B")
    row = next(line for line in READ_HITS[model].splitlines() if line.startswith(label))
    for ns, cell in zip(GRADES, row.split(" | ")[1:], strict=True):
        wanted = cell.split("/")
        for banks, want in ((1, wanted[0]), (2, wanted[-1])):
            found = fastest_inside(
                patterns(
                    bus_family=family_of(label),
                    clock_mhz=CLOCKS[label],
                    sram_ns=ns,
                    tag_ns=ns,
                    banks=banks,
                    terms=terms,
                )
            )
            assert found is not None, (ns, banks)
            assert found.pattern == want, (ns, banks)


@pytest.mark.parametrize(
    ("label", "ns", "needed", "given"),
    [
        ("33", 15, 53, 60),
        ("33", 20, 64, 60),
        ("40", 12, 47, 50),
        ("40", 15, 51, 50),
        ("50", 12, 45, 40),
        ("50", 10, 42, 40),
    ],
)
def test_write_pulse_after_the_tag_compare(label: str, ns: float, needed: float, given: float) -> None:
    # Fact sheet section 8, item 5 (model A).
    terms = budget_terms().at_model("A")
    family = bus_family("486")
    chips = CacheChips(sram=sram_of_grade(ns), tag_ns=ns, banks=1)
    pulse = write_legs(2, family=family, ac=bus_ac("486", CLOCKS[label]), chips=chips, terms=terms)[0]
    assert pulse.slack_ns(period_ns(CLOCKS[label]), terms, long_end=False) == pytest.approx(given - needed)


@pytest.mark.parametrize(
    ("label", "ns", "slack"), [("33", 15, 3), ("40", 12, 1), ("40", 15, 0), ("50", 10, 3)]
)
def test_write_data_set_up(label: str, ns: float, slack: float) -> None:
    # Fact sheet section 8, item 5: T - t10 >= tSD.
    terms = budget_terms()
    chips = CacheChips(sram=sram_of_grade(ns), tag_ns=ns, banks=1)
    legs = write_legs(2, family=bus_family("486"), ac=bus_ac("486", CLOCKS[label]), chips=chips, terms=terms)
    assert legs[1].slack_ns(period_ns(CLOCKS[label]), terms, long_end=True) == pytest.approx(slack)
