"""Screens of an emulated display card, and the glyph tables against the packages they were taken from."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import screens_paint as sp
from PIL import Image
from screens_emulator import Shot, captured

from leadoff.evidence.screens.picture import picture_of
from leadoff.evidence.screens.reader import read_screen

ROOT = Path(__file__).parent.parent.parent


@pytest.fixture(scope="module")
def shots(tmp_path_factory: pytest.TempPathFactory) -> list[Shot]:
    """Reference: QEMU's emulated VGA with its own font; the truth is its text memory at the same moment."""
    return captured(tmp_path_factory.mktemp("emulator"), 4)


@pytest.mark.reference
@pytest.mark.parametrize("n", range(4), ids=["firmware's own", "character set", "25 rows", "50 rows"])
def test_a_screen_of_an_emulated_card_is_read_without_a_wrong_cell(shots: list[Shot], n: int) -> None:
    screen = read_screen(picture_of(Image.open(shots[n].picture)))
    assert sp.wrong_cells(screen.lines, shots[n].lines) == []
    assert sum(sign != " " for line in screen.lines for sign in line) > (40 if n == 0 else 1500)
    assert screen.grid.mode == ("80x50, 9x8 dots" if n == 3 else "80x25, 9x16 dots")
    assert screen.cursor == (((2, 0),) if n == 0 else ()), "the firmware leaves a cursor, the others hide it"


@pytest.mark.reference
@pytest.mark.parametrize("n", [0, 2, 3])
def test_the_same_screens_captured_at_1080_lines(shots: list[Shot], n: int) -> None:
    """Scaled, put in a wide frame, blurred, JPEG 75: under half a percent wrong, and no digit at all."""
    image = Image.open(shots[n].picture).convert("RGB")
    spoilt = sp.spoil(image, size=(1440, 1080), canvas=(1920, 1080), at=(240, 0), blur=0.7, jpeg=75)
    screen = read_screen(picture_of(spoilt))
    wrong = sp.wrong_cells(screen.lines, shots[n].lines)
    assert len(wrong) < 0.005 * 80 * len(shots[n].lines)
    assert not any(true.isdigit() for _, _, true, _ in wrong)


@pytest.mark.reference
def test_the_shipped_glyphs_are_those_of_the_packages() -> None:
    """Reference: Debian packages console-setup-linux and vgabios."""
    done = subprocess.run(
        [sys.executable, "tools/glyph_tables.py"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.stdout.strip() == "as the packages give it", done.stderr


@pytest.mark.reference
@pytest.mark.parametrize("font", ["Uni2-VGA16", "Lat15-VGA16", "CyrSlav-VGA16"])
def test_text_in_a_font_of_the_system_is_read(font: str) -> None:
    """Reference: console fonts as packaged, painted without the reader's own tables."""
    sys.path.insert(0, str(ROOT / "tools"))
    try:
        from glyph_tables import console_font
    finally:
        sys.path.pop(0)
    _, glyphs = console_font(Path(f"/usr/share/consolefonts/{font}.psf.gz"))
    lines = [f"{n:3d} The quick brown fox, 0123456789: (jumps) [over] 33.33 MHz; 16384 KB" for n in range(25)]
    rows = []
    for line in lines:
        cells = [np.unpackbits(np.frombuffer(glyphs[c], np.uint8)).reshape(16, 8) for c in line.ljust(80)]
        rows.append(np.concatenate([np.pad(c, ((0, 0), (0, 1))) for c in cells], axis=1))
    image = Image.fromarray((np.concatenate(rows) * 170).astype(np.uint8))
    screen = read_screen(picture_of(image))
    assert [line.rstrip() for line in screen.lines] == lines
