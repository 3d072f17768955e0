"""Builds the glyph tables of the screen reader from two open font packages of the system.

    apt-get install console-setup-linux vgabios
    python tools/glyph_tables.py            say whether the shipped table is what the packages give
    python tools/glyph_tables.py --write    write it anew

Sources and licences (src/leadoff/evidence/screens/data/README.md has the words): Debian package
``console-setup-linux`` (fonts "public domain by nature", its copyright file) and Debian package ``vgabios``
(LGPL-2.1; its font source says of the individual fonts that they are public domain).
"""

from __future__ import annotations

import argparse
import gzip
import io
import sys
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

OUT = Path(__file__).parent.parent / "src/leadoff/evidence/screens/data/glyphs.npz"
CONSOLE = Path("/usr/share/consolefonts")
FIRMWARE = Path("/usr/share/vgabios/vgabios.bin")
HEIGHTS = (16, 14, 8)
ORDER = ("FullCyrSlav", "FullGreek", "Uni2", "Uni1", "Lat15", "Lat2", "Hebrew", "Greek", "CyrKoi")
"""Fonts in the order they are asked: the first keeps double box lines apart from single ones."""
PAGES = ("cp437", "cp850", "cp852", "cp866", "cp737")
ANCHORS = "ABEFHLS7"


def console_font(path: Path) -> tuple[int, dict[str, bytes]]:
    """Height and glyph by character of a PSF font of version 1 with its Unicode table."""
    data = gzip.decompress(path.read_bytes())
    if data[:2] != b"\x36\x04" or not data[2] & 2:
        raise ValueError(f"{path.name} is not a PSF 1 font with a Unicode table")
    height, count = data[3], 512 if data[2] & 1 else 256
    glyphs = [data[4 + i * height : 4 + (i + 1) * height] for i in range(count)]
    table = np.frombuffer(data[4 + count * height :], dtype="<u2")
    found: dict[str, bytes] = {}
    n, sequence = 0, False
    for code in table.tolist():
        if code == 0xFFFF:
            n, sequence = n + 1, False
        elif code == 0xFFFE:
            sequence = True
        elif not sequence and n < count:
            found[chr(code)] = glyphs[n]
    return height, found


def firmware_font(rom: bytes, height: int, known: dict[str, bytes]) -> NDArray[np.uint8]:
    """The 256 glyphs of one height in a display ROM, found by letters that both packages draw alike."""

    def alike(offset: int) -> int:
        cells = ((c, rom[offset + ord(c) * height : offset + (ord(c) + 1) * height]) for c in ANCHORS)
        return sum(cell == known[c] for c, cell in cells)

    best = max(range(len(rom) - 256 * height), key=alike)
    if alike(best) < 3:
        raise ValueError(f"no font of height {height} in {FIRMWARE}")
    return np.frombuffer(rom[best : best + 256 * height], dtype=np.uint8).reshape(256, height)


def build() -> dict[str, NDArray[np.generic]]:
    """All tables by name."""
    wanted = sorted({bytes([b]).decode(p) for p in PAGES for b in range(0x20, 0x100) if b != 0x7F})
    rom = FIRMWARE.read_bytes()
    tables: dict[str, NDArray[np.generic]] = {}
    for height in HEIGHTS:
        known: dict[str, bytes] = {}
        for name in ORDER:
            size, font = console_font(CONSOLE / f"{name}-VGA{height}.psf.gz")
            assert size == height
            known = font | known
        chars = [c for c in wanted if c in known]
        tables[f"console{height}"] = np.frombuffer(b"".join(known[c] for c in chars), np.uint8).reshape(
            -1, height
        )
        tables[f"chars{height}"] = np.array([ord(c) for c in chars], np.uint16)
        tables[f"firmware{height}"] = firmware_font(rom, height, known)
    return tables


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--write", action="store_true")
    tables = build()
    if parser.parse_args().write:
        buffer = io.BytesIO()
        np.savez_compressed(buffer, **tables)  # type: ignore[arg-type]
        OUT.write_bytes(buffer.getvalue())
        print(f"{OUT.name}: {len(buffer.getvalue())} bytes, {len(tables)} tables")
        return 0
    with np.load(OUT) as kept:
        other = [n for n in tables if n not in kept or not np.array_equal(kept[n], tables[n])]
    print("as the packages give it" if not other else f"differs: {', '.join(other)}")
    return 1 if other else 0


if __name__ == "__main__":
    sys.exit(main())
