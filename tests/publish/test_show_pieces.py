"""Show-pieces: needs, what is known of each, and undefined where the board cannot run one."""

from __future__ import annotations

import json
from pathlib import Path

from cli_bench import Bench


def test_measured_foretold_and_undefined(told: Bench, tmp_path: Path) -> None:
    from leadoff.loop.session import Session
    from leadoff.record.entries import workload_row
    from leadoff.record.runs import Direction, Workload

    session = Session(at="2024-03-01T20:00:00Z")
    needs = Workload(
        name="cathedral", unit="frames/s", direction=Direction.HIGHER, needs=("ram_mb>=64",), minutes=4.0
    )
    session.write(workload_row(needs))
    session.close()
    told("publish", "ferry-486", "--to", str(tmp_path), "--only", "page", "--at", "2024-03-02T10:00")
    data = json.loads((tmp_path / "ferry-486.leadoff.json").read_text(encoding="utf-8"))
    pieces = {p["workload"]: p for p in data["show_pieces"]}
    assert pieces["w2"]["score"]["source"] == "measured"
    assert pieces["w2"]["score"]["value"] == 23.15
    assert pieces["cathedral"]["score"]["value"] is None
    assert "needs ram_mb>=64" in pieces["cathedral"]["undefined"]
    assert pieces["cathedral"]["minutes"] == 4.0
    assert "needs ram_mb" in (tmp_path / "index.html").read_text(encoding="utf-8")
