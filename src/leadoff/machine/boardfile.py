"""Read a board file (TOML) into a sheet, with all mistakes listed at once.

The form is documented in docs/board-file.md. An absent key is not known; nothing is filled in.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from typing import TypeVar

from leadoff.machine.dividers import ratio_of_bus
from leadoff.machine.names import near_setting, setting_name
from leadoff.machine.own_names import Sets, as_values
from leadoff.machine.pins import pin_level, pin_setting
from leadoff.machine.processors import described_row
from leadoff.machine.tomlwalk import Walk, listed
from leadoff.record.board import (
    BoardSheet,
    CacheFit,
    Card,
    Interposer,
    Jumper,
    MemoryFit,
    Option,
    Rail,
)
from leadoff.record.errors import LeadoffError, Problem
from leadoff.record.settings import SETTINGS
from leadoff.words import clock_mhz, memory_fit, setting_value

MAX_BYTES = 1_000_000


def read_board_file(text: str) -> BoardSheet:
    """The board a file describes.

    Raises:
        LeadoffError: one problem per mistake, each with its path and what was allowed.
    """
    if len(text.encode()) > MAX_BYTES:
        raise LeadoffError.one(
            "board_file",
            f"the board file has {len(text.encode())} bytes; a sheet has a few thousand, the limit is {MAX_BYTES}",
            do="check that this is the right file",
        )
    try:
        table = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        # tomllib also fails with plain ValueError (numbers of thousands of digits) and on deep nesting.
        raise LeadoffError.one(
            "board_file",
            f"the board file is not valid TOML: {error}",
            do="mend that line; docs/board-file.md has a whole example",
        ) from None
    problems: list[Problem] = []
    sheet = _sheet(Walk(table, "", problems))
    if problems:
        raise LeadoffError(*problems)
    assert sheet is not None
    return sheet


def _sheet(top: Walk) -> BoardSheet | None:
    board = top.sub("board")
    if board is None:
        top.wrong("board", "is missing", 'a board file starts with [board] and id = "..."')
        return None
    fitted = top.sub("fitted") or Walk({}, "fitted", top.problems)
    sides = (top, board, fitted)
    board_id = board.text("id")
    if not board_id:
        board.wrong("id", "is missing", "give the board a short name of your own, such as blue-486")
        board_id = "?"
    elif any(c.isspace() or not c.isprintable() for c in board_id) or len(board_id) > 60:
        board.wrong("id", f"is {board_id!r}", "use up to 60 letters, digits and hyphens, without spaces")
    board_class = board.text("class")
    if not board_class:
        board.wrong("class", "is missing", "for example 386dx, 486-vlb, socket7, slot1")
    jumpers = tuple(j for w in top.subs("jumper") if (j := _jumper(w)))
    options = tuple(o for w in top.subs("option") if (o := _option(w)))
    _no_twins(top, [j.id for j in jumpers] + [o.id for o in options])
    cpu, cpu_row = _cpu(fitted, board_id)
    sheet = BoardSheet(
        id=board_id,
        board_class="-".join((board_class or "").lower().split()),
        buses=tuple(b.lower() for b in board.texts("buses") or ()),
        rails=_rails(sides),
        sheet_confirmed=bool(board.flag("sheet_confirmed")),
        sheet_revision=board.text("sheet_revision") or "",
        chipset=_first(sides, "chipset", Walk.text),
        socket=_first(sides, "socket", Walk.text),
        clock_source=board.text("clock_source") or "",
        clock_table_mhz=_clock_table(board),
        can_divides_by=board.count("can_divides_by", "times", 1, 4),
        firmware=board.text("firmware") or "",
        clock_part=_first(sides, "clock_part", Walk.text) or "",
        supply_plug=board.text("supply_plug") or "",
        ratio_pins_wired=_pins(sides),
        dividers=_dividers(sides),
        snoop_line=_first(sides, "snoop_line", Walk.flag),
        jumpers=jumpers,
        options=options,
        cards=tuple(_card(w) for side in sides for w in side.subs("card")),
        memory=_memory(sides),
        memory_sites=tuple(s.lower() for s in board.texts("memory_sites") or ()),
        interposer=_interposer(sides),
        cpu=cpu,
        cpu_row=cpu_row,
        cpu_specimen=_specimen(fitted),
        fpu=fitted.text("fpu"),
        cache=_cache(fitted),
        cache_sites=board.texts("cache_sites") or (),
        rig=_rig(top),
        spares=top.texts("spares") or board.texts("spares") or (),
        tools=top.texts("tools") or board.texts("tools") or (),
        now=_now(top, jumpers, options),
        note=board.text("note") or "",
    )
    for side in sides:
        side.done()
    return sheet


T = TypeVar("T")


def _first(sides: tuple[Walk, ...], key: str, read: Callable[[Walk, str], T | None]) -> T | None:
    """The value of a key that may stand at the top, under [board] or under [fitted]."""
    values = [read(side, key) for side in sides]
    return next((v for v in values if v is not None), None)


def _no_twins(top: Walk, ids: list[str]) -> None:
    for twin in sorted({i for i in ids if ids.count(i) > 1}):
        top.wrong("jumper", f'id "{twin}" is used {ids.count(twin)} times', "give each jumper its own id")


def _rails(sides: tuple[Walk, ...]) -> tuple[Rail, ...]:
    for side in sides:
        side.has("rails_v")
    for side in sides:
        if side.has("rails"):
            rails = []
            for walk in side.subs("rails"):
                volts = walk.amount("v", "V", 0.8, 15)
                amps = walk.amount("amps", "A", 0.01, 100)
                if volts is not None:
                    rails.append(Rail(v=f"{volts:g}", amps=amps))
                walk.done()
            return tuple(rails)
    for side in sides:
        raw = side.raw("rails_v")
        if raw is not None:
            items = raw if isinstance(raw, list) else [raw]
            numbers = Walk({str(n): v for n, v in enumerate(items)}, f"{side.path}.rails_v", side.problems)
            volts_list = [numbers.amount(str(n), "V", 0.8, 15) for n in range(len(items))]
            return tuple(Rail(v=f"{v:g}") for v in volts_list if v is not None)
    return ()


def _clock_table(board: Walk) -> tuple[str, ...]:
    out = []
    for word in board.texts("clock_table_mhz") or ():
        try:
            out.append(str(clock_mhz(word)))
        except LeadoffError as error:
            board.wrong("clock_table_mhz", error.problems[0].text, "write clocks as 33.33, 100/3 or 40")
    return tuple(out)


def _pins(sides: tuple[Walk, ...]) -> tuple[str, ...] | None:
    pins = _first(sides, "ratio_pins_wired", Walk.texts)
    return None if pins is None else tuple(p.upper() for p in pins)


def _dividers(sides: tuple[Walk, ...]) -> dict[str, dict[str, str]]:
    walk = _first(sides, "dividers", Walk.sub)
    if walk is None:
        return {}
    out: dict[str, dict[str, str]] = {}
    for bus in ("pci", "agp", "isa", "mem"):
        raw = walk.raw(bus)
        if raw is None:
            continue
        pairs = raw if isinstance(raw, Mapping) else {"*": raw}
        out[bus] = {}
        for clock, ratio in pairs.items():
            try:
                key = "*" if str(clock).strip() in ("*", "any", "all") else str(clock_mhz(str(clock)))
                out[bus][key] = str(ratio_of_bus(str(ratio)))
            except LeadoffError as error:
                walk.wrong(f"{bus}.{clock}", error.problems[0].text, 'write it as 33 = "1/1" or 100 = "1/3"')
    walk.done()
    return out


def _jumper(walk: Walk) -> Jumper | None:
    name = walk.text("id")
    positions = walk.texts("positions") or ()
    members = walk.texts("members") or ()
    sets = _sets(walk, positions, "position")
    at = walk.raw("at_mm")
    place = None
    if at is not None:
        if isinstance(at, list) and len(at) == 2 and all(isinstance(v, int | float) for v in at):
            place = (float(at[0]), float(at[1]))
        else:
            walk.wrong("at_mm", f"is {at!r}", "write [x, y] in millimetres from the board's top left corner")
    leave = bool(walk.flag("leave"))
    note = walk.text("note") or ""
    walk.done()
    if not name:
        walk.wrong("id", "is missing", "write the name printed beside the jumper")
        return None
    if not positions and not leave:
        walk.wrong(
            "positions", "is missing", 'list the positions, such as ["1-2", "2-3"] or ["open", "closed"]'
        )
        return None
    if members:
        for position in positions:
            if len(position.split()) != len(members):
                walk.wrong(
                    "positions",
                    f'"{position}" has {len(position.split())} words for {len(members)} members',
                    "write one position for each member, in the order of members",
                )
    jumper_id = _jumper_id(name)
    places, sets = _by_value(walk, jumper_id, positions, sets)
    return Jumper(
        id=jumper_id,
        positions=places,
        sets=sets,
        members=tuple(_jumper_id(m) for m in members),
        leave=leave,
        at_mm=place,
        note=note,
    )


def _jumper_id(name: str) -> str:
    return name.strip().lower().replace(" ", "")


def _by_value(walk: Walk, name: str, positions: tuple[str, ...], sets: Sets) -> tuple[tuple[str, ...], Sets]:
    """Positions in lower case, or as values where the name is a setting's."""
    places = tuple(p.lower() for p in positions)
    named = name in SETTINGS and not sets
    own = {p: v for p in places if (v := _canonical(walk, name, p)) is not None} if named else {}
    return as_values(walk, name, places, sets, own)


