"""A recording gives its distinct text screens with the times at which they stood."""

from __future__ import annotations

import sys
from pathlib import Path

import av
import numpy as np
import pytest
import screens_paint as sp
from PIL import Image, ImageDraw

from cli_bench import Bench
from leadoff.evidence.screens.video import screens_of, timecode
from leadoff.evidence.sniff import is_video
from leadoff.record.errors import LeadoffError

FIRST = ["Invented firmware 1.0", "CPU Clock : 66 MHz", "Memory Test : 16384 KB OK"]
SECOND = ["Cache Read Burst : 3-1-1-1", "External Cache : 256K", "DRAM Read Wait States : 1"]
RATE = 5


def picture(lines: list[str], cursor: bool) -> Image.Image:
    image = sp.paint([line.ljust(80) for line in (lines + [""] * 25)[:25]], np.full((25, 80), 7)).image
    if cursor:
        ImageDraw.Draw(image).rectangle((0, 24 * 16 + 13, 7, 24 * 16 + 14), fill=(170, 170, 170))
    return image


def recording(place: Path) -> Path:
    """Six seconds: dark, a screen that grows with a blinking cursor, a picture without text, another screen."""
    shades = np.tile(np.linspace(0, 255, 720, dtype=np.uint8), (400, 1))
    logo = Image.fromarray(shades).convert("RGB")
    parts = (
        [Image.new("RGB", (720, 400))] * 3
        + [picture(FIRST[:2], n % 2 == 0) for n in range(6)]
        + [picture(FIRST, n % 2 == 0) for n in range(9)]
        + [logo] * 3
        + [picture(SECOND, False)] * 9
    )
    path = place / "clip.mkv"
    with av.open(str(path), "w") as out:
        stream = out.add_stream("mpeg4", rate=RATE)
        stream.width, stream.height, stream.pix_fmt, stream.bit_rate = 720, 400, "yuv420p", 6_000_000
        for image in parts:
            out.mux(stream.encode(av.VideoFrame.from_image(image)))
        out.mux(stream.encode(None))
    return path


@pytest.fixture(scope="module")
def clip(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return recording(tmp_path_factory.mktemp("clip"))


def test_distinct_screens_with_their_times(clip: Path) -> None:
    seen = screens_of(clip)
    first, second = seen.sources
    assert seen.without_text >= 1
    # drawn from 0.6 s on, grown at 1.8 s, gone at 3.6 s; the other one from 4.2 s on
    assert "clip.mkv 0:00.6" <= first.parts[0] <= "clip.mkv 0:01.0"
    assert "clip.mkv 0:01.8" <= first.name <= "clip.mkv 0:03.6"
    assert "clip.mkv 0:04.2" <= second.name <= "clip.mkv 0:06.0"
    assert seen.stills < 12, "a blinking cursor is not read again and again"


def test_a_recording_on_the_command_line(bench: Bench, clip: Path) -> None:
    bench("board", "add", "examples/ferry-486.toml")
    answer = bench("read", str(clip), "--board", "ferry-486", "--yes")
    assert "2 different text screens" in answer.marks("note")["recording"]
    found = {f["name"]: f["value"]["value"] for f in answer.data["facts"]}
    assert (found["screen.cpu_mhz"], found["screen.cache_kb"]) == (66.0, 256.0)
    places = {f["name"]: f["at"]["file"] for f in answer.data["facts"]}
    assert places["screen.cpu_mhz"].startswith("clip.mkv 0:0")


def test_without_the_package_the_install_line_is_said(clip: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "av", None)
    with pytest.raises(LeadoffError, match="not installed") as refused:
        screens_of(clip)
    assert refused.value.problems[0].code == "needs_video_extra"
    assert "pip install 'leadoff[video]'" in refused.value.problems[0].do


@pytest.mark.parametrize(
    "head", [b"\x1a\x45\xdf\xa3....", b"\0\0\0\x20ftypisom", b"RIFF\0\0\0\0AVI LIST", b"\0\0\1\xba\x44"]
)
def test_recordings_are_known_by_their_first_bytes(head: bytes) -> None:
    assert is_video(head)
    assert not is_video(b"\x89PNG\r\n\x1a\n")
    assert not is_video(b"RIFF\0\0\0\0WAVE")


def test_a_broken_recording_is_an_error_of_the_file(tmp_path: Path) -> None:
    clip = tmp_path / "broken.mkv"
    clip.write_bytes(b"\x1a\x45\xdf\xa3" + bytes(400))
    with pytest.raises(LeadoffError, match="cannot be opened as a recording"):
        screens_of(clip)


@pytest.mark.parametrize(("seconds", "words"), [(7.44, "0:07.4"), (59.96, "1:00.0"), (3723.0, "1:02:03.0")])
def test_timecodes(seconds: float, words: str) -> None:
    assert timecode(seconds) == words
