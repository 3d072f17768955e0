"""What a forecast is made from: runs with the states they were made in, as plain values."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

import msgspec

from leadoff.machine.partfacts import Processor
from leadoff.record.board import BoardSheet
from leadoff.record.runs import Run, Workload
from leadoff.record.state import State


class TagFacts(msgspec.Struct, frozen=True, kw_only=True):
    """What the catalogue says of a chipset's tag: whether the dirty mark of a write-back cache takes a bit of it
    (``None``: not known), and up to how many MB the chipset caches at all."""

    marked: bool | None = None
    limit_mb: float | None = None


class Setup(msgspec.Struct, frozen=True, kw_only=True):
    """A state with what follows from it: exact clocks in MHz (absent or ``None`` is not known), the part."""

    sheet: BoardSheet
    state: State
    clocks: Mapping[str, Fraction | None]
    processor: Processor | None = None
    tag: TagFacts = TagFacts()

    @property
    def board(self) -> str:
        return self.state.board

    def clock(self, name: str) -> float | None:
        """A clock in MHz such as ``core_mhz``, ``None`` when not known."""
        value = self.clocks.get(name)
        return None if value is None else float(value)


class Fills(msgspec.Struct, frozen=True, kw_only=True):
    """What a read sweep says of a state: bus clocks of a whole line from the second level and from memory, as
    (least, most); ``None``: it does not say. ``noise_log``: repeatability of a point, in logs."""

    cache: tuple[float, float] | None = None
    memory: tuple[float, float] | None = None
    noise_log: float = 0.03


class Observed(msgspec.Struct, frozen=True, kw_only=True):
    """One run of the book and the setup it was made in. ``when`` is the entry's effective time.

    A sweep is one as well: a run without score that finished, with ``fills``.
    """

    run: Run
    setup: Setup
    when: str
    fills: Fills | None = None


class Question(msgspec.Struct, frozen=True, kw_only=True):
    """What a forecast is asked: a setup, the workloads, and every run of the book (all boards)."""

    target: Setup
    workloads: tuple[Workload, ...]
    runs: tuple[Observed, ...]
