"""One typed value to the canonical text of its setting."""

from __future__ import annotations

import re
from fractions import Fraction

from leadoff.record.errors import LeadoffError
from leadoff.record.settings import SETTINGS, SettingKind, kind_of
from leadoff.words.clocks import clock_mhz, ratio
from leadoff.words.memory_words import memory_text
from leadoff.words.numbers import number
from leadoff.words.rows import rows
from leadoff.words.tokens import normalise
from leadoff.words.units import quantity

ON = frozenset(["on", "yes", "true", "enabled", "enable", "1"])
OFF = frozenset(["off", "no", "false", "disabled", "disable", "0"])
WB = frozenset(("wb", "write-back", "write back", "writeback"))
WT = frozenset(("wt", "write-through", "write through", "writethrough", "write-thru"))
NOT_KNOWN = re.compile(r"(?:\?|default|unknown|auto)(?:,? not known)?|not known|", re.I)
"""``default`` and ``auto`` name no value: what they stand for is not known until it is read off."""

_UNIT_KIND = {
    "MHz": "clock",
    "V": "volts",
    "ns": "access",
    "KB": "memory",
    "MB": "memory",
    "C": "temperature",
}
_CHOICES = {
    "ram_type": {"fpm": "fpm", "fast page": "fpm", "edo": "edo", "sdram": "sdram", "sdr": "sdram"},
    "l2_type": {
        "async": "asynchronous",
        "asynchronous": "asynchronous",
        "burst": "burst",
        "sync burst": "burst",
        "pipelined burst": "pipelined burst",
        "pipelined": "pipelined burst",
        "pipeline burst": "pipelined burst",
    },
    "video_bus": {"isa": "isa", "vlb": "vlb", "vl": "vlb", "pci": "pci", "agp": "agp", "eisa": "eisa"},
}
MAX_TEXT = 200


def setting_value(name: str, text: str, *, measured: bool = False) -> str | None:
    """The canonical text of a typed value of setting ``name`` (record.settings), ``None`` when not known.

    Clocks and ratios are ``str(Fraction)`` ("100/3"; nominal clocks exact unless ``measured``), volts decimal
    text without trailing zeros, numbers likewise, in the setting's own unit ("256k" of l2_kb is "256"),
    patterns "3-1-1-1", switches on/off, policies wt/wb, ``ram.<site>`` as ``memory_text`` says. ``?``,
    ``default``, ``auto`` and a blank are not known: never zero, never a value.

    Raises LeadoffError with the reason when the words cannot be a value (bus 0, negative, 1e9, wrong unit).
    """
    typed = " ".join(normalise(text).split())
    if NOT_KNOWN.fullmatch(typed):
        return None
    if name.startswith("ram."):
        return memory_text(typed)
    kind = kind_of(name)
    match kind:
        case SettingKind.CLOCK:
            return _clock(name, typed, measured)
        case SettingKind.RATIO:
            return str(_within(name, typed, ratio("1" + typed if typed.startswith("/") else typed)))
        case SettingKind.VOLTS:
            return decimal_text(_within(name, typed, quantity(typed, "volts").exact))
        case SettingKind.NUMBER:
            return decimal_text(_within(name, typed, _number(name, typed)))
        case SettingKind.PATTERN:
            return pattern(typed)
        case SettingKind.SWITCH:
            return _choice(name, typed, dict.fromkeys(ON, "on") | dict.fromkeys(OFF, "off"))
        case SettingKind.POLICY:
            return _choice(name, typed, dict.fromkeys(WB, "wb") | dict.fromkeys(WT, "wt"))
        case _:
            return _text(name, typed)


def pattern(text: str) -> str:
    """Clocks of the four beats as ``3-1-1-1``; ``3111`` is the same."""
    beats = re.findall(r"\d+", text) if re.fullmatch(r"\d{1,2}(?:-\d{1,2}){3}", text, re.A) else []
    if re.fullmatch(r"\d{4}", text, re.A):
        beats = list(text)
    if len(beats) != 4 or not all(1 <= int(b) <= 30 for b in beats):
        raise LeadoffError.one(
            "not_a_pattern",
            f"{text} is not the clocks of four beats",
            where=text,
            do="four beats of at least one clock each, such as 3-1-1-1",
        )
    return "-".join(str(int(b)) for b in beats)


def decimal_text(value: Fraction) -> str:
    """Decimal text without trailing zeros; values here have few places."""
    text = f"{float(value):.6f}".rstrip("0").rstrip(".")
    return text if text != "-0" else "0"


def _clock(name: str, typed: str, measured: bool) -> str:
    role = name.removesuffix("_mhz")
    bare = re.sub(r"\s*mhz$", "", typed, flags=re.I)
    if "/" in bare:
        return str(_within(name, typed, clock_mhz(bare, role)))
    amount = quantity(typed, "clock")
    if measured:
        return str(_within(name, typed, amount.exact))
    printed = bare if bare != typed or not amount.stated else decimal_text(amount.exact)
    return str(_within(name, typed, clock_mhz(printed, role)))


def _number(name: str, typed: str) -> Fraction:
    unit = SETTINGS[name].unit
    bare = re.sub(r"\s*(?:ws|wait states?|clocks?|bus clocks?|bits?|banks?|chips?)$", "", typed, flags=re.I)
    if unit not in _UNIT_KIND:
        return number(bare).exact
    amount = quantity(typed, _UNIT_KIND[unit])
    return amount.exact / 1024 if unit == "MB" and amount.stated else amount.exact


def _within(name: str, typed: str, value: Fraction) -> Fraction:
    setting = SETTINGS[name]
    lo, hi = rows("limits")["limits"].get(name, (None, None))
    if lo is not None and not lo <= value <= hi:
        raise LeadoffError.one(
            "out_of_range",
            f"{name} {typed}: {float(value):g} {setting.unit or ''}".rstrip()
            + f" cannot be; {setting.meaning} is {lo:g} to {hi:g} {setting.unit}".rstrip(),
            where=name,
            do="check the figure and its unit",
        )
    if name in rows("limits")["whole"]["names"] and value.denominator != 1:
        raise LeadoffError.one(
            "not_whole", f"{name} {typed} is not a whole number", where=name, do="type a whole number"
        )
    return value


def _choice(name: str, typed: str, choices: dict[str, str]) -> str:
    found = choices.get(typed.lower())
    if found is None:
        allowed = ", ".join(dict.fromkeys(choices.values()))
        raise LeadoffError.one(
            "not_a_choice", f"{name} cannot be {typed!r}, only {allowed}", where=name, do=f"one of: {allowed}"
        )
    return found


def _text(name: str, typed: str) -> str:
    if len(typed) > MAX_TEXT:
        raise LeadoffError.one(
            "too_long",
            f"{name} has {len(typed)} characters, at most {MAX_TEXT} are kept",
            where=name,
            do="shorten it",
        )
    if name == "refresh" and (interval := re.fullmatch(r"([\d.,]+)\s*(?:us)?", typed, re.A | re.I)):
        return decimal_text(number(interval[1]).exact)
    return _choice(name, typed, _CHOICES[name]) if name in _CHOICES else typed
