"""Screens of an emulated display card, and the glyph tables against the packages they were taken from."""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from leadoff.evidence.screens.picture import picture_of
from leadoff.evidence.screens.reader import read_screen

ROOT = Path(__file__).parent.parent.parent
FILL = bytes.fromhex("b800b88ec031ffb80007abfec081ffa00f72f7f4ebfd")
"""A boot sector: every code of the character set in turn into the text memory at B800:0000, then halt."""
LOW = " ☺☻♥♦♣♠•◘○◙♂♀♪♫☼►◄↕‼¶§▬↨↑↓→←∟↔▲▼"
"""What codes 00h to 1Fh show. Source: the table "IBM437" of Unicode's mappings with its graphic control signs."""


@pytest.fixture(scope="module")
def shot(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, bytes]:
    """A still of the emulator's screen, and its text memory at the same moment: what is really shown."""
    place = tmp_path_factory.mktemp("emulator")
    sector = FILL.ljust(510, b"\0") + b"\x55\xaa"
    (place / "floppy.img").write_bytes(sector.ljust(1474560, b"\0"))
    emulator = subprocess.Popen(
        [
            *(
                "qemu-system-i386",
                "-machine",
                "pc",
                "-cpu",
                "486",
                "-m",
                "8",
                "-display",
                "none",
                "-nodefaults",
            ),
            *("-vga", "std", "-drive", "file=floppy.img,format=raw,if=floppy,readonly=on", "-boot", "a"),
            *("-monitor", "stdio", "-no-reboot"),
        ],
        cwd=place,
        stdin=subprocess.PIPE,
        stdout=subprocess.DEVNULL,
        text=True,
    )
    assert emulator.stdin is not None
    try:
        deadline = time.monotonic() + 60
        text = b""
        while time.monotonic() < deadline and text[:8:2] != b"\0\1\2\3":
            emulator.stdin.write("pmemsave 0xb8000 4000 text.bin\n")
            emulator.stdin.flush()
            time.sleep(0.5)
            text = (place / "text.bin").read_bytes() if (place / "text.bin").exists() else b""
        emulator.stdin.write("screendump shot.ppm\nquit\n")
        emulator.stdin.flush()
        emulator.wait(30)
    finally:
        if emulator.poll() is None:
            emulator.kill()
    return place / "shot.ppm", text


@pytest.mark.reference
def test_every_sign_of_an_emulated_card_is_read(shot: tuple[Path, bytes]) -> None:
    """Reference: QEMU's emulated VGA with its own font; the truth is its text memory."""
    picture, text = shot
    assert len(text) == 4000
    truth = [(LOW + bytes(range(0x20, 0x100)).decode("cp437"))[code] for code in text[::2]]
    blank = {"█", "\xa0", "\x7f"}
    wanted = [" " if sign in blank - {"\x7f"} else "⌂" if sign == "\x7f" else sign for sign in truth]
    screen = read_screen(picture_of(Image.open(picture)))
    read = "".join(screen.lines)
    wrong = [(n, a, b) for n, (a, b) in enumerate(zip(wanted, read, strict=True)) if a != b]
    assert wrong == []


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