def _option(walk: Walk) -> Option | None:
    name = walk.text("id")
    choices = next((c for k in ("choices", "values", "positions") if (c := walk.texts(k)) is not None), ())
    sets = _sets(walk, choices, "choice")
    label, menu, note = (walk.text(k) or "" for k in ("label", "menu", "note"))
    walk.done()
    if not name:
        walk.wrong("id", "is missing", "give the set-up entry a short name")
        return None
    option_id = _jumper_id(name)
    if not label and " " in name.strip():
        label = name.strip()  # an id holds no blanks; people read the words of the set-up page
    places, sets = _by_value(walk, option_id, choices, sets)
    return Option(id=option_id, choices=places, sets=sets, label=label, menu=menu, note=note)


def _sets(walk: Walk, positions: tuple[str, ...], word: str) -> Sets:
    table = walk.sub("sets")
    if table is None:
        return {}
    allowed = {p.lower() for p in positions}
    out: dict[str, dict[str, str]] = {}
    for typed, pairs in table.table.items():
        known = setting_name(typed) or pin_setting(typed)
        name = known or typed.lower()
        if known is None and (near := near_setting(typed)) is not None:
            table.wrong(typed, "is not a setting", f'did you mean "{near}"? docs/words.md lists the settings')
            continue
        if not isinstance(pairs, Mapping):
            table.wrong(typed, f"is {pairs!r}", f"write a table from {word} to value")
            continue
        values: dict[str, str] = {}
        for position, value in pairs.items():
            if position.lower() not in allowed:
                table.wrong(
                    f"{typed}.{position}",
                    f'"{position}" is not one of its {word}s ({listed(allowed)})',
                    f"add it to the {word}s or correct it",
                )
                continue
            text = pin_level(str(value)) if name.startswith("pin.") else str(value)
            canonical = _canonical(table, name, text, at=f"{typed}.{position}")
            if canonical is not None:
                values[position.lower()] = canonical
        out[name] = values
    return out


