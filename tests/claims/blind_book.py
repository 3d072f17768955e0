"""Turns the runs of the invented book (book.toml) into entries of a real book."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import msgspec

from leadoff.book import Draft
from leadoff.loop.session import Session, kind_of
from leadoff.record.board import BoardSheet
from leadoff.record.entries import (
    BoardBody,
    Body,
    Chance,
    Expected,
    FindingBody,
    ForecastBody,
    RunBody,
    StateBody,
    workload_row,
)
from leadoff.record.quantity import Source
from leadoff.record.runs import Direction, Outcome, Run, Workload
from leadoff.record.state import UNKNOWN_SETTING, Setting, State, Status
from leadoff.words import reading

NAMES = {"bus": "bus_mhz", "l2_kib": "l2_kb", "ram": "ram_mb"}
FRACTIONS = {33.33: "100/3", 66.67: "200/3", 83.33: "250/3", 2.5: "5/2", 3.5: "7/2"}
OUTCOMES = {
    "no start": Outcome.NO_START,
    "boots": Outcome.BOOTS,
    "fails mid-run": Outcome.FAILS_MID_RUN,
    "finishes": Outcome.FINISHES,
    "repeats": Outcome.REPEATS,
}
START = "2018-01-01T00:00:00Z"


def book(file: Path = Path(__file__).parent / "book.toml") -> dict[str, Any]:
    return tomllib.loads(file.read_text(encoding="utf-8"))


def settings(given: dict[str, Any]) -> dict[str, Setting]:
    """Settings of a run of the file by the names of the house."""
    out: dict[str, Setting] = {}
    for name, value in given.items():
        if name == "wb":
            if value != "none":
                out["l1_policy"] = _setting({"on": "wb", "off": "wt"}.get(value, "?"))
        elif name == "l2":
            out["l2"] = _setting("on" if "-" in value else value)
            if "-" in value:
                out["l2_read"] = _setting(value)
        elif name == "cpu":
            part, _, specimen = str(value).partition(" ")
            # No part of the catalogue may be meant: all of this is invented.
            out["cpu"], out["cpu_specimen"] = _setting(f"invented-{part}"), _setting(specimen)
        else:
            text = value if isinstance(value, str) else FRACTIONS.get(value, f"{value:g}")
            out[NAMES.get(name, name)] = _setting(text)
    return out


def _setting(value: str) -> Setting:
    if value == "?":
        return UNKNOWN_SETTING
    return Setting(value=value, status=Status.KNOWN, source=Source.DECLARED)


def write(session: Session, data: dict[str, Any] | None = None) -> None:
    """Append boards, workloads, runs, protocols and symptoms of a book, each at its own time."""
    data = data or book()
    todo: list[tuple[str, Body]] = []
    for b in data["board"]:
        todo.append((START, BoardBody(sheet=BoardSheet(id=b["id"], board_class=b["class"]), file_text="")))
    names = {w["id"]: w["says"][0] for w in data["workload"]}
    for w in data["workload"]:
        made = Workload(
            name=names[w["id"]],
            unit=w["unit"],
            direction=Direction(w["better"]),
            text=", ".join(w["says"][1:]),
        )
        todo.append((START, workload_row(made)))
    by_number = {r["number"]: r for r in data["run"]}
    for r in data["run"]:
        todo.append((_at(r), StateBody(board=r["board"], settings=settings(r["settings"]))))
        todo.append((_at(r), RunBody(run=_run(r, names), said="")))
    for kind in ("soak", "copy", "start"):
        for x in data[kind]:
            of = by_number[x["as_run"]]
            todo.append((_at(x), StateBody(board=x["board"], settings=settings(of["settings"]))))
            said = f"{x['id']} {x.get('failure', '')}".strip()
            todo.append((_at(x), RunBody(run=_protocol(kind, x, of["rig"]), said=said)))
    units = {w["id"]: w["unit"] for w in data["workload"]}
    todo += [(_at(f), _forecast(f, names, units)) for f in data["forecast"]]
    todo += [
        (_at(x), FindingBody(board=x["board"], finding="test:repair:invented", said=x["text"]))
        for x in data["repair"]
    ]
    text = {s["id"]: s["text"] for s in data["symptom"]}
    todo += [(_at(s), FindingBody(board=s["board"], finding=s["text"])) for s in data["symptom"]]
    for s in data["retest"]:
        body = FindingBody(
            board=s["board"], finding=text[s["symptom"]], detail=s["text"], closed=bool(s["ok"])
        )
        todo.append((_at(s), body))
    todo.sort(key=lambda x: x[0])
    session.may_begin().book.append(
        [Draft(kind=kind_of(body), body=msgspec.json.encode(body), at=at) for at, body in todo]
    )


def _forecast(f: dict[str, Any], names: dict[str, str], units: dict[str, str]) -> ForecastBody:
    half = (f["high"] - f["low"]) / 4
    expected = Expected(
        workload=names[f["workload"]],
        unit=units[f["workload"]],
        median=f["centre"],
        band50=(f["centre"] - half, f["centre"] + half),
        band90=(f["low"], f["high"]),
    )
    return ForecastBody(
        number=f["id"],
        state=State(board=f["board"], settings=settings(f["settings"])),
        basis="runs",
        model="invented",
        catalogue="invented",
        expected=(expected,),
        chance=Chance(),
    )


def _at(x: dict[str, Any]) -> str:
    return f"{x['at'].isoformat()}Z"


def _run(r: dict[str, Any], names: dict[str, str]) -> Run:
    return Run(
        number=str(r["number"]),
        board=r["board"],
        workload=names[r["workload"]],
        outcome=OUTCOMES[r["outcome"]],
        readings=tuple(reading(str(v)) for v in r["readings"]),
        place=r.get("failure", ""),
        rig=r["rig"],
    )


def _protocol(kind: str, x: dict[str, Any], rig: str) -> Run:
    bad = x["of"] - x["good"] if kind == "copy" else 0
    good = {"soak": Outcome.SOAKED, "copy": Outcome.COPY_CLEAN, "start": Outcome.STARTS}[kind]
    clean = bool(x.get("ok", bad == 0))
    return Run(
        number=x["id"],
        board=x["board"],
        workload=None,
        outcome=good if clean else Outcome.FAILS_MID_RUN,
        place={"start": "cold"}.get(kind, kind),
        after_s=x["hours"] * 3600.0 if kind == "soak" else None,
        count={"soak": None, "copy": bad, "start": x.get("good")}[kind],
        of=x.get("of"),
        rig=rig,
    )
