"""What claims are held against: the book as plain values, handed in by whoever opened it."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

import msgspec

from leadoff.forecast.datum import score_settings
from leadoff.forecast.facts import Observed, Setup
from leadoff.forecast.scale import usable
from leadoff.record.runs import Reading, Run, Workload

RIG_SETTINGS = frozenset({"video", "video_bus", "video_slot", "disk"})
"""Settings that belong to the rig: changing them is what a bridging run does."""

StateKey = tuple[tuple[str, str], ...]


class Trial(msgspec.Struct, frozen=True, kw_only=True):
    """A run with its entry and its state as names and values.

    ``settings`` has the bus clock and the ratio beside every other setting that may move a score; ``None`` is
    not known. ``key`` is the same as one value, rig settings apart; ``hold_key`` has everything that may
    decide whether a state holds, volts and the specimen included.
    """

    entry: str
    observed: Observed
    rig: str
    settings: Mapping[str, str | None]
    key: StateKey
    hold_key: StateKey
    said: str = ""

    @property
    def run(self) -> Run:
        return self.observed.run

    @property
    def number(self) -> str:
        return self.observed.run.number

    @property
    def board(self) -> str:
        return self.observed.setup.board

    @property
    def workload(self) -> str | None:
        return self.observed.run.workload

    @property
    def readings(self) -> tuple[Reading, ...]:
        return usable(self.observed.run)

    def clock(self, name: str) -> float | None:
        return self.observed.setup.clock(name)

    @property
    def core_mhz(self) -> float | None:
        """Bus clock times ratio as set, else the core clock as it follows from the state."""
        bus, ratio = self.settings.get("bus_mhz"), self.settings.get("ratio")
        if bus is None or ratio is None:
            return self.clock("core_mhz")
        return float(Fraction(bus) * Fraction(ratio))


class Sealed(msgspec.Struct, frozen=True, kw_only=True):
    """A sealed forecast of one workload: its 90 % band, and the runs of that very state and workload that
    came after the seal (``answered_by``) or were in the book already (``late_for``). ``guess`` is the user's own,
    sealed with it or between it and the first run."""

    number: str
    entry: str
    board: str
    workload: str
    median: float
    lo: float
    hi: float
    band50: tuple[float, float] | None = None
    settings: Mapping[str, str | None]
    core_mhz: float | None
    answered_by: tuple[str, ...] = ()
    late_for: tuple[str, ...] = ()
    guess: float | None = None


class Oddity(msgspec.Struct, frozen=True, kw_only=True):
    """A symptom of a board over time. ``seen`` counts how often it was noted, ``open`` whether it still is,
    ``repaired`` whether a repair of the board came after it was last noted, ``mends`` what was said of the repairs
    of the board since it was first noted."""

    board: str
    finding: str
    details: tuple[str, ...]
    entries: tuple[str, ...]
    seen: int
    open: bool
    repaired: bool = False
    mends: tuple[str, ...] = ()


class Ledger(msgspec.Struct, frozen=True, kw_only=True):
    """Everything that standings and claims rest on. ``boards`` maps a name to its class."""

    workloads: Mapping[str, Workload]
    trials: tuple[Trial, ...]
    boards: Mapping[str, str] = {}
    sealed: tuple[Sealed, ...] = ()
    oddities: tuple[Oddity, ...] = ()

    def of(self, workload: str) -> tuple[Trial, ...]:
        """Runs of a workload with a score."""
        return tuple(t for t in self.trials if t.workload == workload and t.readings)


def number_of(text: str | None) -> float | None:
    """A setting's value as a number, ``None`` where it is none."""
    try:
        return None if text is None else float(Fraction(text))
    except (ValueError, ZeroDivisionError):
        return None


def state_settings(setup: Setup) -> dict[str, str | None]:
    """Settings that may move a score, with the bus clock and the ratio in place of the clocks they make."""
    out = {n: v for n, v in score_settings(setup).items() if n not in RIG_SETTINGS}
    bus, core = setup.clocks.get("bus_mhz"), setup.clocks.get("core_mhz")
    out["bus_mhz"] = None if bus is None else str(bus)
    out["ratio"] = _ratio(bus, core, setup)
    return out


def state_key(settings: Mapping[str, str | None]) -> StateKey:
    """The state as one value; unknown is a value of its own."""
    return tuple(sorted((n, "?" if v is None else v) for n, v in settings.items()))


def hold_key(setup: Setup) -> StateKey:
    """Everything set, the rig and the temperature apart, and the clocks it makes."""
    names = {n: s.value for n, s in setup.state.settings.items() if n not in RIG_SETTINGS and n != "temp_c"}
    clocks = {f"clock {n}": None if v is None else f"{float(v):.5g}" for n, v in setup.clocks.items()}
    return state_key({**names, **clocks})


def _ratio(bus: Fraction | None, core: Fraction | None, setup: Setup) -> str | None:
    """As set; else what the clocks make it."""
    said = setup.state.value("ratio")
    if said is not None:
        return said
    if bus and core:
        return str((core / bus).limit_denominator(12))
    return None
