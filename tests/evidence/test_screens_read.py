"""Text screens painted by the tests, spoilt as captures are, read with the grid found by itself."""

from __future__ import annotations

import random

import numpy as np
import pytest
import screens_paint as sp
from PIL import Image

from leadoff.evidence.screens.picture import open_picture, picture_of
from leadoff.evidence.screens.reader import read_screen
from leadoff.evidence.screens.values import Screen
from leadoff.record.errors import LeadoffError

HD = {"canvas": (1920, 1080), "size": (1440, 1080), "at": (240, 0)}


def read(image: Image.Image) -> Screen:
    return read_screen(picture_of(image))


@pytest.mark.parametrize("layout", sp.LAYOUTS)
@pytest.mark.parametrize(
    ("width", "height", "rows"), [(8, 16, 25), (9, 16, 25), (9, 8, 50), (8, 8, 50), (9, 14, 28), (8, 14, 25)]
)
def test_at_native_size_no_cell_is_wrong(layout: object, width: int, height: int, rows: int) -> None:
    lines, attributes = layout(random.Random(1), 80, rows)  # type: ignore[operator]
    screen = read(sp.paint(lines, attributes, height=height, width=width).image)
    assert sp.wrong_cells(screen.lines, lines) == []
    assert (screen.grid.x.dots, screen.grid.y.dots, screen.grid.y.cells) == (width, height, rows)
    assert min(p for row in screen.certainty for p in row) > 0.9


@pytest.mark.parametrize("layout", sp.LAYOUTS)
@pytest.mark.parametrize(
    "spoilt",
    [
        {**HD, "blur": 0.7, "jpeg": 75},
        {"size": (1920, 1080), "blur": 1.0, "noise": 8, "jpeg": 60},
        {"size": (1340, 1010), "canvas": (1920, 1080), "at": (289, 31), "blur": 0.8, "jpeg": 80},
        {"size": (1511, 1060), "canvas": (1920, 1080), "at": (207, 11), "blur": 0.6, "jpeg": 95, "noise": 4},
    ],
)
def test_at_1080_lines_under_half_a_percent_is_wrong(layout: object, spoilt: dict[str, object]) -> None:
    lines, attributes = layout(random.Random(2))  # type: ignore[operator]
    screen = read(sp.spoil(sp.paint(lines, attributes).image, **spoilt))  # type: ignore[arg-type]
    assert len(sp.wrong_cells(screen.lines, lines)) < 0.005 * 2000
    assert screen.grid.mode == "80x25, 9x16 dots"


@pytest.mark.slow
def test_no_digit_of_thirty_thousand_is_wrong() -> None:
    """Full screens, one in three at 1080 lines, blurred, noise, JPEG 60 to 95, whatever the certainty says."""
    digits = wrong = 0
    for seed in range(17):
        rng = random.Random(100 + seed)
        lines = [" ".join(f"{rng.randrange(16**8):08X}" for _ in range(8)) for _ in range(25)]
        lines = [f"{line} {rng.randrange(10**8):08d}" for line in lines]
        attributes = np.full((25, 80), 0x0A)
        spoilt = sp.spoil(
            sp.paint(lines, attributes).image,
            **(HD if seed % 3 == 0 else {}),  # type: ignore[arg-type]
            blur=rng.uniform(0.3, 0.9) if seed % 3 == 0 else 0.0,
            noise=rng.uniform(0, 8),
            jpeg=rng.randrange(60, 96),
            seed=seed,
        )
        screen = read(spoilt)
        for r, line in enumerate(lines):
            places = [c for c, sign in enumerate(line) if sign in "0123456789ABCDEF"]
            digits += len(places)
            wrong += sum(screen.lines[r][c] != line[c] for c in places)
    assert digits > 30_000
    assert wrong == 0


def test_a_certainty_is_worth_its_number() -> None:
    """Of cells in bad pictures that claim 99 %, fewer than 1 % are wrong; the unsure ones err more often."""
    sure = sure_wrong = doubtful = doubtful_wrong = 0
    for seed in range(3):
        lines, attributes = sp.start_up(random.Random(seed), 80, 50)
        spoilt = sp.spoil(
            sp.paint(lines, attributes, height=8).image,
            size=(1000, 560),
            blur=1.0,
            noise=14,
            jpeg=50,
            seed=seed,
        )
        try:
            screen = read(spoilt)
        except LeadoffError:
            continue
        for r, line in enumerate(lines):
            for c, sign in enumerate(line):
                if sign == " ":
                    continue
                wrong = screen.lines[r][c] != sign
                if screen.certainty[r][c] > 0.99:
                    sure, sure_wrong = sure + 1, sure_wrong + wrong
                else:
                    doubtful, doubtful_wrong = doubtful + 1, doubtful_wrong + wrong
    assert sure > 1500
    assert sure_wrong / sure < 0.01
    assert doubtful_wrong / max(1, doubtful) > 3 * sure_wrong / sure


