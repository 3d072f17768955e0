"""Customs value, duty and import tax against worked examples that customs offices published."""

from __future__ import annotations

import pytest

from leadoff.record.errors import LeadoffError
from leadoff.worth.customs import Rule, Triple, charge, countries, is_import, rule_for, rules


@pytest.mark.reference
def test_the_australian_example_of_an_amplifier() -> None:
    """Australian Customs and Border Protection Service, "How is duty and GST calculated?": an amplifier at
    US$1,274 with US$118.30 of postage and insurance, 0.9100 US dollars to one Australian, duty 5 %.
    Duty A$70, value of the taxable importation A$1,600, goods and services tax A$160, together A$230.
    (Read in a quotation of that page, not on the page itself.)"""
    rule = rule_for("AU", "2026-01-01")
    found = charge(rule, {"price": 1274 / 0.91, "postage": 118.30 / 0.91}, 5.0)
    assert found.customs_value == pytest.approx(1400.0)
    assert found.duty == pytest.approx(70.0)
    assert found.tax_value == pytest.approx(1600.0)
    assert found.tax == pytest.approx(160.0)
    assert found.duty + found.tax == pytest.approx(230.0)


@pytest.mark.reference
def test_the_irish_example_of_duty_and_value_added_tax() -> None:
    """Revenue (Ireland), "Calculating the duty on goods from outside the EU", standard rate: goods of 600 euro
    at 2.5 % and a camera of 500 euro free of duty; duty 15 euro, value for tax 1,115 euro, tax at 23 %
    256.45 euro, together 271.45 euro. (Read on the page.) The tax is taken of the value with the duty in it."""
    ireland = rule_for("IE", "2024-01-01")
    assert ireland.tax_pct == 23.0
    both = charge(ireland, {"price": 1100.0}, 100 * 15.0 / 1100.0)
    assert both.duty == pytest.approx(15.0)
    assert both.tax_value == pytest.approx(1115.0)
    assert both.tax == pytest.approx(256.45)
    assert both.duty + both.tax == pytest.approx(271.45)


@pytest.mark.reference
def test_the_second_australian_example() -> None:
    """The same service's page on imports by post: A$1,200 at 5 % and A$150 of postage and insurance: duty A$60,
    taxable importation A$1,410, tax A$141, together A$201. (Read in a quotation of that page.)"""
    found = charge(rule_for("AU", "2026-01-01"), {"price": 1200.0, "postage": 150.0}, 5.0)
    assert (found.duty, found.tax_value, found.tax) == pytest.approx((60.0, 1410.0, 141.0))
    assert found.duty + found.tax == pytest.approx(201.0)


@pytest.mark.reference
def test_a_canadian_broker_s_example() -> None:
    """A customs broker's help page ("How are duties calculated?"): 198 dollars at 17 %: duty 33.66, tax 13 % of
    231.66, which is 30.12. (Read on the page.)"""
    found = charge(rule_for("CA", "2026-01-01"), {"price": 198.0, "postage": 25.0}, 17.0)
    assert found.duty == pytest.approx(33.66)
    assert found.tax_value == pytest.approx(231.66)
    assert found.tax == pytest.approx(30.12, abs=0.005)


@pytest.mark.reference
def test_where_switzerland_begins_to_collect() -> None:
    """ch.ch, ordering goods from abroad: nothing is collected below 62 francs with carriage and packing (8.1 %).
    (Read on the page.)"""
    rule = rule_for("CH", "2025-01-01")
    assert charge(rule, {"price": 50.0, "postage": 11.7}, 0.0).tax == 0.0
    assert charge(rule, {"price": 50.0, "postage": 12.0}, 0.0).tax == pytest.approx(62 * 0.081)


