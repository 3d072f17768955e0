"""A description of every address, made from the same tables as the addresses themselves."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Any

import msgspec

from leadoff import __version__
from leadoff.doors.web.reads import READS
from leadoff.doors.web.writes import WRITES

TEXT = {"type": "string"}
ENVELOPE: dict[str, Any] = {
    "type": "object",
    "required": ["leadoff", "verb", "ok", "head", "data", "marks", "errors"],
    "properties": {
        "leadoff": {"type": "integer", "const": 1},
        "verb": TEXT,
        "ok": {"type": "boolean"},
        "head": {"type": ["string", "null"]},
        "data": {"type": "object"},
        "marks": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["level", "code", "text", "refs"],
                "properties": {
                    "level": {"enum": ["red", "amber", "green", "note"]},
                    "code": TEXT,
                    "text": TEXT,
                    "refs": {"type": "array", "items": TEXT},
                },
            },
        },
        "errors": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["code", "text", "where", "do"],
                "properties": {"code": TEXT, "text": TEXT, "where": TEXT, "do": TEXT},
            },
        },
    },
}
READ_FAILS = {
    "400": "not understood, or refused",
    "401": "not paired",
    "404": "not there",
    "421": "another host",
}
WRITE_FAILS = READ_FAILS | {
    "403": "not from a page of this server",
    "413": "too large",
    "415": "a kind that is not taken",
    "503": "the book is held by another program",
}


@lru_cache(maxsize=1)
def description() -> bytes:
    """OpenAPI 3.1, as JSON."""
    paths: dict[str, Any] = {}
    for row in READS:
        twin = "/shelf.json" if row.path == "/" else f"{row.path}.json"
        query = [_parameter(n, "query", text) for n, text in row.query.items()]
        paths.setdefault(twin, {})["get"] = {
            "operationId": f"read_{row.template}",
            "summary": row.about,
            "parameters": [*_in_path(twin), *query],
            "responses": _responses(READ_FAILS),
        }
    for act in WRITES:
        fields: dict[str, Any] = {n: {**TEXT, "description": t} for n, t in act.fields.items()}
        for many in {"entry", "answer"} & set(fields):
            fields[many] = {"type": "array", "items": TEXT, "description": act.fields[many]}
        media = "application/x-www-form-urlencoded"
        for name in act.files:
            media = "multipart/form-data"
            fields[name] = {**TEXT, "format": "binary", "description": act.fields[name]}
        own = _parameter("X-Leadoff", "header", "any value: this write comes from a program, not from a page")
        paths.setdefault(f"{act.path}.json", {})["post"] = {
            "operationId": re.sub(r"\W+", "_", f"write{act.path.replace('{board}', '')}"),
            "summary": act.about,
            "parameters": [*_in_path(act.path), {**own, "required": True}],
            "requestBody": {"content": {media: {"schema": {"type": "object", "properties": fields}}}},
            "responses": _responses(WRITE_FAILS),
        }
    return msgspec.json.encode(
        {
            "openapi": "3.1.0",
            "info": {"title": "leadoff bench page", "version": __version__},
            "paths": paths,
            "components": {"schemas": {"Envelope": ENVELOPE}},
        }
    )


def _parameter(name: str, place: str, text: str) -> dict[str, Any]:
    return {"name": name, "in": place, "required": place == "path", "schema": TEXT, "description": text}


def _in_path(path: str) -> list[dict[str, Any]]:
    return [
        _parameter(n, "path", "a board") | {"schema": {**TEXT, "minLength": 1}}
        for n in re.findall(r"{(\w+)}", path)
    ]


def _responses(fails: dict[str, str]) -> dict[str, Any]:
    body = {"application/json": {"schema": {"$ref": "#/components/schemas/Envelope"}}}
    return {"200": {"description": "done", "content": body}} | {
        code: {"description": text, "content": body} for code, text in sorted(fails.items())
    }
