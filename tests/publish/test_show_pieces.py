"""Show-pieces and the time split: needs, what is known, what the model says in the state that it is said of."""

from __future__ import annotations

import json
import re
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from cli_bench import Bench
from leadoff.record.public import TimeShare
from leadoff.show.plates.split import NAMES, split
from leadoff.show.plates.surface import NARROW, STILL, WIDE, WIDE_LETTER, Size


def written(bench: Bench, to: Path) -> dict[str, Any]:
    bench("publish", "ferry-486", "--to", str(to), "--only", "page", "--at", "2024-03-02T10:00")
    found: dict[str, Any] = json.loads((to / "ferry-486.leadoff.json").read_text(encoding="utf-8"))
    return found


def test_measured_foretold_and_undefined(told: Bench, tmp_path: Path) -> None:
    from leadoff.loop.session import Session
    from leadoff.record.entries import workload_row
    from leadoff.record.runs import Direction, Workload

    session = Session(at="2024-03-01T20:00:00Z")
    for name, needs in (("cathedral", ("ram_mb>=64",)), ("fugue", ("sound", "video_mode=320x200"))):
        session.write(
            workload_row(
                Workload(name=name, unit="frames/s", direction=Direction.HIGHER, needs=needs, minutes=4.0)
            )
        )
    session.close()
    told("move", "ferry-486", "bus 33", "--at", "2024-03-01T20:10")
    told("log", "ferry-486", "w2 19.6", "--unit", "frames/s", "--at", "2024-03-01T20:20")
    asked = {
        w["workload"]: w
        for w in told("forecast", "ferry-486", "--no-seal", "--at", "2024-03-02T10:00").data["workloads"]
    }
    data = written(told, tmp_path)
    pieces = {p["workload"]: p for p in data["show_pieces"]}
    assert pieces["w2"]["score"]["source"] == "measured"
    assert pieces["w2"]["score"]["value"] == 19.6
    assert pieces["w2"]["foretold"] == pytest.approx(asked["w2"]["median"], rel=1e-4)
    assert pieces["w2"]["band90"] == pytest.approx(asked["w2"]["band90"], rel=1e-4)
    assert pieces["w2"]["basis"] == "runs"
    assert pieces["cathedral"]["score"]["value"] is None
    assert "needs ram_mb>=64" in pieces["cathedral"]["undefined"]
    assert pieces["cathedral"]["minutes"] == 4.0
    assert pieces["fugue"]["not_known"] == ["sound", "video_mode=320x200"]
    assert pieces["fugue"]["silent"], "no run of it: the forecast says why it says nothing"
    assert data["show_pieces"][0]["workload"] == "w2", "what runs stands first"
    page = (tmp_path / "index.html").read_text(encoding="utf-8")
    assert "needs ram_mb" in page
    assert "not known whether it has sound" in page


def test_the_time_is_that_of_the_state_shown(told: Bench, tmp_path: Path) -> None:
    """The board stands at 40 MHz and hung there; the score shown is of 33.33 MHz, and so is the split of its time."""
    data = written(told, tmp_path)
    assert data["states"][data["shown"]["state"]]["bus_mhz"]["value"] == "100/3"
    assert data["states"][data["state_now"]]["bus_mhz"]["value"] == "40"
    asked = told("forecast", "ferry-486", "--want", "bus 33", "--no-seal", "--at", "2024-03-02T10:00").data
    now = told("forecast", "ferry-486", "--no-seal", "--at", "2024-03-02T10:00").data
    got = {t["name"]: t for t in data["time_shares"]}
    want = {p["part"]: p for p in asked["time_split"]["w2"]}
    other = {p["part"]: p for p in now["time_split"]["w2"]}
    assert sum(t["share"] for t in got.values()) == pytest.approx(1.0, abs=1e-3)
    for name, t in got.items():
        assert t["share"] == pytest.approx(want[name]["pct"] / 100, rel=1e-3, abs=1e-6)
        assert t["lo"] <= t["share"] <= t["hi"]
    # Of the state it stands in, the split is another: what does not go with its clocks has another share there.
    assert any(t["share"] != pytest.approx(other[n]["pct"] / 100, rel=1e-2, abs=1e-4) for n, t in got.items())
    per_frame = 1000.0 / data["shown"]["score"]["value"]
    assert sum(t["ms"] for t in got.values()) == pytest.approx(per_frame, rel=1e-3)
    assert "Where the time of w2 goes" in (tmp_path / "index.html").read_text(encoding="utf-8")


@pytest.mark.parametrize("size", [STILL, WIDE, NARROW])
def test_long_names_end_before_the_figures(size: Size) -> None:
    """Every part at once, the longest names too: columns of one row do not touch, and all rows are on the picture."""
    parts = [TimeShare(name=n, share=1 / 8, ms=123.4, lo=0.0, hi=1.0) for n in NAMES]
    svg = split(parts, size, title="t")
    place, tail = r'x="([\d.]+)" y="([\d.]+)" font-size="([\d.]+)"', r'(?: font-weight="\d+")?>([^<]*)'
    texts = re.findall(f'<text {place}[^>]*?( text-anchor="end")?{tail}', svg)
    rows: dict[str, list[tuple[float, float]]] = {}
    for x, y, letter, end, words in texts[(2 if size.film else 0) :]:
        width = len(words) * float(letter) * WIDE_LETTER
        rows.setdefault(y, []).append((float(x) - width, float(x)) if end else (float(x), float(x) + width))
    assert len(rows) == len(NAMES)
    for y, spans in rows.items():
        assert float(y) < size.height
        spans.sort()
        assert all(a[1] <= b[0] for a, b in pairwise(spans)), (y, spans)
        assert spans[-1][1] <= size.width
