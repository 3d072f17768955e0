"""leadoff worth as a stranger types it."""

from __future__ import annotations

import pytest

from cli_bench import Bench, run

UNTESTED = (
    *(
        "--asked",
        "14",
        "--postage",
        "11",
        "--working",
        "45",
        "--donor",
        "6",
        "--p-fix",
        "0.55",
        "--parts",
        "5",
    ),
)


@pytest.mark.reference
def test_the_untested_board(bench: Bench) -> None:
    """Expected value by hand: 0.55 x 45 + 0.45 x 6 - 5 = 22.45; less 11 of postage 11.45; 14 asked is too much."""
    data = bench("worth", *UNTESTED).data
    assert data["highest_landed"]["value"] == pytest.approx(22.45, abs=0.05)
    assert data["highest_bid"]["value"] == pytest.approx(11.45, abs=0.05)
    assert data["landed"]["value"] == pytest.approx(25.0)
    assert data["moved_most_by"] in {"working", "p_fix"}
    assert "above the highest bid" in run("worth", *UNTESTED).out


@pytest.mark.parametrize("text", [None, "?"])
def test_postage_that_nobody_stated_is_a_band_and_never_zero(bench: Bench, text: str | None) -> None:
    given = ["--asked", "14", *([] if text is None else ["--postage", text])]
    data = bench("worth", *given).data
    postage = next(c["amount"] for c in data["components"] if c["component"] == "postage")
    assert postage["source"] == "assumed"
    assert 0 < postage["lo"] < postage["value"] < postage["hi"]
    assert data["landed"]["value"] > 14 + postage["lo"]
    assert data["landed"]["hi"] > data["landed"]["lo"]
    assert data["highest_bid"]["value"] is None
    assert "--working" in data["highest_bid"]["why"]


def test_without_any_price_it_still_answers(bench: Bench) -> None:
    data = bench("worth", "--working", "80").data
    assert data["landed"]["value"] is None
    assert data["highest_bid"]["value"] > 0
    assert data["highest_bid"]["hi"] > data["highest_bid"]["lo"]


def test_a_parcel_from_abroad_pays_tax_of_the_right_base(bench: Bench) -> None:
    given = ("--asked", "100", "--postage", "20", "--from", "GB", "--to", "DE", "--currency", "EUR")
    answer = bench("worth", *given, "--brokerage", "6", "--at", "2025-05-05")
    parts = {c["component"]: c["amount"]["value"] for c in answer.data["components"]}
    assert parts["tax"] == pytest.approx(0.19 * 120)
    assert parts["duty"] == 0.0
    assert answer.data["landed"]["value"] == pytest.approx(120 + 22.8 + 6)
    note = answer.marks()["no_tax_advice"]
    assert "no tax advice" in note
    assert "2021-07-01" in note


def test_foreign_money_needs_a_rate_and_pays_a_spread(bench: Bench) -> None:
    given = ("worth", "--asked", "20 USD", "--postage", "5", "--currency", "EUR")
    assert "no rate was given" in bench.refused(*given).json["errors"][0]["text"]
    data = bench(*given, "--rate", "USD 0.9", "--spread", "2 %").data
    assert data["landed"]["value"] == pytest.approx(20 * 0.9 * 1.02 + 5)


def test_a_dollar_sign_is_a_question(bench: Bench) -> None:
    assert "several countries write $" in bench.refused("worth", "--asked", "14 $").json["errors"][0]["text"]


@pytest.mark.parametrize("text", ["-4", "9..3", "abc"])
def test_what_is_no_amount_is_refused(bench: Bench, text: str) -> None:
    assert bench.refused("worth", f"--asked={text}").json["errors"][0]["where"]


def test_the_sellers_words_move_the_odds(bench: Bench) -> None:
    """Pulled from a working machine is better news than boards sold with a leaked battery."""
    base = ("worth", "--working", "80", "--class", "486-vlb", "--listing")
    good = bench(*base, "pulled from a working machine").data
    bad = bench(*base, "no display, battery leaked").data
    assert good["highest_bid"]["value"] > bad["highest_bid"]["value"]
    assert good["p_fix"]["source"] == "computed"
    assert good["p_fix"]["lo"] < good["p_fix"]["value"] < good["p_fix"]["hi"]
    odd = bench(*base, "no display, from a smoke-free home")
    assert "smoke" in odd.marks()["not_understood"]


def test_a_listing_needs_the_kind_of_board(bench: Bench) -> None:
    answer = bench.refused("worth", "--working", "80", "--listing", "untested")
    assert answer.codes == ["class_needed"]


def test_the_same_call_gives_the_same_line(bench: Bench) -> None:
    given = (
        "worth",
        "--working",
        "80",
        "--asked",
        "9..15",
        "--from",
        "US",
        "--to",
        "GB",
        "--at",
        "2026-01-02",
    )
    assert bench(*given).json == bench(*given).json
