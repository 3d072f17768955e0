"""Headings to roles: which column holds dates, settings, scores, remarks. Words of the trade, none of a product."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from enum import StrEnum

import msgspec

from leadoff.evidence.rows import table
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


def _owner(kind: str) -> dict[str, str]:
    """Word to what it stands for, of one part of ``table_words.toml``."""
    return {word: key for key, words in table("table_words")[kind].items() for word in words}


UNITS = _owner("units")
OTHER_UNITS = frozenset(table("table_words")["other_units"])
_TAIL = re.compile(r"^(.*?)[\s,]*[(\[]\s*([^)\]]+?)\s*[)\]]$")


_ROLE_OF = {word: Role(name) for word, name in _owner("roles").items()}
_SETTING_OF = _owner("settings")


def plain(text: str) -> str:
    """A heading without case, marks and double blanks."""
    return " ".join(
        text.lower().replace("_", " ").replace("-", " " if " " in text else "-").strip(" :").split()
    )


_ABOUT = frozenset(table("table_words")["about"])


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
