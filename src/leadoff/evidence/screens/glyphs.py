"""Dot patterns of the standard text-mode characters, as templates to be matched.

The tables come from two open font packages; data/README.md names them and their licences. A nine-dot cell has a
blank ninth column, but for the line-drawing codes C0h to DFh, which repeat their eighth (common practice of text
modes, no source).
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from importlib.resources import files
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

F32 = NDArray[np.float32]

LOW = " ☺☻♥♦♣♠•◘○◙♂♀♪♫☼►◄↕‼¶§▬↨↑↓→←∟↔▲▼"
"""Signs of codes 00h to 1Fh on the screen."""
PAGES = ("cp437", "cp850", "cp852", "cp866", "cp737")
HEIGHTS = (16, 14, 8)
FLAT = 0.06
"""Templates whose dots deviate less (of 1) after softening say nothing: a shade is then a plain grey."""
BLURS = (0.0, 0.45, 0.75, 1.0)
"""Standard deviations in dots tried for the templates: sharp as drawn, scaled, scaled and soft."""


class GlyphSet(NamedTuple):
    """Glyphs of one height and page: ``dots`` is 0 or 1, [sign, row, 8 columns].

    ``lines`` marks codes C0h to DFh, ``joined`` all drawings that go on into the next cell (B0h to DFh).
    """

    font: str
    page: str
    height: int
    chars: tuple[str, ...]
    dots: F32
    lines: NDArray[np.bool_]
    joined: NDArray[np.bool_]


class Templates(NamedTuple):
    """What cells are compared with: unit vectors of zero mean, and the sign of each."""

    chars: NDArray[np.str_]
    vectors: F32
    levels: F32
    norms: F32
    """``levels`` are the templates before their mean was taken off, 0..1; ``norms`` what they were divided by."""


def _chars(page: str) -> tuple[str, ...]:
    high = [bytes([code]).decode(page) for code in range(0x80, 0x100)]
    return (*LOW, *map(chr, range(0x20, 0x7F)), "⌂", *high)


@lru_cache(maxsize=1)
def _tables() -> dict[str, NDArray[np.generic]]:
    with (
        (files("leadoff.evidence.screens") / "data" / "glyphs.npz").open("rb") as stream,
        np.load(stream) as data,
    ):
        return {name: data[name] for name in data.files}


def _set(
    font: str, page: str, height: int, codes: Sequence[tuple[int, str, NDArray[np.generic] | None]]
) -> GlyphSet:
    bits = np.unpackbits(np.array([g for _, _, g in codes], np.uint8), axis=1).reshape(len(codes), height, 8)
    kept, seen = [], set()
    # Signs drawn alike are one template: letters win over drawings, low codes over high ones.
    for n in sorted(range(len(codes)), key=lambda n: (not 0x20 <= codes[n][0] < 0x7F, codes[n][0])):
        key = bits[n].tobytes()
        if bits[n].any() and not bits[n].all() and key not in seen:
            seen.add(key)
            kept.append(n)
    return GlyphSet(
        font,
        page,
        height,
        tuple(codes[n][1] for n in kept),
        bits[kept].astype(np.float32),
        np.array([0xC0 <= codes[n][0] < 0xE0 for n in kept]),
        np.array([0xB0 <= codes[n][0] < 0xE0 for n in kept]),
    )


@lru_cache(maxsize=16)
def glyph_sets(height: int) -> tuple[GlyphSet, ...]:
    """All sets of a height, the commonest first: the firmware's and the console's drawing, then other pages."""
    tables = _tables()
    console = {chr(c): g for c, g in zip(tables[f"chars{height}"], tables[f"console{height}"], strict=True)}
    firmware = tables[f"firmware{height}"]
    names = _chars("cp437")
    sets = [_set("firmware", "cp437", height, [(n, c, firmware[n]) for n, c in enumerate(names)])]
    for page in PAGES:
        codes = [
            (n, c, console[c] if c in console and n >= 0x20 else firmware[n])
            for n, c in enumerate(_chars(page))
            if c in console or n < 0x20 or page == "cp437"
        ]
        sets.append(_set("console", page, height, codes))
    own = {c: firmware[n] for n, c in enumerate(names)}
    for page in PAGES[1:]:
        codes = [
            (n, c, firmware[n] if n < 0x80 else own.get(c, console.get(c)))
            for n, c in enumerate(_chars(page))
            if n < 0x80 or c in own or c in console
        ]
        sets.append(_set("firmware", page, height, codes))
    return tuple(sets)


def drawn(glyphs: GlyphSet, width: int) -> F32:
    """The dots of each sign in a cell of 8 or 9 dots."""
    if width == 8:
        return glyphs.dots
    ninth = np.where(glyphs.lines[:, None, None], glyphs.dots[:, :, 7:8], 0.0)
    return np.concatenate([glyphs.dots, ninth.astype(np.float32)], axis=2)


@lru_cache(maxsize=256)
def templates(height: int, which: int, width: int, blur: float) -> Templates:
    """Templates of one set for cells of ``width`` dots, softened by ``blur`` dots as pictures are."""
    glyphs = glyph_sets(height)[which]
    dots = drawn(glyphs, width)
    soft = np.where(glyphs.joined[:, None, None], soften(dots, blur, joined=True), soften(dots, blur))
    levels = soft.reshape(len(glyphs.chars), -1).astype(np.float32)
    vectors = levels - levels.mean(axis=1, keepdims=True)
    norms = np.linalg.norm(vectors, axis=1)
    plain = norms > FLAT * levels.shape[1] ** 0.5
    vectors = vectors[plain] / norms[plain, None]
    return Templates(
        np.array(glyphs.chars)[plain], np.ascontiguousarray(vectors), levels[plain], norms[plain]
    )


def soften(dots: F32, blur: float, *, joined: bool = False) -> F32:
    """Dots as a scaled or defocused picture shows them.

    Beyond the cell there is background, or for ``joined`` drawings the same again (a frame, a shaded area).
    """
    if blur <= 0:
        return dots
    reach = int(np.ceil(3 * blur))
    taps = np.exp(-0.5 * (np.arange(-reach, reach + 1) / blur) ** 2)
    taps /= taps.sum()
    soft = dots
    for axis in (1, 2):
        pads = [(reach, reach) if a == axis else (0, 0) for a in range(3)]
        padded = np.pad(soft, pads, mode="wrap") if joined else np.pad(soft, pads)
        size = soft.shape[axis]
        parts = [w * padded.take(range(k, k + size), axis=axis) for k, w in enumerate(taps.tolist())]
        soft = np.sum(parts, axis=0)
    return soft.astype(np.float32)


@lru_cache(maxsize=16)
def edge_profile(height: int, width: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """How often a step of brightness lies on each dot edge of a cell, across and down, over letters and digits."""
    glyphs = glyph_sets(height)[0]
    letters = [n for n, c in enumerate(glyphs.chars) if c.isascii() and c.isalnum()]
    dots = drawn(glyphs, width)[letters].astype(np.float64)
    across = np.abs(np.diff(np.pad(dots, ((0, 0), (0, 0), (1, 1))), axis=2)).sum(axis=(0, 1))
    down = np.abs(np.diff(np.pad(dots, ((0, 0), (1, 1), (0, 0))), axis=1)).sum(axis=(0, 2))
    for edges in (across, down):
        edges[0] += edges[-1]
    return across[:-1] / across.sum(), down[:-1] / down.sum()