def _canonical(walk: Walk, name: str, text: str, at: str = "") -> str | None:
    try:
        return setting_value(name, text)
    except LeadoffError as error:
        walk.wrong(at or name, error.problems[0].text, error.problems[0].do)
        return None


def _quiet(name: str, text: str) -> str:
    """The value a text has as a setting, the text itself where it has none."""
    try:
        return setting_value(name, text) or text if name in SETTINGS else text
    except LeadoffError:
        return text


def _card(walk: Walk) -> Card:
    card = Card(
        slot=walk.text("slot") or "",
        bus=(walk.text("bus") or "").lower(),
        kind=(walk.text("kind") or walk.text("id") or "").lower(),
        master=walk.flag("master"),
        dma=walk.flag("dma"),
    )
    walk.raw("id")
    if not card.bus:
        walk.wrong("bus", "is missing", "write isa, vlb, pci or agp")
    walk.done()
    return card


def _memory(sides: tuple[Walk, ...]) -> tuple[MemoryFit, ...]:
    out: list[MemoryFit] = []
    for side in sides:
        raw = side.raw("memory")
        if isinstance(raw, list) and raw and all(isinstance(i, str) for i in raw):
            for number, word in enumerate(raw):
                site, _, rest = word.partition(" ")
                try:
                    out.append(memory_fit(rest or site, site.lower()))
                except LeadoffError as error:
                    side.wrong(f"memory[{number}]", error.problems[0].text, error.problems[0].do)
        elif raw is not None:
            out.extend(_memory_table(walk, number) for number, walk in enumerate(side.subs("memory")))
    return tuple(out)


