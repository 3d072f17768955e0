"""The whole book as a ledger that claims are held against."""

from __future__ import annotations

from typing import TYPE_CHECKING

from leadoff.claims.values import Ledger, Trial, hold_key, state_key, state_settings
from leadoff.loop.history import History, RunView

if TYPE_CHECKING:
    from leadoff.forecast.facts import Setup


def ledger_of(history: History) -> Ledger:
    """Every run of every board, with its rig and its state as comparable values."""
    return Ledger(
        workloads=history.workloads,
        trials=tuple(_trial(view) for board in history.boards.values() for view in board.runs),
    )


def _trial(view: RunView) -> Trial:
    settings = state_settings(view.setup)
    return Trial(
        entry=view.entry,
        observed=view.observed(),
        rig=rig_name(view.run.rig, view.setup),
        settings=settings,
        key=state_key(settings),
        hold_key=hold_key(view.setup),
    )


def rig_name(said: str, setup: Setup) -> str:
    """The rig as it was named, else the display card where the state knows it, else not recorded."""
    card = setup.state.value("video")
    return said or (f"display card {card}" if card else "")
