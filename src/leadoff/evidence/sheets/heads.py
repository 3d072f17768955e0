"""Headings to roles: which column holds dates, settings, scores, remarks. Words of the trade, none of a product."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from enum import StrEnum

import msgspec

from leadoff.evidence.sheets.days import day_of
from leadoff.evidence.sheets.table import Cell


class Role(StrEnum):
    """What a column is for."""

    DATE = "date"
    BOARD = "board"
    WORKLOAD = "workload"
    SCORE = "score"
    UNIT = "unit"
    SETTING = "setting"
    SETTINGS = "settings"
    NOTE = "note"
    NUMBER = "number"
    UNKNOWN = "unknown"


class Head(msgspec.Struct, frozen=True, kw_only=True):
    """A column: its role, the setting or workload it is of, the unit its heading names, and its words."""

    role: Role
    name: str = ""
    unit: str = ""
    text: str = ""


_ROLES = {
    Role.DATE: "date datum day when tested|test date|measured on",
    Role.BOARD: "board|main board|mainboard|motherboard|machine",
    Role.WORKLOAD: "workload|test|benchmark|program|what",
    Role.SCORE: "score|result|results|value|reading|measured",
    Role.UNIT: "unit|units",
    Role.SETTINGS: "settings|setting|configuration|config|set-up|setup|state|set to|jumpers",
    Role.NOTE: "note|notes|remark|remarks|comment|comments|observations",
    Role.NUMBER: "#|no|no.|nr|nr.|run|id|number",
}
_SETTINGS = {
    "bus_mhz": "bus|bus clock|bus mhz|bus speed|fsb|front side bus",
    "ratio": "x|ratio|multiplier|mult|core ratio",
    "core_mhz": "core|core clock|core mhz|cpu clock|cpu mhz|cpu speed",
    "cpu": "cpu|processor|chip",
    "l1": "l1|l1 cache|internal cache",
    "l1_policy": "l1 policy|l1 mode|l1 write policy|l1 wb/wt",
    "l2": "l2|l2 cache|external cache",
    "l2_policy": "l2 policy|l2 mode|l2 write policy|l2 wb/wt",
    "l2_kb": "l2 kb|l2 size|cache kb|cache size|cache",
    "l2_read_ws": "cache read ws|l2 read ws|cache read wait states",
    "l2_write_ws": "cache write ws|l2 write ws|cache write wait states",
    "ram_mb": "ram|ram mb|memory|memory mb|ram size|memory size",
    "ram_type": "ram type|memory type",
    "dram_read_ws": "dram read ws|memory read ws|ram read ws",
    "dram_write_ws": "dram write ws|memory write ws|ram write ws",
    "turbo": "turbo|turbo switch",
    "core_v": "vcore|core v|core volts|core voltage|cpu volts|cpu v",
    "video": "video|video card|display card|graphics card",
    "vlb_ws": "vlb ws|local bus ws",
    "temp_c": "temp|temperature|temp c",
}
UNITS = {
    **dict.fromkeys(("fps", "frames/s", "frames per second", "f/s"), "frames/s"),
    **dict.fromkeys(("s", "sec", "secs", "seconds"), "s"),
    **dict.fromkeys(("mb/s", "mbyte/s"), "MB/s"),
    **dict.fromkeys(("kb/s", "kbyte/s"), "KB/s"),
    **dict.fromkeys(("points", "index", "score"), "score"),
}
OTHER_UNITS = frozenset(("mhz", "kb", "mb", "ns", "v", "volts", "ws", "c", "°c", "on/off", "wb/wt"))
_TAIL = re.compile(r"^(.*?)[\s,]*[(\[]\s*([^)\]]+?)\s*[)\]]$")


def _table(words: Mapping[str, str]) -> dict[str, str]:
    return {word.strip(): key for key, text in words.items() for word in re.split(r"\|", text)}


_ROLE_OF = {word: role for role, text in _ROLES.items() for word in re.split(r"\|", text)} | {
    word: Role.DATE for word in ("date", "datum", "day", "when", "tested")
}
_SETTING_OF = _table(_SETTINGS)


def plain(text: str) -> str:
    """A heading without case, marks and double blanks."""
    return " ".join(
        text.lower().replace("_", " ").replace("-", " " if " " in text else "-").strip(" :").split()
    )


_ABOUT = frozenset(
    ("benchmark", "bench", "test", "score", "result", "results", "program", "run", "runs", "avg")
)
"""Words that a heading puts around a workload's name without being part of it."""


