"""Rows of the shelf: one board, one loose specimen, from what the book has of them."""

from __future__ import annotations

from datetime import date
from typing import Any

import msgspec

from leadoff.loop.history import BoardView, History
from leadoff.loop.seen import EVIDENCE
from leadoff.loop.session import Session
from leadoff.record.entries import FactBody
from leadoff.record.runs import Outcome
from leadoff.worth.datecodes import DateCode, age_of, read_code
from leadoff.worth.due import CLOCK_PARTS, capacitors_due, clock_due, kind_of, stored_due

PLACE, WAITS, GOT, CODE, DUMPED = "shelf_place", "shelf_waits", "shelf_got", "date_code", "firmware_dumped"


def norm(part: str) -> str:
    """A part's name as it is compared."""
    return " ".join(part.lower().split())


def waits_of(board: BoardView) -> list[str]:
    """Parts a board waits for."""
    found: dict[str, None] = {}
    for _, fact in board.facts:
        if fact.name == WAITS:
            found[norm(fact.said)] = None
        elif fact.name == GOT:
            found.pop(norm(fact.said), None)
    return list(found)


def place_of(board: BoardView) -> str | None:
    """Where a board was put last."""
    places = [f.said for _, f in board.facts if f.name == PLACE]
    return places[-1] if places else None


def board_row(board: BoardView, today: date) -> dict[str, Any]:
    """A board: place, what it waits for, its age, what is due, what was not saved."""
    sheet = board.fold.sheet
    codes = [read_code(f.said, f.where) for _, f in board.facts if f.name == CODE]
    clock = [c for c in codes if set(c.part.lower().split()) & set(CLOCK_PARTS)]
    age = age_of([c for c in codes if c not in clock])
    since = clock[-1].earliest if clock else age.not_before
    return {
        "board": board.id,
        "class": sheet.board_class,
        "place": place_of(board),
        "specimen": board.setup.state.value("cpu_specimen"),
        "waits_for": waits_of(board),
        "not_before": age.not_before.isoformat() if age.not_before else None,
        "hardly_after": age.hardly_after.isoformat() if age.hardly_after else None,
        "oldest_part": age.oldest.isoformat() if age.oldest else None,
        "replaced_later": list(age.replaced),
        "decade_not_printed": list(age.ambiguous),
        "clock": clock_due(sheet.clock_part, since, today),
        "capacitors": capacitors_due(age.not_before, last_power(board), today),
        "firmware": "dumped" if dumped(board) else "not dumped",
        "open_symptoms": [s.finding for s in board.open_symptoms],
    }


def last_power(board: BoardView) -> date | None:
    """The day of the last run in which the board had voltage."""
    days = [r.when[:10] for r in board.runs if r.run.outcome is not Outcome.NO_POWER]
    return date.fromisoformat(max(days)) if days else None


def dumped(board: BoardView) -> bool:
    """Whether somebody said so, or a whole image of its firmware was read."""
    if any(f.name == DUMPED for _, f in board.facts):
        return True
    images = ({e.key for e in f.facts} for _, f in board.facts if f.name == EVIDENCE)
    return any("rom.reset" in keys and not keys & {"rom.half", "rom.dump_fault"} for keys in images)


def specimen_rows(session: Session, history: History, today: date) -> list[dict[str, Any]]:
    """Loose parts and processors: where each is. One that is fitted is where its board is."""
    told: dict[str, dict[str, str]] = {}
    for entry in session.book.live({"fact"}):
        if entry.body is None or b'"specimen:' not in entry.body:
            continue
        body = msgspec.json.decode(entry.body, type=FactBody)
        kind, _, name = body.subject.partition(":")
        if kind == "specimen" and body.name in (PLACE, CODE):
            told.setdefault(name, {})[body.name] = body.said
    fitted = {b.setup.state.value("cpu_specimen"): b.id for b in history.boards.values()}
    rows = []
    for name in sorted({*told, *(n for n in fitted if n)}):
        kept = told.get(name, {})
        code: DateCode | None = read_code(kept[CODE], name) if CODE in kept else None
        kind = kind_of(name)
        rows.append(
            {
                "specimen": name,
                "place": f"in {fitted[name]}" if name in fitted else kept.get(PLACE),
                "kind": kind,
                "made_on_or_after": code.earliest.isoformat() if code else None,
                "due": "" if name in fitted else stored_due(kind, code.earliest if code else None, today),
            }
        )
    return rows
