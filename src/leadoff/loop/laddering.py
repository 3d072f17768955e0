"""The whole ladder of a board's cache: every pattern for every chip grade at every bus clock, with both answers."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

import msgspec

from leadoff.loop.carding import timing_ask
from leadoff.loop.history import BoardView, read_history
from leadoff.loop.session import Session
from leadoff.machine.effects import carriers
from leadoff.record.results import Result
from leadoff.timing.card import CardAsk, family_of, timing_card
from leadoff.timing.delays import budget_terms
from leadoff.timing.rungs import LadderFamily, ladder_rows
from leadoff.timing.verdict import PatternVerdict, fastest_inside, fastest_likely


def ladder(session: Session, name: str) -> Result:
    """Patterns of a board by chip grade and bus clock; data chips and tag chip of one grade unless the tag is known.

    ``data["cells"]``: by grade and clock the fastest read pattern inside the maximum delays and the fastest likely
    one. ``data["rungs"]``: every pattern with its slack in ns. Empty, with the reason in ``notes``, for a board
    whose cache is no asynchronous one on the board.
    """
    history = read_history(session)
    board = history.board(name)
    ask = timing_ask(session, history, board, board.setup)
    family = family_of(ask.board_class)
    rows = ladder_rows()
    data: dict[str, Any] = {
        "board": board.id,
        "family": family,
        "banks": ask.banks,
        "tag_ns": ask.tag_ns,
        "likely": rows.likely.chance,
        "sources": [],
        "now": {"sram_ns": ask.sram_ns, "bus_mhz": _mhz(ask.bus_mhz)},
        "grades": [],
        "clocks": [],
        "cells": [],
        "rungs": [],
        "notes": [],
    }
    if family is None or ask.l2_kb == 0 or "burst" in ask.l2_type:
        data["notes"] = list(timing_card(ask).notes)
        return session.result("ladder", data)
    row = rows.of(family)
    data["sources"] = [{"source": r.source, "certainty": r.certainty} for r in (row, rows.likely)]
    clocks = _clocks(board, ask, row)
    grades = _grades(ask, row)
    for ns in grades:
        for clock in clocks:
            asked = msgspec.structs.replace(ask, sram_ns=ns, bus_mhz=clock)
            made = timing_card(asked)
            reads = [p for p in made.patterns if p.kind == "read"]
            data["cells"].append(_cell(ns, clock, reads, rows.likely.chance))
            data["rungs"] += [_rung(ns, clock, p) for p in made.patterns]
            data["notes"] = list(dict.fromkeys([*data["notes"], *made.notes]))
    data["grades"], data["clocks"] = grades, [_mhz(c) for c in clocks]
    return session.result("ladder", data)


def _clocks(board: BoardView, ask: CardAsk, row: LadderFamily) -> list[Fraction]:
    found = set(row.clocks)
    for carrier in carriers(board.fold.sheet):
        found |= {Fraction(v) for v in carrier.sets.get("bus_mhz", {}).values()}
    return sorted(found | ({ask.bus_mhz} if ask.bus_mhz is not None else set()))


def _grades(ask: CardAsk, row: LadderFamily) -> list[float]:
    found = {s.taa_ns for s in budget_terms().sram if s.taa_ns >= row.least_sram_ns}
    return sorted(found | ({ask.sram_ns} if ask.sram_ns is not None else set()))


def _cell(ns: float, clock: Fraction, reads: Sequence[PatternVerdict], chance: float) -> dict[str, Any]:
    inside, likely = fastest_inside(reads), fastest_likely(reads, chance)
    return {
        "sram_ns": ns,
        "bus_mhz": _mhz(clock),
        "inside": inside.pattern if inside is not None else None,
        "inside_clocks": inside.clocks if inside is not None else None,
        "slack_ns": inside.slack_ns if inside is not None else None,
        "likely": likely.pattern if likely is not None else None,
        "likely_clocks": likely.clocks if likely is not None else None,
        "chance_hold": likely.chance_hold.value if likely is not None else None,
    }


def _rung(ns: float, clock: Fraction, p: PatternVerdict) -> dict[str, Any]:
    return {
        "sram_ns": ns,
        "bus_mhz": _mhz(clock),
        "kind": p.kind,
        "pattern": p.pattern,
        "slack_ns": p.slack_ns,
        "inside_max": p.inside_max,
        "chance_hold": p.chance_hold.value,
        "binding": p.binding,
    }


def _mhz(clock: Fraction | None) -> float | None:
    return None if clock is None else float(clock)
