"""The pages' pictures by name, as SVG of a width and as a still."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from leadoff.show.charts.forecast_outcome import forecast_outcome
from leadoff.show.charts.jumper_plan import jumper_plan, jumper_still
from leadoff.show.charts.ladder import ladder
from leadoff.show.charts.record_line import record_line
from leadoff.show.charts.render import svg
from leadoff.show.charts.slack import slack_ladder
from leadoff.show.charts.staircase import staircase
from leadoff.show.charts.standings import standings
from leadoff.show.charts.still import still, svg_still
from leadoff.show.charts.time_split import time_split
from leadoff.show.charts.timeline import timeline

STILL = 1000
"""Width for which a chart is laid out before it is drawn as a still."""

Values = Mapping[str, Any]


def make_svg(name: str, values: Values, width: int) -> str:
    """SVG with a sentence on every mark."""
    if name == "jumpers":
        return jumper_plan(values["jumpers"], title=f"Jumpers of {values['board']}", width=width)
    return svg(SPECS[name](values, width))


def make_png(name: str, values: Values) -> bytes:
    """A still of 1920 x 1080."""
    if name == "jumpers":
        title = f"Jumpers of {values['board']}"
        return svg_still(jumper_still(values["jumpers"], title=title, head=values["head"]))
    return still(SPECS[name](values, STILL), values["head"])


def _record(v: Values, width: int) -> dict[str, Any]:
    title = f"The record of {v['workload']} on {v['board']}"
    return record_line(v["points"], title=title, unit=v["unit"], width=width)


def _forecasts(v: Values, width: int) -> dict[str, Any]:
    title = f"Sealed forecasts of {v['board']} and what came"
    return forecast_outcome(v["bands"], title=title, width=width)


def _sweep(v: Values, width: int) -> dict[str, Any]:
    title = f"{v['kind'].capitalize()} sweep of {v['board']}"
    return staircase(v["points"], v["levels"], title=title, width=width)


def _slack(v: Values, width: int) -> dict[str, Any]:
    return slack_ladder(v["patterns"], title=f"Slack of the cache cycles of {v['board']}", width=width)


def _standings(v: Values, width: int) -> dict[str, Any]:
    title = f"Standings in {v['workload']}"
    return standings(v["rows"], title=title, unit=v["unit"], better=v["better"], width=width)


def _ladder(v: Values, width: int) -> dict[str, Any]:
    title = f"Cache patterns by chip grade, {v['board']}"
    return ladder(v["cells"], now=v["now"], title=title, width=width)


def _timeline(v: Values, width: int) -> dict[str, Any]:
    return timeline(v["rows"], title=f"The history of {v['board']}", width=width)


def _split(v: Values, width: int) -> dict[str, Any]:
    title = f"Where the time of {v['workload']} goes, {v['board']}"
    return time_split(v["parts"], title=title, width=width)


SPECS: Mapping[str, Callable[[Values, int], dict[str, Any]]] = {
    "record": _record,
    "forecasts": _forecasts,
    "sweep": _sweep,
    "slack": _slack,
    "standings": _standings,
    "ladder": _ladder,
    "timeline": _timeline,
    "split": _split,
}
