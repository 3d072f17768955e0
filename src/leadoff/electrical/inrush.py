"""Capacitors: the current at switch-on, the way round, the voltage they need, and emptying them."""

from __future__ import annotations

import msgspec

from leadoff.electrical.errors import within


class Inrush(msgspec.Struct, frozen=True, kw_only=True):
    """Peak current (A), energy in the capacitor (J), and the time to 95 % (s)."""

    peak_amps: float
    joules: float
    seconds: float


def inrush(*, volts: float, microfarads: float, ohms: float) -> Inrush:
    """Charging a capacitor from a stiff rail through ``ohms`` (its own series resistance and the wiring).

    I = V / R at the first moment, E = C V^2 / 2, 95 % after 3 R C. For 0 to 50 V, up to 100 000 uF and 1 mohm to
    10 kohm. It is why a tantalum on a stiff rail needs twice its rail voltage: the surge, not the level, kills it.
    Source: the charge of a capacitor; surge rule: product-safety list on tantalum derating.
    """
    within("volts", volts, 0.0, 50.0, "V", "a rail of a board is meant, not the mains side")
    within("microfarads", microfarads, 1e-3, 1e5, "uF", "a capacitor of a board is meant")
    within("ohms", ohms, 1e-3, 1e4, "ohm", "something limits every current")
    farads = microfarads * 1e-6
    return Inrush(peak_amps=volts / ohms, joules=farads * volts * volts / 2.0, seconds=3.0 * ohms * farads)


def emptied_seconds(*, microfarads: float, ohms: float) -> float:
    """Time to 5 % of the voltage through a resistor, 3 R C. Up to 100 000 uF and 1 Mohm.

    Source: repair-community wiki on discharging capacitors, 3RC rule. The mains side stays closed.
    """
    within("microfarads", microfarads, 1e-3, 1e5, "uF", "a capacitor is meant")
    within("ohms", ohms, 1.0, 1e6, "ohm", "a resistor is meant, never a screwdriver")
    return 3.0 * ohms * microfarads * 1e-6


def tantalum_volts_needed(rail_volts: float) -> float:
    """Least rated voltage of a bead on a stiff rail: twice the rail's (12 V: a 25 V part).

    For rails of -15 to 15 V. Source: product-safety list on tantalum derating; the data book allows 1.3 x as surge.
    """
    within("rail_volts", rail_volts, -15.0, 15.0, "V", "a rail of a board is meant")
    return 2.0 * abs(rail_volts)


def plus_goes_to(rail_volts: float) -> str:
    """Where the marked plus end belongs: on a negative rail it is ground. Source: tantalum data book, polarity."""
    within("rail_volts", rail_volts, -15.0, 15.0, "V", "a rail of a board is meant")
    return "rail" if rail_volts > 0 else "ground"
