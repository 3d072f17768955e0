"""Pictures of jumpers: legible on a phone's page, filling a frame of film."""

from __future__ import annotations

import re

import pytest

from leadoff.show.plates import jumpers
from leadoff.show.plates.surface import NARROW, STILL, WIDE, Size

ROWS = [
    {"id": f"jp{n}", "positions": ("1-2", "2-3"), "now": "1-2", "leave": False} for n in range(1, 41)
]  # invented


def letters(svg: str) -> list[float]:
    return [float(x) for x in re.findall(r'font-size="([\d.]+)"', svg)]


@pytest.mark.parametrize("count", [1, 2, 3, 5, 12, 40])
@pytest.mark.parametrize("size", [NARROW, WIDE])
def test_as_high_as_its_rows_need(count: int, size: Size) -> None:
    """The words are the page's own size, and the last row ends inside the picture."""
    tall = Size(width=size.width, height=jumpers.height(count, size), letter=size.letter)
    svg = jumpers.jumpers(ROWS[:count], tall, title="t")
    assert min(letters(svg)) >= 0.9 * size.letter
    assert max(float(y) for y in re.findall(r'<text x="[\d.]+" y="([\d.]+)"', svg)) <= tall.height
    assert svg.count("<circle") == 3 * count


@pytest.mark.parametrize(("count", "least"), [(2, 2.5), (6, 1.5), (40, 0.6)])
def test_a_frame_is_filled(count: int, least: float) -> None:
    svg = jumpers.jumpers(ROWS[:count], STILL, title="t")
    words = re.findall(r'y="([\d.]+)" font-size="([\d.]+)"[^>]*>jp\d+<', svg)
    assert len(words) == count
    assert min(float(size) for _, size in words) >= least * STILL.letter
    assert max(float(y) for y, _ in words) < STILL.height - 3 * STILL.letter
