"""Text on a terminal: lines end between figures, never inside one."""

from __future__ import annotations

import pytest
from rich.text import Text

from leadoff.show.terminal import hang


@pytest.mark.parametrize(
    "figure", ["0.9 %", "33.33 MHz", "3 x 33.33 MHz", "23.4 frames/s", "8 h", "23.3 ± 0.2"]
)
@pytest.mark.parametrize("width", range(40, 60))
def test_no_line_ends_inside_a_figure(figure: str, width: int) -> None:
    said = f"the rest of it takes {figure} of the whole and this is said again: {figure}, to the end"
    lines = hang(Text("  head: "), said, width).plain.split("\n")
    assert len(lines) > 1
    assert "\n".join(lines).count(figure) == 2
    assert " ".join(" ".join(lines).split()) == f"head: {said}"
    assert max(map(len, lines)) <= width
