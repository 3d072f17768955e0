"""Date codes against the published calendar of weeks, and what they say of a board."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cli_bench import Bench
from leadoff.record.errors import LeadoffError
from leadoff.worth.datecodes import age_of, read_code, week_span
from leadoff.worth.due import unlocks


@pytest.mark.reference
@pytest.mark.parametrize(
    ("year", "week", "first", "last"),
    [
        (1993, 47, date(1993, 11, 22), date(1993, 11, 28)),
        (1998, 53, date(1998, 12, 28), date(1999, 1, 3)),
        (1997, 1, date(1996, 12, 30), date(1997, 1, 5)),
        (1992, 53, date(1992, 12, 28), date(1993, 1, 3)),
        (2004, 53, date(2004, 12, 27), date(2005, 1, 2)),
        (1994, 1, date(1994, 1, 3), date(1994, 1, 9)),
    ],
)
def test_weeks_of_the_standard(year: int, week: int, first: date, last: date) -> None:
    """ISO 8601, calendar weeks: week 1 holds the first Thursday. Days from printed calendars (from memory)."""
    assert week_span(year, week) == (first, last)


@pytest.mark.reference
def test_only_long_years_have_a_week_53() -> None:
    """ISO 8601: a year has 53 weeks when 1 January is a Thursday, or a Wednesday in a leap year. From 1971 to
    2009: 1976, 1981, 1987, 1992, 1998, 2004, 2009 (from memory)."""
    long = []
    for year in range(1971, 2010):
        try:
            week_span(year, 53)
        except LeadoffError:
            continue
        long.append(year)
    assert long == [1976, 1981, 1987, 1992, 1998, 2004, 2009]
    with pytest.raises(LeadoffError, match="week 53 does not exist in 1993, which has 52 weeks"):
        read_code("9353")


@given(st.integers(1971, 2009), st.integers(1, 52))
def test_a_code_of_four_digits_is_one_week(year: int, week: int) -> None:
    found = read_code(f"{year % 100:02d}{week:02d}")
    assert found.spans == (week_span(year, week),)


def test_three_digits_leave_the_decade_open() -> None:
    found = read_code("347")
    assert [s[0].isocalendar().year for s in found.spans] == [1973, 1983, 1993, 2003]
    near = age_of([read_code("9340"), read_code("9412"), read_code("347", "u9")])
    assert near.not_before == date(1994, 3, 21)
    assert near.ambiguous == ("u9",)
    assert age_of([read_code("347")]).not_before is None


def test_a_part_much_younger_than_the_rest_was_replaced() -> None:
    found = age_of([read_code("9340"), read_code("9347"), read_code("9402"), read_code("0112", "u4")])
    assert found.replaced == ("u4",)
    assert found.not_before == date(1994, 1, 10)
    assert found.hardly_after == date(1995, 1, 9), "a year's worth of weeks later"


@pytest.mark.parametrize("text", ["93", "93474", "9A47", "", "9300", "9399"])
def test_what_is_no_code(text: str) -> None:
    with pytest.raises(LeadoffError, match=r"week|date code"):
        read_code(text)


def test_one_order_for_two_boards() -> None:
    found = unlocks({"a": ["sram"], "b": ["sram"], "c": ["sram", "cell"]})
    assert (found[0].part, found[0].unlocks, found[0].helps) == ("sram", ("a", "b"), ("c",))


def test_the_shelf_keeps_what_it_is_told(bench: Bench) -> None:
    for n in ("one", "two"):
        bench.board(f'[board]\nid = "{n}"\nclass = "486-vlb"\nclock_part = "sealed module"\n', f"{n}.toml")
        bench("shelf", n, "--waits", "SRAM 32kx8", "--in", "box 3")
    data = bench("shelf", "--at", "2026-01-01").data
    assert data["orders"] == [{"part": "sram 32kx8", "unlocks": ["one", "two"], "helps": []}]
    row = bench("shelf", "one", "--codes", "u3 9347, u7 9412", "--dumped", "--got", "sram 32kx8").data[
        "boards"
    ][0]
    assert (row["place"], row["waits_for"], row["not_before"]) == ("box 3", [], "1994-03-21")
    assert row["firmware"] == "dumped"
    assert "presumed flat" in row["clock"]
    assert bench.refused("shelf", "one", "--got", "gold").codes == ["not_waited_for"]
    assert bench.refused("shelf", "one", "--codes", "u3 9353").codes == ["no_such_week"]
