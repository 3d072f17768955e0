"""The verb ``claim``: a text checked against the book."""

from __future__ import annotations

import msgspec

from leadoff.claims.doubts import doubts
from leadoff.claims.spoken.check import Checker
from leadoff.loop.history import read_history
from leadoff.loop.ledger import ledger_of
from leadoff.loop.session import Session
from leadoff.loop.slips import doubt_marks
from leadoff.record.errors import LeadoffError
from leadoff.record.results import Result, note

LONGEST = 200_000
"""Characters of one text; a script of an hour has about a third of that."""


def claim(session: Session, text: str) -> Result:
    """Every sentence with its verdict, what it rests on, a wording that would be true, and what is open.

    Raises:
        LeadoffError: nothing to check, or a text that is too long.
    """
    if not text.strip():
        raise LeadoffError.one(
            "nothing_said", "there is no sentence to check", do='`leadoff claim "The Ferry is stable at 40."`'
        )
    if len(text) > LONGEST:
        raise LeadoffError.one(
            "text_too_long",
            f"the text has {len(text)} characters; {LONGEST} are checked in one go",
            do="check it in parts",
        )
    history = read_history(session)
    ledger = ledger_of(history, session.book.is_before)
    checked = Checker(ledger).text(text)
    rests_on = {r for c in checked for r in c.refs}
    slips = doubts(ledger, only=sorted(rests_on)) if rests_on else ()
    named = dict.fromkeys(b for c in checked for b in c.boards)
    entries = {r.run.number: r.entry for b in history.boards.values() for r in b.runs}
    data = {
        "sentences": [
            {
                "start": c.start,
                "text": c.text,
                "verdict": c.verdict.value,
                "why": c.why,
                "refs": list(c.refs),
                "entries": [entries[r] for r in c.refs if r in entries],
                "boards": list(c.boards),
                "would_be_true": c.would_be_true or None,
            }
            for c in checked
        ],
        "doubts": [msgspec.to_builtins(d) for d in slips],
        "open_symptoms": [
            {"board": b.id, "finding": s.finding, "detail": s.detail, "entry": s.entry}
            for b in history.boards.values()
            if b.id in named
            for s in b.open_symptoms
        ],
    }
    marks = (
        [] if history.boards else [note("empty_book", "the book knows no board yet: nothing can be placed")]
    )
    return session.result("claim", data, [*marks, *doubt_marks(slips)])
