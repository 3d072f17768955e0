"""``leadoff read screen.png`` as a person uses it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import screens_paint as sp

from cli_bench import Bench

TEXT = (
    "Invented Firmware 0.1 for a board that never was",
    "CPU Type : i486DX2           CPU Clock : 66 MHz",
    "Cache Memory : 256K          Memory Test : 16384 KB OK",
    "External Cache : Enabled     Internal Cache : Disabled",
    "2134 frames in 4261 ticks",
)


def picture(place: Path) -> str:
    lines = [line.ljust(80) for line in (*TEXT, *[""] * 20)]
    image = sp.spoil(sp.paint(lines, np.full((25, 80), 7)).image, size=(1440, 1080), blur=0.6, jpeg=85)
    image.save(place / "start.png")
    return str(place / "start.png")


def test_figures_become_facts_only_when_told(bench: Bench, tmp_path: Path) -> None:
    bench("board", "add", "examples/ferry-486.toml")
    bench("log", "ferry-486", "w2", "19.6", "--unit", "frames/s")
    still = picture(tmp_path)
    first = bench("read", still, "--board", "ferry-486").data
    said = {f["name"]: (f["value"]["value"], f["text"], f["setting"]) for f in first["facts"]}
    assert said["screen.cpu_mhz"] == (66.0, None, "core_mhz")
    assert said["screen.cache_kb"] == (256.0, None, "l2_kb")
    assert said["screen.ram_mb"] == (16.0, None, "ram_mb")
    assert said["screen.l1"][1:] == ("off", "l1")
    assert said["screen.l2"][1:] == ("on", "l2")
    assert first["added"] == 0
    assert [q["id"] for q in first["questions"]] == ["ticks"]
    args = ("read", still, "--board", "ferry-486", "--answer", "ticks=70", "--yes")
    assert bench(*args).data["added"] == len(first["facts"]) + 1
    assert bench(*args).data["added"] == 0
    runs = bench("state", "ferry-486").data["runs"]
    assert runs[-1]["score"]["value"] == 2134 * 70 / 4261
