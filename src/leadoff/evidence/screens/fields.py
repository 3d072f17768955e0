"""Captures in which every second line is of another moment: each half is read alone."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from leadoff.evidence.screens.glyphs import Templates
from leadoff.evidence.screens.match import INK_FLOOR, compare, unit

F32 = NDArray[np.float32]

WORTH = 0.06
"""How much better both halves must fit alone than together before a picture is taken for woven (judgement)."""
LEAST_ROWS = 14
"""Glyphs of eight lines leave four for each half: too few to tell letters."""


class Half(NamedTuple):
    """One half of the lines as read: signs and correlations of all cells, and where there is ink."""

    signs: NDArray[np.str_]
    fit: F32
    second: F32
    inked: NDArray[np.bool_]
    mean: float


def halves(cells: F32, table: Templates, high: int, wide: int) -> tuple[Half, Half] | None:
    """Both halves of the lines read alone; ``None`` where glyphs are too low for it."""
    if high < LEAST_ROWS:
        return None
    first, second = (_half(cells, table, high, wide, n) for n in (0, 1))
    return first, second


def woven(together: float, pair: tuple[Half, Half]) -> bool:
    """Whether the halves are of two moments: each fits clearly better alone, and they say different things."""
    both = pair[0].inked | pair[1].inked
    differ = float((pair[0].signs[both] != pair[1].signs[both]).mean()) if both.any() else 0.0
    return min(p.mean for p in pair) > together + WORTH and differ > 0.1


def _half(cells: F32, table: Templates, high: int, wide: int, which: int) -> Half:
    lines = cells.reshape(-1, high, wide)[:, which::2].reshape(len(cells), -1)
    levels = table.levels.reshape(-1, high, wide)[:, which::2].reshape(len(table.levels), -1)
    vectors = levels - levels.mean(axis=1, keepdims=True)
    norms = np.linalg.norm(vectors, axis=1)
    kept = norms > 0.5
    part = Templates(
        table.chars[kept],
        np.ascontiguousarray(vectors[kept] / norms[kept, None]),
        levels[kept],
        norms[kept],
    )
    flat, deviation = unit(lines)
    strong = float(np.percentile(deviation, 97))
    inked = deviation > max(INK_FLOOR, 0.25 * strong)
    found = compare(flat[inked], part)
    signs = np.full(len(cells), " ", dtype="<U1")
    fit, second = np.ones(len(cells), np.float32), np.zeros(len(cells), np.float32)
    signs[inked] = part.chars[found.best]
    fit[inked], second[inked] = found.fit, found.second
    return Half(signs, fit, second, inked, float(found.fit.mean()) if len(found.fit) else 0.0)
