"""Small states and runs for the tests of forecasts, all invented."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from leadoff.forecast.facts import Observed, Setup
from leadoff.machine.clocks import clocks
from leadoff.machine.partfacts import Processor
from leadoff.record.board import BoardSheet
from leadoff.record.quantity import Source
from leadoff.record.runs import Direction, Outcome, Reading, Run, Workload
from leadoff.record.state import UNKNOWN_SETTING, Setting, State, Status

FRAMES = Workload(name="w2", unit="frames/s", direction=Direction.HIGHER, resolution=0.1)
SECONDS = Workload(name="w9", unit="s", direction=Direction.LOWER, resolution=0.1)


def sheet(board: str = "quay-1", board_class: str = "486vlb", **more: object) -> BoardSheet:
    return BoardSheet(id=board, board_class=board_class, **more)  # type: ignore[arg-type]


def setup(
    settings: Mapping[str, str | None], of: BoardSheet | None = None, part: Processor | None = None
) -> Setup:
    of = of or sheet()
    state = State(board=of.id, settings={n: known(v) for n, v in settings.items()})
    made = {n: c.mhz for n, c in clocks(state, of, part).items()}
    return Setup(sheet=of, state=state, clocks=made, processor=part)


def known(value: str | None) -> Setting:
    if value is None:
        return UNKNOWN_SETTING
    return Setting(value=value, status=Status.KNOWN, source=Source.DECLARED)


def reading(text: str) -> Reading:
    digits = len(text.split(".")[1]) if "." in text else 0
    half = 0.5 * 10.0**-digits
    return Reading(text=text, value=float(text), lo=float(text) - half, hi=float(text) + half)


def run(
    texts: str,
    board: str = "quay-1",
    *,
    number: str = "1",
    workload: str = "w2",
    outcome: Outcome | None = None,
    rig: str = "",
) -> Run:
    marks = tuple(map(reading, texts.split()))
    ended = outcome or (Outcome.FINISHES if marks else Outcome.FAILS_MID_RUN)
    return Run(number=number, board=board, workload=workload, outcome=ended, readings=marks, rig=rig)


def seen(
    at: Setup, texts: str, *, number: str = "1", when: str = "2020-01-01T19:00", **more: object
) -> Observed:
    made = run(texts, at.board, number=number, **more)  # type: ignore[arg-type]
    return Observed(run=made, setup=at, when=when)


def scaled(of: Setup, k: Fraction) -> Setup:
    """The same state with every clock times k."""
    made = {n: None if c is None else c * k for n, c in of.clocks.items()}
    return Setup(sheet=of.sheet, state=of.state, clocks=made, processor=of.processor)
