"""What ohms and volts of a rail say before and after first power."""

from __future__ import annotations

import msgspec

from leadoff.electrical.errors import within
from leadoff.electrical.limits import GroundLimit, RailLimit, supply_limits
from leadoff.record.errors import LeadoffError


class Verdict(msgspec.Struct, frozen=True, kw_only=True):
    """``word``: short, suspect, usual for ohms; out, edge, good for volts. ``usual`` says what is expected."""

    word: str
    usual: str
    source: str


def to_ground(ohms: float, rail: str, *, processor_in: bool = False) -> Verdict:
    """What the resistance from a rail to ground says; the board bare, without power, the meter settled.

    ``rail`` is 5v, 12v, neg or core. With the processor in, the core rail of a low-voltage part may read a few
    ohm, so that only 0.5 ohm is called a short there. From 0 to 100 Mohm. Source: common practice, no source; the
    reading depends on the meter's test voltage, so compare with a healthy board of your own.
    """
    within("ohms", ohms, 0.0, 1e8, "ohm", "a resistance to ground is meant")
    row: GroundLimit | None = next((g for g in supply_limits().ground if g.rail == rail), None)
    if row is None:
        names = ", ".join(g.rail for g in supply_limits().ground)
        raise LeadoffError.one(
            "no-such-rail", f"{rail} is no rail of the table", where=rail, do=f"name one of {names}"
        )
    short, suspect = row.short_ohms, row.suspect_ohms
    if rail == "core" and processor_in:
        short, suspect = 0.5, 0.5
    word = "short" if ohms < short else "suspect" if ohms < suspect else "usual"
    return Verdict(word=word, usual=row.usual, source=row.source)


def rail_state(volts: float, nominal_v: float) -> Verdict:
    """A measured rail against the tighter figure (good) and the wider one (out); between them: edge.

    ``nominal_v`` is 5, 12, 3.3, -5 or -12; volts carry the same sign.
    Source: ATX design guide and handbook tables, in ``limits.toml``.
    """
    within("volts", volts, -20.0, 20.0, "V", "a rail of a board is meant")
    row: RailLimit | None = next((r for r in supply_limits().rail_limit if r.nominal_v == nominal_v), None)
    if row is None:
        names = ", ".join(f"{r.nominal_v:g}" for r in supply_limits().rail_limit)
        text = f"there is no published tolerance of a rail of {nominal_v:g} V here"
        raise LeadoffError.one("no-such-rail", text, where=f"{nominal_v:g}", do=f"name one of {names}")
    off = abs(volts / nominal_v - 1.0) * 100.0
    word = "good" if off <= row.good_pct + 1e-9 else "edge" if off <= row.out_pct + 1e-9 else "out"
    ends = sorted(nominal_v * (1 + s * row.good_pct / 100.0) for s in (-1, 1))
    return Verdict(word=word, usual=f"{ends[0]:.4g} to {ends[1]:.4g} V", source=row.source)


def power_good_level(volts: float) -> Verdict:
    """The level of the power-good line after a second: low holds reset, high lets go, between is neither.

    Source: ATX design guide v1.1, table 14. 0 to 15 V.
    """
    within("volts", volts, -1.0, 15.0, "V", "a logic line is meant")
    row = supply_limits().power_good_level
    if volts < row.low_max_v:
        word = "low"
    elif row.high_min_v <= volts <= row.high_max_v:
        word = "high"
    else:
        word = "neither"
    return Verdict(word=word, usual=f"{row.high_min_v:g} to {row.high_max_v:g} V when up", source=row.source)
