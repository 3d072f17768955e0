"""The verb ``shelf``: where boards and parts are, what they wait for, what is due; and the words that keep it so."""

from __future__ import annotations

import re
from datetime import date
from typing import Any

import msgspec

from leadoff.loop.history import read_history
from leadoff.loop.parcels import keep_parcel, on_the_way, parties, read_parcels
from leadoff.loop.session import Session
from leadoff.loop.shelf_rows import (
    CODE,
    DUMPED,
    GOT,
    PLACE,
    WAITS,
    board_row,
    norm,
    specimen_rows,
    waits_of,
)
from leadoff.record.entries import Body, FactBody
from leadoff.record.errors import LeadoffError
from leadoff.record.marks import Level, Mark
from leadoff.record.quantity import unknown
from leadoff.record.results import Result, mark, note
from leadoff.worth.datecodes import DateCode, read_code
from leadoff.worth.due import HOW_TO_REFORM, unlocks


class Said(msgspec.Struct, frozen=True, kw_only=True):
    """What a person said of one board, one specimen or one parcel; empty where nothing was said."""

    place: str = ""
    waits: tuple[str, ...] = ()
    got: tuple[str, ...] = ()
    codes: str = ""
    dumped: bool = False
    specimen: str = ""
    parcel: str = ""

    @property
    def of_board(self) -> bool:
        return bool(
            self.waits or self.got or self.dumped or ((self.place or self.codes) and not self.specimen)
        )

    @property
    def anything(self) -> bool:
        return bool(self.of_board or self.specimen or self.parcel)


def shelf(session: Session, name: str | None = None, said: Said | None = None) -> Result:
    """Keep what was said, then list boards, specimens, parcels and orders.

    Raises:
        LeadoffError: words without a board, a date code that is none, a part nobody waits for, no parcel's words.
    """
    said = said or Said()
    kept = _keep(session, name, said) if said.anything else None
    history, today = read_history(session), date.fromisoformat(session.at[:10])
    chosen = [history.board(name)] if name is not None else list(history.boards.values())
    rows = [board_row(b, today) for b in chosen]
    waiting = {b.id: w for b in history.boards.values() if (w := waits_of(b))}
    found = read_parcels(session)
    data: dict[str, Any] = {
        "boards": rows,
        "specimens": specimen_rows(session, history, today) if name is None else [],
        "parcels": on_the_way(found, today, chosen[0].id if name is not None else ""),
        "parties": parties(found, today) if name is None else [],
        "orders": [
            {"part": u.part, "unlocks": list(u.unlocks), "helps": list(u.helps)} for u in unlocks(waiting)
        ],
        "kept": kept,
    }
    return session.result("shelf", data, _marks(data))


def _marks(data: dict[str, Any]) -> list[Mark]:
    marks = []
    if any(r["firmware"] == "not dumped" for r in data["boards"]):
        marks.append(
            note("dump_first", "a firmware that nobody has dumped is gone with its chip: dump it first")
        )
    aged = [r["capacitors"] for r in data["boards"]] + [s["due"] for s in data["specimens"]]
    if any("reform" in text for text in aged):
        marks.append(note("reform", HOW_TO_REFORM))
    late = [p["parcel"] for p in data["parcels"] if p["late"]]
    if late:
        marks.append(mark(Level.AMBER, "late", f"later than promised: {', '.join(late)}"))
    return marks


def _keep(session: Session, name: str | None, said: Said) -> dict[str, Any]:
    history = read_history(session)
    if said.of_board and name is None:
        raise LeadoffError.one(
            "which_board", "it was not said which board this is about", do="`leadoff shelf BOARD ...`"
        )
    board = history.board(name) if name is not None else None
    bodies: list[Body] = []
    if board is not None and said.of_board:
        subject, waits = f"board:{board.id}", waits_of(board)
        if not said.specimen:
            bodies += _own(subject, said)
        bodies += [_fact(subject, WAITS, part) for part in said.waits]
        for part in said.got:
            if norm(part) not in waits:
                there = ", ".join(waits) or "nothing"
                raise LeadoffError.one(
                    "not_waited_for", f"{board.id} does not wait for {part}; it waits for {there}", where=part
                )
            bodies.append(_fact(subject, GOT, part))
        bodies += [_fact(subject, DUMPED, "dumped")] if said.dumped else []
    if said.specimen:
        own = _own(f"specimen:{' '.join(said.specimen.split())[:60]}", said)
        if not own:
            text = f"nothing was said of {said.specimen}"
            raise LeadoffError.one(
                "nothing_said", text, where=said.specimen, do="add --in PLACE or --codes CODE"
            )
        bodies += own
    number, entries = None, []
    if said.parcel:
        number, deal = keep_parcel(session, board.id if board is not None else "", said.parcel)
        entries.append(deal)
    entries += [e.id for e in session.write(*bodies)] if bodies else []
    return {"entries": entries, "parcel": number}


def _own(subject: str, said: Said) -> list[Body]:
    out: list[Body] = [_fact(subject, PLACE, said.place)] if said.place else []
    return [*out, *(_fact(subject, CODE, c.text, c.part) for c in read_codes(said.codes))]


def read_codes(text: str) -> list[DateCode]:
    """``u3 9347, u7 9412``: part and code, or a code alone."""
    out = []
    for piece in (p.strip() for p in re.split(r"[,;]", text)):
        if piece:
            *part, code = piece.split()
            out.append(read_code(code, " ".join(part)))
    return out


def _fact(subject: str, name: str, said: str, where: str = "") -> FactBody:
    words = " ".join(said.split())[:200]
    return FactBody(subject=subject, name=name, value=unknown("", "said in words"), where=where, said=words)
