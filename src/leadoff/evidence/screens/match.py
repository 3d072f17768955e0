"""Cells compared with templates: which sign, how well, and how much worse the next one is."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from leadoff.evidence.screens.glyphs import BLURS, Templates, glyph_sets, templates

F32 = NDArray[np.float32]

INK_FLOOR = 4.0
"""Standard deviation of brightness (of 255) under which a cell is blank whatever it resembles (judgement)."""
SAMPLE = 160


class Matched(NamedTuple):
    """For each cell compared: the template, its correlation, the runner-up's, and whether it is lit on dark."""

    best: NDArray[np.intp]
    fit: F32
    second: F32
    positive: NDArray[np.bool_]


class Choice(NamedTuple):
    """A set of glyphs and a softness, with the mean correlation they reach on a sample."""

    which: int
    blur: float
    fit: float


def unit(cells: F32) -> tuple[F32, F32]:
    """Cells as unit vectors of zero mean, and their standard deviation."""
    flat = cells - cells.mean(axis=-1, keepdims=True)
    norm = np.linalg.norm(flat, axis=-1)
    flat /= np.maximum(norm, 1e-3)[..., None]
    return flat, norm / np.sqrt(cells.shape[-1])


def compare(vectors: F32, table: Templates) -> Matched:
    """Best and second best template of each unit vector; bright on dark and dark on bright alike."""
    product = vectors @ table.vectors.T
    score = np.abs(product)
    rows = np.arange(len(score))
    best = score.argmax(axis=1)
    fit = score[rows, best]
    positive = product[rows, best] > 0
    score[rows, best] = -1.0
    second = score.max(axis=1) if score.shape[1] > 1 else np.zeros_like(fit)
    return Matched(best, fit, second, positive)


def sample(vectors: F32, deviation: F32, most: int = SAMPLE) -> F32:
    """Some of the cells with ink in them, spread over the picture."""
    floor = max(INK_FLOOR, 0.25 * float(np.percentile(deviation, 98))) if deviation.size else INK_FLOOR
    inked = np.flatnonzero(deviation > floor)
    if len(inked) > most:
        inked = inked[np.linspace(0, len(inked) - 1, most).astype(int)]
    return vectors[inked]


def choose(
    some: F32, height: int, width: int, blurs: tuple[float, ...] = BLURS, sets: tuple[int, ...] = (0, 1)
) -> Choice:
    """The glyphs and softness that fit a sample of inked cells best."""
    best = Choice(0, blurs[0], 0.0)
    if not len(some):
        return best
    for which in sets:
        for blur in blurs:
            fit = float(compare(some, templates(height, which, width, blur)).fit.mean())
            if fit > best.fit + 1e-4:
                best = Choice(which, blur, fit)
    return best


def choose_page(some: F32, first: Choice, height: int, width: int) -> Choice:
    """Another code page of the same drawing when it explains clearly more cells than code page 437 does."""
    font = glyph_sets(height)[first.which].font
    best, base = first, compare(some, templates(height, first.which, width, first.blur)).fit if len(some) else None
    if base is None:
        return first
    for which, glyphs in enumerate(glyph_sets(height)):
        if glyphs.font != font or which == first.which:
            continue
        fit = compare(some, templates(height, which, width, first.blur)).fit
        if int((fit > base + 0.05).sum()) - int((base > fit + 0.05).sum()) >= 2 and fit.mean() > best.fit:
            best = Choice(which, first.blur, float(fit.mean()))
    return best
