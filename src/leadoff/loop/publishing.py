"""The verb ``publish``: what goes out, and the record of what went."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

import msgspec

from leadoff.loop.history import read_history
from leadoff.loop.public_board import public_board
from leadoff.loop.public_pictures import Pictures, pictures_of_public
from leadoff.loop.session import Session
from leadoff.record.errors import LeadoffError
from leadoff.record.marks import Level, Mark
from leadoff.record.public import PublicBoard
from leadoff.record.results import Result, mark, note


class Published(msgspec.Struct, frozen=True, kw_only=True):
    """What is drawn and written: the public file and the values of its pictures."""

    public: PublicBoard
    pictures: Pictures


def gather(session: Session, name: str, *, workload: str | None = None) -> Published:
    """Everything of a board that may go out.

    Raises:
        LeadoffError: a board or a workload that the book does not have.
    """
    history = read_history(session)
    board = history.board(name)
    if workload is not None and workload not in history.workloads:
        there = ", ".join(sorted(history.workloads)) or "none yet"
        raise LeadoffError.one(
            "workload_unknown",
            f'there is no workload "{workload}" in this book; workloads: {there}',
            where=workload,
            do="name one of these",
        )
    public = public_board(session, history, board, workload=workload)
    return Published(public=public, pictures=pictures_of_public(public))


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


def _marks(public: PublicBoard, left_out: Sequence[tuple[str, str]]) -> list[Mark]:
    marks = [
        note("on_first_screen", f"{len(public.limits)} limits stand beside the score, as large as it"),
        note("private_out", "prices, places and sellers are not in it"),
    ]
    if public.shown is not None and not public.shown.clean:
        text = f"the score shown stands in no ranking: {public.shown.grade_said}"
        marks.append(mark(Level.RED, "shown_void", text))
    marks += [mark(Level.AMBER, "not_made", f"{what} was not made: {why}") for what, why in left_out]
    return marks
