"""What a person may choose from on a page: values that some jumper or entry can give, runs that compare."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

import msgspec

from leadoff.loop.benching import main_workload
from leadoff.loop.drawing import pictures_of
from leadoff.loop.forecasting import forecast, why
from leadoff.loop.history import BoardView, read_history
from leadoff.loop.session import Session
from leadoff.loop.views import run_view
from leadoff.machine.effects import carriers
from leadoff.machine.reach import shown
from leadoff.record.errors import LeadoffError
from leadoff.record.results import Result, failed
from leadoff.record.settings import SETTINGS, SettingKind, in_words, kind_of
from leadoff.words import clock_text, number

_ORDERED = (SettingKind.CLOCK, SettingKind.RATIO, SettingKind.VOLTS, SettingKind.NUMBER)
RUNS = 60
"""Runs offered to choose from, newest first."""


def choose(session: Session, name: str, want: str | None) -> Result:
    """A forecast that is not sealed, with every setting that can be chosen on this board."""
    board = read_history(session).board(name)
    extra: dict[str, Any] = {"want": want or "", "board": board.id}
    extra |= {"pictures": pictures_of(board), "workload": main_workload(board)}
    try:
        result = forecast(session, name, want=want, seal=False)
    except LeadoffError as error:
        result = failed("forecast", error, head=session.head())
    extra["choices"] = choices(board, (result.data.get("state") or {}).get("settings", {}))
    return msgspec.structs.replace(result, data={**result.data, **extra})


def held_over(session: Session, name: str, want: str | None) -> Result:
    """The card over the socket, with the pictures there are for it."""
    from leadoff.loop.carding import card

    result = card(session, name, want)
    pictures = pictures_of(read_history(session).board(name))
    return msgspec.structs.replace(result, data={**result.data, "pictures": pictures})


def ranked(session: Session, workload: str | None, least: str | None) -> Result:
    """The standings, with the workloads and grades that may be asked for."""
    from leadoff.claims.grade import ORDER
    from leadoff.loop.standing import stand

    history = read_history(session)
    extra = {"workloads": sorted(history.workloads), "grades": list(ORDER[1:])}
    result = stand(session, workload=workload, least=least)
    return msgspec.structs.replace(result, data={**result.data, **extra})


def publishable(session: Session, name: str) -> Result:
    """What would go out of a board: the limits that stand beside its score, the scores there are to show."""
    from leadoff.loop.publishing import gather, published

    made = gather(session, name)
    board = read_history(session).board(name)
    workloads = sorted({r.run.workload for r in board.runs if r.run.readings and r.run.workload})
    result = published(session, made, ())
    extra = {"workloads": workloads, "shown": main_workload(board)}
    return msgspec.structs.replace(result, data={**result.data, **extra})


def evidence(session: Session, name: str) -> Result:
    """What files have said of a board so far, by file, and what they dispute."""
    from leadoff.loop.disputing import conflict_view, conflicts
    from leadoff.loop.reading import evidence_facts, fact_view

    board = read_history(session).board(name)
    facts = evidence_facts(board)
    data: dict[str, Any] = {
        "board": board.id,
        "kept": [fact_view(f) for f in facts],
        "conflicts": [conflict_view(c) for c in conflicts(session, board, ())],
    }
    return session.result("read", data)


def provable(session: Session, asked: Mapping[str, str]) -> Result:
    """One question of proof, each figure as it was typed, with what the sealed forecasts have earned so far.

    ``asked``: ``text`` (a count or two rows of readings), ``below_pct``, ``difference_pct``, ``workload``, ``lower``.
    """
    from leadoff.loop.proving import forecasts, proof

    told = forecasts(session).data
    extra = {"workloads": sorted(read_history(session).workloads), "forecasts": told}
    below, difference = (asked.get(n, "").strip() for n in ("below_pct", "difference_pct"))
    text = asked.get("text", "").strip()
    if not (text or below or difference):
        return session.result("proof", extra)
    try:
        result = proof(
            session,
            text,
            below_pct=_figure(below),
            difference_pct=_figure(difference),
            workload=asked.get("workload") or None,
            lower=bool(asked.get("lower")),
        )
    except LeadoffError as error:
        result = failed("proof", error, head=session.head())
    return msgspec.structs.replace(result, data={**result.data, **extra})


def _figure(text: str) -> float | None:
    return float(number(text.removesuffix("%"), comma="decimal").value) if text else None


def choices(board: BoardView, told: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Each setting that a jumper or a set-up entry of the sheet acts on, with the values there are: which is set
    ``now``, and which is the one ``told`` of, by the settings of the state that is foretold.
    """
    found: dict[str, dict[str, None]] = {}
    for carrier in carriers(board.fold.sheet):
        for setting, by_position in carrier.sets.items():
            if setting in SETTINGS:
                found.setdefault(setting, {}).update(dict.fromkeys(by_position.values()))
    out = []
    for setting, values in sorted(found.items()):
        if len(values) < 2:
            continue
        now = board.setup.state.value(setting)
        asked = told.get(setting, {})
        exact = asked.get("exact", asked.get("value"))
        rows = [
            {
                "words": _words(setting, v),
                "text": shown(setting, v),
                "now": v == now,
                "told": v == exact,
            }
            for v in _sorted(values)
        ]
        ordered = len(rows) > 2 and kind_of(setting) in _ORDERED
        out.append({"setting": setting, "label": in_words(setting), "values": rows, "ordered": ordered})
    return out


def pairs(session: Session, name: str, first: str, second: str) -> Result:
    """The runs of a board that have a score, and what lies between the two that were chosen."""
    board = read_history(session).board(name)
    scored = [run_view(r) for r in reversed(board.runs) if r.run.readings][:RUNS]
    extra: dict[str, Any] = {"board": board.id, "choose": scored, "first": first, "second": second}
    if not first or not second:
        first, second = _latest_pair(scored)
        extra |= {"first": first, "second": second}
    if not first or not second:
        return session.result("why", extra)
    try:
        result = why(session, first, second)
    except LeadoffError as error:
        result = failed("why", error, head=session.head())
    return msgspec.structs.replace(result, data={**result.data, **extra})


def _latest_pair(scored: list[dict[str, Any]]) -> tuple[str, str]:
    """The last run and the one before it of the same workload."""
    for n, run in enumerate(scored):
        for older in scored[n + 1 :]:
            if older["workload"] == run["workload"]:
                return older["number"], run["number"]
    return "", ""


def _words(setting: str, value: str) -> str:
    return f"{setting} {clock_text(Fraction(value)) if kind_of(setting) is SettingKind.CLOCK else value}"


def _sorted(values: dict[str, None]) -> list[str]:
    try:
        return sorted(values, key=Fraction)
    except ValueError:
        return sorted(values)
