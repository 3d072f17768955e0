"""Values of the house in the shape of the contract."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from leadoff.forecast.facts import Setup
from leadoff.forecast.scores import resolution_of, score_of
from leadoff.loop.history import BoardView, RunView
from leadoff.machine.clocks import clocks
from leadoff.record.entries import Expected
from leadoff.record.moves import Move
from leadoff.record.quantity import Quantity
from leadoff.record.settings import SettingKind, kind_of
from leadoff.record.state import Setting, State

_NUMERIC = (SettingKind.CLOCK, SettingKind.RATIO, SettingKind.VOLTS, SettingKind.NUMBER)


def setting_view(name: str, setting: Setting) -> dict[str, Any]:
    """One setting: a number where it is one, with its exact text beside it."""
    value: float | str | None = setting.value
    if value is not None and kind_of(name) in _NUMERIC:
        value = float(Fraction(setting.value or "0"))
    out: dict[str, Any] = {"value": value, "status": setting.status.value, "source": setting.source.value}
    for key in ("said", "why", "against"):
        if text := getattr(setting, key):
            out[key] = text
    if setting.value is not None and value != setting.value:
        out["exact"] = setting.value
    return out


def settings_view(state: State) -> dict[str, Any]:
    """All settings by name."""
    return {name: setting_view(name, setting) for name, setting in sorted(state.settings.items())}


def clocks_view(setup: Setup) -> dict[str, Quantity]:
    """All clocks that exist on the board, as quantities."""
    found = clocks(setup.state, setup.sheet, setup.processor)
    return {name: clock.quantity() for name, clock in found.items()}


def setup_view(setup: Setup) -> dict[str, Any]:
    """A state with its clocks."""
    return {"settings": settings_view(setup.state), "clocks": clocks_view(setup)}


def moves_view(moves: tuple[Move, ...]) -> list[dict[str, Any]]:
    """Moves as the contract lists them."""
    return [
        {
            "n": m.n,
            "what": m.what,
            "minutes": m.minutes,
            "power_off": m.power_off,
            "reversible": m.reversible,
            "hazard": m.hazard,
        }
        for m in moves
    ]


def run_view(view: RunView) -> dict[str, Any]:
    """A run as the contract prints it."""
    run = view.run
    return {
        "entry": view.entry,
        "number": run.number,
        "workload": run.workload,
        "score": score_of(run),
        "resolution": resolution_of(run),
        "outcome": run.outcome.value,
        "flags": list(run.flags),
        "readings": [r.text for r in run.readings],
        "place": run.place,
        "after_s": run.after_s,
        "count": run.count,
        "of": run.of,
        "rig": run.rig,
        "when": view.when,
    }


def symptoms_view(board: BoardView) -> list[dict[str, Any]]:
    """Open symptoms of a board."""
    return [
        {"symptom": s.finding, "detail": s.detail, "since": s.when, "entry": s.entry}
        for s in board.open_symptoms
    ]


def expected_view(e: Expected) -> dict[str, Any]:
    """One workload of a forecast, as the contract prints it."""
    return {
        "workload": e.workload,
        "unit": e.unit,
        "median": e.median,
        "band50": list(e.band50) if e.band50 else None,
        "band90": list(e.band90) if e.band90 else None,
        "lower": e.lower,
        "upper": e.upper,
        "undefined": e.undefined or None,
    }
