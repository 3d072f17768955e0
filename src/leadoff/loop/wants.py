"""From understood words to wanted settings, earlier states included."""

from __future__ import annotations

from collections.abc import Iterable

from leadoff.loop.history import BoardView, History
from leadoff.machine.adapter import adapter_of
from leadoff.machine.effects import carriers
from leadoff.machine.reach import Want
from leadoff.machine.same import CIRCUMSTANCES
from leadoff.record.errors import LeadoffError
from leadoff.record.phrases import AnyPhrase, LikePhrase, SetPhrase
from leadoff.record.state import State


def wants_of(phrases: Iterable[AnyPhrase], board: BoardView, history: History) -> tuple[Want, ...]:
    """Every setting the phrases ask for; later words win over an earlier run's state.

    Raises:
        LeadoffError: a run that is not there, or was made on another board.
    """
    wanted: dict[str, Want] = {}
    for phrase in phrases:
        if isinstance(phrase, LikePhrase):
            wanted.update({w.name: w for w in _like(phrase, board, history)})
        elif isinstance(phrase, SetPhrase):
            for replaced in _speaks_for(phrase.name, board):
                wanted.pop(replaced, None)
            wanted[phrase.name] = Want(
                name=phrase.name, value=phrase.value, said=phrase.text, measured=phrase.measured
            )
    return tuple(wanted.values())


def _like(phrase: LikePhrase, board: BoardView, history: History) -> list[Want]:
    run = history.run(phrase.run)
    if run.run.board != board.id:
        raise LeadoffError.one(
            "other_board",
            f"run {phrase.run} was made on {run.run.board}; its settings are not positions of {board.id}",
            where=phrase.text,
            do=f"name a run of {board.id}",
        )
    return back_to(run.setup.state, board, said=phrase.text)


def back_to(state: State, board: BoardView, *, said: str) -> list[Want]:
    """The wants that lead back to a state: known positions, and what stands by itself.

    A setting that was unknown then is left as it is; what follows from positions is not asked for twice.
    """
    acting = carriers(board.fold.sheet)
    positions = {c.id for c in acting}
    follow = {name for c in acting for name in c.sets} | {"core_mhz"}
    now = board.setup.state
    part = board.setup.processor
    if part is not None and part.locked is not None:
        follow.add("ratio")
    adapter = adapter_of(state.settings, board.fold.sheet)
    if adapter is not None and adapter.ratio_straps:
        follow.discard("ratio")  # set on the adapter, by no jumper of the sheet
    return [
        Want(name=name, value=setting.value, said=said)
        for name, setting in sorted(state.settings.items())
        if setting.value is not None
        and (name in positions or name not in follow)
        and now.value(name) != setting.value
    ]


def unknown_then(state: State, board: BoardView) -> tuple[str, ...]:
    """Settings that a state does not say and that stand at something now: leading back to it leaves them."""
    now, positions = board.setup.state, {c.id for c in carriers(board.fold.sheet)}
    follow = {name for c in carriers(board.fold.sheet) for name in c.sets} | {"core_mhz"}
    return tuple(
        name
        for name, setting in sorted(now.settings.items())
        if setting.value is not None
        and state.value(name) is None
        and name not in CIRCUMSTANCES
        and (name in positions or name not in follow)
    )


def _speaks_for(name: str, board: BoardView) -> list[str]:
    """Positions that an explicit setting replaces: ``as 41 but bus 50`` must not keep 41's bus jumper."""
    return [c.id for c in carriers(board.fold.sheet) if name in c.sets]
