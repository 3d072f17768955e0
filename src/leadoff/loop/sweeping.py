"""The verb ``sweep``: block sizes and times typed or pasted, read as levels, kept, set against the sheet."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from leadoff.loop.history import BoardView, read_history
from leadoff.loop.session import Session
from leadoff.record.entries import FactBody
from leadoff.record.errors import LeadoffError
from leadoff.record.marks import Level
from leadoff.record.quantity import Quantity, Source
from leadoff.record.results import Result, mark, note

SWEEP = "sweep"


def sweep(
    session: Session,
    name: str,
    *,
    text: str | None = None,
    file: str | None = None,
    kind: str | None = None,
    unit: str | None = None,
) -> Result:
    """Read a sweep into levels. With words, a file or ``-`` it is kept first; without, the last one is shown.

    Raises:
        LeadoffError: text that is no sweep, or no sweep on this board yet.
    """
    from leadoff.memory.sweep import compare_sweep, parse_sweep, read_sweep

    given = _given(text, file)
    board = read_history(session).board(name)
    if given is None:
        said, kind, unit = _last(board, kind, unit)
    else:
        said = given
    parsed = parse_sweep(said, unit=unit, kind=kind, line_bytes=_line_bytes(session, board))
    bus = board.setup.clock("bus_mhz")
    reading = read_sweep(parsed, bus_mhz=bus, line_bytes=_line_bytes(session, board))
    disputes = compare_sweep(reading, _declared(board))
    entry = None
    if given is not None:
        points = Quantity(value=len(parsed.points), unit="points", source=Source.MEASURED)
        where = " ".join(filter(None, (parsed.kind.value, unit)))
        body = FactBody(subject=f"board:{board.id}", name=SWEEP, value=points, where=where, said=given)
        entry = session.write(body)[0].id
    data: dict[str, Any] = {
        "board": board.id,
        "entry": entry,
        "kind": parsed.kind.value,
        "points": [{"size_kb": p.size_kb, "us_per_kb": p.us_per_kb} for p in parsed.points],
        "levels": [
            {
                "size_kb": level.size_kb,
                "ns_per_line": level.ns_per_line,
                "bus_clocks_per_line": level.bus_clocks_per_line,
                "fill_bus_clocks": level.fill_bus_clocks,
                "mb_per_s": level.mb_per_s,
                "us_per_kb": level.us_per_kb,
                "patterns": list(level.patterns),
                "sure": level.sure,
            }
            for level in reading.levels
        ],
        "sure": reading.sure,
        "noise_pct": reading.noise_pct,
        "disputes": [
            {
                "setting": d.setting,
                "declared": d.declared,
                "seen": d.seen,
                "hypotheses": [
                    {"name": h.name, "p": h.p, "check": h.check, "minutes": h.minutes} for h in d.hypotheses
                ],
            }
            for d in disputes
        ],
        "understood": list(parsed.said),
    }
    marks = [note("read_as", s) for s in (*parsed.said, *reading.notes)]
    if bus is None:
        marks.append(note("no_bus_clock", "the bus clock is not known: no bus clocks per line"))
    marks += [
        mark(
            Level.AMBER,
            "sweep_disputes",
            f"{d.setting}: the sheet says {d.declared}, the sweep shows {d.seen}",
        )
        for d in disputes
    ]
    return session.result("sweep", data, marks)


def _given(text: str | None, file: str | None) -> str | None:
    if file == "-":
        return sys.stdin.read()
    if file is not None:
        try:
            return Path(file).read_text(encoding="utf-8")
        except (OSError, UnicodeDecodeError) as error:
            raise LeadoffError.one(
                "sweep_file", f"{file} cannot be read: {error}", where=file, do="check the path"
            ) from None
    return text


def _last(board: BoardView, kind: str | None, unit: str | None) -> tuple[str, str | None, str | None]:
    """The text kept last, with the kind and the unit given beside it then, unless others are given now."""
    for _, fact in reversed(board.facts):
        if fact.name == SWEEP:
            kept_kind, _, kept_unit = fact.where.partition(" ")
            return fact.said, kind or kept_kind or None, unit or kept_unit or None
    raise LeadoffError.one(
        "no_sweep",
        f"there is no sweep of {board.id} yet",
        where=board.id,
        do='type one: leadoff sweep BOARD "8K 10.2us/KB, 16K 10.3, 32K 26.1, 64K 26.0"',
    )


def _line_bytes(session: Session, board: BoardView) -> int:
    part = board.setup.processor
    core = session.catalogue.find_core(part.core) if part is not None and part.core else None
    if core is not None and core.l1_line_bytes in (16, 32):
        return core.l1_line_bytes
    return 32 if "socket" in board.fold.sheet.board_class or "slot" in board.fold.sheet.board_class else 16


def _declared(board: BoardView) -> Any:
    from leadoff.memory.sweep_values import Declared

    state = board.setup.state
    part = board.setup.processor
    sweeps = sum(1 for _, fact in board.facts if fact.name == SWEEP)

    def switch(name: str) -> bool | None:
        value = state.value(name)
        return None if value is None else value == "on"

    def number(name: str) -> float | None:
        value = state.value(name)
        return None if value is None else float(value)

    return Declared(
        l1=switch("l1"),
        l1_kb=part.l1_kb if part is not None else None,
        l1_policy=state.value("l1_policy"),
        l2=switch("l2"),
        l2_kb=number("l2_kb"),
        l2_policy=state.value("l2_policy"),
        sweeps=max(1, sweeps),
    )
