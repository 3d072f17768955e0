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
    norm = np.sqrt(np.einsum("...i,...i->...", flat, flat))
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
    """The softness, then the glyphs, that fit a sample of inked cells best."""
    best = Choice(sets[0], blurs[0], 0.0)
    if not len(some):
        return best
    for blur in blurs:
        fit = float(compare(some, templates(height, sets[0], width, blur)).fit.mean())
        if fit > best.fit + 1e-4:
            best = Choice(sets[0], blur, fit)
        elif fit < best.fit - 0.02:
            break
    for which in sets[1:]:
        fit = float(compare(some, templates(height, which, width, best.blur)).fit.mean())
        if fit > best.fit + 1e-4:
            best = Choice(which, best.blur, fit)
    return best


def choose_page(some: F32, first: Choice, height: int, width: int) -> Choice:
    """Another code page of the same drawing when it explains clearly more cells than code page 437 does."""
    if not len(some):
        return first
    font = glyph_sets(height)[first.which].font
    base = compare(some, templates(height, first.which, width, first.blur)).fit
    poor = base < min(0.97, float(np.median(base)) - 0.02)
    if int(poor.sum()) < 2:
        return first
    best, gain = first, 1
    for which, glyphs in enumerate(glyph_sets(height)):
        if glyphs.font != font or which == first.which:
            continue
        fit = compare(some[poor], templates(height, which, width, first.blur)).fit
        more = int((fit > base[poor] + 0.05).sum()) - int((base[poor] > fit + 0.05).sum())
        explained = fit[fit > base[poor] + 0.05]
        if more > gain and float(np.median(explained)) > 0.93:
            best, gain = Choice(which, first.blur, first.fit), more
    return best
