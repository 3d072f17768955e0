"""Parcels: shrunk to a prior as the textbooks have it, bands that hold, and what the command keeps of them."""

from __future__ import annotations

import math
import random
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cli_bench import Bench, run
from leadoff.worth.parcels import Parcel, arrival, outlook, row

DAY = date(2026, 3, 1)
TODAY = date(2026, 6, 1)


def parcel(
    n: int, days: int | None, *, promised: float | None = 10.0, damaged: bool | None = False
) -> Parcel:
    return Parcel(
        number=f"p{n}",
        ordered=DAY,
        seller="s",
        carrier="c",
        promised_days=promised,
        came=None if days is None else DAY + timedelta(days=days),
        damaged=damaged,
    )


@pytest.mark.reference
def test_damage_is_the_beta_posterior_of_the_textbooks() -> None:
    """Gelman and others, Bayesian Data Analysis, 2.4: Beta(a, b) with y of n gives mean (a + y) / (a + b + n). The
    prior is Beta(1, 19); 3 of 10 damaged: 4 / 30. Its 90 % band by SciPy 1.11: beta.ppf of 4, 26."""
    found = outlook(
        [parcel(n, 10, damaged=n < 3) for n in range(10)], TODAY, seller="s", carrier="c"
    ).p_damaged
    assert found.value == pytest.approx(4 / 30)
    assert found.lo == pytest.approx(0.04852, abs=0.003)
    assert found.hi == pytest.approx(0.24614, abs=0.003)


@pytest.mark.reference
def test_days_are_the_normal_posterior_of_the_textbooks() -> None:
    """The same, 3.3: with a prior of k0 observations at zero the middle is n mean / (k0 + n), and the scale is
    (v0 s0^2 + SS + k0 n / (k0 + n) mean^2) / (v0 + n)."""
    days = [11, 14, 20, 16]
    x = [math.log(d / (10.0 * row("late"))) for d in days]
    mean, k0, v0 = sum(x) / 4, row("lead_parcels"), row("spread_parcels")
    squares = v0 * row("lead_sd") ** 2 + sum((v - mean) ** 2 for v in x) + k0 * 4 / (k0 + 4) * mean**2
    sd = math.sqrt(squares / (v0 + 4) * (1 + 1 / (k0 + 4)))
    made = [parcel(n, d) for n, d in enumerate(days)]
    found = outlook(made, TODAY, seller="s", carrier="c", promised_days=10).lead_days
    middle = 10 * row("late") * math.exp(4 * mean / (k0 + 4))
    assert found.value == pytest.approx(middle)
    assert found.hi == pytest.approx(middle * math.exp(1.6448536 * sd))


def test_nothing_known_is_the_prior_and_says_so() -> None:
    found = outlook([], TODAY, abroad=True)
    assert found.lead_days.value == pytest.approx(row("lead_abroad"))
    assert "prior of judgement alone" in found.rests_on
    assert outlook([parcel(1, 99)], TODAY, seller="x").parcels == 0, "others' parcels teach nothing of x"


@settings(deadline=None, max_examples=12)
@given(st.lists(st.integers(2, 60), min_size=1, max_size=12), st.integers(1, 30), st.data())
def test_later_parcels_promise_later_ones(days: list[int], more: int, data: st.DataObject) -> None:
    at = data.draw(st.integers(0, len(days) - 1))
    slower = [d + more * (n == at) for n, d in enumerate(days)]
    one, two = (
        outlook([parcel(n, d) for n, d in enumerate(ds)], TODAY, seller="s").lead_days
        for ds in (days, slower)
    )
    assert one.value is not None
    assert two.value is not None
    assert two.value >= one.value
    assert one.lo is not None
    assert one.hi is not None
    assert 0 < one.lo < one.value < one.hi


def test_the_bands_hold_where_parcels_are_as_the_prior_has_them() -> None:
    """Sellers drawn from the prior, three parcels each: nine in ten of the fourth lie in the band."""
    rng, inside = random.Random(5), 0
    for _ in range(300):
        own = rng.gauss(0, row("lead_sd") / math.sqrt(row("lead_parcels")))
        draw = [max(1, round(10 * row("late") * math.exp(rng.gauss(own, row("lead_sd"))))) for _ in range(4)]
        lead = outlook(
            [parcel(n, d) for n, d in enumerate(draw[:3])], TODAY, seller="s", promised_days=10
        ).lead_days
        assert lead.lo is not None
        assert lead.hi is not None
        inside += lead.lo <= draw[3] <= lead.hi
    assert 0.85 <= inside / 300 <= 0.96


