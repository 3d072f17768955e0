"""The verb ``standings``: all boards, ties and comparability groups."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import msgspec

from leadoff.claims.doubts import doubts as slips_of
from leadoff.claims.grade import ORDER
from leadoff.claims.records import record_lines
from leadoff.claims.standings import Fields, Group, KeptOut, Row, standings
from leadoff.loop.disputing import doubts
from leadoff.loop.history import History, read_history
from leadoff.loop.ledger import ledger_of
from leadoff.loop.session import Session
from leadoff.loop.slips import doubt_marks
from leadoff.record.errors import LeadoffError
from leadoff.record.marks import Level, Mark
from leadoff.record.results import Result, mark, note


def stand(
    session: Session, *, workload: str | None = None, least: str | None = None, records: bool = False
) -> Result:
    """Rank every board's best state in each workload, and say what cannot be ranked together.

    Raises:
        LeadoffError: a workload that the book does not have, a grade that does not exist.
    """
    history = read_history(session)
    _check(history, workload, least)
    ledger = ledger_of(history)
    fields = Fields(ledger)
    found = standings(ledger, workload=workload, least=least or "finishes", fields=fields)
    slips = slips_of(ledger, fields=fields)
    doubted = {n: names for b in history.boards.values() for n, names in doubts(session, b).items()}
    data = {
        "least": least or "finishes",
        "groups": [_group(g, doubted) for g in found.groups],
        "not_comparable": [msgspec.to_builtins(m) for m in found.not_comparable],
        "doubts": [msgspec.to_builtins(d) for d in slips],
        "open_symptoms": [
            {"board": b.id, "finding": s.finding, "detail": s.detail, "entry": s.entry}
            for b in history.boards.values()
            for s in b.open_symptoms
        ],
    }
    if records:
        lines = record_lines(ledger, workload=workload, least=least or "finishes", fields=fields)
        data["records"] = [msgspec.to_builtins(line) for line in lines]
    return session.result("standings", data, [*_marks(found.groups), *doubt_marks(slips)])


def _check(history: History, workload: str | None, least: str | None) -> None:
    if workload is not None:
        history.workload(workload)
    if least is not None and least not in ORDER:
        raise LeadoffError.one(
            "grade_unknown",
            f'"{least}" is no grade; grades: {", ".join(ORDER)}',
            where=least,
            do="name one of these",
        )


def _group(g: Group, doubted: Mapping[str, tuple[str, ...]]) -> dict[str, Any]:
    return {
        "workload": g.workload,
        "unit": g.unit,
        "better": g.direction,
        "rig": g.rig,
        "rigs": list(g.rigs),
        "rows": [_row(r, doubted) for r in g.rows],
        "kept_out": [_kept(k) for k in g.kept_out],
    }


def _row(r: Row, doubted: Mapping[str, tuple[str, ...]]) -> dict[str, Any]:
    """A row; what evidence disputes of the state of its runs is among its flags."""
    names = dict.fromkeys(name for run in r.runs for name in doubted.get(run, ()))
    flags = (*r.flags, *(f"disputed:{name}" for name in names))
    return {**msgspec.structs.asdict(r), "flags": flags, "grade": r.grade.name, "grade_said": r.grade.said}


def _kept(k: KeptOut) -> dict[str, Any]:
    return {**msgspec.structs.asdict(k), "grade": k.grade.name, "grade_said": k.grade.said}


def _marks(groups: tuple[Group, ...]) -> list[Mark]:
    out: list[Mark] = [
        mark(
            Level.RED,
            "kept_out_unsafe",
            f"{k.board}: {k.score:.4g} {k.unit} was made in an unsafe state and stands in no ranking",
            *k.runs,
        )
        for g in groups
        for k in g.kept_out
        if "unsafe" in k.because
    ]
    if any("rig_not_recorded" in r.flags for g in groups for r in g.rows):
        text = "some runs name no rig: they are taken as one rig, which nobody has confirmed"
        out.append(note("rig_not_recorded", text))
    return out
