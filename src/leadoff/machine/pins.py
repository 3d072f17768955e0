"""Ratio pins that the sheet's jumpers set one by one, and the ratio that follows from all of them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from leadoff.machine.partfacts import Processor
from leadoff.machine.straps import StrapTable
from leadoff.record.quantity import Source
from leadoff.record.state import Setting, Status

_PIN = re.compile(r"(bf|clkmul)\d?", re.IGNORECASE)
_LEVELS = {"high": "1", "h": "1", "1.0": "1", "low": "0", "l": "0", "0.0": "0"}


def pin_setting(typed: str) -> str | None:
    """The setting for a ratio pin of that name, such as ``pin.bf0``; ``None`` when it names none."""
    word = typed.strip()
    return f"pin.{word.lower()}" if _PIN.fullmatch(word) else None


def pin_level(text: str) -> str:
    """``1`` or ``0`` as typed, ``high`` and ``low`` read as such."""
    return _LEVELS.get(text.strip().lower(), text.strip())


def ratio_from_pins(
    settings: Mapping[str, Setting], carried: Iterable[str], part: Processor | None, base: StrapTable | None
) -> Setting | None:
    """The ratio of the pins as set; a pin that no jumper sets is open. ``None`` where no jumper sets a pin.

    ``carried``: the settings that jumpers of the sheet act on.
    """
    straps = (part.straps if part is not None else None) or base
    pins = set(carried)
    if straps is None or not any(f"pin.{p.lower()}" in pins for p in straps.pins):
        return None
    code, found = "", []
    for pin in straps.pins:
        name = f"pin.{pin.lower()}"
        if name not in pins:
            code += straps.open_level
            continue
        level = settings[name]
        if level.value is None:
            return _unknown(level.why)
        code += level.value
        found.append(level)
    words = " ".join(f"{p}={bit}" for p, bit in zip(straps.pins, code, strict=True))
    ratio = straps.codes.get(code)
    if ratio is None:
        return _unknown(f"{part.id if part is not None else 'the part'} defines no ratio for {words}")
    sure = all(level.status is Status.KNOWN for level in found)
    return Setting(
        value=str(ratio),
        status=Status.KNOWN if sure else Status.ASSUMED,
        source=Source.COMPUTED,
        why=f"ratio pins {words}",
    )


def _unknown(why: str) -> Setting:
    return Setting(value=None, status=Status.UNKNOWN, source=Source.UNKNOWN, why=why)
