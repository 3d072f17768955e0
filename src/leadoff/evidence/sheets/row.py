"""A row of a table as it stands there, and why one may not be taken."""

from __future__ import annotations

import msgspec

from leadoff.evidence.sheets.heads import Head, Role
from leadoff.evidence.sheets.table import Cell


class Unclear(Exception):  # noqa: N818 it is no fault: the row is set aside with this reason
    """Why a row is not taken."""


class Waiting(Exception):  # noqa: N818
    """The row waits for answers to these questions."""

    def __init__(self, ids: set[str]) -> None:
        super().__init__(", ".join(sorted(ids)))
        self.ids = ids


class Skipped(Exception):  # noqa: N818
    """The row has no result; ``answered``: the person said to leave it out."""

    def __init__(self, *, answered: bool = False) -> None:
        super().__init__()
        self.answered = answered


class Row(msgspec.Struct, frozen=True, kw_only=True):
    """A data row: its cells under their headings, its place, and what stands around it."""

    cells: tuple[Cell, ...]
    heads: tuple[Head, ...]
    places: tuple[str, ...]
    place: str
    above: str = ""
    board: str = ""

    def of(self, *roles: Role) -> list[tuple[Head, Cell, str]]:
        """Cells with something in them under headings of these roles."""
        return [
            (h, c, p)
            for h, c, p in zip(self.heads, self.cells, self.places, strict=False)
            if h.role in roles and c.text
        ]
