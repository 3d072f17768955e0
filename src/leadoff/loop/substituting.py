"""The verb ``substitute``: what may stand in for a part, on what condition, and what shows it."""

from __future__ import annotations

from typing import Any

import msgspec

from leadoff.faults import load_knowledge, substitutes
from leadoff.faults.kinds import Knowledge
from leadoff.faults.stand_ins import question_of
from leadoff.loop.session import Session
from leadoff.record.errors import LeadoffError
from leadoff.record.marks import Level, Mark
from leadoff.record.results import Result


def substitute(session: Session, text: str) -> Result:
    """Rows that fit the question, and the ways to do it with minutes, cost and the year it is due again.

    Needs no book. What is not in the tables is said to be not known.

    Raises:
        LeadoffError: no kind of part is named, or one that has no table.
    """
    kb = load_knowledge(session.fault_tables(without_book=True))
    if not text.strip():
        kinds = _kinds(kb)
        raise LeadoffError.one(
            "faults.substitute",
            "no part is named, so nothing can be looked up",
            do=f"name one: {', '.join(kinds)}",
        )
    kind, have, want = question_of(text)
    found = substitutes(kb, kind, have=have, want=want)
    year = int(session.at[:4])
    ways = []
    for way in found.ways:
        row = msgspec.to_builtins(way)
        row["due_year"] = year + round(way.due_years) if way.due_years else None
        ways.append(row)
    data = {
        "kind": kind,
        "have": have,
        "want": want,
        "rows": [{**msgspec.to_builtins(r), "source_text": _source(kb, r.source)} for r in found.rows],
        "ways": ways,
        "unknown": found.unknown,
    }
    return session.result("substitute", data, _marks(kb, kind, found.unknown))


def listed(session: Session) -> Result:
    """The kinds of part that have a table."""
    return session.result("substitute", {"kinds": _kinds(load_knowledge(session.fault_tables()))})


def _kinds(kb: Knowledge) -> list[str]:
    return sorted({s.kind.replace("_", " ") for s in kb.substitutes.values()})


def _marks(kb: Knowledge, kind: str, unknown: str) -> list[Mark]:
    marks = []
    if unknown:
        text = f"{unknown}; not known is not yes: ask with fewer words to see all rows"
        marks.append(Mark(level=Level.AMBER, code="faults.not_known", text=text))
    cautions = {"cell": ("hz_li",), "clock_module": ("hz_li", "hz_lead"), "capacitor": ("hz_tant", "hz_lead")}
    other: dict[str, tuple[str, ...]] = {"regulator": ("hz_overvolt", "hz_burn"), "crystal": ("hz_lead",)}
    for name in {**cautions, **other}.get(kind, ("hz_esd",)):
        hazard = kb.hazards[name]
        level = Level.AMBER if hazard.severity >= 3 else Level.NOTE
        marks.append(Mark(level=level, code=f"faults.{name}", text=hazard.text))
    return marks


def _source(kb: Knowledge, name: str) -> str:
    s: Any = kb.sources[name]
    if s.status in ("practice", "judgement"):
        return "common practice, no source" if s.status == "practice" else "judgement"
    return f"{s.publication}, {s.place}" + (" (from memory)" if s.status == "memory" else "")