@pytest.mark.parametrize(
    ("page", "word"), [("cp850", "ãõÐþ×ðÓÁÀ"), ("cp852", "čřžšŐűĄęł"), ("cp866", "ПЯЬЖЩдлжщъфю")]
)
def test_other_code_pages_are_recognised(page: str, word: str) -> None:
    from leadoff.evidence.screens.glyphs import _tables

    kept = _tables()
    rows = np.unpackbits(kept["console16"].astype(np.uint8), axis=1).reshape(-1, 16, 8)
    by_sign = {chr(c): g for c, g in zip(kept["chars16"].tolist(), rows, strict=True)}
    table = sp.firmware_glyphs(16).copy()
    for code in range(0x21, 0x100):
        sign = bytes([code]).decode(page)
        if sign in by_sign:
            table[code] = by_sign[sign]
    lines = [f"{word} {word}".ljust(80) for _ in range(25)]
    screen = read(sp.paint(lines, np.full((25, 80), 7), glyphs=table, page=page).image)
    assert screen.page == page
    assert [line.rstrip() for line in screen.lines] == [line.rstrip() for line in lines]


def test_a_cursor_on_a_letter_is_seen_and_read_through() -> None:
    lines, attributes = sp.start_up(random.Random(3))
    lines[5] = "CMOS checksum bad, press a key".ljust(80)
    image = np.asarray(sp.paint(lines, attributes).image).copy()
    for column in (0, 40):
        image[5 * 16 + 13 : 5 * 16 + 15, column * 9 : column * 9 + 8] = 170
    screen = read(Image.fromarray(image))
    assert set(screen.cursor) == {(5, 0), (5, 40)}
    assert sp.wrong_cells(screen.lines, lines) == []
    assert screen.certainty[5][0] < 0.9


def test_blue_on_black_is_read_by_its_colour() -> None:
    lines, _ = sp.start_up(random.Random(4))
    screen = read(sp.paint(lines, np.full((25, 80), 0x01)).image)
    assert sp.wrong_cells(screen.lines, lines) == []


def test_solid_halves_are_told_by_the_ground_beside_them() -> None:
    lines, attributes = sp.start_up(random.Random(6))
    lines[7] = "Level ▄▄▄▀▀▀ ▌▌▐▐ done".ljust(80)
    screen = read(sp.paint(lines, attributes).image)
    assert screen.lines[7].rstrip() == lines[7].rstrip()


def test_lines_of_two_moments_are_said_and_one_is_read() -> None:
    first, a = sp.start_up(random.Random(7))
    second, b = sp.start_up(random.Random(8))
    image = np.asarray(sp.paint(first, a).image).copy()
    image[1::2] = np.asarray(sp.paint(second, b).image)[1::2]
    screen = read(Image.fromarray(image))
    assert "another moment" in screen.notes[0]
    inked = sum(sign != " " for line in first for sign in line)
    assert len(sp.wrong_cells(screen.lines, first)) < 0.15 * inked


@pytest.mark.parametrize("spoilt", [{}, {**HD, "blur": 0.7, "jpeg": 75}])
def test_a_half_done_refresh_spoils_one_row_and_that_is_said(spoilt: dict[str, object]) -> None:
    """The upper part of one moment, the lower of the next, cut through a row: the others are read as they stand."""
    first, a = sp.start_up(random.Random(21))
    second, b = sp.start_up(random.Random(41))
    image = np.asarray(sp.paint(first, a).image).copy()
    cut = 10 * 16 + 7
    image[cut:] = np.asarray(sp.paint(second, b).image)[cut:]
    screen = read(sp.spoil(Image.fromarray(image), **spoilt))  # type: ignore[arg-type]
    assert sp.wrong_cells(screen.lines[:10], first[:10]) == []
    assert sp.wrong_cells(screen.lines[11:], second[11:]) == []
    assert [note for note in screen.notes if "row 11 is of two moments" in note]
    assert max(screen.certainty[10]) <= 0.5
    rest = [p for r, row in enumerate(screen.certainty) if r != 10 for p in row]
    assert sum(p < 0.9 for p in rest) < 0.01 * len(rest)


def test_a_picture_without_text_is_refused_with_what_to_do() -> None:
    noise = np.random.default_rng(1).integers(0, 255, (480, 640, 3), dtype=np.uint8)
    with pytest.raises(LeadoffError, match="no character grid fits"):
        read(Image.fromarray(noise))


@pytest.mark.parametrize(
    "data", [b"\x89PNG\r\n\x1a\n broken", b"BM" + bytes(60), b"\xff\xd8\xff" + b"x" * 99]
)
def test_broken_pictures_are_errors_of_the_file(data: bytes) -> None:
    with pytest.raises(LeadoffError, match="cannot be decoded"):
        open_picture(data, "x")
