"""Reads sentences over the invented book."""

from __future__ import annotations

from leadoff.claims.spoken.names import Names, names_of
from leadoff.claims.spoken.plain import plain
from leadoff.claims.spoken.reading import Said, read
from leadoff.claims.values import Ledger


class Ear:
    """Reads a sentence over the invented book."""

    def __init__(self, ledger: Ledger) -> None:
        self.ledger, self.names = ledger, names_of(ledger)

    def said(self, text: str) -> Said:
        names: Names = self.names
        return read(plain(text), self.ledger, names)
