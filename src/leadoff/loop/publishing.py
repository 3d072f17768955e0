"""The verb ``publish``: what goes out, and the record of what went."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

import msgspec

from leadoff.loop.history import BoardView, read_history
from leadoff.loop.parcels import prices_of, read_parcels
from leadoff.loop.public_board import public_board
from leadoff.loop.public_pictures import Pictures, pictures_of_public
from leadoff.loop.session import Session
from leadoff.loop.shelf_rows import place_of
from leadoff.record.errors import LeadoffError
from leadoff.record.marks import Level, Mark
from leadoff.record.public import PublicBoard
from leadoff.record.results import Result, mark, note


class Published(msgspec.Struct, frozen=True, kw_only=True):
    """What is drawn and written: the public file and the values of its pictures."""

    public: PublicBoard
    pictures: Pictures


PRIVATE = ("prices", "places", "sellers")
"""What stays out unless somebody asks for it."""


def gather(session: Session, name: str, *, workload: str | None = None, ask: Sequence[str] = ()) -> Published:
    """Everything of a board that may go out. ``ask``: names of PRIVATE that the person wants in it this once.

    Raises:
        LeadoffError: a board or a workload that the book does not have.
    """
    history = read_history(session)
    board = history.board(name)
    if workload is not None:
        history.workload(workload)
    public = public_board(
        session, history, board, workload=workload, asked_for=_asked(session, board, ask) if ask else {}
    )
    return Published(public=public, pictures=pictures_of_public(public))


def _asked(session: Session, board: BoardView, ask: Sequence[str]) -> dict[str, str]:
    """Private things in words; what the book does not have is said to be not known."""
    found = read_parcels(session)
    mine = [p for p in found.parcels if p.board == board.id]
    sellers = dict.fromkeys(found.named(p.seller) for p in mine if p.seller)
    words = {
        "prices": "; ".join(prices_of(found, board.id)),
        "places": place_of(board) or "",
        "sellers": ", ".join(sellers),
    }
    return {name: words[name] or "not in the book" for name in PRIVATE if name in ask}


def new_place(to: str) -> Path:
    """The folder to write into, made when it is not there.

    Raises:
        LeadoffError: it cannot be made.
    """
    path = Path(to)
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise LeadoffError.one(
            "no_permission",
            f"{path} cannot be made or written: {error.strerror}",
            where=str(path),
            do="give another folder with --to",
        ) from None
    return path


def published(
    session: Session,
    made: Published,
    files: Sequence[Mapping[str, str]],
    left_out: Sequence[tuple[str, str]] = (),
) -> Result:
    """The result: every file with its digest, and what a reader is told."""
    public = made.public
    data = {
        "board": public.board.id,
        "head": public.head,
        "digest": public.digest,
        "files": list(files),
        "limits": [msgspec.to_builtins(v) for v in public.limits],
        "withheld": sum(bool(s.withheld) for s in public.sealed),
        "not_made": [{"what": what, "why": why} for what, why in left_out],
    }
    return session.result("publish", data, _marks(public, left_out))


def _and(names: Sequence[str]) -> str:
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def _marks(public: PublicBoard, left_out: Sequence[tuple[str, str]]) -> list[Mark]:
    marks = [
        note("on_first_screen", f"{len(public.limits)} limits stand beside the score, as large as it"),
        note("private_out", f"{_and([p for p in PRIVATE if p not in public.asked_for])} are not in it")
        if len(public.asked_for) < len(PRIVATE)
        else note("private_in", "nothing was held back"),
    ]
    if public.asked_for:
        text = f"asked for, and in it for everybody to read: {_and(list(public.asked_for))}"
        marks.append(mark(Level.AMBER, "private_asked", text))
    if public.shown is not None and not public.shown.clean:
        text = f"the score shown stands in no ranking: {public.shown.grade_said}"
        marks.append(mark(Level.RED, "shown_void", text))
    marks += [mark(Level.AMBER, "not_made", f"{what} was not made: {why}") for what, why in left_out]
    return marks
