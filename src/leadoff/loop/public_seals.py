"""Entries as the book keeps them, for somebody who wants to check: what may go out, what is held back."""

from __future__ import annotations

from collections.abc import Iterable

from leadoff.loop.context import context_for
from leadoff.loop.history import BoardView, History
from leadoff.loop.public_private import Private
from leadoff.loop.session import Session
from leadoff.record.phrases import NotePhrase, Verb
from leadoff.record.public import PublicForecast, PublicRun, Sealed
from leadoff.words import parse

FREE_WORDS = "its words hold free text, which may be private"
NAMES = "it names a person, a firm or a place"
REDACTED = "redacted"


def sealed_of(
    session: Session,
    history: History,
    board: BoardView,
    runs: Iterable[PublicRun],
    forecasts: Iterable[PublicForecast],
) -> tuple[tuple[Sealed, ...], tuple[str, ...]]:
    """Every published run and forecast with its exact line, and the lines that put forecasts before answers."""
    forecasts = tuple(forecasts)
    ids = [r.entry for r in runs] + [f.entry for f in forecasts]
    pairs = [(f.entry, a.entry) for f in forecasts for a in f.answers]
    records, chain = session.book.proof(ids, pairs)
    private = Private(session, history)
    said = {r.entry: r.said for r in board.runs}
    context = context_for(board, history, Verb.LOG)
    noted: dict[str, bool] = {}
    out = []
    for i in ids:
        record = records[i]
        line = record.line.decode("ascii")
        if record.body is None or record.salt is None:
            out.append(Sealed(entry=i, line=line, withheld=REDACTED))
            continue
        body = record.body.decode("utf-8")
        why = ""
        if private.holds(body):
            why = NAMES
        elif i in said:
            if said[i] not in noted:
                found = parse(said[i], context).phrases
                noted[said[i]] = any(isinstance(p, NotePhrase) for p in found)
            why = FREE_WORDS if noted[said[i]] else ""
        if why:
            out.append(Sealed(entry=i, line=line, withheld=why))
        else:
            out.append(Sealed(entry=i, line=line, salt=record.salt.hex(), body=body))
    return tuple(out), tuple(line.decode("ascii") for line in chain)
