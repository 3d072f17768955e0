"""The verb ``sweep``: block sizes and times typed or pasted, read as levels, kept, set against the sheet."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from leadoff.forecast.facts import Fills, Setup
from leadoff.loop.history import SWEEP, BoardView, line_bytes, read_history
from leadoff.loop.session import Session
from leadoff.loop.standard_input import read_input
from leadoff.loop.swept import bounds, declared, usable_because
from leadoff.record.entries import FactBody
from leadoff.record.errors import LeadoffError
from leadoff.record.marks import Level
from leadoff.record.quantity import Quantity, Source
from leadoff.record.results import Result, mark, note


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
    # A kept sweep belongs to the state it was made in, not to the one that is set now.
    setup = board.setup
    if given is None:
        said, kind, unit, setup = _last(board, kind, unit)
    else:
        said = given
    line = line_bytes(session, setup)
    parsed = parse_sweep(said, unit=unit, kind=kind, line_bytes=line)
    bus = setup.clock("bus_mhz")
    reading = read_sweep(parsed, bus_mhz=bus, line_bytes=line)
    disputes = compare_sweep(reading, declared(setup, sweeps=_sweeps(board)))
    narrowed = bounds(reading, setup)
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
        "narrows": None
        if narrowed is None
        else {"cache_fill_clocks": narrowed.cache, "memory_fill_clocks": narrowed.memory},
        "not_used_because": usable_because(reading, setup, disputes) or None,
    }
    marks = [note("read_as", s) for s in (*parsed.said, *reading.notes)]
    if bus is None:
        marks.append(note("no_bus_clock", "the bus clock is not known: no bus clocks per line"))
    if narrowed is not None:
        marks.append(note("narrows", f"forecasts of {board.id} now hold {_held(narrowed)}"))
    elif not disputes:
        marks.append(note("not_used", f"no forecast uses it: {usable_because(reading, setup, disputes)}"))
    marks += [
        mark(
            Level.AMBER,
            "sweep_disputes",
            f"{d.setting}: the sheet says {d.declared}, the sweep shows {d.seen}",
        )
        for d in disputes
    ]
    return session.result("sweep", data, marks)


def _held(fills: Fills) -> str:
    """What the forecast holds to, in words."""
    told = [
        f"a line from {where} between {b[0]:.1f} and {b[1]:.1f} bus clocks"
        for where, b in (("the second level", fills.cache), ("memory", fills.memory))
        if b is not None
    ]
    return " and ".join(told)


def _given(text: str | None, file: str | None) -> str | None:
    if file == "-":
        return read_input()
    if file is not None:
        try:
            return Path(file).read_text(encoding="utf-8")
        except (OSError, UnicodeDecodeError) as error:
            raise LeadoffError.one(
                "sweep_file", f"{file} cannot be read: {error}", where=file, do="check the path"
            ) from None
    return text


def _last(board: BoardView, kind: str | None, unit: str | None) -> tuple[str, str | None, str | None, Setup]:
    """The text kept last, with the kind and the unit given beside it then, unless others are given now, and the
    state it was made in."""
    if board.sweeps:
        view = board.sweeps[-1]
        kept_kind, _, kept_unit = view.body.where.partition(" ")
        return view.body.said, kind or kept_kind or None, unit or kept_unit or None, view.setup
    raise LeadoffError.one(
        "no_sweep",
        f"there is no sweep of {board.id} yet",
        where=board.id,
        do='type one: `leadoff sweep BOARD "8K 10.2us/KB, 16K 10.3, 32K 26.1, 64K 26.0"`',
    )


def _sweeps(board: BoardView) -> int:
    return max(1, len(board.sweeps))
