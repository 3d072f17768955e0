"""Signs that a template alone does not settle: cells with a cursor bar, and halves that are each other's negative."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from leadoff.evidence.rows import limit
from leadoff.evidence.screens.glyphs import Templates
from leadoff.evidence.screens.values import Grid

F32 = NDArray[np.float32]

MIRRORED = {"▀": "▄", "▄": "▀", "▌": "▐", "▐": "▌", "•": "◘", "◘": "•", "○": "◙", "◙": "○"}
MOST_DOUBTFUL = 60
"""More doubtful cells than that are a bad picture, not cursors."""
NEAR = 8
"""A cell with a sign in it shows its ground; a plain one this far off may be solid."""
CURSOR_ROWS = 3
"""A cursor is a bar in the lowest rows of its cell (common practice, no source); set-up programs move it about."""

LEAST_SIGNS = 3
UNSURE = 0.5


def cursor_cells(
    cells: F32,
    inked: NDArray[np.bool_],
    signs: NDArray[np.str_],
    certainty: NDArray[np.float64],
    fit: F32,
    table: Templates,
    grid: Grid,
) -> tuple[tuple[int, int], ...]:
    """Cells that fit badly as they are and well without their lowest rows; their signs are set in place."""
    usual = float(np.median(fit[inked])) if inked.any() else 1.0
    doubtful = np.flatnonzero(inked & ((certainty < 0.9) | (fit < usual - 0.04)))
    bar = np.flatnonzero(inked & np.isin(signs, ["_", "▬", "▄"]) & (certainty < 0.999))
    doubtful = np.unique(np.concatenate([doubtful, bar]))
    if not len(doubtful) or len(doubtful) > MOST_DOUBTFUL:
        return ()
    wide, high = grid.x.dots, grid.y.dots
    rows = max(1, round(CURSOR_ROWS * high / 16))
    upper = (high - rows) * wide
    doubtful = doubtful[_barred(cells[doubtful], upper, rows, wide)]
    if not len(doubtful):
        return ()
    found: list[tuple[int, int]] = []
    vectors = table.levels[:, :upper]
    vectors = vectors - vectors.mean(axis=1, keepdims=True)
    norms = np.linalg.norm(vectors, axis=1, keepdims=True)
    vectors = np.where(norms > 0.5, vectors / np.maximum(norms, 1e-6), 0)
    for n in doubtful.tolist():
        top = cells[n, :upper]
        flat = top - top.mean()
        size = float(np.linalg.norm(flat))
        place = (n // grid.x.cells, n % grid.x.cells)
        if size < 0.25 * float(np.linalg.norm(cells[n] - cells[n].mean())):
            if signs[n] == "_" and certainty[n] >= 0.9:
                continue
            signs[n], certainty[n] = " ", 0.8
            found.append(place)
            continue
        score = np.abs(vectors @ (flat / max(size, 1e-6)))
        best = int(score.argmax())
        if score[best] > max(0.9, fit[n] + 0.02):
            signs[n], certainty[n] = table.chars[best], 0.85
            found.append(place)
    return tuple(found)


def _barred(cells: F32, upper: int, rows: int, wide: int) -> NDArray[np.bool_]:
    """Which cells have a level row far from their ground among the lowest ones."""
    deviation = cells.std(axis=1)[:, None]
    low = cells[:, upper:].reshape(len(cells), rows, wide)[:, :, :8]
    level = low.mean(axis=2) - np.median(cells[:, :upper], axis=1)[:, None]
    even = low.std(axis=2) < 0.35 * deviation + 1
    return np.asarray((even & (np.abs(level) > 0.8 * deviation)).any(axis=1))


def settle_lines(signs: NDArray[np.str_], certainty: NDArray[np.float64], shape: tuple[int, int]) -> None:
    """A line that joins nothing on either side, read where a dash is nearly as good, is a dash."""
    table = signs.reshape(shape)
    chance = certainty.reshape(shape)
    for row, col in np.argwhere((table == "─") & (chance < 0.999)).tolist():
        around = [str(table[row, c]) for c in (col - 1, col + 1) if 0 <= c < shape[1]]
        if not any("─" <= sign <= "╬" for sign in around):
            table[row, col], chance[row, col] = "-", min(float(chance[row, col]), 0.9)


def settle_mirrored(
    signs: NDArray[np.str_],
    cells: F32,
    inked: NDArray[np.bool_],
    table: Templates,
    shape: tuple[int, int],
) -> None:
    """Of two signs that are each other's negative, take the one whose ground is the ground of its neighbours."""
    doubtful = np.flatnonzero(inked & np.isin(signs, list(MIRRORED)))
    if not len(doubtful):
        return
    index = {str(c): n for n, c in enumerate(table.chars)}
    ground = np.median(cells, axis=1).reshape(shape)
    mirrored = np.isin(signs, list(MIRRORED)).reshape(shape)
    letters = inked.reshape(shape)
    for n in doubtful.tolist():
        sign = str(signs[n])
        other = MIRRORED[sign]
        row, col = divmod(n, shape[1])
        others = [c for c in range(shape[1]) if c != col and not mirrored[row, c]]
        others.sort(key=lambda c: (not (letters[row, c] and abs(c - col) <= NEAR), abs(c - col)))
        around = [float(ground[row, c]) for c in others[:1]]
        if not around or sign not in index or other not in index:
            continue
        lit = table.levels[index[sign]] > 0.5
        on, off = float(cells[n][lit].mean()), float(cells[n][~lit].mean())
        signs[n] = sign if abs(off - around[0]) <= abs(on - around[0]) else other


def torn_rows(
    fit: F32,
    inked: NDArray[np.bool_],
    certainty: NDArray[np.float64],
    shape: tuple[int, int],
    cursor: tuple[tuple[int, int], ...],
) -> tuple[int, ...]:
    """Rows that a half-done refresh cuts: nothing in them is certain then, nor is a sign that fits nothing well.

    A template that is merely the least bad one would otherwise pass for certain. Sets ``certainty`` in place.
    """
    if not inked.any():
        return ()
    usual = float(np.median(fit[inked]))
    known = np.zeros(shape, bool)
    for place in cursor:
        known[place] = True
    odd = inked & (fit < usual - limit("odd_cell")) & ~known.ravel()
    certainty[odd] = np.minimum(certainty[odd], UNSURE)
    fits, ink, chance = fit.reshape(shape), inked.reshape(shape), certainty.reshape(shape)
    torn = []
    for r in range(shape[0]):
        row = fits[r][ink[r]]
        if len(row) >= LEAST_SIGNS and float(np.median(row)) < usual - limit("torn_row"):
            torn.append(r)
            chance[r] = np.minimum(chance[r], UNSURE)
    return tuple(torn)
