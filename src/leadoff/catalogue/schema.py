"""A JSON Schema of the row files, so that an editor can complete and check while a person types."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

import msgspec

from leadoff.catalogue.check import hints_of, required
from leadoff.catalogue.kinds import KINDS, Kind
from leadoff.catalogue.origin import Certainty
from leadoff.catalogue.shapes import ALIASES, SHAPES

FRACTION = {
    "description": 'an exact number: 2, 3.5 or a fraction such as "100/3"',
    "anyOf": [
        {"type": "number", "exclusiveMinimum": 0},
        {"type": "string", "pattern": r"^\s*\d+([./]\d+)?\s*$"},
    ],
}
ORIGIN_KEYS: dict[str, Any] = {
    "certainty": {"enum": [c.value for c in Certainty]},
    "source": {
        "type": "string",
        "description": "key of a publication in sources.toml, or a text of your own",
    },
    "where": {"type": "string", "description": "page or table"},
}


def _fraction_schema(kind: type) -> dict[str, Any]:
    if kind is Fraction:
        return FRACTION
    raise NotImplementedError(kind)


def _with_origin(schema: dict[str, Any]) -> dict[str, Any]:
    """A value stands alone, or in a table with its own certainty, source and place."""
    wrapped = {
        "type": "object",
        "properties": {"value": schema, **ORIGIN_KEYS},
        "required": ["value"],
        "additionalProperties": False,
    }
    return {"anyOf": [schema, wrapped]}


def _row(name: str, kind: Kind, components: dict[str, Any]) -> dict[str, Any]:
    hints = hints_of(kind.type)
    schemas, parts = msgspec.json.schema_components(
        list(hints.values()), schema_hook=_fraction_schema, ref_template="#/$defs/{name}"
    )
    components.update(parts)
    keys = {k: _with_origin(s) for k, s in zip(hints, schemas, strict=True)}
    if name == "cpu":
        anything: dict[str, Any] = {"description": "a shape that is easier to type; see docs/catalogue.md"}
        keys |= {k: anything for k in (*SHAPES, *ALIASES) if k not in keys}
        keys |= {k: anything for k in SHAPES}
        keys["locked"] = {"anyOf": [{"type": "boolean"}, FRACTION]}
    else:
        keys["name"] = {"type": "string"}
    doc = (kind.type.__doc__ or "").split("\n")[0]
    return {
        "type": "object",
        "description": doc,
        "properties": {**keys, **ORIGIN_KEYS},
        "required": list(required(kind.type)),
        "additionalProperties": False,
    }


def editor_schema() -> Mapping[str, Any]:
    """JSON Schema (2020-12) of one file of rows: arrays of tables by kind, and publications."""
    defs: dict[str, Any] = {}
    kinds = {name: {"type": "array", "items": _row(name, kind, defs)} for name, kind in KINDS.items()}
    publication = {
        "type": "object",
        "properties": {k: {"type": "string"} for k in ("title", "order", "date", "read_at", "note")},
        "required": ["title"],
        "additionalProperties": False,
    }
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "leadoff rows",
        "type": "object",
        "properties": {**kinds, "source": {"type": "object", "additionalProperties": publication}},
        "$defs": defs,
    }
