"""The forms a value may have after the name of a setting."""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

from leadoff.record.settings import SettingKind
from leadoff.words.scan import END, FRAC, MEASURED, NUM, Scan, match
from leadoff.words.units import unit_words
from leadoff.words.values import NOT_KNOWN


class Value(NamedTuple):
    """A value found: its end, the settings with their typed text, and whether it was measured."""

    end: int
    texts: tuple[tuple[str, str], ...]
    measured: bool = False


def _units(kind: str) -> str:
    return "(?:" + "|".join(re.escape(u.lower()) for u in unit_words(kind)) + ")"


_ON_OFF = "(?:on|off|yes|no|true|false|enabled?|disabled?)"
_BACK = "(?:wb|write[- ]?back)"
_THROUGH = "(?:wt|write[- ]?thr(?:ough|u))"
_BEATS = r"(?:\d+(?:-\d+)+|\d{4})"
_WAITS = r"(?:ws|wait[- ]?states?)"

_FORMS: Mapping[str, str] = MappingProxyType(
    {
        "clock": rf"(?P<v>(?:{FRAC}|{NUM})\s*{_units('clock')}?){MEASURED}{END}",
        "divider": rf"(?P<v>\d*\s*/\s*\d+|x?0?[.,]\d+x?){END}",
        "ratio": rf"(?P<v>x?\s*(?:/\s*\d+|{FRAC}|{NUM})\s*x?){END}",
        "volts": rf"(?P<v>\dv\d+|{NUM}\s*{_units('volts')}?){MEASURED}{END}",
        "stated_volts": rf"(?P<v>\dv\d+|{NUM}\s*{_units('volts')}){MEASURED}{END}",
        "switch": rf"(?P<v>{_ON_OFF}){END}",
        "pattern": rf"(?P<v>{_BEATS}){END}",
        "stated_ws": rf"(?:(?P<v>{NUM})\s*{_WAITS}|{_WAITS}\s*=?\s*(?P<w>{NUM})){END}",
        "ws": rf"(?:(?P<v>{NUM})\s*{_WAITS}?|{_WAITS}\s*=?\s*(?P<w>{NUM})){END}",
        "size": rf"(?P<v>{NUM}\s*{_units('memory')}?){END}",
        "stated_size": rf"(?P<v>{NUM}\s*(?!ns\b){_units('memory')}){END}",
        "megabytes": rf"(?P<v>{NUM}\s*{_units('memory')}?){END}",
        "ns": rf"(?P<v>{NUM}\s*{_units('access')}?){END}",
        "stated_ns": rf"(?P<v>{NUM}\s*{_units('access')}){END}",
        "bits": rf"(?P<v>{NUM})\s*bits?{END}",
        "banks": rf"(?P<v>{NUM})\s*banks?{END}",
        "chips": rf"(?P<v>{NUM})\s*chips?{END}",
        "cache_type": r"(?P<v>pipelined?[ -]burst|pipelined|burst|sync burst|async(?:hronous)?)" + END,
        "ram_type": r"(?P<v>fpm|fast page|edo|sdram)" + END,
        "type_ns": rf"(?P<v>fpm|edo|sdram)\s*-?\s*(?P<w>{NUM}\s*{_units('access')}?){END}",
        "number": rf"(?P<v>{NUM}\s*(?:c|{_WAITS}|clocks?)?){END}",
        "interval": rf"(?P<v>{NUM}\s*us){END}",
        "text": r'(?:"(?P<v>[^"]+)"|(?P<w>[^\s,;"]+))',
    }
)
_NONE = rf"(?P<v>\?|default|unknown|auto|not known)(?:,?\s*(?:\(\s*)?not known\s*\)?)?{END}"

KIND_FORMS: Mapping[SettingKind, str] = MappingProxyType(
    {
        SettingKind.CLOCK: "clock",
        SettingKind.RATIO: "ratio",
        SettingKind.VOLTS: "volts",
        SettingKind.NUMBER: "number",
        SettingKind.PATTERN: "pattern",
        SettingKind.SWITCH: "switch",
        SettingKind.POLICY: "policy",
        SettingKind.TEXT: "text",
        SettingKind.POSITION: "text",
    }
)
_BY_UNIT = {"KB": "size", "MB": "megabytes", "ns": "ns", "bus clocks": "ws"}


def own_form(kind: SettingKind, unit: str) -> str:
    """The form of a value after the canonical name of its setting."""
    return _BY_UNIT.get(unit, "number") if kind is SettingKind.NUMBER else KIND_FORMS[kind]


def read_form(scan: Scan, pos: int, form: str, name: str) -> Value | None:
    """A value of ``form`` at ``pos`` for setting ``name``, or None when the words have another form."""
    if unknown := match(scan, _NONE, pos):
        return Value(unknown.end(), ((name, unknown["v"]),))
    if form == "policy":
        return _policy(scan, pos, name)
    found = match(scan, _FORMS[form], pos)
    if found is None:
        return None
    if form == "type_ns":
        return Value(found.end(), ((name, found["v"]), (name.replace("_type", "_ns"), found["w"])))
    which = "v" if found["v"] is not None else "w"
    typed = scan.plain[found.start(which) : found.end(which)]
    if form == "text" and NOT_KNOWN.fullmatch(typed):
        return None
    if form == "text" and found["v"] is not None:
        return Value(found.end(), ((name, typed),))
    return Value(found.end(), ((name, typed),), form in _MEASURABLE and found[found.re.groups] is not None)


_MEASURABLE = ("clock", "volts", "stated_volts")


def _policy(scan: Scan, pos: int, name: str) -> Value | None:
    found = match(scan, rf"(?:(?P<b>{_BACK})|{_THROUGH})(?:\s+(?P<s>{_ON_OFF}))?{END}", pos)
    if found is None:
        return None
    back = found["b"] is not None
    off = found["s"] in ("off", "no", "false", "disable", "disabled")
    return Value(found.end(), ((name, "wb" if back != off else "wt"),))
