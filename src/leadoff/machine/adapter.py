"""The adapter between socket and processor: what it does to the supply and the ratio the part sees."""

from __future__ import annotations

import re
from collections.abc import Mapping

from leadoff.record.board import BoardSheet, Interposer
from leadoff.record.quantity import Source
from leadoff.record.state import Setting, Status

_VOLTS = re.compile(r"(?<![\d.,])(\d{1,2}(?:[.,]\d{1,3})?)\s*v?(?![\w.])", re.IGNORECASE)
_NONE = frozenset({"none", "out", "off", "no", "-", "removed", "not fitted"})


def adapter_from(text: str | None, sheet: BoardSheet) -> Interposer | None:
    """The adapter that the setting ``interposer`` describes, such as ``2.8 V with ratio straps``.

    ``None`` where none is fitted, or where its volts are not said: then it changes nothing here. The current
    it can give is taken from the board file when that describes an adapter of the same volts.
    """
    if text is None or text.strip().lower() in _NONE:
        return None
    found = _VOLTS.search(text.replace("-", " "))
    if found is None:
        return None
    volts = f"{float(found[1].replace(',', '.')):g}"
    low = text.lower()
    straps = "strap" in low and not any(w in low for w in ("no strap", "no ratio", "without", "plain"))
    known = sheet.interposer
    same = known is not None and float(known.v) == float(volts)
    return Interposer(v=volts, ratio_straps=straps, amps=known.amps if known is not None and same else None)


def adapter_of(settings: Mapping[str, Setting], sheet: BoardSheet) -> Interposer | None:
    """The adapter of a state."""
    said = settings.get("interposer")
    return adapter_from(said.value if said is not None else None, sheet)


def adapter_rules(adapter: Interposer) -> frozenset[str]:
    """The settings that the adapter decides in place of the board's jumpers."""
    return frozenset({"core_v", "ratio"} if adapter.ratio_straps else {"core_v"})


def adapter_volts(adapter: Interposer) -> Setting:
    """The core volts of a part on the adapter."""
    why = "regulator of the adapter"
    return Setting(value=adapter.v, status=Status.KNOWN, source=Source.COMPUTED, why=why)


ADAPTER_RATIO = Setting(
    value=None, status=Status.UNKNOWN, source=Source.UNKNOWN, why="straps of the adapter not known"
)
