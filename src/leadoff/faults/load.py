"""Reads the fault tables: every row checked, every reference resolved, all mistakes told at once."""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

import msgspec

from leadoff.faults import kinds as k
from leadoff.faults.check import problems_of
from leadoff.record.errors import LeadoffError, Problem

DATA = Path(__file__).parent / "data"
_TABLES: Mapping[str, type[Any]] = {
    "fault": k.Fault,
    "observation": k.Observation,
    "hazard": k.Hazard,
    "rule": k.Rule,
    "listing": k.Listing,
    "group": k.Group,
    "raises": k.Raises,
    "excludes": k.Excludes,
    "leak": k.Leak,
    "save": k.Save,
    "accept": k.Accept,
    "wording": k.Wording,
    "tool": k.Tool,
    "same_words": k.SameWords,
    "post_code": k.PostCode,
    "reading_rule": k.ReadingRule,
    "substitute": k.Substitute,
    "way": k.Route,
    "source": k.SourceRow,
}


def load_knowledge(files: Iterable[Path] = ()) -> k.Knowledge:
    """Our tables, then the user's files on top: a row of the same id replaces ours whole.

    Raises ``LeadoffError`` with every mistake: unreadable files, unknown keys, chances outside 0 to 1,
    references to rows that do not exist.
    """
    problems: list[Problem] = []
    found: dict[str, list[Any]] = {name: [] for name in _TABLES}
    digest = hashlib.sha256(b"leadoff-faults-2")
    ours = (p for p in sorted(DATA.glob("*.toml")) if p.name != "limits.toml")
    for path in [*ours, *map(Path, files)]:
        _read(path, found, problems, digest)
    tables = {
        name: {r.id: r for r in rows} for name, rows in found.items() if name not in ("raises", "excludes")
    }
    knowledge = k.Knowledge(
        faults=tables["fault"],
        observations=tables["observation"],
        hazards=tables["hazard"],
        rules=tables["rule"],
        listing=tables["listing"],
        groups=tables["group"],
        raises=tuple(found["raises"]),
        excludes=tuple(found["excludes"]),
        leak=tables["leak"]["stage_leak"].stage if tables["leak"] else {},
        saves=tables["save"],
        accepts=tables["accept"],
        wordings=tables["wording"],
        tools=tables["tool"],
        same_words=tables["same_words"],
        post_codes=tables["post_code"],
        reading_rules=tables["reading_rule"],
        substitutes=tables["substitute"],
        ways=tables["way"],
        sources=tables["source"],
        digest=digest.hexdigest(),
    )
    problems += problems_of(knowledge)
    if problems:
        raise LeadoffError(*problems)
    return knowledge


def _read(path: Path, found: dict[str, list[Any]], problems: list[Problem], digest: Any) -> None:
    try:
        data = path.read_bytes().replace(b"\r\n", b"\n")
        document = tomllib.loads(data.decode("utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as err:
        text = f"the fault table {path.name} cannot be read: {err}; none of its rows count"
        problems.append(Problem(code="faults.unreadable", text=text, where=path.name, do="correct the file"))
        return
    digest.update(path.name.encode() + b"\n" + data)
    for name, rows in document.items():
        if name not in _TABLES or not isinstance(rows, list):
            text = f"[[{name}]] is no fault table; allowed are {', '.join(_TABLES)}"
            problems.append(Problem(code="faults.table", text=text, where=path.name, do="name the table"))
            continue
        for n, row in enumerate(rows, 1):
            where = f"{path.name}: {name} {row.get('id', n)}"
            try:
                found[name].append(msgspec.convert(row, _TABLES[name], strict=False))
            except msgspec.ValidationError as err:
                text = f"{where}: {err}"
                problems.append(Problem(code="faults.row", text=text, where=where, do="correct the row"))
