"""A surface to draw on: SVG parts collected in order, sizes for page, phone and film."""

from __future__ import annotations

from xml.sax.saxutils import escape, quoteattr

import msgspec

from leadoff.show.charts.look import COPPER, FAINT, FONT, INK

PAPER = "#fbfaf6"
GRID = "#d9dedf"
QUIET = "#5b6870"
"""Small text: 5.6 to 1 on paper, which the pale grey of axes is not."""
WIDE_LETTER = 0.56
"""Width of an average letter in units of its size, for leaving room; a little more than the font needs."""


class Size(msgspec.Struct, frozen=True, kw_only=True):
    """Pixels and the size of the letters. ``paper``: the ground, empty for transparent."""

    width: int
    height: int
    letter: float
    paper: str = ""

    @property
    def film(self) -> bool:
        """Whether it stands alone and needs a title and the book's head in the picture."""
        return self.width >= 1600


STILL = Size(width=1920, height=1080, letter=27.0, paper=PAPER)
CLEAR = Size(width=1920, height=1080, letter=27.0)
WIDE = Size(width=920, height=400, letter=14.5)
NARROW = Size(width=350, height=300, letter=11.5)


class Surface:
    """Parts of one picture. Coordinates are pixels from the top left corner."""

    def __init__(self, size: Size, title: str, *, head: str = "", under: str = "") -> None:
        self.size = size
        self.title = title
        self.parts: list[str] = []
        s = size.letter
        self.left, self.right = 0.4 * s, size.width - 0.6 * s
        self.top, self.bottom = 0.6 * s, size.height - 0.5 * s
        if size.film:
            self.left, self.right, self.top = 3 * s, size.width - 3 * s, 2.2 * s
            self.text(self.left, self.top + 1.2 * s, title, letter=1.75, weight=700)
            self.top += 3.2 * s
            if under:
                self.text(self.left, self.top - 0.4 * s, under, fill=QUIET)
                self.top += 1.2 * s
            self.bottom -= 3.2 * s
            if head:
                self.text(
                    self.left, size.height - 1.6 * s, f"head of the book  {head}", letter=0.8, fill=QUIET
                )
        if size.paper:
            self.parts.insert(0, f'<rect width="{size.width}" height="{size.height}" fill="{size.paper}"/>')

    def text(
        self,
        x: float,
        y: float,
        words: str,
        *,
        letter: float = 1.0,
        fill: str = INK,
        anchor: str = "start",
        weight: int = 400,
        most: float = 0.0,
    ) -> None:
        """Words with their base line at ``y``; cut with three dots where they are wider than ``most``."""
        size = self.size.letter * letter
        if most and len(words) * size * WIDE_LETTER > most:
            words = words[: max(1, int(most / (size * WIDE_LETTER)) - 1)].rstrip() + "…"
        bold = f' font-weight="{weight}"' if weight != 400 else ""
        end = f' text-anchor="{anchor}"' if anchor != "start" else ""
        self.parts.append(
            f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:.1f}" fill="{fill}"{end}{bold}>{escape(words)}</text>'
        )

    def line(
        self,
        x1: float,
        y1: float,
        x2: float,
        y2: float,
        *,
        stroke: str = GRID,
        width: float = 1.0,
        dash: str = "",
    ) -> None:
        """A straight line."""
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        self.parts.append(
            f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="{stroke}" '
            f'stroke-width="{width:.1f}" stroke-linecap="round"{dashed}/>'
        )

    def path(self, points: list[tuple[float, float]], *, stroke: str = COPPER, width: float = 3.0) -> None:
        """A line through points."""
        d = " ".join(f"{'M' if n == 0 else 'L'}{x:.1f} {y:.1f}" for n, (x, y) in enumerate(points))
        self.parts.append(
            f'<path d="{d}" fill="none" stroke="{stroke}" stroke-width="{width:.1f}" stroke-linejoin="round"/>'
        )

    def mark(self, said: str, shape: str) -> None:
        """A shape with the sentence that stands for it."""
        self.parts.append(
            f'<g role="graphics-symbol" aria-label={quoteattr(said)}><title>{escape(said)}</title>{shape}</g>'
        )

    def svg(self) -> str:
        """The whole picture."""
        w, h = self.size.width, self.size.height
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{w}" height="{h}" viewBox="0 0 {w} {h}" role="group" '
            f"aria-label={quoteattr(self.title)} font-family={quoteattr(FONT)}>{''.join(self.parts)}</svg>"
        )


def dot(x: float, y: float, r: float, fill: str, *, stroke: str = "none") -> str:
    """A filled circle."""
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{r:.1f}" fill="{fill}" stroke="{stroke}"/>'


def diamond(x: float, y: float, r: float, fill: str, *, stroke: str = INK) -> str:
    """A diamond, for what was measured against a forecast."""
    d = f"M{x:.1f} {y - r:.1f}L{x + r:.1f} {y:.1f}L{x:.1f} {y + r:.1f}L{x - r:.1f} {y:.1f}Z"
    return f'<path d="{d}" fill="{fill}" stroke="{stroke}" stroke-width="{max(1.0, r / 7):.1f}"/>'


def cross(x: float, y: float, r: float, stroke: str = INK) -> str:
    """A cross, for what did not finish."""
    d = f"M{x - r:.1f} {y - r:.1f}L{x + r:.1f} {y + r:.1f}M{x - r:.1f} {y + r:.1f}L{x + r:.1f} {y - r:.1f}"
    return f'<path d="{d}" fill="none" stroke="{stroke}" stroke-width="{max(1.5, r / 3):.1f}"/>'


def bar(x1: float, x2: float, y: float, thick: float, fill: str, opacity: float = 1.0) -> str:
    """A horizontal bar with round ends, centred on ``y``."""
    return (
        f'<rect x="{min(x1, x2):.1f}" y="{y - thick / 2:.1f}" width="{max(2.0, abs(x2 - x1)):.1f}" '
        f'height="{thick:.1f}" rx="{thick / 4:.1f}" fill="{fill}" fill-opacity="{opacity:g}"/>'
    )


__all__ = [
    "CLEAR",
    "COPPER",
    "FAINT",
    "GRID",
    "INK",
    "NARROW",
    "PAPER",
    "QUIET",
    "STILL",
    "WIDE",
    "Size",
    "Surface",
    "bar",
    "cross",
    "diamond",
    "dot",
]
