"""The setup that a question is about: the board as set, or as the words describe it."""

from __future__ import annotations

import msgspec

from leadoff.forecast.facts import Setup
from leadoff.loop.context import context_for, understand
from leadoff.loop.history import BoardView, History
from leadoff.loop.moving import route
from leadoff.loop.session import Session
from leadoff.loop.setups import PartFinder, make_setup
from leadoff.loop.wants import wants_of
from leadoff.machine.effects import carriers_of
from leadoff.machine.fold import BoardFold, after
from leadoff.machine.nearest import rail_for
from leadoff.machine.reach import Cause, Reach, Want
from leadoff.record.errors import LeadoffError
from leadoff.record.moves import Change
from leadoff.record.phrases import LikePhrase, SetPhrase, Verb


class Described(msgspec.Struct, frozen=True, kw_only=True):
    """What was asked for. ``imagined`` is the setup as asked, even where the wiring cannot reach it:
    it is judged, never walked to. ``way`` is ``None`` when nothing was asked beyond the state as set.
    """

    imagined: Setup
    wants: tuple[Want, ...] = ()
    way: Reach | None = None

    @property
    def causes(self) -> tuple[Cause, ...]:
        return self.way.causes if self.way is not None else ()

    @property
    def changes(self) -> tuple[Change, ...]:
        return self.way.changes if self.way is not None else ()


def described(session: Session, history: History, board: BoardView, want: str | None) -> Described:
    """Read the words and find the way there.

    Raises:
        LeadoffError: words that are not settings, or that leave a question open.
    """
    if not want:
        return Described(imagined=board.setup)
    said = understand(want, context_for(board, history, Verb.WANT))
    other = [p.text for p in said.phrases if not isinstance(p, SetPhrase | LikePhrase)]
    if other:
        raise LeadoffError.one(
            "not_a_state",
            f'"{other[0]}" does not describe a state',
            where=other[0],
            do='describe it by settings, such as "bus 40 x3" or "as 41 but bus 50"',
        )
    wants = with_supply(wants_of(said.phrases, board, history), board, session)
    way = route(session, board, wants)
    changes = way.changes if way.reachable else _by_words(board, wants)
    fold = BoardFold(sheet=board.fold.sheet, said=after(board.fold, changes, session.at))
    return Described(imagined=make_setup(fold, PartFinder(session), board.base), wants=wants, way=way)


def with_supply(wants: tuple[Want, ...], board: BoardView, session: Session) -> tuple[Want, ...]:
    """A part asked for brings its volts along where the board has a position for them."""
    asked = {w.name: w.value for w in wants}
    if asked.get("cpu") is None or "core_v" in asked or not carriers_of(board.fold.sheet, "core_v"):
        return wants
    part = PartFinder(session)(asked["cpu"])
    rail = rail_for(board.fold.sheet, part) if part is not None else None
    if rail is None:
        return wants
    return (*wants, Want(name="core_v", value=rail, said=f"volts of {asked['cpu']}"))


def _by_words(board: BoardView, wants: tuple[Want, ...]) -> tuple[Change, ...]:
    """The state as described, whatever carries it."""
    now = board.setup.state
    return tuple(
        Change(name=w.name, before=now.value(w.name), after=w.value, said=w.said, measured=w.measured)
        for w in wants
    )
