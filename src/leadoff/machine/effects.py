"""From positions to settings: what the jumpers and set-up entries of a state amount to."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction
from functools import lru_cache

import msgspec

from leadoff.machine.adapter import ADAPTER_RATIO, adapter_of, adapter_rules, adapter_volts
from leadoff.machine.can import bus_from_can
from leadoff.machine.partfacts import Processor
from leadoff.machine.pins import ratio_from_pins
from leadoff.machine.straps import StrapTable, translate, undefined_straps
from leadoff.record.board import BoardSheet, Jumper, Option
from leadoff.record.quantity import Source
from leadoff.record.settings import SettingKind, in_words, kind_of
from leadoff.record.state import UNKNOWN_SETTING, Setting, Status

SAME_CLOCK = 0.005
"""Two clocks within half a percent are the same clock: a counter's reading of a nominal one (judgement)."""

SAME_VOLTS_MEASURED = 0.03
"""A regulator set to a value and measured within three percent of it works as set (judgement)."""


class Carrier(msgspec.Struct, frozen=True, kw_only=True):
    """A jumper or a set-up entry of the sheet, seen as the thing that carries settings."""

    id: str
    positions: tuple[str, ...]
    sets: Mapping[str, Mapping[str, str]]
    is_option: bool
    leave: bool = False
    label: str = ""


def carriers(sheet: BoardSheet) -> tuple[Carrier, ...]:
    """Everything on the sheet that can be put into positions."""
    return _read(sheet)[1]


_Read = tuple[BoardSheet | None, tuple[Carrier, ...], Mapping[str, tuple[Carrier, ...]]]
_last: list[_Read] = [(None, (), {})]


def _read(sheet: BoardSheet) -> _Read:
    """A sheet's carriers, and those by setting; the last sheet read is kept, for thousands of states in a row."""
    kept = _last[0]
    if kept[0] is not sheet:
        made = tuple(map(_of_jumper, sheet.jumpers)) + tuple(map(_of_option, sheet.options))
        names = {s for c in made for s in c.sets}
        kept = (sheet, made, {s: tuple(c for c in made if s in c.sets) for s in sorted(names)})
        _last[0] = kept
    return kept


def _of_jumper(j: Jumper) -> Carrier:
    return Carrier(id=j.id, positions=j.positions, sets=j.sets, is_option=False, leave=j.leave)


def _of_option(o: Option) -> Carrier:
    where = " > ".join(filter(None, (o.menu, o.label)))
    return Carrier(id=o.id, positions=o.choices, sets=o.sets, is_option=True, label=where)


def carriers_of(sheet: BoardSheet, setting: str) -> tuple[Carrier, ...]:
    """The carriers that act on a setting."""
    return _read(sheet)[2].get(setting, ())


@lru_cache(maxsize=8192)
def same_value(name: str, a: str, b: str, *, measured: bool = False) -> bool:
    """Whether two canonical values of a setting are the same for practical purposes.

    ``measured``: one of them was read on a meter, so volts need not agree to the last digit.
    """
    if a == b:
        return True
    kind = kind_of(name)
    if kind in (SettingKind.CLOCK, SettingKind.RATIO, SettingKind.VOLTS, SettingKind.NUMBER):
        try:
            x, y = Fraction(a), Fraction(b)
        except ValueError:
            return False  # an entry called like the setting and left on "auto"
        tolerance = SAME_CLOCK if kind is SettingKind.CLOCK else 1e-9
        if kind is SettingKind.VOLTS and measured:
            tolerance = SAME_VOLTS_MEASURED
        return abs(x - y) <= tolerance * max(abs(x), abs(y))
    return False


