"""What a change puts an end to: readings and declarations that were true of the state before it."""

from __future__ import annotations

from leadoff.machine.effects import Carrier, same_value
from leadoff.record.moves import Change
from leadoff.record.quantity import Source
from leadoff.record.state import Setting

_BUS = frozenset({"core_mhz", "pci_mhz", "agp_mhz", "isa_mhz", "mem_mhz", "vlb_mhz"})
_FOLLOWS: dict[str, frozenset[str]] = {
    "bus_mhz": _BUS,
    "can_mhz": _BUS | {"bus_mhz"},
    "turbo": _BUS | {"bus_mhz"},
    "ratio": frozenset({"core_mhz"}),
    "cpu": frozenset({"core_mhz"}),
    "pci_ratio": frozenset({"pci_mhz"}),
    "agp_ratio": frozenset({"agp_mhz"}),
    "isa_ratio": frozenset({"isa_mhz"}),
    "pin": frozenset({"core_mhz", "ratio"}),
    "interposer": frozenset({"core_v", "ratio", "core_mhz"}),
}
"""Setting to the settings that were read or said in its old value and may not be true in the new one."""

_MINE = frozenset({"core_mhz"})
"""Ended even when only declared: it is bus and ratio under another name. Other buses may have their own."""


def ended_by_position(carrier: Carrier, change: Change, said: dict[str, Setting]) -> set[str]:
    """Names that a moved jumper or entry ends: what it sets and says otherwise, and what follows from that."""
    out: set[str] = set()
    for name, by_position in carrier.sets.items():
        before, after = by_position.get(change.before or ""), by_position.get(change.after or "")
        old = said.get(name)
        if old is not None and (after is None or old.value is None or not _agrees(name, old, after)):
            out.add(name)
        if before is None or after is None or not same_value(name, before, after):
            if old is not None and old.source is Source.MEASURED and change.before != change.after:
                out.add(name)
            out |= _following(name, said)
    return out


def ended_by_value(change: Change, said: dict[str, Setting]) -> set[str]:
    """Names that a setting said by itself ends."""
    if change.measured or (
        change.before is not None
        and change.after is not None
        and same_value(change.name, change.before, change.after)
    ):
        return set()
    out = _following(change.name, said)
    if change.name == "interposer":
        # Its regulator replaces what the board gave, its straps what the board's jumpers said.
        straps = "strap" in f"{change.before} {change.after}".lower()
        out |= {n for n in ("core_v", *(("ratio",) if straps else ())) if n in said}
    return out


def _agrees(name: str, old: Setting, value: str) -> bool:
    assert old.value is not None
    return same_value(name, old.value, value, measured=old.source is Source.MEASURED)


def _following(name: str, said: dict[str, Setting]) -> set[str]:
    return {
        n for n in _FOLLOWS.get(name, ()) if n in said and (n in _MINE or said[n].source is Source.MEASURED)
    }