def _memory_table(walk: Walk, number: int) -> MemoryFit:
    fit = MemoryFit(
        site=(walk.text("site") or str(number)).lower(),
        mb=walk.amount("mb", "MB", 0.0625, 4096),
        type=(walk.text("type") or "").lower() or None,
        ns=walk.amount("ns", "ns", 1, 200),
        cas=walk.count("cas", "clocks", 1, 4),
        count=walk.count("count", "modules", 1, 16) or 1,
    )
    walk.done()
    return fit


def _interposer(sides: tuple[Walk, ...]) -> Interposer | None:
    walk = _first(sides, "interposer", Walk.sub)
    if walk is None:
        return None
    volts = walk.amount("v", "V", 0.8, 6)
    straps = walk.flag("ratio_straps")
    made = None
    if volts is None:
        walk.wrong("v", "is missing", "write the volts it gives the processor")
    else:
        made = Interposer(v=f"{volts:g}", ratio_straps=bool(straps), amps=walk.amount("amps", "A", 0.1, 50))
    walk.done()
    return made


def _cpu(fitted: Walk, board_id: str) -> tuple[str | None, dict[str, object] | None]:
    raw = fitted.raw("cpu")
    if raw is None or raw in ("?", "unknown"):
        return None, None
    if not isinstance(raw, Mapping):
        text = fitted.text("cpu")
        return (text, None) if text else (None, None)
    name = next((str(raw[k]) for k in ("id", "name", "marking") if raw.get(k)), f"processor of {board_id}")
    row = dict(raw)
    try:
        described_row(row, name)
    except LeadoffError as error:
        for p in error.problems:
            fitted.wrong("cpu", p.text, p.do)
    return name, row


def _specimen(fitted: Walk) -> str | None:
    return fitted.text("cpu_specimen") or fitted.text("specimen")


def _cache(fitted: Walk) -> CacheFit | None:
    raw = fitted.raw("cache")
    if raw is None or raw == "?":
        return None
    if raw in (0, "0", "none", False):
        return CacheFit(kb=0, text="none")
    walk = fitted.sub("cache")
    if walk is None:
        return None
    fit = CacheFit(
        kb=walk.count("kb", "KB", 0, 4096),
        ns=walk.amount("ns", "ns", 1, 120),
        banks=walk.count("banks", "banks", 1, 4),
        chips=walk.count("chips", "chips", 1, 36),
        type=_cache_type(walk),
        tag_ns=walk.amount("tag_ns", "ns", 1, 120),
        tag_bits=walk.count("tag_bits", "bits", 5, 16),
        text=walk.text("text") or "",
    )
    walk.done()
    return fit


def _cache_type(walk: Walk) -> str | None:
    """The kind of cache by its one name; "pipelined" and "pipelined burst" are the same chips."""
    try:
        return setting_value("l2_type", walk.text("type") or "?")
    except LeadoffError as error:
        walk.wrong("type", f"is {walk.text('type')!r}", error.problems[0].do)
        return None


def _rig(top: Walk) -> dict[str, str]:
    walk = top.sub("rig")
    return {} if walk is None else {k: v for k in walk.table if (v := walk.text(k)) is not None}


def _now(top: Walk, jumpers: tuple[Jumper, ...], options: tuple[Option, ...]) -> dict[str, str]:
    walk = top.sub("now")
    if walk is None:
        return {}
    places = {j.id: j.positions for j in jumpers} | {o.id: o.choices for o in options}
    out: dict[str, str] = {}
    for typed in walk.table:
        text = walk.text(typed)
        if isinstance(walk.table[typed], bool):
            text = "on" if walk.table[typed] else "off"
            walk.problems.pop()
        if text is None:
            continue
        name = _jumper_id(typed)
        if text in ("?", "unknown", "default", ""):
            out[name if name in places else setting_name(typed) or name] = "?"
        elif places.get(name):
            as_value = _quiet(name, text)
            if text.lower() in places[name]:
                out[name] = text.lower()
            elif as_value in places[name]:
                out[name] = as_value
            else:
                walk.wrong(typed, f'is "{text}"', f"positions on the sheet: {listed(places[name])}")
        elif (known := setting_name(typed)) is not None or typed.startswith(("ram.", "card.")):
            value = _canonical(walk, known or typed, text, at=typed)
            if value is not None:
                out[known or typed] = value
        else:
            near = near_setting(typed)
            hint = f'did you mean "{near}"? Otherwise ' if near is not None else ""
            walk.wrong(
                typed,
                "is neither a jumper or set-up entry of this file nor a setting",
                f"{hint}add the jumper to the file, or see the list of settings in docs/words.md",
            )
    return out