def effective(
    raw: Mapping[str, Setting],
    sheet: BoardSheet,
    processor: Processor | None = None,
    base_straps: StrapTable | None = None,
) -> dict[str, Setting]:
    """All settings of a state: what was said, and what the positions make of it.

    A measured value outranks a position (``against`` keeps what the sheet says); a said value that differs
    from the position is disputed and kept as said; positions of a sheet that nobody confirmed give assumed
    values. An adapter decides in place of the board's jumpers. ``base_straps`` is the strap table of the
    parts for which the sheet was written.
    """
    out = dict(raw)
    for carrier in carriers(sheet):
        out.setdefault(carrier.id, _unset(carrier))
    adapter = adapter_of(out, sheet)
    ruled = adapter_rules(adapter) if adapter is not None else frozenset()
    for name in _read(sheet)[2]:
        if name in ruled:
            continue
        from_sheet = _from_positions(name, out, sheet)
        if name == "ratio" and from_sheet is not None:
            from_sheet = _as_part_reads(from_sheet, processor, base_straps)
        out[name] = _settle(name, raw.get(name), from_sheet, carriers_of(sheet, name))
    _without_meaning(out, sheet)
    by_pins = ratio_from_pins(out, set(_read(sheet)[2]), processor, base_straps)
    if by_pins is not None and "ratio" not in ruled and not carriers_of(sheet, "ratio"):
        out["ratio"] = _settle("ratio", raw.get("ratio"), by_pins, ())
    if adapter is not None:
        out["core_v"] = _settle("core_v", raw.get("core_v"), adapter_volts(adapter), ())
        if adapter.ratio_straps and out.get("ratio", ADAPTER_RATIO).value is None:
            out["ratio"] = ADAPTER_RATIO
    _infer_positions(out, sheet, ruled, processor, base_straps)
    _fixed_ratio(out, processor)
    bus_from_can(out, sheet)
    return out


def _without_meaning(out: dict[str, Setting], sheet: BoardSheet) -> None:
    """An entry called like a setting and left on "auto" leaves the setting unknown."""
    for carrier in carriers(sheet):
        value = out[carrier.id].value
        meant = carrier.sets.get(carrier.id)
        if meant is not None and value in carrier.positions and value not in meant:
            why = f'set to "{value}", which says nothing of the value'
            out[carrier.id] = msgspec.structs.replace(UNKNOWN_SETTING, said=value or "", why=why)


def _unset(carrier: Carrier) -> Setting:
    why = "leave as found" if carrier.leave else "position not known"
    return Setting(value=None, status=Status.UNKNOWN, source=Source.UNKNOWN, why=why)


def _from_positions(name: str, settings: Mapping[str, Setting], sheet: BoardSheet) -> Setting | None:
    found: list[tuple[Carrier, Setting, str]] = []
    for carrier in carriers_of(sheet, name):
        at = settings[carrier.id]
        if at.value is not None and at.value in carrier.sets[name]:
            found.append((carrier, at, carrier.sets[name][at.value]))
    if not found:
        return None
    carrier, at, value = found[0]
    why = f"{carrier.id} {at.value} on the sheet"
    others = [v for _, _, v in found[1:] if not same_value(name, v, value)]
    if others:
        return Setting(
            value=value,
            status=Status.DISPUTED,
            source=Source.DECLARED,
            why=f"{why}, but {found[1][0].id} {found[1][1].value} says {others[0]}",
            against=others[0],
        )
    firm = carrier.is_option or sheet.sheet_confirmed
    status = at.status if at.status is not Status.KNOWN or firm else Status.ASSUMED
    if not firm:
        why += ", which is not confirmed for this board"
    return Setting(value=value, status=status, source=at.source, why=why)


def _settle(
    name: str, said: Setting | None, from_sheet: Setting | None, acting: Iterable[Carrier]
) -> Setting:
    if said is None or said.value is None:
        if from_sheet is not None:
            return from_sheet
        ids = ", ".join(c.id for c in acting)
        return Setting(
            value=None, status=Status.UNKNOWN, source=Source.UNKNOWN, why=f"position of {ids} not known"
        )
    measured = said.source is Source.MEASURED
    if from_sheet is None or from_sheet.value is None:
        return said
    if same_value(name, said.value, from_sheet.value, measured=measured):
        return said
    if measured:
        why = f"{said.why or 'measured'}; {from_sheet.why} means {_plain(name, from_sheet.value)}"
        return msgspec.structs.replace(said, against=from_sheet.value, why=why)
    return msgspec.structs.replace(
        said,
        status=Status.DISPUTED,
        against=from_sheet.value,
        why=f"{said.source.value} {_plain(name, said.value)}, but {from_sheet.why} means "
        f"{_plain(name, from_sheet.value)}",
    )


