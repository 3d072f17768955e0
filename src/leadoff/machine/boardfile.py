"""Read a board file (TOML) into a sheet, with all mistakes listed at once.

The form is documented in docs/board-file.md. An absent key is not known; nothing is filled in.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping

from leadoff.machine import file_fitted, file_positions
from leadoff.machine.dividers import ratio_of_bus
from leadoff.machine.names import class_name
from leadoff.machine.tomlwalk import Walk, first
from leadoff.record.board import BoardSheet, Rail
from leadoff.record.errors import LeadoffError, Problem
from leadoff.words import clock_mhz

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
    jumpers = tuple(j for w in top.subs("jumper") if (j := file_positions.jumper(w)))
    options = tuple(o for w in top.subs("option") if (o := file_positions.option(w)))
    _no_twins(top, [j.id for j in jumpers] + [o.id for o in options])
    cpu, cpu_row = file_fitted.cpu(fitted, board_id)
    sheet = BoardSheet(
        id=board_id,
        board_class=class_name(board_class or ""),
        buses=tuple(b.lower() for b in board.texts("buses") or ()),
        rails=_rails(sides),
        sheet_confirmed=bool(board.flag("sheet_confirmed")),
        sheet_revision=board.text("sheet_revision") or "",
        chipset=first(sides, "chipset", Walk.text),
        socket=first(sides, "socket", Walk.text),
        clock_source=board.text("clock_source") or "",
        clock_table_mhz=_clock_table(board),
        can_divides_by=board.count("can_divides_by", "times", 1, 4),
        firmware=board.text("firmware") or "",
        clock_part=first(sides, "clock_part", Walk.text) or "",
        supply_plug=board.text("supply_plug") or "",
        ratio_pins_wired=_pins(sides),
        dividers=_dividers(sides),
        snoop_line=first(sides, "snoop_line", Walk.flag),
        jumpers=jumpers,
        options=options,
        cards=tuple(file_fitted.card(w) for side in sides for w in side.subs("card")),
        memory=file_fitted.memory(sides),
        memory_sites=tuple(s.lower() for s in board.texts("memory_sites") or ()),
        interposer=file_fitted.interposer(sides),
        cpu=cpu,
        cpu_row=cpu_row,
        cpu_specimen=file_fitted.specimen(fitted),
        fpu=fitted.text("fpu"),
        cache=file_fitted.cache(fitted),
        cache_sites=board.texts("cache_sites") or (),
        rig=file_fitted.rig(top),
        spares=top.texts("spares") or board.texts("spares") or (),
        tools=top.texts("tools") or board.texts("tools") or (),
        now=file_positions.positions_now(top, jumpers, options),
        note=board.text("note") or "",
    )
    for side in sides:
        side.done()
    return sheet


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
    pins = first(sides, "ratio_pins_wired", Walk.texts)
    return None if pins is None else tuple(p.upper() for p in pins)


def _dividers(sides: tuple[Walk, ...]) -> dict[str, dict[str, str]]:
    walk = first(sides, "dividers", Walk.sub)
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
