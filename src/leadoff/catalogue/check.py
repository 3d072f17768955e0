"""One typed row to one checked row, with every mistake in it and not only the first."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from functools import cache
from typing import Any, get_type_hints

import msgspec

from leadoff.catalogue.allowed import allowed
from leadoff.catalogue.kinds import KINDS
from leadoff.catalogue.origin import Certainty, Origin, SourceRow
from leadoff.catalogue.row import Row, dec_hook
from leadoff.catalogue.shapes import canonical
from leadoff.record.errors import Problem

KEPT = frozenset({"origin", "overrides", "own", "file", "typed"})
ROW_KEYS = frozenset({"source", "certainty", "where"})
WRAPPED = ROW_KEYS | {"value"}


@cache
def hints_of(kind: type[Row]) -> dict[str, Any]:
    """Keys that a file may hold for a row type, with their types (``id`` included)."""
    found = get_type_hints(kind, include_extras=True)
    return {k: t for k, t in found.items() if k not in KEPT}


@cache
def required(kind: type[Row]) -> tuple[str, ...]:
    """Keys without which a row of this type says nothing."""
    return tuple(f.name for f in msgspec.structs.fields(kind) if f.required and f.name not in KEPT | {"id"})


def _shown(value: Any) -> str:
    """A value as it stands in the file, cut when long."""
    text = msgspec.json.encode(value, enc_hook=str).decode()
    return text if len(text) <= 80 else text[:77] + "..."


class RowCheck:
    """Collects the problems of one row while its parts are read.

    A file typed by hand usually has more than one mistake, and being told one at a time costs an evening.
    """

    def __init__(
        self, file: str, kind: str, row_id: str, *, own: bool, sources: Mapping[str, SourceRow]
    ) -> None:
        self.file, self.kind, self.row_id, self.own, self.sources = file, kind, row_id, own, sources
        self.problems: list[Problem] = []

    def wrong(self, code: str, key: str, text: str, do: str) -> None:
        """Note one mistake at one key."""
        place = f"{self.file}: [[{self.kind}]] {self.row_id}"
        where = f"{self.file}:{self.kind}.{self.row_id}.{key}"
        self.problems.append(Problem(code=f"catalogue.{code}", text=f"{place}: {text}", where=where, do=do))

    def origin(self, typed: Mapping[str, Any], fallback: Origin | None, key: str) -> Origin | None:
        """Origin from ``source``, ``certainty`` and ``where``; what is not said is taken from the row."""
        word = self._certainty(typed, fallback, key)
        source = typed.get("source", fallback.source if fallback else "")
        place = typed.get("where", "" if "source" in typed else fallback.where if fallback else "")
        if not isinstance(source, str) or not isinstance(place, str):
            self.wrong("source", key, f"{key}: source and where are texts", "write them in quotes")
            return None
        if word is None or not self._named(word, source, key):
            return None
        found = self.sources.get(source)
        return Origin(word, source, found.text if found else source, place)

    def _certainty(self, typed: Mapping[str, Any], fallback: Origin | None, key: str) -> Certainty | None:
        start = fallback.certainty.value if fallback else "declared" if self.own else None
        word = typed.get("certainty", start)
        words = [c.value for c in Certainty if self.own or c is not Certainty.DECLARED]
        if word in words:
            return Certainty(word)
        said = "has no certainty" if word is None else f"certainty = {_shown(word)}"
        text = f"{key}: {said}; allowed: {', '.join(words)}"
        self.wrong("certainty", key, text, "say how the value is known")
        return None

    def _named(self, word: Certainty, source: str, key: str) -> bool:
        """Our own rows name a publication we list; a user may cite what they like."""
        if self.own:
            return True
        if source and source not in self.sources:
            near = ", ".join(difflib.get_close_matches(source, self.sources, 3)) or "none is near"
            text = f"{key}: source {_shown(source)} is not among the publications listed; near: {near}"
            self.wrong("source", key, text, "list the publication in sources.toml or correct the key")
            return False
        if word in (Certainty.READ, Certainty.MEMORY) and not source:
            text = f"{key}: certainty {word.value} needs the publication it comes from"
            self.wrong("source", key, text, "name a source, or use practice or judgement")
            return False
        return True

    def convert(self, key: str, value: Any, kind: Any) -> Any:
        """One value to its type; a mistake is noted with what was allowed."""
        try:
            return msgspec.convert(value, kind, dec_hook=dec_hook)
        except (msgspec.ValidationError, ValueError):
            text = f"{key} = {_shown(value)} is not allowed; allowed: {allowed(kind)}"
            self.wrong("value", key, text, "correct the value, or leave the key out if it is not known")
            return None

    def unknown_key(self, key: str, known: list[str]) -> None:
        """Note a key that the row type does not have."""
        near = difflib.get_close_matches(key, known, 3)
        hint = f"near: {', '.join(near)}" if near else f"allowed: {', '.join(k for k in known if k != 'id')}"
        self.wrong("key", key, f"no such key: {key}; {hint}", "correct the key or leave it out")


def unwrap(typed: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, Mapping[str, Any]]]:
    """Values without their wrapping, and what the wrappings said (``{value, source, certainty, where}``)."""
    said: dict[str, Mapping[str, Any]] = {
        k: v for k, v in typed.items() if isinstance(v, dict) and "value" in v and set(v) <= WRAPPED
    }
    return {k: said[k]["value"] if k in said else v for k, v in typed.items()}, said


def read_row(
    file: str,
    kind: str,
    row_id: str,
    typed: Mapping[str, Any],
    *,
    own: bool,
    sources: Mapping[str, SourceRow],
) -> tuple[Row | None, list[Problem]]:
    """Check one row. Returns the row, or ``None`` with every problem found in it."""
    check = RowCheck(file, kind, row_id, own=own, sources=sources)
    bare, said = unwrap(typed)
    origin = check.origin({k: x for k, x in bare.items() if k in ROW_KEYS}, None, "the row")
    values: dict[str, Any] = {}
    overrides: dict[str, Origin] = {}
    for key, value in bare.items():
        if key in ROW_KEYS or key == "id":
            continue
        its_own = check.origin(said[key], origin, key) if key in said else None
        for name, shaped in canonical(kind, {key: value}).items():
            if name in values:
                check.wrong("twice", key, f"{name} is said twice, the second time by {key}", "keep one")
            values[name] = shaped
            if its_own:
                overrides[name] = its_own
    done = _convert(check, canonical(kind, values), KINDS[kind].type)
    if check.problems or origin is None:
        return None, check.problems
    raw = msgspec.json.encode(dict(typed), enc_hook=str).decode() if own else ""
    kept = {k: v for k, v in overrides.items() if k in done}
    return KINDS[kind].type(
        id=row_id, origin=origin, overrides=kept, own=own, file=file, typed=raw, **done
    ), []


def _convert(check: RowCheck, values: Mapping[str, Any], row_type: type[Row]) -> dict[str, Any]:
    hints = hints_of(row_type)
    done: dict[str, Any] = {}
    for name, value in values.items():
        if name in hints:
            done[name] = check.convert(name, value, hints[name])
        else:
            check.unknown_key(name, list(hints))
    for name in required(row_type):
        if name not in values:
            check.wrong("missing", name, f"{name} is missing", f"add {name}")
    return done
