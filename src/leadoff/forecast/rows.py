"""The numbers that a forecast rests on, from data rows: value, unit, source and how it is known."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import lru_cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any

import msgspec


class Row(msgspec.Struct, frozen=True, kw_only=True):
    """One constant. ``certainty`` is read, memory, practice, judgement or invented."""

    value: float
    unit: str
    source: str
    certainty: str


@lru_cache(maxsize=16)
def rows(table: str) -> Mapping[str, Row]:
    """All constants of one file of ``forecast/data``, by name (``group.name`` where the file has groups)."""
    text = files("leadoff.forecast").joinpath("data", f"{table}.toml").read_text(encoding="utf-8")
    out: dict[str, Row] = {}
    _collect("", tomllib.loads(text), {}, out)
    return MappingProxyType(out)


@lru_cache(maxsize=16)
def values(table: str) -> Mapping[str, float]:
    """The same, values only: what the arithmetic reads."""
    return MappingProxyType({name: row.value for name, row in rows(table).items()})


@lru_cache(maxsize=256)
def group(table: str, name: str) -> Mapping[str, float]:
    """The values of one group, without the group's name."""
    prefix = f"{name}."
    return MappingProxyType(
        {k.removeprefix(prefix): v for k, v in values(table).items() if k.startswith(prefix)}
    )


def _collect(prefix: str, tree: Mapping[str, Any], given: Mapping[str, str], out: dict[str, Row]) -> None:
    """A table with a ``value`` is a row; other tables are groups whose unit, source, certainty go down."""
    here = {**given, **{k: v for k, v in tree.items() if isinstance(v, str)}}
    for key, item in tree.items():
        name = f"{prefix}{key}"
        if isinstance(item, dict) and "value" in item:
            out[name] = msgspec.convert({**here, **item}, Row)
        elif isinstance(item, dict):
            _collect(f"{name}.", item, here, out)
        elif isinstance(item, int | float):
            out[name] = msgspec.convert({**_origin(here), "value": float(item)}, Row)


def _origin(here: Mapping[str, str]) -> dict[str, str]:
    return {k: here[k] for k in ("unit", "source", "certainty")}
