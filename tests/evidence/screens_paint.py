"""Paints text screens as a display card would, and spoils the picture as captures are spoilt. All text invented."""

from __future__ import annotations

import io
import random
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image, ImageFilter

ROM = Path("/usr/share/vgabios/vgabios.bin")
PALETTE = [
    (0, 0, 0), (0, 0, 170), (0, 170, 0), (0, 170, 170), (170, 0, 0), (170, 0, 170), (170, 85, 0), (170, 170, 170),
    (85, 85, 85), (85, 85, 255), (85, 255, 85), (85, 255, 255), (255, 85, 85), (255, 85, 255), (255, 255, 85),
    (255, 255, 255),
]  # fmt: skip
WORDS = "Cache Clock Memory Refresh Timing Wait State Read Write Back Enabled Disabled Auto Fast Slow Drive Floppy Hard Disk Boot Sequence Keyboard Error Press Key Continue Setup Password Onboard Serial Port Parallel Power Shadow Video Adapter System Base Extended Cylinder Head Sector Block Mode Local Bus Slot IRQ DMA Channel Turbo".split()  # noqa: SIM905, E501


@dataclass(frozen=True)
class Painted:
    image: Image.Image
    rows: list[str]
    dot_width: int


def firmware_glyphs(height: int) -> np.ndarray:
    """The glyph table as the reader's own build tool finds it, unpacked; [code, row, 8]."""
    from leadoff.evidence.screens.glyphs import _tables

    return np.unpackbits(_tables()[f"firmware{height}"].astype(np.uint8), axis=1).reshape(256, height, 8)


def start_up(rng: random.Random, cols: int = 80, rows: int = 25) -> tuple[list[str], np.ndarray]:
    """A start-up screen: text on the left, grey on black, some bright."""
    lines, attributes = [], np.full((rows, cols), 0x07)
    for r in range(rows):
        kind = rng.random()
        if kind < 0.2:
            text = ""
        elif kind < 0.5:
            size, whole, part = rng.randrange(1, 99999), rng.randrange(10, 200), rng.randrange(99)
            text = f"{rng.choice(WORDS)} {rng.choice(WORDS)} : {size} KB {whole}.{part:02d} MHz"
        else:
            text = (
                " ".join(rng.choice(WORDS) for _ in range(rng.randrange(2, 8))) + f" {rng.randrange(10**6)}"
            )
        lines.append(text[: cols - 1].ljust(cols))
        if rng.random() < 0.3:
            attributes[r] = 0x0F
    return lines, attributes


def framed(rng: random.Random, cols: int = 80, rows: int = 25) -> tuple[list[str], np.ndarray]:
    """A set-up screen: frame of double and single lines, grey on blue, one bar inverted."""
    attributes = np.full((rows, cols), 0x17)
    lines = ["╔" + "═" * (cols - 2) + "╗"]
    for r in range(rows - 2):
        if r == 2:
            lines.append("╟" + "─" * (cols - 2) + "╢")
            continue
        left = f" {rng.choice(WORDS)} {rng.choice(WORDS)}"[:24].ljust(24)
        beats = "-".join(str(rng.randrange(1, 9)) for _ in range(4))
        value = rng.choice(["Enabled", "Disabled", "Auto", beats, f"{rng.randrange(20, 100)} ns"])
        right = f"{rng.choice(WORDS)} {rng.randrange(65536):04X}h {rng.randrange(256):02X}"
        text = f"{left}: {value}".ljust(cols // 2 - 1) + "│ " + right
        lines.append("║" + text[: cols - 2].ljust(cols - 2) + "║")
    lines.append("╚" + "═" * (cols - 2) + "╝")
    attributes[:, :] = 0x17
    attributes[6, 2:20] = 0x71
    attributes[8, 30:50] = 0x1E
    attributes[10, 30:50] = 0x4F
    return lines, attributes


def hex_dump(rng: random.Random, cols: int = 80, rows: int = 25) -> tuple[list[str], np.ndarray]:
    """A memory dump, green on black."""
    lines = []
    for r in range(rows):
        data = [rng.randrange(256) for _ in range(16)]
        text = f"{r * 16 + 0xC800:04X}:{r * 16:04X}  " + " ".join(f"{b:02X}" for b in data)
        text += "  " + "".join(chr(b) if 32 <= b < 127 else "." for b in data)
        lines.append(text[:cols].ljust(cols))
    return lines, np.full((rows, cols), 0x0A)


LAYOUTS = (start_up, framed, hex_dump)


def paint(
    rows: list[str],
    attributes: np.ndarray,
    *,
    height: int = 16,
    width: int = 9,
    glyphs: np.ndarray | None = None,
    page: str = "cp437",
) -> Painted:
    """The raster a card sends, one pixel a dot."""
    table = firmware_glyphs(height) if glyphs is None else glyphs
    palette = np.array(PALETTE, np.uint8)
    codes = np.array([list(row.encode(page)) for row in rows])
    cells = table[codes]
    if width == 9:
        repeat = (codes >= 0xC0) & (codes < 0xE0)
        ninth = np.where(repeat[:, :, None, None], cells[..., 7:8], 0)
        cells = np.concatenate([cells, ninth], axis=3)
    raster = cells.swapaxes(1, 2).reshape(len(rows) * height, -1).astype(bool)
    lit = np.repeat(np.repeat(attributes & 15, height, 0), width, 1)
    ground = np.repeat(np.repeat(attributes >> 4, height, 0), width, 1)
    image = Image.fromarray(palette[np.where(raster, lit, ground)])
    return Painted(image, rows, width)


def spoil(
    image: Image.Image,
    *,
    size: tuple[int, int] | None = None,
    canvas: tuple[int, int] | None = None,
    at: tuple[int, int] = (0, 0),
    blur: float = 0.0,
    noise: float = 0.0,
    jpeg: int | None = None,
    filter_: Image.Resampling = Image.Resampling.BICUBIC,
    seed: int = 0,
) -> Image.Image:
    """Scale, place on a black canvas, blur (pixels), add noise, save as JPEG of a quality and load again."""
    if size is not None:
        image = image.resize(size, filter_)
    if canvas is not None:
        frame = Image.new("RGB", canvas)
        frame.paste(image, at)
        image = frame
    if blur:
        image = image.filter(ImageFilter.GaussianBlur(blur))
    if noise:
        values = np.asarray(image, np.float32)
        values = values + np.random.default_rng(seed).normal(0, noise, values.shape)
        image = Image.fromarray(values.clip(0, 255).astype(np.uint8))
    if jpeg is not None:
        buffer = io.BytesIO()
        image.save(buffer, "JPEG", quality=jpeg)
        image = Image.open(io.BytesIO(buffer.getvalue())).convert("RGB")
    return image


def wrong_cells(read: tuple[str, ...], truth: list[str]) -> list[tuple[int, int, str, str]]:
    """Cells read otherwise than painted; a solid cell counts as blank, as nobody can tell."""
    wrong = []
    for r in range(max(len(read), len(truth))):
        a = read[r] if r < len(read) else ""
        b = truth[r] if r < len(truth) else ""
        for c in range(max(len(a), len(b))):
            x, y = (s[c] if c < len(s) else " " for s in (a, b))
            if x != (" " if y == "█" else y):
                wrong.append((r, c, y, x))
    return wrong
