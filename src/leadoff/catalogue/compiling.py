"""Files of rows to one checked catalogue."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, NamedTuple

import msgspec

from leadoff.catalogue.catalogue import Catalogue
from leadoff.catalogue.check import read_row
from leadoff.catalogue.files import NOT_ROWS, RowFile
from leadoff.catalogue.kinds import KINDS
from leadoff.catalogue.origin import SourceRow
from leadoff.record.errors import LeadoffError, Problem


class Entry(NamedTuple):
    """One row as typed, with its place."""

    file: RowFile
    kind: str
    id: str
    typed: dict[str, Any]


class Notes:
    """Problems found so far, over all files."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []

    def wrong(self, code: str, file: RowFile, key: str, text: str, do: str) -> None:
        """Note one mistake."""
        where = f"{file.name}:{key}" if key else file.name
        self.problems.append(
            Problem(code=f"catalogue.{code}", text=f"{file.name}: {text}", where=where, do=do)
        )


def compile_rows(files: Iterable[RowFile], digest: str) -> Catalogue:
    """Checked catalogue of these files; raises ``LeadoffError`` with every mistake in all of them."""
    notes, files = Notes(), list(files)
    tables = [(f, _parse(f, notes)) for f in files if f.own or f.name not in NOT_ROWS]
    sources: dict[str, SourceRow] = {}
    for file, table in tables:
        sources |= _sources(file, table, notes)
    rows: dict[str, dict[str, Any]] = {kind.field: {} for kind in KINDS.values()}
    seen: dict[tuple[bool, str, str], str] = {}
    for entry in (e for f, t in tables for e in _entries(f, t, notes)):
        key = (entry.file.own, entry.kind, entry.id)
        if key in seen:
            text = f"[[{entry.kind}]] {entry.id} stands twice, first in {seen[key]}; which holds is not clear"
            notes.wrong("twice", entry.file, f"{entry.kind}.{entry.id}", text, "keep one of them")
            continue
        seen[key] = entry.file.name
        row, wrong = read_row(
            entry.file.name, entry.kind, entry.id, entry.typed, own=entry.file.own, sources=sources
        )
        notes.problems += wrong
        if row is not None:
            rows[KINDS[entry.kind].field][entry.id] = row
    if not notes.problems:
        notes.problems += _dangling(rows)
    if notes.problems:
        raise LeadoffError(*notes.problems)
    own = {f.name: f.data.decode() for f in files if f.own}
    return Catalogue(digest=digest, sources=sources, own_files=own, **rows)


def _parse(file: RowFile, notes: Notes) -> dict[str, Any]:
    try:
        return tomllib.loads(file.data.decode("utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as err:
        notes.wrong("toml", file, "", f"not readable as TOML: {err}", "correct the line named; save as UTF-8")
        return {}


def _sources(file: RowFile, table: dict[str, Any], notes: Notes) -> dict[str, SourceRow]:
    found: dict[str, SourceRow] = {}
    keys = SourceRow.__struct_fields__[1:]
    for key, value in table.pop("source", {}).items():
        extra = [k for k in value if k not in keys] if isinstance(value, dict) else []
        try:
            found[key] = msgspec.convert({**value, "id": key}, SourceRow)
        except (msgspec.ValidationError, TypeError) as err:
            extra = [str(err)]
        if extra:
            text = f"[source.{key}]: {', '.join(extra)} is not allowed; allowed keys: {', '.join(keys)}"
            notes.wrong("source", file, f"source.{key}", text, "correct the key")
    return found


def _entries(file: RowFile, table: Mapping[str, Any], notes: Notes) -> Iterator[Entry]:
    """Rows as ``[[cpu]]`` with an id, ``[cpu.<id>]``, or one ``[cpu]`` with an id in it."""
    if file.own and "board" in table:
        return  # a board file that lies beside the rows
    for kind, value in _by_kind(table):
        if kind not in KINDS:
            text = f"no such kind of row: {kind}; allowed: {', '.join(KINDS)}"
            notes.wrong("kind", file, kind, text, "correct the word")
            continue
        for given, typed in _unfold(value):
            row_id = given or typed.get("id") or (_other_name(typed) if file.own else None)
            if isinstance(row_id, str) and row_id:
                yield Entry(file, kind, row_id, typed)
            else:
                text = f"a [[{kind}]] row has no id, so nothing can refer to it: {str(typed)[:60]}"
                notes.wrong("no_id", file, kind, text, 'add id = "..."')


def _by_kind(table: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    """Tables by kind; ``[[row]]`` with ``kind = "cpu"`` in it is the same as ``[[cpu]]``."""
    for kind, value in table.items():
        if kind == "row" and isinstance(value, list):
            for typed in value:
                inner = dict(typed) if isinstance(typed, dict) else {}
                yield str(inner.pop("kind", "row")), [inner]
        else:
            yield kind, value


def _unfold(value: Any) -> list[tuple[str, dict[str, Any]]]:
    if isinstance(value, list):
        return [("", v if isinstance(v, dict) else {}) for v in value]
    if (
        isinstance(value, dict)
        and value
        and "id" not in value
        and all(isinstance(v, dict) for v in value.values())
    ):
        return list(value.items())
    return [("", value if isinstance(value, dict) else {})]


def _other_name(typed: Mapping[str, Any]) -> Any:
    """A user's row without an id goes by its marking or its name."""
    for key in ("marking", "markings", "name", "names"):
        value = typed.get(key)
        if value:
            return value[0] if isinstance(value, list) else value
    return None


def _dangling(rows: Mapping[str, Mapping[str, Any]]) -> list[Problem]:
    """References of our rows to core designs that are not there. A user's row may name one unknown to us."""
    pairs = [(r, "cpu", r.core) for r in rows["cpus"].values()]
    pairs += [(r, "signature", core) for r in rows["signatures"].values() for core in r.cores]
    return [
        Problem(
            code="catalogue.core",
            text=f"{r.file}: [[{kind}]] {r.id}: {core} is not a core design we have",
            where=f"{r.file}:{kind}.{r.id}.core",
            do="correct the id or add a [[core]] row",
        )
        for r, kind, core in pairs
        if not r.own and core not in rows["cores"]
    ]
