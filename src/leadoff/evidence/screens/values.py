"""What the screen reader finds, as frozen values."""

from __future__ import annotations

import msgspec


class Axis(msgspec.Struct, frozen=True, kw_only=True):
    """One direction of the character grid in picture pixels, pixel edges counted from 0.

    Cell ``n`` covers ``[start + n * pitch, start + (n + 1) * pitch)``; ``dots`` dots make one cell.
    """

    start: float
    pitch: float
    cells: int
    dots: int


class Grid(msgspec.Struct, frozen=True, kw_only=True):
    """Where the cells are. ``way`` says how it was found: projections, or a search of shifts."""

    x: Axis
    y: Axis
    way: str = "projections"

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, upper, right and lower edge in pixels."""
        x, y = self.x, self.y
        return (x.start, y.start, x.start + x.cells * x.pitch, y.start + y.cells * y.pitch)

    @property
    def mode(self) -> str:
        """Such as ``80x25, 9x16 dots``."""
        return f"{self.x.cells}x{self.y.cells}, {self.x.dots}x{self.y.dots} dots"


class Screen(msgspec.Struct, frozen=True, kw_only=True):
    """A text screen as read. ``certainty`` is 0..1 for each cell, row by row as ``lines`` has them.

    ``page`` is the code page whose signs fit best, ``font`` the glyph table used; ``cursor`` lists cells
    (row, column) with a cursor bar in them; ``notes`` says what was done to the picture.
    """

    grid: Grid
    lines: tuple[str, ...]
    certainty: tuple[tuple[float, ...], ...]
    page: str = "cp437"
    font: str = ""
    fit: float = 0.0
    cursor: tuple[tuple[int, int], ...] = ()
    blinking: tuple[tuple[int, int], ...] = ()
    notes: tuple[str, ...] = ()

    def unsure(self, below: float = 0.9) -> list[tuple[int, int, str, float]]:
        """Cells below a certainty: row, column, what was read, how certain."""
        return [
            (r, c, self.lines[r][c], p)
            for r, row in enumerate(self.certainty)
            for c, p in enumerate(row)
            if p < below
        ]
