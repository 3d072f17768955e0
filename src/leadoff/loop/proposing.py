"""Entries that a file proposes: lines in the words of the bench, each once, however often the file is read."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import NamedTuple

import msgspec

from leadoff.evidence.facts import Proposal
from leadoff.loop.batches import in_batch
from leadoff.loop.history import BoardView, read_history
from leadoff.loop.importing import Importer
from leadoff.loop.logging import line_bodies
from leadoff.loop.session import Session
from leadoff.record.entries import KINDS, Body, RunBody

CARRIERS = ("run", "did", "finding", "fact", "mark")
SHEET = "sheet"


class Held(NamedTuple):
    """What of a file is in the book: key and content of the proposal it was, and its entry."""

    key: str
    content: str
    entry: str


class Fresh(NamedTuple):
    """A proposal that the book does not hold in this form; ``corrects`` names the entry it edits."""

    proposal: Proposal
    corrects: str | None


class Origins:
    """Everything of files that the book holds; each is matched with one proposal at most."""

    def __init__(self, session: Session) -> None:
        self.held: list[Held] = []
        for entry in session.book.live(set(CARRIERS)):
            if entry.body is None or b'"origin":"' not in entry.body:
                continue
            body: Body = msgspec.json.decode(entry.body, type=KINDS[entry.kind])
            key, _, content = str(getattr(body, "origin", "")).partition("#")
            if key and content:
                self.held.append(Held(key, content, entry.id))

    def fresh(self, proposals: Sequence[Proposal]) -> tuple[Fresh, ...]:
        """Those that the book does not hold, by their content and never by their row number.

        The same row in a file of another name is the same row. An edited row is matched with the one entry of its
        file that nothing else matches and that agrees in all but one of its parts (result, settings, date); only
        where at least half of the file is in the book as it stands, since two files may share a name.
        """
        pool: dict[tuple[str, str], list[Held]] = defaultdict(list)
        for held in self.held:
            pool[_row(held.key), held.content].append(held)
        rest: list[Proposal] = []
        for p in proposals:
            same = pool.get((_row(p.key), p.id))
            if same:
                self.held.remove(same.pop())
            else:
                rest.append(p)
        known = len(proposals) - len(rest)
        return tuple(Fresh(p, self._edited(p, known * 2 >= len(proposals))) for p in rest)

    def _edited(self, proposal: Proposal, same_file: bool) -> str | None:
        parts = proposal.key.split(":")
        if parts[0] != SHEET:
            found = [h for h in self.held if h.key == proposal.key]
        elif not same_file:
            return None
        else:
            mine = [(h, h.key.split(":")) for h in self.held if h.key.startswith(f"{SHEET}:{parts[1]}:")]
            found = next(
                (one for n in range(2, len(parts)) if (one := [h for h, key in mine if key[n] == parts[n]])),
                [],
            )
        if len(found) != 1 and parts[0] == SHEET:
            return None
        if not found:
            return None
        self.held.remove(found[0])
        return found[0].entry


def _row(key: str) -> str:
    """A key without the file it came from."""
    parts = key.split(":")
    return ":".join((SHEET, *parts[2:])) if parts[0] == SHEET else key


def add_lines(session: Session, board: BoardView, fresh: Sequence[Fresh], batch: str) -> list[str]:
    """Keep proposed lines as ``log`` and ``move`` would, each at its own time; corrected where they were edited.

    Rows of old tables go in together, all or none of the new ones. ``batch`` names the go for ``undo``. Gives the
    entries written, a correction's own and not the one corrected.

    Raises:
        LeadoffError: a line that the bench would not take; lines before it stay.
    """
    done = _add_rows(session, board, [f for f in fresh if f.proposal.apart], batch)
    for p, old in (f for f in fresh if not f.proposal.apart):
        history = read_history(session)
        said = line_bodies(
            session, history, history.board(p.board or board.id), p.line, p.workload, p.unit or ""
        )
        bodies = [
            in_batch(msgspec.structs.replace(b, origin=f"{p.key}#{p.id}"), batch)
            if hasattr(b, "origin")
            else b
            for b in said
        ]
        if old is not None and len(bodies) == 1:
            done.append(_correct(session, old, bodies[0], p))
        else:
            done += [e.id for e in session.write(*bodies, at=p.at or None)]
    return done


def _add_rows(session: Session, board: BoardView, rows: Sequence[Fresh], batch: str) -> list[str]:
    if not rows:
        return []
    importer = Importer(session, board)
    pairs: list[tuple[Body, str]] = []
    edits: list[tuple[str, RunBody, Proposal]] = []
    for p, old in rows:
        more, run = importer.bodies(p)
        run = in_batch(msgspec.structs.replace(run, origin=f"{p.key}#{p.id}"), batch)
        pairs += [(b, p.at) for b in more]
        if old is None:
            pairs.append((run, p.at))
        else:
            edits.append((old, run, p))
    done = [e.id for e in session.write_dated(pairs)] if pairs else []
    return done + [_correct(session, old, run, p) for old, run, p in edits]


def _correct(session: Session, old: str, body: Body, p: Proposal) -> str:
    """Put the edited form in the place of the old one; a run keeps its number. Gives the correction's entry."""
    if isinstance(body, RunBody):
        before = next((e.body for e in session.book.live({"run"}) if e.id == old), None)
        if before is not None:
            number = msgspec.json.decode(before, type=RunBody).run.number
            body = msgspec.structs.replace(body, run=msgspec.structs.replace(body.run, number=number))
    made = session.book.amend(
        old,
        "correct",
        f"edited at {p.place}",
        to=msgspec.json.encode(body),
        to_at=p.at or None,
        at=session.at,
    )
    return made.entries[0].id
