"""The machine room of a world: true scores, true chances and single attempts, for any state of a board."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from leadoff.record.runs import Outcome, Reading, Run
from leadoff.validation.columns import columns
from leadoff.validation.demand import Mill
from leadoff.validation.hidden import Hidden
from leadoff.validation.keyed import generator, normal
from leadoff.validation.limits import chance, margins, verdict
from leadoff.validation.printing import printed
from leadoff.validation.rigs import Rig
from leadoff.validation.rows import WorkloadRow, rows
from leadoff.validation.score import parts, seconds

Array = NDArray[np.float64]
RUN_SD = 0.0025
DRIVER_SD = 0.010
PLACE_TEXT = {
    "core": "no display",
    "bus": "no display",
    "l2": "memory count",
    "tag": "memory count",
    "l2_write": "loading",
    "dram": "memory count",
    "vlb": "mode change",
    "pci": "drive check",
    "agp": "mode change",
    "isa": "floppy",
}


@dataclass(frozen=True)
class Truth:
    """The truth about one state: log score by workload (``None`` where undefined), and whether it holds.

    ``limits`` is the log margin by path (core, bus, l2, tag, l2_write, dram, vlb, pci, agp, isa); ``chance``
    that one attempt holds.
    """

    score: Mapping[str, float | None]
    hold: bool
    chance: float
    limits: Mapping[str, float]


@dataclass
class Bench:
    """Boards, rigs and workloads of one world, able to answer for any state. Deterministic by seed."""

    seed: int
    workloads: tuple[WorkloadRow, ...]
    other: bool = False
    boards: dict[str, Hidden] = field(default_factory=dict)
    now: dict[str, dict[str, str]] = field(default_factory=dict)
    rigs: dict[str, Rig] = field(default_factory=dict)
    mill: Mill = field(init=False)

    def __post_init__(self) -> None:
        self.mill = Mill(self.workloads)

    def full(self, board_id: str, settings: Mapping[str, str]) -> dict[str, str]:
        """Settings completed with the board's true current ones; a can given alone rules the bus clock."""
        given = dict(settings)
        base = dict(self.now[board_id])
        if "can_mhz" in given and "bus_mhz" not in given:
            base.pop("bus_mhz", None)
        return {**base, **given}

    def drivers(self, rig: str) -> Array:
        """Log-time effect of a rig's driver set by workload; the first set has none."""
        r = self.rigs.get(rig)
        if r is None or r.drivers == "set-1":
            return np.zeros(len(self.workloads))
        sign = [
            DRIVER_SD * normal(self.seed, "drivers", r.drivers, w.name) * (w.video > 0)
            for w in self.workloads
        ]
        return np.array(sign)

    def log_scores(
        self,
        board_id: str,
        states: Sequence[Mapping[str, str]],
        *,
        placement: Array | float = 0.0,
        rig: str = "",
    ) -> Array:
        """Unrounded log score, (states, workloads), ``nan`` where undefined. A rig brings its card."""
        board = self.boards[board_id]
        full = [self.full(board_id, s) for s in states]
        if rig in self.rigs:
            full = [{**s, "video": self.rigs[rig].display} for s in full]
        c = columns(board, full)
        found = parts(board, c, self.mill, placement=placement, other=self.other)
        log_t = np.log(seconds(board, found, self.mill)) + self.drivers(rig)
        work = self.mill.log_work
        out: Array = np.where(self.mill.seconds_form, work + log_t, work - log_t)
        return out

    def shares(self, board_id: str, settings: Mapping[str, str]) -> dict[str, dict[str, float]]:
        """Share of the time by part (core, l2, dram, writeback, store, video, fixed) for every workload."""
        board = self.boards[board_id]
        found = parts(board, columns(board, [self.full(board_id, settings)]), self.mill, other=self.other)
        keys = [k for k in found if not k.endswith("_share")]
        total = sum(found[k][0] for k in keys)
        return {
            w.name: {k: float(found[k][0, i] / total[i]) for k in keys} for i, w in enumerate(self.workloads)
        }

    def truth(self, board_id: str, settings: Mapping[str, str], rig: str = "") -> Truth:
        """The truth about one state, at the middle of page placement and without noise."""
        return self.truths(board_id, [settings], rig)[0]

    def truths(self, board_id: str, states: Sequence[Mapping[str, str]], rig: str = "") -> list[Truth]:
        """The truth about many states of one board, several thousand a second."""
        names = [w.name for w in self.workloads]
        out = []
        for state, logs in zip(states, self.log_scores(board_id, states, rig=rig).tolist(), strict=True):
            limits = margins(self.boards[board_id], self.full(board_id, state))
            score = {n: None if v != v else v for n, v in zip(names, logs, strict=True)}
            out.append(Truth(score, min(limits.values()) >= 0.0, chance(limits), limits))
        return out

    def attempts(self, board_id: str, settings: Mapping[str, str], of: int, boot: int = 0) -> int:
        """How many of ``of`` attempts hold; near a limit some do and some do not."""
        full = self.full(board_id, settings)
        limits = margins(self.boards[board_id], full)
        rng = generator(self.seed, "attempts", board_id, sorted(full.items()), boot)
        draws = [{p: float(rng.standard_normal()) for p in sorted(limits)} for _ in range(of)]
        return sum(verdict(limits, d)[0] == "" for d in draws)

    def noise(self, *keys: object) -> float:
        """Log noise of one run: normal, or with four degrees of freedom under other physics."""
        rng = generator(self.seed, "noise", *keys)
        if self.other:
            return float(RUN_SD * rng.standard_t(4) / np.sqrt(2.0))
        return float(RUN_SD * rng.standard_normal())

    def measure(
        self,
        board_id: str,
        settings: Mapping[str, str],
        workload: str,
        *,
        boot: int = 0,
        take: int = 0,
        repeats: int = 1,
        rig: str = "",
        evening: str = "",
        minute: float = 0.0,
        number: str = "",
    ) -> Run:
        """One attempt at a workload: readings as printed, or the way it failed. Same arguments, same run."""
        row = next(w for w in self.workloads if w.name == workload)
        full = self.full(board_id, settings)
        keys = (board_id, sorted(full.items()), workload, boot, take)
        rng = generator(self.seed, "attempt", *keys)
        limits = margins(self.boards[board_id], full)
        draws = {p: float(rng.standard_normal()) for p in sorted(limits)}
        outcome, path = verdict(limits, draws)
        if outcome in ("no_start", "starts", "boots"):
            return Run(
                number=number,
                board=board_id,
                workload=None,
                outcome=Outcome(outcome),
                rig=rig,
                place=PLACE_TEXT[path],
            )
        if outcome:
            after = round(float(rng.uniform(0.1, 0.9)) * row.minutes * 60.0)
            return Run(
                number=number,
                board=board_id,
                workload=workload,
                outcome=Outcome(outcome),
                rig=rig,
                place="mid-run",
                after_s=float(after),
            )
        place = normal(self.seed, "boot", board_id, boot)
        i = self.workloads.index(row)
        log_score = float(self.log_scores(board_id, [full], placement=place, rig=rig)[0, i])
        if np.isnan(log_score):
            return Run(
                number=number,
                board=board_id,
                workload=workload,
                outcome=Outcome.BOOTS,
                rig=rig,
                place="refuses: no coprocessor",
            )
        sign = 1.0 if row.form == "seconds" else -1.0
        warm = 0.0008 + 0.0007 * normal(self.seed, "evening", board_id, evening)
        log_score += sign * warm * (1.0 - float(np.exp(-minute / 30.0)))
        takes: list[Reading] = [
            printed(row, float(np.exp(log_score + sign * self.noise(*keys, k)))) for k in range(repeats)
        ]
        kind = Outcome.REPEATS if repeats > 1 else Outcome.FINISHES
        return Run(
            number=number,
            board=board_id,
            workload=workload,
            outcome=kind,
            unit=row.unit,
            readings=tuple(takes),
            rig=rig,
        )


def workload_rows(names: Sequence[str] | None = None) -> tuple[WorkloadRow, ...]:
    """The truth behind the workloads, all or those named, in the order of the data file."""
    return tuple(w for n, w in rows().workloads.items() if names is None or n in names)
