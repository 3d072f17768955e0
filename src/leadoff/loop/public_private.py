"""Names and places that a book knows, looked for in every free word that would go out."""

from __future__ import annotations

import re

import msgspec

from leadoff.loop.history import History
from leadoff.loop.session import Session
from leadoff.loop.shelf_rows import PLACE
from leadoff.record.entries import PartyBody

HELD_BACK = "words held back"
LEAST = 3
"""Shorter names are common words; they are left to the person."""


class Private:
    """People, firms and places of the book, as whole words without regard to capitals."""

    def __init__(self, session: Session, history: History) -> None:
        names = [
            msgspec.json.decode(e.body, type=PartyBody).name
            for e in session.book.live({"party"})
            if e.body is not None
        ]
        places = [f.said for b in history.boards.values() for _, f in b.facts if f.name == PLACE]
        words = sorted({w.strip() for w in (*names, *places) if len(w.strip()) >= LEAST})
        form = "|".join(re.escape(w) for w in words)
        self._found = re.compile(rf"(?<!\w)(?:{form})(?!\w)", re.IGNORECASE) if words else None

    def holds(self, text: str) -> bool:
        """Whether a text names one of them."""
        return self._found is not None and self._found.search(text) is not None

    def clean(self, text: str) -> str:
        """The text, or that it was held back."""
        return HELD_BACK if self.holds(text) else text
