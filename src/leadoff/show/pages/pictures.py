"""The pages' pictures by name, as SVG of a width and as a still."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from leadoff.record.errors import LeadoffError
from leadoff.show.charts.forecast_outcome import forecast_outcome
from leadoff.show.charts.jumper_plan import jumper_plan
from leadoff.show.charts.record_line import record_line
from leadoff.show.charts.render import svg
from leadoff.show.charts.slack import slack_ladder
from leadoff.show.charts.staircase import staircase
from leadoff.show.charts.still import still


def make_svg(name: str, values: Mapping[str, Any], width: int) -> str:
    """SVG with a sentence on every mark."""
    if name == "jumpers":
        return jumper_plan(values["jumpers"], title=f"Jumpers of {values['board']}", width=width)
    return svg(_spec(name, values, width))


def make_png(name: str, values: Mapping[str, Any]) -> bytes:
    """A still of 1920 x 1080.

    Raises:
        LeadoffError: the jumper picture, which is drawn as SVG only.
    """
    if name == "jumpers":
        raise LeadoffError.one(
            "picture_unknown", "the jumpers are drawn as SVG only", where=name, do="ask for jumpers.svg"
        )
    return still(_spec(name, values, 1000), values["head"])


def _spec(name: str, values: Mapping[str, Any], width: int) -> dict[str, Any]:
    board = values["board"]
    if name == "record":
        title = f"The record of {values['workload']} on {board}"
        return record_line(values["points"], title=title, unit=values["unit"], width=width)
    if name == "forecasts":
        return forecast_outcome(
            values["bands"], title=f"Sealed forecasts of {board} and what came", width=width
        )
    if name == "sweep":
        title = f"{values['kind'].capitalize()} sweep of {board}"
        return staircase(values["points"], values["levels"], title=title, width=width)
    return slack_ladder(values["patterns"], title=f"Slack of the cache cycles of {board}", width=width)
