"""A difference across two rigs is never put down to a setting without a run of one state under both."""

from __future__ import annotations

from typing import Any

import pytest

from leadoff.loop.forecasting import why
from leadoff.loop.session import Session


def _shares(data: Any) -> dict[str, tuple[float | None, str]]:
    return {f["factor"]: (f["share"].value, f["verdict"]) for f in data["factors"]}


def test_the_bridging_runs_tell_the_rig_and_what_is_left_is_the_setting(blind: Session) -> None:
    """Runs 26 and 27: one state under both cards, 17.43 and 24.93; run 28 has write-back on, 26.17."""
    found = _shares(why(blind, "26", "28").data)
    assert found["rig"][0] == pytest.approx(100 * (24.9333 / 17.4333 - 1), abs=0.05)
    assert found["rig"][1] == "shown"
    assert found["l1_policy"][0] == pytest.approx(100 * (26.1667 / 24.9333 - 1), abs=0.6)


def test_without_a_bridge_nothing_is_attributed_and_the_run_is_named(blind: Session) -> None:
    data = why(blind, "14", "28").data
    assert [x["board"] for x in data["open_symptoms"]] == ["birch"]
    assert {verdict for _, verdict in _shares(data).values()} == {"cannot_tell"}
    assert "rig" in data["cannot_tell"][0]["factors"]
    assert "no state was run under both" in data["cannot_tell"][0]["because"]
    assert "run 28 once more with vlb" in data["cheapest_run"]["why"]
    assert data["cheapest_run"]["minutes"] > 0
