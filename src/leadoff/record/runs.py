"""Workloads, readings and runs. A failure is an outcome, never a number."""

from __future__ import annotations

from enum import StrEnum

import msgspec


class Outcome(StrEnum):
    """The outcome ladder, from nothing at all to proven."""

    NO_POWER = "no_power"
    NO_START = "no_start"
    STARTS = "starts"
    BOOTS = "boots"
    FAILS_MID_RUN = "fails_mid_run"
    FINISHES = "finishes"
    REPEATS = "repeats"
    SOAKED = "soaked"
    COPY_CLEAN = "copy_clean"

    @property
    def rung(self) -> int:
        """Height on the ladder, 0 for no power."""
        return _RUNGS[self]

    @property
    def held(self) -> bool:
        """Whether the state carried a workload to its end."""
        return self.rung >= Outcome.FINISHES.rung


_RUNGS = {outcome: height for height, outcome in enumerate(Outcome)}


class Direction(StrEnum):
    """Whether a larger or a smaller score is the better one."""

    HIGHER = "higher"
    LOWER = "lower"


class Workload(msgspec.Struct, frozen=True, kw_only=True):
    """A thing that can be timed. ``needs`` lists what a state must have for it to be defined at all."""

    name: str
    unit: str
    direction: Direction
    resolution: float | None = None
    needs: tuple[str, ...] = ()
    minutes: float | None = None
    mix: str = "mixed"
    text: str = ""


class Reading(msgspec.Struct, frozen=True, kw_only=True):
    """One printed or counted result: what was typed, its value and the interval it stands for.

    ``23.5`` printed to one decimal is [23.45, 23.55); ``23.50`` is ten times narrower.
    """

    text: str
    value: float
    lo: float
    hi: float


class Run(msgspec.Struct, frozen=True, kw_only=True):
    """One workload in one state, once or repeated in one go, or the way it failed.

    ``readings`` is empty when it did not finish. ``count`` of ``of`` counts attempts (3 of 5 starts).
    """

    number: str
    board: str
    workload: str | None
    outcome: Outcome
    unit: str = ""
    readings: tuple[Reading, ...] = ()
    dropped: tuple[Reading, ...] = ()
    place: str = ""
    after_s: float | None = None
    count: int | None = None
    of: int | None = None
    rig: str = ""
    flags: tuple[str, ...] = ()