def _as_part_reads(setting: Setting, part: Processor | None, base: StrapTable | None) -> Setting:
    if part is None or part.straps is None or base is None or setting.value is None:
        return setting
    sheet_ratio = Fraction(setting.value)
    made = translate(sheet_ratio, base, part.straps)
    if undefined_straps(sheet_ratio, base, part.straps):
        why = f"{setting.why} ({setting.value} on the sheet's parts; {part.id} defines no ratio for these straps)"
        return Setting(value=None, status=Status.UNKNOWN, source=Source.UNKNOWN, why=why)
    if part.makes(made or sheet_ratio) is False:
        why = f"{setting.why} names x{setting.value}, which {part.id} does not make: the sheet is for other parts"
        return Setting(value=None, status=Status.UNKNOWN, source=Source.UNKNOWN, why=why)
    if made is None or made == sheet_ratio:
        return setting
    return msgspec.structs.replace(
        setting,
        value=str(made),
        source=Source.COMPUTED,
        why=f"{setting.why} ({setting.value} on the sheet's parts; this part reads the same straps as {made})",
    )


def _infer_positions(
    out: dict[str, Setting],
    sheet: BoardSheet,
    ruled: frozenset[str],
    part: Processor | None,
    base: StrapTable | None,
) -> None:
    """A position follows where exactly one gives everything that is known of what it sets.

    Settings ``ruled`` by an adapter, and a ratio fixed inside the part, tell nothing of the positions.
    """
    if part is not None and part.locked is not None:
        ruled = ruled | {"ratio"}
    for carrier in carriers(sheet):
        if out[carrier.id].value is not None or carrier.leave or not carrier.sets:
            continue
        known = {n: out[n] for n in carrier.sets if n not in ruled and out[n].value is not None}
        fits = _fits(carrier, known, part, base) if known else ()
        if len(fits) == 1:
            out[carrier.id] = Setting(
                value=fits[0],
                status=Status.ASSUMED,
                source=Source.COMPUTED,
                why="follows from "
                + ", ".join(f"{in_words(n)} {_plain(n, s.value or '')}" for n, s in known.items()),
            )


_Said = tuple[tuple[str, str, bool], ...]
_fitting: dict[
    tuple[int, int, int, _Said], tuple[Carrier, Processor | None, StrapTable | None, list[str]]
] = {}
"""Positions that fit, by what is known: thousands of states of one board ask the same. The things themselves are kept
beside, so that a number of one that is gone is never taken for another."""


def _fits(
    carrier: Carrier, known: Mapping[str, Setting], part: Processor | None, base: StrapTable | None
) -> list[str]:
    """Positions of a carrier that give everything that is known of what it sets."""
    said = tuple((n, s.value or "", s.source is Source.MEASURED) for n, s in known.items())
    key = (id(carrier), id(part), id(base), said)
    kept = _fitting.get(key)
    if kept is not None and kept[0] is carrier and kept[1] is part and kept[2] is base:
        return kept[3]
    found = [
        p
        for p in carrier.positions
        if all(
            p in carrier.sets[n]
            and same_value(n, _reads(n, carrier.sets[n][p], part, base), value, measured=measured)
            for n, value, measured in said
        )
    ]
    if len(_fitting) >= 8192:
        _fitting.clear()
    _fitting[key] = (carrier, part, base, found)
    return found


@lru_cache(maxsize=4096)
def _plain(name: str, value: str) -> str:
    """A canonical value in decimals, for a reason that people read; a divider stays 1/5."""
    if kind_of(name) not in (SettingKind.CLOCK, SettingKind.RATIO) or Fraction(value) < 1:
        return value
    return f"{float(Fraction(value)):.5g}"


def _reads(name: str, value: str, part: Processor | None, base: StrapTable | None) -> str:
    """The sheet's value of a position as the part that is fitted reads it."""
    if name != "ratio" or part is None or part.straps is None or base is None:
        return value
    made = translate(Fraction(value), base, part.straps)
    return value if made is None else str(made)


def _fixed_ratio(out: dict[str, Setting], part: Processor | None) -> None:
    """A part with a ratio of its own has it whatever the straps say."""
    if part is None or part.locked is None:
        return
    own = Setting(
        value=str(part.locked),
        status=Status.KNOWN,
        source=Source.COMPUTED,
        why=f"fixed inside {part.id}",
    )
    said = out.get("ratio")
    if said is not None and said.source is Source.MEASURED:
        return
    out["ratio"] = own
