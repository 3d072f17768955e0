"""Telling the tour: what a script of moves and runs comes to under the rules of the worlds."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from importlib.resources import files
from typing import Any

import numpy as np
from numpy.typing import NDArray

from leadoff.record.entries import (
    BoardBody,
    Body,
    DidBody,
    FactBody,
    FindingBody,
    MarkBody,
    RowBody,
    RunBody,
    StateBody,
)
from leadoff.record.entries import workload_row as row_entry
from leadoff.record.moves import Change
from leadoff.record.quantity import Quantity, Source
from leadoff.record.runs import Outcome, Run
from leadoff.validation.answers import Answers
from leadoff.validation.fitting import reach_of
from leadoff.validation.hidden import draw
from leadoff.validation.rigs import Rig
from leadoff.validation.rows import rows
from leadoff.validation.sheet_files import file_text, sheet_of
from leadoff.validation.sheets import Draft, Made
from leadoff.validation.telling import Logged, as_setting, minutes_for, settled, spoken, stamp
from leadoff.validation.truth import Bench, workload_rows

Array = NDArray[np.float64]
SEED = 1931
RIG = Rig("rig-1", "display-a", "image-1", "set-1")


class Script(Answers):
    """Boards and evenings of a script file, told entry by entry."""

    def __init__(self, name: str) -> None:
        script = tomllib.loads(files("leadoff.validation").joinpath("data", name).read_text("utf-8"))
        self.title: str = script["title"]
        self.heart: str = script["heart"]
        self.dead: str = script["dead"]
        self._bench = Bench(SEED, workload_rows(script["workloads"]), rigs={RIG.name: RIG})
        self._rigs = (RIG,)
        self._made: dict[str, Made] = {}
        self._unknown: dict[str, str] = {}
        self._log: list[Logged] = []
        self._events: list[tuple[str, Body]] = []
        self._true: dict[str, dict[str, str]] = {}
        self._held: dict[str, dict[str, str]] = {}
        self._boot: dict[str, int] = {}
        self._declared: dict[str, dict[str, str]] = {}
        for row in script["board"]:
            self._board(row)
        self._tell(script)

    def _said(self, board_id: str) -> dict[str, str | None]:
        hidden = self._unknown[board_id]
        return {k: None if k == hidden else v for k, v in self._declared[board_id].items()}

    def _board(self, row: Mapping[str, Any]) -> None:
        cls = rows().classes[row["class"]]
        cpu = rows().cpus[row["start"]["cpu"]]
        chipset = next(c for c in cls.chipsets if c.id == row["chipset"])
        start = {"cpu_specimen": f"{row['id']}-cpu", "video": "display-a", "profile": "bare", **row["start"]}
        reach = reach_of(cls, cpu, start)
        words = {"display": RIG.display, "image": RIG.image, "drivers": RIG.drivers}
        draft = Draft(
            row["id"],
            cls,
            chipset,
            cpu,
            start,
            reach,
            confirmed=row["confirmed"],
            rig=words,
            note=row["note"],
        )
        unknown = row.get("unknown", "")
        hidden = draw(SEED, draft.id, cls, chipset, other=False)
        hidden = replace(
            hidden, limits=replace(hidden.limits, **row.get("limits", {})), reach=row.get("cpu_reach", 0.0)
        )
        self._bench.boards[draft.id] = hidden
        self._bench.now[draft.id] = dict(start)
        self._made[draft.id] = Made(sheet_of(draft, unknown, tuple(row.get("spares", ()))), start, reach)
        self._unknown[draft.id] = unknown
        self._true[draft.id] = dict(start)
        self._held[draft.id] = dict(start)
        self._declared[draft.id] = dict(start)
        self._boot[draft.id] = 0

    def _tell(self, script: Mapping[str, Any]) -> None:
        head = stamp(datetime.fromisoformat(script["opened"]))
        self._events += [(head, row_entry(w)) for w in self.workloads]
        self._events.append(
            (
                head,
                RowBody(
                    table="rig",
                    id=RIG.name,
                    row={"display": RIG.display, "image": RIG.image, "drivers": RIG.drivers},
                ),
            )
        )
        seen: set[str] = set()
        for evening in script["evening"]:
            board_id, at = evening["board"], datetime.fromisoformat(evening["at"])
            begin = at
            if board_id not in seen:
                seen.add(board_id)
                sheet = self._made[board_id].sheet
                self._say(at, BoardBody(sheet=sheet, file_text=file_text(sheet)))
                snapshot = {k: as_setting(v) for k, v in self._said(board_id).items()}
                self._say(
                    at, StateBody(board=board_id, settings=snapshot, said="as it came from the library")
                )
            if "note" in evening:
                self._say(at, MarkBody(board=board_id, what="note", said=evening["note"]))
            for fact in evening.get("facts", ()):
                volts = Quantity(value=fact["value"], unit=fact["unit"], source=Source.MEASURED)
                subject = f"board:{board_id}"
                self._say(at, FactBody(subject=subject, name=fact["name"], value=volts, said=fact["said"]))
            for finding in evening.get("findings", ()):
                self._say(
                    at,
                    FindingBody(
                        board=board_id,
                        finding=finding["finding"],
                        detail=finding.get("detail", ""),
                        said=finding["said"],
                    ),
                )
            for step in evening.get("steps", ()):
                at = self._step(board_id, step, at, begin)

    def _say(self, at: datetime, body: Body) -> None:
        self._events.append((stamp(at), body))

    def _step(self, board_id: str, step: str, at: datetime, begin: datetime) -> datetime:
        """``settings | workload takes``: settings are name=value, ``!name=value`` is true but not declared."""
        moves, _, what = (p.strip() for p in step.partition("|"))
        declared = dict(self._held[board_id]) if not moves.startswith("=") else dict(self._declared[board_id])
        slips: dict[str, str] = {}
        for word in moves.lstrip("=").split():
            name, _, value = word.lstrip("!").partition("=")
            (slips if word.startswith("!") else declared)[name] = value
        declared = settled(declared)
        at = self._move(board_id, declared, at)
        true = {**declared, **slips}
        workload, _, takes = what.partition(" x")
        number = str(len(self._log) + 1)
        counted = workload == "starts"
        if counted:
            run = self._starts(board_id, true, int(takes), number)
        elif board_id == self.dead:
            run = self._no_start(board_id, number)
        else:
            run = self._bench.measure(
                board_id,
                true,
                workload,
                boot=self._boot[board_id],
                take=len(self._log),
                repeats=int(takes or 1),
                rig=RIG.name,
                evening=stamp(begin)[:10],
                minute=(at - begin).total_seconds() / 60.0,
                number=number,
            )
        said = self._words(run, board_id)
        self._say(at, RunBody(run=run, said=said))
        self._log.append(
            Logged(
                number=number,
                at=stamp(at),
                board=board_id,
                workload=workload,
                declared=self._said(board_id),
                true=true,
                boot=self._boot[board_id],
                rig=RIG.name,
                run=run,
                wrong=next(iter(slips), ""),
            )
        )
        at += timedelta(minutes=5)
        if run.outcome.held or counted:
            self._held[board_id] = dict(declared)
        else:
            at = self._move(board_id, self._held[board_id], at)
        return at + timedelta(minutes=2)

    def _move(self, board_id: str, after: Mapping[str, str], at: datetime) -> datetime:
        before = self._said(board_id)
        changed = [n for n in after if after[n] != self._declared[board_id].get(n)]
        self._declared[board_id] = dict(after)
        self._true[board_id] = dict(after)
        self._bench.now[board_id] = dict(after)
        if not changed:
            return at
        self._boot[board_id] += 1
        said_now = self._said(board_id)
        changes = tuple(
            Change(name=n, before=before.get(n), after=said_now[n], said=f"{n} {after[n]}") for n in changed
        )
        minutes = minutes_for(changed)
        self._say(
            at,
            DidBody(
                board=board_id,
                what="move",
                changes=changes,
                minutes=minutes,
                said=", ".join(c.said for c in changes),
            ),
        )
        return at + timedelta(minutes=minutes)

    def _words(self, run: Run, board_id: str) -> str:
        if run.of is not None:
            return f"starts {run.count}/{run.of} cold"
        return "no start" if board_id == self.dead else spoken(run)

    def _starts(self, board_id: str, true: Mapping[str, str], of: int, number: str) -> Run:
        good = self._bench.attempts(board_id, true, of, self._boot[board_id])
        return Run(
            number=number,
            board=board_id,
            workload=None,
            outcome=Outcome.STARTS,
            count=good,
            of=of,
            rig=RIG.name,
            place="cold",
        )

    def _no_start(self, board_id: str, number: str) -> Run:
        return Run(
            number=number,
            board=board_id,
            workload=None,
            outcome=Outcome.NO_START,
            rig=RIG.name,
            place="fans spin",
        )
