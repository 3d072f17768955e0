"""What a key may hold, in words for a person who types a file."""

from __future__ import annotations

import types
from collections.abc import Mapping
from fractions import Fraction
from typing import Annotated, Any, Literal, Union, get_args, get_origin

import msgspec

PLAIN: dict[Any, str] = {
    str: "a text",
    bool: "true or false",
    int: "a whole number",
    float: "a number",
    Fraction: 'a number above zero, or a fraction such as "100/3"',
    Any: "anything",
}


def allowed(kind: Any) -> str:
    """Words for one type of the rows: ``a number from 0.5 to 30``, ``one of: fpm, edo, sdram``."""
    origin, args = get_origin(kind), get_args(kind)
    if origin in (Union, types.UnionType):
        return " or ".join(allowed(a) for a in args if a is not type(None))
    if origin is Literal:
        return "one of: " + ", ".join(str(a) for a in args)
    if origin is Annotated:
        return _limited(allowed(args[0]), args[1])
    if origin is tuple:
        return f"a list, each {allowed(args[0])}"
    if isinstance(origin, type) and issubclass(origin, Mapping):
        return f"a table, each value {allowed(args[1])}"
    if isinstance(kind, type) and issubclass(kind, msgspec.Struct):
        return f"a table with the keys {', '.join(kind.__struct_fields__)}"
    return PLAIN[kind]


def _limited(base: str, meta: msgspec.Meta) -> str:
    if meta.pattern is not None:
        return "clocks such as 3-1-1-1"
    if meta.ge is not None and meta.le is not None:
        return f"{base} from {meta.ge:g} to {meta.le:g}"
    return base