def test_a_parcel_that_is_late_is_expected_from_today_on() -> None:
    late = parcel(9, None)
    for age in (1, 20, 90, 4000):
        today = DAY + timedelta(days=age)
        early, middle, last = arrival(late, [late], today)
        assert today <= early <= middle <= last
    assert arrival(late, [late], DAY)[1] > DAY


def test_the_command_keeps_parcels_and_worth_reads_them(bench: Bench) -> None:
    bench.board('[board]\nid = "one"\nclass = "486-vlb"\n')
    words = "holds SRAM 32kx8, from Marten Invented, by parcel post, promised 10 days, price 6,50 EUR"
    assert bench("shelf", "one", "--parcel", words, "--at", "2026-03-01").data["kept"]["parcel"] == "p1"
    old = "holds caps, from Marten Invented, by parcel post, promised 7 days"
    bench("shelf", "--parcel", f"{old}, ordered 2026-01-05, came 2026-01-26, damaged", "--at", "2026-02-01")
    answer = bench("shelf", "--at", "2026-03-20")
    (due,) = answer.data["parcels"]
    assert (due["holds"], due["board"], due["late"]) == ("sram 32kx8", "one", True)
    assert "2026-03-20" <= due["due_from"] <= due["due"] <= due["due_to"]
    assert "p1" in answer.marks("amber")["late"]
    seller = answer.data["parties"][0]
    assert (seller["party"], seller["damaged"], seller["days"]) == ("Marten Invented", 1, [21])
    base = (
        "worth",
        "--asked",
        "14",
        "--postage",
        "11",
        "--working",
        "45",
        "--p-fix",
        ".55",
        "--at",
        "2026-03-20",
    )
    plain, told = bench(*base).data, bench(*base, "--seller", "marten invented", "--promised", "10").data
    assert told["parcel"]["lead_days"]["value"] > 10 * row("late"), "his parcels are late"
    assert told["p_fix"]["value"] < plain["p_fix"]["value"] == 0.55
    assert told["highest_bid"]["value"] < plain["highest_bid"]["value"]
    assert "surcharge" in {c["component"] for c in told["components"]}
    new = bench(*base, "--carrier", "Nobody")
    assert "judgement" in new.marks()["party_new"]
    bench("shelf", "--parcel", "p1, came 2026-03-22, whole, surcharge 2.50", "--at", "2026-03-23")
    assert bench("shelf").data["parcels"] == []
    assert "parcel" in run("shelf").out


def test_a_name_that_is_redacted_is_gone_everywhere(bench: Bench) -> None:
    from leadoff.loop.session import Session

    bench.board('[board]\nid = "one"\nclass = "486-vlb"\n')
    bench("shelf", "--parcel", "holds caps, from Marten Invented")
    session = Session()
    (party,) = session.book.live({"party"})
    session.close()
    bench("book", "redact", party.id, "--why", "asked for", "--yes")
    assert b"Marten" not in (bench.folder / "book.db").read_bytes()
    assert bench("shelf").data["parcels"][0]["seller"] == "name taken out"


@pytest.mark.parametrize(
    ("words", "code"),
    [
        ("bla", "not_of_a_parcel"),
        ("", "nothing"),
        ("p7, came", "no_parcel"),
        ("holds caps, came 2026-01-01", "ordered_when"),
        ("holds caps, ordered 2026-02-02, came 2026-01-01", "came_before"),
        ("holds caps, ordered yesterday", "no_day"),
        ("holds caps, price much", "not_a_number"),
    ],
)
def test_what_is_no_parcel(bench: Bench, words: str, code: str) -> None:
    bench.board('[board]\nid = "one"\nclass = "486-vlb"\n')
    if not words:
        assert bench("shelf", "--parcel", words).data["kept"] is None
        return
    assert bench.refused("shelf", "--parcel", words).codes == [code]
    assert bench("shelf").data["parcels"] == []


def test_odds_of_a_board_that_has_run_say_so(bench: Bench) -> None:
    bench.board('[board]\nid = "one"\nclass = "486-vlb"\n')
    asked = ("worth", "one", "--asked", "30", "--working", "80")
    assert "has_run" not in bench(*asked).marks()
    bench("log", "one", "w2 23.5 frames/s")
    assert "run 1" in bench(*asked).marks("amber")["has_run"]
    assert bench(*asked, "--p-fix", "1").data["p_fix"]["value"] > 0.9
    bench("sick", "one", "fans spin, no video")
    assert "has_run" not in bench(*asked).marks()
