"""Entries that a file proposes: lines in the words of the bench, each once, however often the file is read."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from leadoff.evidence.facts import Proposal
from leadoff.loop.history import BoardView, read_history
from leadoff.loop.logging import line_bodies
from leadoff.loop.session import Session
from leadoff.record.entries import KINDS, Body

CARRIERS = ("run", "did", "finding", "fact", "mark")


def origins(session: Session) -> dict[str, tuple[str, str]]:
    """What of files is in the book: key of a proposal to its id and its entry."""
    out: dict[str, tuple[str, str]] = {}
    for entry in session.book.live(set(CARRIERS)):
        if entry.body is None or b'"origin":"' not in entry.body:
            continue
        body: Body = msgspec.json.decode(entry.body, type=KINDS[entry.kind])
        origin = str(getattr(body, "origin", ""))
        key, _, content = origin.partition("#")
        if key and content:
            out[key] = (content, entry.id)
    return out


def fresh(proposals: Sequence[Proposal], known: dict[str, tuple[str, str]]) -> tuple[Proposal, ...]:
    """Those that the book does not hold in this form."""
    return tuple(p for p in proposals if known.get(p.key, ("", ""))[0] != p.id)


def add_lines(session: Session, board: BoardView, proposals: Sequence[Proposal]) -> list[str]:
    """Keep proposed lines as ``log`` and ``move`` would, each at its own time; corrected where they were edited.

    Raises:
        LeadoffError: a line that the bench would not take; lines before it stay.
    """
    known = origins(session)
    done: list[str] = []
    for p in proposals:
        history = read_history(session)
        said = line_bodies(
            session, history, history.board(p.board or board.id), p.line, p.workload, p.unit or ""
        )
        bodies = [
            msgspec.structs.replace(b, origin=f"{p.key}#{p.id}") if hasattr(b, "origin") else b for b in said
        ]
        old = known.get(p.key)
        if old is not None and len(bodies) == 1:
            to = msgspec.json.encode(bodies[0])
            session.book.amend(
                old[1], "correct", f"edited at {p.place}", to=to, to_at=p.at or None, at=session.at
            )
            done.append(old[1])
        else:
            done += [e.id for e in session.write(*bodies, at=p.at or None)]
    return done
