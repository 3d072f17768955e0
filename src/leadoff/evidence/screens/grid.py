"""Finds the character grid of a text-mode picture: pitch from the spectrum of its edges, phase from folding them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from leadoff.evidence.screens.glyphs import HEIGHTS, edge_profile
from leadoff.evidence.screens.values import Axis, Grid

F64 = NDArray[np.float64]

SPECTRUM = 1 << 16
"""Length the profile is padded to: a pitch of 24 pixels is resolved to 0.04 %, a third of a dot over 80 cells."""
HARMONICS = 4
COLUMNS = (80,)
FEW_COLUMNS = (40,)
ROWS = (25, 50, 28, 30, 43)
FINE = 4
"""Bins for each dot when a profile is folded."""
LEAST_PART = 0.55
"""A text area narrower than this share of the picture is not looked for."""
SHAPES = ((16, 25), (8, 50), (14, 28), (16, 30), (14, 25), (8, 25), (8, 43))
"""Dots and rows of text modes, the commonest first."""


DARK = 24
"""Brightness (of 255) that an empty margin may vary by, noise and all."""


class Comb(NamedTuple):
    """A pitch with its phase: cell edges lie at ``start + n * pitch``; ``score`` compares combs of one axis."""

    pitch: float
    start: float
    dots: int
    score: float


def profiles(values: NDArray[np.uint8]) -> tuple[F64, F64]:
    """How much brightness changes at each vertical and each horizontal pixel edge, over the whole picture."""
    step = 1 + values.shape[0] // 600
    wide = values[::step].astype(np.int16)
    across = np.abs(np.diff(wide, axis=1)).mean(axis=0).astype(np.float64)
    step = 1 + values.shape[1] // 800
    high = np.ascontiguousarray(values[:, ::step]).astype(np.int16)
    down = np.abs(np.diff(high, axis=0)).mean(axis=1).astype(np.float64)
    return across, down


def compressed(profile: F64) -> F64:
    """A profile without its slow part, where single strong lines (frames) count for little."""
    flat = np.sqrt(profile)
    flat = flat - np.convolve(flat, np.ones(61) / 61, mode="same")
    limit = 3 * float(np.median(np.abs(flat))) + 1e-9
    return np.asarray(flat.clip(-limit, limit), np.float64)


def pitches(flat: F64, low: float, high: float, most: int) -> list[float]:
    """Pitches in pixels that the spectrum of a profile supports, strongest first."""
    power = np.abs(np.fft.rfft(flat, SPECTRUM))
    first, last = max(2, int(SPECTRUM / high)), min(int(SPECTRUM / low) + 1, len(power) // HARMONICS - 1)
    if last <= first:
        return []
    k = np.arange(first, last + 1)
    support = np.zeros(len(k))
    for n in range(1, HARMONICS + 1):
        support += power[n * k] / n**0.5
    width = max(3, int(SPECTRUM / len(flat)))
    peaks = []
    for _ in range(most):
        top = int(support.argmax())
        if support[top] <= 0:
            break
        peaks.append(SPECTRUM / float(k[top]))
        support[max(0, top - width) : top + width + 1] = 0
    return peaks


def phase(flat: F64, pitch: float, dots: int, shape: F64) -> Comb:
    """The phase at which the folded profile looks most like the edges of a cell."""
    bins = dots * FINE
    at = np.arange(1, len(flat) + 1) / pitch * bins
    lower = np.floor(at).astype(np.int64)
    part = at - lower
    places = np.concatenate([lower % bins, (lower + 1) % bins])
    shares = np.concatenate([1 - part, part])
    sums = np.bincount(places, np.concatenate([flat, flat]) * shares, bins)
    folded = sums / np.maximum(np.bincount(places, shares, bins), 1e-6)
    wanted = np.zeros(bins)
    wanted[::FINE] = np.sqrt(shape)
    distance = np.minimum(np.arange(bins), bins - np.arange(bins))
    wanted = np.fft.irfft(
        np.fft.rfft(wanted) * np.fft.rfft(np.exp(-0.5 * (distance / (0.35 * FINE)) ** 2)), bins
    )
    folded = folded - folded.mean()
    wanted -= wanted.mean()
    likeness = np.fft.irfft(np.fft.rfft(folded) * np.conj(np.fft.rfft(wanted)), bins)
    shift = int(likeness.argmax())
    score = float(likeness[shift]) / (float(np.linalg.norm(wanted)) + 1e-9)
    return Comb(pitch, shift / bins * pitch, dots, score)


def laid(comb: Comb, pixels: int, profile: F64, cells: tuple[int, ...]) -> Axis:
    """A comb as an axis of whole cells that covers what is drawn.

    How many cells: the usual number that covers the ink and comes nearest to the picture, placed so that the ink
    is inside and the rest as even as it can be.
    """
    base, top = (float(v) for v in np.percentile(profile, (3, 95))) if profile.size else (0.0, 0.0)
    floor = base + 0.12 * (top - base)
    inked = np.flatnonzero(profile > floor)
    left, right = (float(inked[0] + 1), float(inked[-1] + 1)) if len(inked) else (0.0, float(pixels))
    first = int(np.floor((left - comb.start) / comb.pitch + 0.15))
    last = int(np.ceil((right - comb.start) / comb.pitch - 0.15))
    need = max(1, last - first)
    fitting = [n for n in cells if n >= need and n * comb.pitch <= pixels + 0.6 * comb.pitch]
    if not fitting:
        return Axis(start=comb.start + first * comb.pitch, pitch=comb.pitch, cells=need, dots=comb.dots)
    count = min(fitting, key=lambda n: abs(pixels - n * comb.pitch))
    even = round(((pixels - count * comb.pitch) / 2 - comb.start) / comb.pitch)
    begin = min(max(even, last - count), first)
    return Axis(start=comb.start + begin * comb.pitch, pitch=comb.pitch, cells=count, dots=comb.dots)


def filling(values: NDArray[np.uint8]) -> Iterator[list[Grid]]:
    """Grids for which the raster fills the picture, or the 4:3 part in its middle, as most captures are."""
    high, wide = values.shape
    areas = [(0.0, float(wide))]
    if wide > 1.4 * high:
        middle = (wide - high * 4 / 3) / 2
        areas.append((middle, high * 4 / 3))
        margin = values[::8, : max(1, int(middle * 0.9))]
        if int(margin.max()) - int(margin.min()) < DARK:  # nothing beside the middle part: it comes first
            areas.reverse()
    for start, width in areas:
        yield [
            Grid(
                x=Axis(start=start, pitch=width / 80, cells=80, dots=across),
                y=Axis(start=0.0, pitch=high / rows, cells=rows, dots=down),
            )
            for down, rows in SHAPES[:5]
            for across in (9, 8)
        ]


def combed(
    values: NDArray[np.uint8], across: F64, down: F64, columns: tuple[int, ...]
) -> Iterator[list[Grid]]:
    """Groups of grids found by the spectrum, likeliest first; a group shares its pitches."""
    high, wide = values.shape
    flat_x, flat_y = compressed(across), compressed(down)
    xs = pitches(flat_x, LEAST_PART * wide / max(columns), 1.03 * wide / min(columns), 5)
    ys = pitches(flat_y, LEAST_PART * high / 50, 1.03 * high / 25, 7)
    combs_x = {p: [phase(flat_x, p, w, edge_profile(16, w)[0]) for w in (9, 8)] for p in xs}
    combs_y = {p: [phase(flat_y, p, h, edge_profile(h, 8)[1]) for h in HEIGHTS] for p in ys}
    pairs = sorted(
        ((x, y) for x in xs for y in ys), key=lambda pair: xs.index(pair[0]) * 1.5 + ys.index(pair[1])
    )
    for x, y in pairs:
        group = [
            Grid(x=laid(a, wide, across, columns), y=laid(b, high, down, ROWS), way="combs")
            for a in combs_x[x]
            for b in combs_y[y]
            if 0.6
            <= (b.pitch / b.dots) / (a.pitch / a.dots)
            <= 3.2  # dots are square to twice as high as wide
        ]
        if group:
            yield group