def head_of(text: str, workloads: Iterable[str]) -> Head | None:
    """What one heading says, ``None`` when it says nothing that is known."""
    low = plain(text)
    if not low:
        return None
    bare, unit = low, ""
    if tail := _TAIL.match(low):
        bare, unit = tail[1].strip(), tail[2].strip()
    known = {w.lower(): w for w in workloads}
    for word in (low, bare):
        if word in known:
            return Head(role=Role.SCORE, name=known[word], unit=UNITS.get(unit, ""), text=text)
        if word in _ROLE_OF:
            return Head(role=_ROLE_OF[word], unit=UNITS.get(unit, ""), text=text)
        if word in _SETTING_OF:
            return Head(role=Role.SETTING, name=_SETTING_OF[word], text=text)
    if not unit:
        first, _, last = low.rpartition(" ")
        if first and last in UNITS:
            bare, unit = first, last
    if unit in UNITS and bare and slug(bare):
        core = " ".join(w for w in bare.split() if w not in _ABOUT)
        name = known.get(bare) or known.get(core) or slug(bare)
        return Head(role=Role.SCORE, name=name, unit=UNITS[unit], text=text)
    return None


def slug(text: str) -> str:
    """A workload's word from a heading: ``Game A`` is ``game-a``."""
    return re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")


def is_unit(text: str) -> bool:
    """Whether a cell holds nothing but a unit."""
    low = plain(text).strip("()[]")
    return low in UNITS or low in OTHER_UNITS


def is_heading(row: Sequence[Cell], workloads: Iterable[str]) -> bool:
    """Whether a row is of headings: no dates or figures in it, and most of it known words or units."""
    filled = [c for c in row if c.text]
    if len({c.text for c in filled}) < 2 or any(c.day or day_of(c.text) for c in filled):
        return False
    if any(re.fullmatch(r"[~<>]?\d+(?:[.,]\d+)*", c.text) for c in filled):
        return False
    names = list(workloads)
    known = [c for c in filled if head_of(c.text, names) or is_unit(c.text)]
    heads = [h for c in filled if (h := head_of(c.text, names)) is not None]
    if heads and not any(h.role in (Role.DATE, Role.SCORE, Role.WORKLOAD, Role.SETTINGS) for h in heads):
        return all(is_unit(c.text) for c in filled)
    return len(known) * 2 >= len(filled)


def heads_of(block: Sequence[Sequence[Cell]], workloads: Iterable[str]) -> list[Head]:
    """Columns from one or more heading rows, the lowest telling row first; a row of units adds those."""
    names = list(workloads)
    width = max(len(row) for row in block)
    out: list[Head] = []
    for column in range(width):
        texts = [row[column].text for row in block if column < len(row) and row[column].text]
        words = [t for t in texts if not is_unit(t)] or texts[-1:]
        units = [UNITS[plain(t).strip("()[]")] for t in texts if plain(t).strip("()[]") in UNITS]
        joined = " ".join(dict.fromkeys(words))
        tried = [*reversed(words), joined]
        found = next((h for t in tried if (h := head_of(t, names)) is not None), None)
        if found is None and words and units:
            found = Head(role=Role.SCORE, name=slug(words[-1]), text=joined)
        if found is None:
            out.append(Head(role=Role.UNKNOWN, text=joined))
            continue
        out.append(msgspec.structs.replace(found, unit=found.unit or (units[-1] if units else "")))
    return out
