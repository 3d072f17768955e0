"""The verb ``shelf``: where boards are, what they wait for, what is due; and the words that keep it so."""

from __future__ import annotations

import re
from datetime import date
from typing import Any

from leadoff.loop.history import BoardView, read_history
from leadoff.loop.session import Session
from leadoff.record.entries import FactBody
from leadoff.record.errors import LeadoffError
from leadoff.record.quantity import unknown
from leadoff.record.results import Result, note
from leadoff.worth.datecodes import DateCode, age_of, read_code
from leadoff.worth.due import clock_due, unlocks

PLACE, WAITS, GOT, CODE, DUMPED = "shelf_place", "shelf_waits", "shelf_got", "date_code", "firmware_dumped"


def shelf(
    session: Session,
    name: str | None = None,
    *,
    place: str | None = None,
    waits: tuple[str, ...] = (),
    got: tuple[str, ...] = (),
    codes: str | None = None,
    dumped: bool = False,
) -> Result:
    """Keep what was said of one board, then list all boards.

    Raises:
        LeadoffError: words without a board, a date code that is none, a part nobody waits for.
    """
    history = read_history(session)
    said = bool(place or waits or got or codes or dumped)
    if said and name is None:
        raise LeadoffError.one(
            "which_board", "it was not said which board this is about", do="leadoff shelf BOARD ..."
        )
    if name is not None and said:
        board = history.board(name)
        bodies = [_fact(board.id, PLACE, place)] if place else []
        bodies += [_fact(board.id, WAITS, part) for part in waits]
        for part in got:
            if _norm(part) not in _waits(board):
                there = ", ".join(_waits(board)) or "nothing"
                raise LeadoffError.one(
                    "not_waited_for", f"{board.id} does not wait for {part}; it waits for {there}", where=part
                )
            bodies.append(_fact(board.id, GOT, part))
        bodies += [_fact(board.id, CODE, c.text, c.part) for c in read_codes(codes or "")]
        bodies += [_fact(board.id, DUMPED, "dumped")] if dumped else []
        session.write(*bodies)
        history = read_history(session)
    today = date.fromisoformat(session.at[:10])
    boards = [history.board(name)] if name is not None else list(history.boards.values())
    rows = [_row(b, today) for b in boards]
    waiting = {b.id: _waits(b) for b in history.boards.values() if _waits(b)}
    data = {
        "boards": rows,
        "orders": [
            {"part": u.part, "unlocks": list(u.unlocks), "helps": list(u.helps)} for u in unlocks(waiting)
        ],
    }
    marks = []
    if any(r["firmware"] == "not dumped" for r in rows):
        marks.append(
            note("dump_first", "a firmware that nobody has dumped is gone with its chip: dump it first")
        )
    return session.result("shelf", data, marks)


def read_codes(text: str) -> list[DateCode]:
    """``u3 9347, u7 9412``: part and code, or a code alone."""
    out = []
    for piece in (p.strip() for p in re.split(r"[,;]", text)):
        if piece:
            *part, code = piece.split()
            out.append(read_code(code, " ".join(part)))
    return out


def _fact(board: str, name: str, said: str, where: str = "") -> FactBody:
    words = " ".join(said.split())[:200]
    return FactBody(
        subject=f"board:{board}", name=name, value=unknown("", "said in words"), where=where, said=words
    )


def _norm(part: str) -> str:
    return " ".join(part.lower().split())


def _waits(board: BoardView) -> list[str]:
    found: dict[str, None] = {}
    for _, fact in board.facts:
        if fact.name == WAITS:
            found[_norm(fact.said)] = None
        elif fact.name == GOT:
            found.pop(_norm(fact.said), None)
    return list(found)


def _row(board: BoardView, today: date) -> dict[str, Any]:
    sheet = board.fold.sheet
    places = [f.said for _, f in board.facts if f.name == PLACE]
    age = age_of([read_code(f.said, f.where) for _, f in board.facts if f.name == CODE])
    return {
        "board": board.id,
        "class": sheet.board_class,
        "place": places[-1] if places else None,
        "specimen": board.setup.state.value("cpu_specimen"),
        "waits_for": _waits(board),
        "not_before": age.not_before.isoformat() if age.not_before else None,
        "oldest_part": age.oldest.isoformat() if age.oldest else None,
        "replaced_later": list(age.replaced),
        "decade_not_printed": list(age.ambiguous),
        "clock": clock_due(sheet.clock_part, age.not_before, today),
        "firmware": "dumped" if any(f.name == DUMPED for _, f in board.facts) else "not dumped",
        "open_symptoms": [s.finding for s in board.open_symptoms],
    }
