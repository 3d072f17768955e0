"""What happened on the bench: evenings, moves, runs, failures, wrong declarations, in order of time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta

import numpy as np

from leadoff.record.entries import Body, DidBody, RunBody, StateBody
from leadoff.record.moves import Change
from leadoff.validation.limits import chance, margins
from leadoff.validation.rows import mhz
from leadoff.validation.sheets import Made
from leadoff.validation.telling import Logged, as_setting, minutes_for, settled, spoken, stamp
from leadoff.validation.truth import Bench

PATTERNS = (
    "l2_read",
    "dram_read",
    "l2_read_ws",
    "l2_write_ws",
    "dram_read_ws",
    "dram_write_ws",
    "cas",
    "rcd",
    "rp",
)
RISING = ("bus_mhz", "ratio", "core_v", "l1_policy", "l2_policy", "write_alloc", "write_combine")
"""Settings whose later values are the faster ones; of the others the first value is the fastest."""
RARE = ("l2", "profile", "isa_ratio", "refresh", "write_combine", "core_v")


@dataclass
class Teller:
    """Tells the history of one board, run by run."""

    bench: Bench
    made: Made
    rng: np.random.Generator
    workloads: tuple[str, ...]
    unknown: str = ""
    reveal: bool = False
    revealing: str = ""
    wrong_rate: float = 0.04
    repeat_rate: float = 0.12
    failures: bool = True
    true: dict[str, str] = field(default_factory=dict)
    held: dict[str, str] = field(default_factory=dict)
    beyond: dict[str, float] = field(default_factory=dict)
    boot: int = 0
    take: int = 0
    last_workload: str = ""
    events: list[tuple[str, Body]] = field(default_factory=list)
    log: list[Logged] = field(default_factory=list)

    @property
    def board(self) -> str:
        """The board's id."""
        return self.made.sheet.id

    def declared(self) -> dict[str, str | None]:
        """What the book says now: the truth, less what is unknown."""
        return {k: None if k == self.unknown else v for k, v in self.true.items()}

    def begin(self, at: datetime) -> None:
        """The snapshot that opens the board's history."""
        self.true = dict(self.made.start)
        self.held = dict(self.true)
        settings = {k: as_setting(v) for k, v in self.declared().items()}
        self.say(
            at, StateBody(board=self.board, settings=settings, said="as found, read off the board and set-up")
        )

    def say(self, at: datetime, body: Body) -> None:
        """One entry at that minute."""
        self.events.append((stamp(at), body))

    def propose(self) -> dict[str, str]:
        """A state with one to three settings changed, mostly one that a careful person would try."""
        names = [n for n in self.made.reach if n != self.unknown]
        weights = np.array([0.15 if n in RARE else 1.6 if n in ("bus_mhz", "ratio") else 1.0 for n in names])
        for _ in range(40):
            n = min(len(names), int(self.rng.choice([1, 2, 3], p=[0.6, 0.28, 0.12])))
            picked = self.rng.choice(len(names), size=n, replace=False, p=weights / weights.sum())
            state = dict(self.held)
            for i in picked:
                state[names[i]] = self.other(names[i], state.get(names[i]))
            if state != self.held:
                state = self.careful(settled(state))
                found = margins(self.bench.boards[self.board], state)
                if any(found.get(p, 1.0) <= m for p, m in self.beyond.items()):
                    continue
                odds = chance(found)
                if odds > 0.9 or (self.failures and self.rng.random() < 0.40 + 0.6 * odds):
                    return state
        return dict(self.held)

    def other(self, name: str, value: str | None) -> str:
        """Another value of a setting; half the time the next faster one, since that is what people try."""
        values = self.made.reach[name]
        if value in values and self.rng.random() < 0.5:
            step = 1 if name in RISING else -1
            i = values.index(value) + step
            if 0 <= i < len(values):
                return values[i]
        others = [v for v in values if v != value]
        return others[int(self.rng.integers(len(others)))]

    def careful(self, state: dict[str, str]) -> dict[str, str]:
        """With another bus clock a careful person sees to the expansion bus divider, most of the time."""
        values = self.made.reach.get("isa_ratio", ())
        if not values or state["bus_mhz"] == self.held["bus_mhz"] or self.rng.random() < 0.15:
            return state
        fit = [r for r in values if mhz(r) * mhz(state["bus_mhz"]) <= 8.6]
        return {**state, "isa_ratio": max(fit, key=mhz) if fit else min(values, key=mhz)}

    def move(self, at: datetime, after: Mapping[str, str]) -> datetime:
        """The board is put into that state; says so and returns the time when it is done."""
        before = self.declared()
        changed = [n for n in after if after[n] != self.true.get(n) or n == self.revealing]
        self.true = dict(after)
        if self.revealing:
            self.unknown = self.revealing = ""
        if not changed:
            return at
        self.boot += 1
        self.take = 0
        changes = tuple(
            Change(name=n, before=before.get(n), after=self.declared()[n], said=f"{n} {after[n]}")
            for n in changed
        )
        minutes = minutes_for(changed)
        said = ", ".join(c.said for c in changes)
        self.say(at, DidBody(board=self.board, what="move", changes=changes, minutes=minutes, said=said))
        return at + timedelta(minutes=minutes)

    def run(
        self,
        at: datetime,
        number: str,
        rig: str,
        evening: str,
        minute: float,
        state: Mapping[str, str],
        workload: str = "",
    ) -> datetime:
        """One move and one run; a failure sends the board back to the last state that held."""
        settled_before = dict(self.true)
        at = self.move(at, state)
        workload = workload or self.pick_workload()
        true, wrong = self.mistaken(settled_before)
        many = int(self.rng.choice([1, 1, 1, 2, 3]))
        run = self.bench.measure(
            self.board,
            true,
            workload,
            boot=self.boot,
            take=self.take,
            repeats=many,
            rig=rig,
            evening=evening,
            minute=minute,
            number=number,
        )
        self.take += 1
        self.say(at, RunBody(run=run, said=spoken(run)))
        self.log.append(
            Logged(
                number=number,
                at=stamp(at),
                board=self.board,
                workload=workload,
                declared=self.declared(),
                true=true,
                boot=self.boot,
                rig=rig,
                run=run,
                wrong=wrong,
            )
        )
        at += timedelta(minutes=4)
        if run.outcome.held:
            self.held = dict(self.true)
            self.last_workload = workload
            return at
        found = margins(self.bench.boards[self.board], true)
        path = min(found, key=lambda p: found[p])
        self.beyond[path] = max(found[path], self.beyond.get(path, -9.0))
        return self.move(at, self.held)

    def pick_workload(self) -> str:
        """Mostly the favourite one."""
        if self.rng.random() < 0.6 or len(self.workloads) == 1:
            return self.favourite()
        return self.workloads[int(self.rng.integers(len(self.workloads)))]

    def favourite(self) -> str:
        """The workload this person times first: the textured renderer where it is in the world."""
        return "w4" if "w4" in self.workloads else self.workloads[0]

    def mistaken(self, before: Mapping[str, str]) -> tuple[dict[str, str], str]:
        """The state as it truly is for this run: now and then one declared pattern is not what is set."""
        true = dict(self.true)
        if self.rng.random() >= self.wrong_rate:
            return true, ""
        names = [n for n in PATTERNS if n in self.made.reach and n != self.unknown]
        touched = [n for n in names if before.get(n) != true.get(n)]
        if not names:
            return true, ""
        name = touched[0] if touched else names[int(self.rng.integers(len(names)))]
        values = self.made.reach[name]
        others = [v for v in values if v != true[name]]
        wrong = before[name] if name in touched else others[int(self.rng.integers(len(others)))]
        trial = {**true, name: wrong}
        if chance(margins(self.bench.boards[self.board], trial)) < 0.9:
            return true, ""
        return trial, name
