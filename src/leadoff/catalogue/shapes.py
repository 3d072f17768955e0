"""The shapes that a person may type in a row, brought to the one shape of the row types.

Liberal in shape, never in meaning: what cannot be read as one thing is left as it is and then refused.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

from leadoff.catalogue.row import to_fraction

Fields = dict[str, Any]

# Other words for a key. Only words that can mean nothing else.
ALIASES: dict[str, str] = {
    "name": "names", "marking": "markings", "socket": "sockets", "volts": "v", "current": "amps",
    "watts_max": "watts", "amps_max": "amps", "power": "watts", "tdp": "watts", "mhz": "rated_mhz",
    "core_mhz": "rated_mhz", "clock_mhz": "rated_mhz", "bus_mhz": "rated_bus_mhz",
    "v_core": "v", "core_v": "v",
    "l1": "l1_kb", "l2": "l2_kb", "ratio": "ratios", "multipliers": "ratios", "multiplier": "ratios",
    "locked_ratio": "locked", "l2_mhz": "l2_clock", "case_c": "case_max_c",
    "policy": "l1_policy", "cas_latencies": "sdram_cas",
}  # fmt: skip
LISTS = frozenset({"names", "markings", "sockets"})
WORDS: dict[str, tuple[str, str]] = {
    "core": ("l2_per_core", "1"), "full": ("l2_per_core", "1"), "on-die": ("l2_per_core", "1"),
    "half": ("l2_per_core", "1/2"), "half core": ("l2_per_core", "1/2"), "third": ("l2_per_core", "1/3"),
    "bus": ("l2_per_bus", "1"),
}  # fmt: skip
# A cache clock typed as a bare number up to this is a fraction of the core clock, above it megahertz.
LARGEST_FRACTION = 1


# "2.8 V" or "5,7 A" typed as text: the unit must be that of the key.
NUMBER = re.compile(r"(\d+(?:[.,]\d+)?)\s*([vaw]?)", re.I)


def _plain(value: Any, unit: str) -> Any:
    """A number typed as text with or without its unit; anything else is left for the check."""
    if isinstance(value, list):
        return [_plain(x, unit) for x in value]
    if isinstance(value, Mapping):
        return {k: _plain(x, unit) for k, x in value.items()}
    found = NUMBER.fullmatch(value.strip()) if isinstance(value, str) else None
    if found is None or found[2].lower() not in ("", unit):
        return value
    return float(found[1].replace(",", "."))


def _volts(value: Any) -> Fields:
    value = _plain(value, "v")
    if isinstance(value, Mapping) and value and set(value) <= {"min", "typ", "nom", "max", "abs"}:
        return {f"v_{'typ' if k == 'nom' else k}": x for k, x in value.items()}
    if isinstance(value, list) and len(value) == 2:
        return dict(zip(("v_typ", "v_max"), value, strict=True))
    if isinstance(value, list) and len(value) == 3:
        return dict(zip(("v_min", "v_typ", "v_max"), value, strict=True))
    if isinstance(value, list) and len(value) == 1:
        return {"v_typ": value[0]}
    return {"v_typ": value}


def _ratios(value: Any) -> Fields:
    if isinstance(value, Mapping):
        return {"straps": value}
    return {"ratios": value if isinstance(value, list) else [value]}


def _typ_max(key: str) -> Callable[[Any], Fields]:
    def read(value: Any) -> Fields:
        value = _plain(value, key[0])
        if isinstance(value, Mapping) and value and set(value) <= {"typ", "max"}:
            return {("watts_typ" if k == "typ" and key == "watts" else key): x for k, x in value.items()}
        return {key: value}

    return read


def _l2_clock(value: Any) -> Fields:
    word = str(value).strip().lower().removesuffix("mhz").strip()
    if word in WORDS:
        return dict([WORDS[word]])
    for base, key in (("core", "l2_per_core"), ("bus", "l2_per_bus")):
        head, slash, divisor = word.partition("/")
        if slash and head.strip() == base:
            return {key: f"1/{divisor.strip()}"}
    try:
        number = to_fraction(value if not isinstance(value, str) else word)
    except ValueError:
        return {"l2_per_core": value}
    return {"l2_per_core" if number <= LARGEST_FRACTION else "l2_fixed_mhz": str(number)}


def _watts_at(value: Any) -> Fields:
    if isinstance(value, Mapping) and value and set(value) <= {"mhz", "v"}:
        return {f"watts_at_{k}": x for k, x in value.items()}
    return {"watts_at_mhz": value}


SHAPES: dict[str, Callable[[Any], Fields]] = {
    "v": _volts,
    "ratios": _ratios,
    "l2_clock": _l2_clock,
    "watts": _typ_max("watts"),
    "amps": _typ_max("amps"),
    "watts_at": _watts_at,
}


def _locked(fields: Fields) -> Fields:
    """``locked = true`` with a single ratio locks that ratio; ``false`` says nothing."""
    if fields.get("locked") is False:
        return {k: x for k, x in fields.items() if k != "locked"}
    if fields.get("locked") is True:
        straps = fields.get("straps")
        single = fields.get("ratios") or (list(straps.values()) if isinstance(straps, dict) else [])
        if isinstance(single, (list, tuple)) and len(single) == 1:
            kept = {k: x for k, x in fields.items() if k not in ("ratios", "straps")}
            return {**kept, "locked": single[0]}
    return fields


def canonical_cpu(typed: Fields) -> Fields:
    """A processor row with the keys of ``CpuRow``; keys it does not know are passed through for the check."""
    fields: Fields = {}
    for key, value in typed.items():
        name = ALIASES.get(key, key)
        for k, x in SHAPES.get(name, lambda v, n=name: {n: v})(value).items():
            fields[k] = [x] if k in LISTS and isinstance(x, str) else x
    return _locked(fields)


def canonical(kind: str, typed: Fields) -> Fields:
    """Any row: processors have shapes of their own, the others only single words where a list is meant."""
    if kind == "cpu":
        return canonical_cpu(typed)
    named = {("names" if k == "name" else k): x for k, x in typed.items()}
    return {k: [x] if k in LISTS and isinstance(x, str) else x for k, x in named.items()}
