"""Rows of stills, and photographs of a tube."""

from __future__ import annotations

import random
from pathlib import Path

import numpy as np
import pytest
import screens_paint as sp
from PIL import Image

from cli_bench import Bench
from leadoff.evidence.screens import tube
from leadoff.evidence.screens.picture import picture_of
from leadoff.evidence.screens.reader import read_screen
from leadoff.evidence.screens.series import distinct
from leadoff.record.errors import LeadoffError

GREY = np.full((25, 80), 7)


def painted(text: list[str]) -> Image.Image:
    return sp.paint([line.ljust(80) for line in (text + [""] * 25)[:25]], GREY).image


def test_cursor_blinking_and_growing_make_no_new_screen() -> None:
    lines = ["Invented firmware", "CPU Clock : 66 MHz", "Memory Test : 16384 KB OK", "Press a key to go on"]
    stills = [lines[:1], lines[:2], lines[:3], lines, [*lines[:3], ""], lines, ["Another screen altogether"]]
    readings = [(str(n), read_screen(picture_of(painted(text)))) for n, text in enumerate(stills)]
    shown = distinct(readings)
    assert [(s.first, s.last, s.pictures) for s in shown] == [("0", "5", 6), ("6", "6", 1)]
    assert [line.rstrip() for line in shown[0].screen.lines[:4]] == lines
    assert (3, 0) in shown[0].screen.blinking


def test_a_folder_of_stills_gives_each_screen_once(bench: Bench, tmp_path: Path) -> None:
    bench("board", "add", "examples/ferry-486.toml")
    folder = tmp_path / "stills"
    folder.mkdir()
    texts = [["CPU Clock : 66 MHz"], ["CPU Clock : 66 MHz", "256K cache"], ["Cache Read Burst : 3-1-1-1"]]
    for n, text in enumerate([texts[0], texts[1], texts[1], texts[2]]):
        painted(text).save(folder / f"{n:04d}.png")
    data = bench("read", str(folder), "--board", "ferry-486", "--yes").data
    assert [f["file"] for f in data["files"]] == ["0002.png", "0003.png"]
    assert data["files"][0]["lines"][0] == "on 3 stills, 0000.png to 0002.png"
    assert sorted(f["name"] for f in data["facts"]) == ["screen.cache_kb", "screen.cpu_mhz", "screen.l2_read"]


def photograph(lines: list[str], colours: int = 0x1F) -> tuple[Image.Image, tube.Corners]:
    """A tube from the side, in a dark room, its light falling off to the right."""
    corners = ((150.0, 120.0), (1650.0, 200.0), (1600.0, 1290.0), (210.0, 1230.0))
    face = sp.paint(lines, np.full((25, 80), colours)).image.resize((1440, 1080))
    flat = ((0.0, 0.0), (1440.0, 0.0), (1440.0, 1080.0), (0.0, 1080.0))
    shape = tube._perspective(corners, flat)
    image = face.transform((1800, 1400), Image.Transform.PERSPECTIVE, shape, Image.Resampling.BICUBIC)
    values = np.asarray(image, np.float32) * np.linspace(1.0, 0.55, 1800)[None, :, None] + 6
    return sp.spoil(Image.fromarray(values.astype(np.uint8)), blur=0.8, noise=4, jpeg=80), corners


def test_a_tube_seen_from_the_side_is_made_upright_and_can_be_read() -> None:
    lines, _ = sp.start_up(random.Random(3))
    image, corners = photograph(lines)
    flat = tube.flatten(picture_of(image), corners)
    screen = read_screen(picture_of(flat.convert("RGB")))
    inked = sum(sign != " " for line in lines for sign in line)
    assert len(sp.wrong_cells(screen.lines, lines)) < 0.02 * inked


def test_corners_are_found_by_the_glow_of_a_lit_face() -> None:
    image, corners = photograph(sp.start_up(random.Random(3))[0], 0x70)
    for (x, y), (u, v) in zip(tube.corners_of(picture_of(image)), corners, strict=True):
        assert abs(x - u) < 40
        assert abs(y - v) < 40


def test_corners_that_go_round_nothing_are_refused() -> None:
    image, corners = photograph([" " * 80] * 25)
    with pytest.raises(LeadoffError, match="do not go round a screen"):
        tube.flatten(picture_of(image), (corners[1], corners[0], corners[2], corners[3]))


def test_the_command_writes_the_picture(bench: Bench, tmp_path: Path) -> None:
    image, corners = photograph(sp.start_up(random.Random(4))[0])
    image.save(tmp_path / "photo.jpg", quality=90)
    out = tmp_path / "upright.png"
    places = " ".join(f"{x:g},{y:g}" for x, y in corners)
    data = bench("read", str(tmp_path / "photo.jpg"), "--flatten", str(out), "--corners", places).data
    assert "a character grid fits it" in data["files"][0]["lines"][0]
    assert Image.open(out).size == tube.SIZE
    bench.refused("read", str(tmp_path / "photo.jpg"), "--flatten", str(out), "--corners", "1,1 2,2")