@pytest.mark.reference
def test_the_small_parcel_duty_of_2026() -> None:
    """Council of the European Union, 11 February 2026: 3 euro for one kind of item under 150 euro from 1 July 2026,
    and the tax is taken of it too. (Read in reports of the decision.)"""
    found = charge(rule_for("DE", "2026-07-01"), {"price": 97.0}, 0.0)
    assert found.duty == 3.0
    assert found.tax == pytest.approx(0.19 * 100.0)
    assert charge(rule_for("DE", "2026-07-01"), {"price": 200.0}, 0.0).duty == 0.0


def test_most_rows_were_read_on_a_page() -> None:
    read = [r for r in rules() if r.certainty == "read"]
    assert all(r.page for r in read)
    assert {r.zone for r in read} == {"EU", "GB", "CH", "NO", "AU", "CA", "JP", "US"}


def test_where_the_carriage_belongs_differs_between_countries() -> None:
    """Europe takes duty of the value with carriage, Australia and Canada of the goods alone."""
    parts = {"price": 1000.0, "postage": 100.0, "insurance": 50.0}
    assert charge(rule_for("DE", "2024-01-01"), parts, 10.0).duty == pytest.approx(115.0)
    assert charge(rule_for("AU", "2024-01-01"), {**parts, "price": 1100.0}, 10.0).duty == pytest.approx(110.0)
    assert charge(rule_for("CA", "2024-01-01"), parts, 10.0).duty == pytest.approx(100.0)


def test_the_row_of_the_day_counts() -> None:
    assert rule_for("FI", "2024-08-31").tax_pct == 24.0
    assert rule_for("FI", "2024-09-01").tax_pct == 25.5
    assert charge(rule_for("DE", "2026-06-30"), {"price": 100.0}, 4.0).duty == 0.0
    assert charge(rule_for("DE", "2026-07-01"), {"price": 100.0}, 0.0).duty == 3.0


def test_limits_are_meant_in_the_rules_own_currency() -> None:
    rule = rule_for("DE", "2024-01-01")
    assert charge(rule, {"price": 160.0}, 10.0, rate=1.2).duty == 0.0
    assert charge(rule, {"price": 160.0}, 10.0, rate=1.0).duty == pytest.approx(16.0)


def test_a_tax_too_small_to_collect_is_not_collected() -> None:
    """Federal Office for Customs and Border Security: up to 5 francs of tax nothing is collected (from memory)."""
    rule = rule_for("CH", "2025-01-01")
    assert charge(rule, {"price": 61.0}, 0.0).tax == 0.0
    assert charge(rule, {"price": 62.0}, 0.0).tax == pytest.approx(62.0 * 0.081)


def test_a_parcel_inside_the_union_crosses_no_border() -> None:
    assert not is_import("FR", "DE")
    assert is_import("GB", "DE")
    assert is_import("CH", "FR")


def test_an_unknown_country_names_those_there_are() -> None:
    with pytest.raises(LeadoffError, match="no customs rule for ZZ") as caught:
        rule_for("ZZ", "2026-01-01")
    assert "DE" in caught.value.problems[0].do
    with pytest.raises(LeadoffError, match="rows for CH begin on"):
        rule_for("CH", "1999-01-01")


@pytest.mark.parametrize("country", countries())
def test_every_row_says_where_it_comes_from_and_charges_more_for_more(country: str) -> None:
    rule = rule_for(country, "2026-11-25")
    assert rule.source
    assert rule.certainty in {"read", "memory", "practice", "judgement"}
    due = [charge(rule, {"price": float(p), "postage": 20.0}, 5.0) for p in range(0, 40000, 250)]
    sums = [c.duty + c.tax for c in due]
    assert sums == sorted(sums) or rule.small_duty, "a small flat duty may exceed the first of the rate"


def test_rows_are_dated_and_bands_are_the_right_way_round() -> None:
    for rule in rules():
        assert isinstance(rule, Rule)
        for band in (rule.duty_pct, rule.brokerage):
            assert isinstance(band, Triple)
            assert band.lo <= band.value <= band.hi, rule.zone
