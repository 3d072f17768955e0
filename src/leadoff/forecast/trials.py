"""What one run says of holding: how much load was carried, and how often it was not.

Load is counted in attempts: one is what a run of a few minutes asks of a machine (row ``attempt``). A soak is as many
as its hours hold, a copy of a copy-compare a part of one. Repeats in one go count as one: they share their start.
"""

from __future__ import annotations

import msgspec

from leadoff.forecast.facts import Observed
from leadoff.forecast.paths import Load, loads
from leadoff.forecast.rows import group, values
from leadoff.record.runs import Outcome, Run

_UNDEFINED = ("refuses", "cannot run")
_NEXT = {
    Outcome.NO_START: Outcome.NO_START,
    Outcome.STARTS: Outcome.BOOTS,
    Outcome.BOOTS: Outcome.FINISHES,
    Outcome.FAILS_MID_RUN: Outcome.FINISHES,
}
"""What a run that ended at this outcome failed to do."""


class Part(msgspec.Struct, frozen=True, kw_only=True):
    """``times`` stretches of load, ``attempts`` long each, at loads eased by ``room`` (log). ``of``: paths that were
    loaded at all, by the first words of their names; empty is all."""

    room: float = 0.0
    of: frozenset[str] = frozenset()
    attempts: float = 1.0
    times: float = 1.0


WHOLE = Part()


class Trial(msgspec.Struct, frozen=True, kw_only=True):
    """What one run says: loads by path, what was carried and what was not. ``elsewhere``: on another board."""

    loads: tuple[Load, ...]
    carried: tuple[Part, ...] = ()
    failed: tuple[Part, ...] = ()
    elsewhere: bool = False


def trial(seen: Observed, *, elsewhere: bool) -> Trial:
    """A run as evidence of holding; on another board only of what came along with the specimen."""
    told = tuple(p for p in loads(seen.setup) if not elsewhere or p.whose != "board")
    carried, failed = parts(seen.run)
    return Trial(loads=told, carried=carried, failed=failed, elsewhere=elsewhere)


def room(outcome: Outcome) -> float:
    """How much easier it is to come so far than to hold a workload."""
    names = {Outcome.NO_START: "start_room", Outcome.STARTS: "start_room", Outcome.BOOTS: "boot_room"}
    return values("hold")[names[outcome]] if outcome in names else 0.0


def parts(run: Run) -> tuple[tuple[Part, ...], tuple[Part, ...]]:
    """What a run carried, and what it failed to carry."""
    row = group("hold", "attempt")
    if run.outcome is Outcome.NO_POWER:
        return (), ()  # nothing was loaded
    if run.outcome is Outcome.COPY_CLEAN or run.place == "copy":
        bad = run.count or 0 if run.of else int(not run.outcome.held)
        each = 1.0 / row["copies"]
        return _some(each, (run.of or 1) - bad), _some(each, bad)
    if run.of and run.count is not None:
        eased = Part(room=room(run.outcome), of=_loaded(run.outcome))
        return _some(1.0, run.count, eased), _some(1.0, run.of - run.count, Part(room=eased.room))
    lasted = (run.after_s or 0.0) / (60.0 * row["minutes"])
    if run.outcome.held:
        soaked = run.outcome is Outcome.SOAKED or run.place == "soak"
        return (Part(attempts=max(1.0, lasted) if soaked else 1.0),), ()
    come = _come(run.outcome)
    if run.outcome is Outcome.BOOTS and (not run.place or run.place.startswith(_UNDEFINED)):
        return (
            come,
            (),
        )  # it came up, and nobody asked more of it; or what was asked exists in no state like this
    if run.outcome is Outcome.FAILS_MID_RUN and lasted >= 1.0:
        come = (*come, Part(attempts=float(int(lasted))))
    return come, (Part(room=room(_NEXT[run.outcome])),)


def _some(attempts: float, times: int, like: Part = WHOLE) -> tuple[Part, ...]:
    """So many stretches of one kind."""
    return (msgspec.structs.replace(like, attempts=attempts, times=float(times)),) if times > 0 else ()


def _come(outcome: Outcome) -> tuple[Part, ...]:
    """How far a failed run came for certain: what that loads of the machine had that much room."""
    if outcome is Outcome.NO_START:
        return ()
    came = Outcome.BOOTS if outcome is Outcome.FAILS_MID_RUN else outcome
    return (Part(room=room(came), of=_loaded(came)),)


def _loaded(outcome: Outcome) -> frozenset[str]:
    """Paths that are loaded by coming so far; empty is all."""
    if outcome in (Outcome.NO_START, Outcome.STARTS):
        return frozenset(group("hold", "loaded.start"))
    return frozenset(group("hold", "loaded.boot")) if outcome is Outcome.BOOTS else frozenset()
