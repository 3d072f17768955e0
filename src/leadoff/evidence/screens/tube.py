"""A photograph of a tube: its four corners made a rectangle, light made even, so that a person can type from it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from leadoff.evidence.screens.picture import Picture
from leadoff.record.errors import LeadoffError

if TYPE_CHECKING:
    from PIL.Image import Image

SIZE = (1440, 1080)
LIT = 0.25
"""Share of the brightest glow above which a place counts as the lit face of the tube (judgement)."""

Corner = tuple[float, float]
Corners = tuple[Corner, Corner, Corner, Corner]
"""Upper left, upper right, lower right, lower left, in pixels."""


def corners_of(picture: Picture) -> Corners:
    """The corners of the lit face as far as its glow shows them: a start to be corrected by hand.

    Raises LeadoffError ``no_face`` when hardly anything is lit.
    """
    from PIL import ImageFilter

    scale = max(1, min(picture.luma.size) // 240)
    small = picture.luma.reduce(scale).filter(ImageFilter.GaussianBlur(6))
    glow = np.asarray(small, np.float32)
    glow -= np.percentile(glow, 5)
    lit = glow > LIT * float(np.percentile(glow, 99.5))
    ys, xs = np.nonzero(lit)
    if len(xs) < 0.02 * lit.size:
        raise LeadoffError.one(
            "no_face",
            "hardly anything in this picture is lit",
            do="give the four corners of the screen by hand",
        )
    total, difference = xs + ys, xs - ys
    picks = (total.argmin(), difference.argmax(), total.argmax(), difference.argmin())
    at = [(float(xs[n]) * scale, float(ys[n]) * scale) for n in picks]
    return (at[0], at[1], at[2], at[3])


def flatten(picture: Picture, corners: Corners, size: tuple[int, int] = SIZE) -> Image:
    """The face between its corners as an upright picture with even light, grey, ready to be read or typed from.

    Raises LeadoffError ``bad_corners`` when the corners do not go round the screen once.
    """
    from PIL import Image as Pillow
    from PIL import ImageFilter, ImageOps

    _check(corners, picture)
    wide, high = size
    target = ((0.0, 0.0), (float(wide), 0.0), (float(wide), float(high)), (0.0, float(high)))
    upright = picture.luma.transform(
        size, Pillow.Transform.PERSPECTIVE, _perspective(target, corners), Pillow.Resampling.BICUBIC
    )
    ground = np.asarray(upright.filter(ImageFilter.BoxBlur(wide // 24)), np.float32)
    values = np.asarray(upright, np.float32)
    even = (values - ground) / np.maximum(ground + 12, 24)
    low, top = np.percentile(even, (20, 99.7))
    scaled = ((even - low) / max(float(top - low), 1e-3) * 255).clip(0, 255).astype(np.uint8)
    return ImageOps.autocontrast(Pillow.fromarray(scaled), cutoff=0.2)


def _perspective(source: Corners, to: Corners) -> tuple[float, ...]:
    """Coefficients that take a point of the upright picture to its place in the photograph."""
    rows, right = [], []
    for (x, y), (u, v) in zip(source, to, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        right += [u, v]
    return tuple(float(c) for c in np.linalg.solve(np.array(rows), np.array(right)))


def _check(corners: Corners, picture: Picture) -> None:
    turns = []
    for n in range(4):
        (ax, ay), (bx, by), (cx, cy) = (corners[(n + k) % 4] for k in range(3))
        turns.append((bx - ax) * (cy - by) - (by - ay) * (cx - bx))
    wide, high = picture.luma.size
    outside = [c for c in corners if not (-wide < c[0] < 2 * wide and -high < c[1] < 2 * high)]
    if min(turns) <= 0 or outside:
        raise LeadoffError.one(
            "bad_corners",
            f"these corners do not go round a screen in a picture of {wide} x {high}: {corners}",
            do="name them from upper left clockwise, in pixels: x,y x,y x,y x,y",
        )
