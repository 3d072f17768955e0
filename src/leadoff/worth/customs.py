"""Duty and import tax of one parcel, by dated rules of the country it comes to. No tax advice."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any

import msgspec

from leadoff.record.errors import LeadoffError
from leadoff.worth.rows import table

NOTE = "customs and tax rules change and this is no tax advice: ask the customs office of the country"


class Triple(msgspec.Struct, frozen=True, kw_only=True):
    """Middle and band of one constant."""

    value: float
    lo: float
    hi: float


class Rule(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What one country takes from a day on. Amounts are in ``currency``, rates in percent. ``page``: where read."""

    zone: str
    since: str
    currency: str
    duty_pct: Triple
    duty_on: tuple[str, ...]
    tax_on: tuple[str, ...]
    tax: str
    duty_free_to: float
    tax_free_to: float
    small_duty: float
    brokerage: Triple
    source: str
    certainty: str
    page: str = ""
    tax_pct: float = 0.0
    tax_least: float = 0.0
    small_to: float = 0.0


class Charge(msgspec.Struct, frozen=True, kw_only=True):
    """What a parcel costs at the border: the value duty is taken of, the duty, the value of the tax, the tax."""

    customs_value: Any
    duty: Any
    tax_value: Any
    tax: Any


@lru_cache(maxsize=1)
def rules() -> tuple[Rule, ...]:
    """All rows, oldest first."""
    return tuple(sorted((msgspec.convert(r, Rule) for r in table("customs")["rule"]), key=lambda r: r.since))


def countries() -> tuple[str, ...]:
    """Every country that has a rule."""
    zones = {r.zone for r in rules()} - {"EU"}
    return tuple(sorted(zones | set(table("customs")["member"]["rates"])))


def is_import(from_country: str, to_country: str) -> bool:
    """Whether a parcel between the two crosses a customs border."""
    return zone_of(from_country) != zone_of(to_country)


def zone_of(country: str) -> str:
    """The customs territory of a country: the union for its members."""
    return "EU" if country in table("customs")["member"]["rates"] else country


def rule_for(country: str, day: str) -> Rule:
    """The rule of a country on a day (ISO 8601 date), with the member's own tax rate.

    Raises:
        LeadoffError: no row for that country, or none that old.
    """
    if country not in countries():
        raise LeadoffError.one(
            "no_customs_rule",
            f"there is no customs rule for {country}, so duty and tax of a parcel to it cannot be said",
            where=country,
            do=f"give --duty and --tax as you know them, or a country that has rows: {', '.join(countries())}",
        )
    fitting = [r for r in rules() if r.zone == zone_of(country) and r.since <= day]
    if not fitting:
        first = min(r.since for r in rules() if r.zone == zone_of(country))
        raise LeadoffError.one(
            "no_customs_rule",
            f"the rows for {country} begin on {first}, and {day} is before",
            where=day,
            do="give --duty and --tax as you know them",
        )
    rule = fitting[-1]
    rates = table("customs")["member"]["rates"].get(country)
    if rates is None:
        return rule
    known = [pct for since, pct in rates if since <= day] or [rates[0][1]]
    return msgspec.structs.replace(rule, tax_pct=known[-1])


def charge(rule: Rule, parts: Mapping[str, Any], duty_pct: Any, *, rate: float = 1.0) -> Charge:
    """What the border takes of a parcel whose ``parts`` (price, postage, ...) are in one currency.

    Parts are numbers or arrays of draws. ``rate``: that currency's worth of one unit of the rule's own, so
    that its limits are meant as written.
    """
    goods = parts.get("price", 0.0)
    customs_value = sum(parts.get(n, 0.0) for n in rule.duty_on)
    duty = customs_value * duty_pct / 100 * (goods > rule.duty_free_to * rate)
    if rule.small_duty:
        duty = duty + (goods <= rule.small_to * rate) * (rule.small_duty * rate)
    tax_value = sum(parts.get(n, 0.0) for n in rule.tax_on if n != "duty")
    tax_value = tax_value + (duty if "duty" in rule.tax_on else 0.0)
    tax = tax_value * rule.tax_pct / 100
    tax = tax * (goods > rule.tax_free_to * rate) * (tax > rule.tax_least * rate)
    return Charge(customs_value=customs_value, duty=duty, tax_value=tax_value, tax=tax)
