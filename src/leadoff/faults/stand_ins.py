"""What may stand in for what, said with its condition, its test and what is not known. Wrong advice destroys."""

from __future__ import annotations

import re
from collections.abc import Mapping

import msgspec

from leadoff.faults.kinds import Knowledge, Route, Substitute
from leadoff.record.errors import LeadoffError

KINDS: Mapping[str, tuple[str, ...]] = {
    "clock_module": ("clock modules", "clock module", "rtc module", "rtc", "sealed module", "clock part"),
    "cell": ("coin cell", "cells", "cell", "batteries", "battery", "pack"),
    "tag": ("tag chips", "tag chip", "tag ram", "tag"),
    "cache": ("cache chips", "cache chip", "cache", "sram"),
    "memory": ("memory modules", "memory module", "memory", "simms", "simm", "dimms", "dimm", "ram"),
    "crystal": ("crystals", "crystal", "clock can", "oscillator", "xtal"),
    "regulator": ("regulators", "regulator"),
    "capacitor": ("capacitors", "capacitor", "caps", "cap", "electrolytic", "tantalum"),
}
"""Kinds of parts by the words people use, the more special ones first."""
_KEPT = frozenset(["electrolytic", "tantalum", "pack", "clock can", "coin cell"])
"""Words that name the kind and narrow the rows as well."""


OF_FAULT: Mapping[str, str] = {
    "rtc_flat": "clock_module",
    "xtal_32k": "crystal",
    "xtal_14": "crystal",
    "clkgen_dead": "crystal",
    **dict.fromkeys(("coin_flat", "batt_circuit", "nicd_mild", "nicd_traces"), "cell"),
    **dict.fromkeys(("cache_bad", "cache_fake"), "cache"),
    "tag_bad": "tag",
    **dict.fromkeys(("ram_bad", "ram_mismatch", "dram_onboard"), "memory"),
    **dict.fromkeys(("reg_dead", "reg_over"), "regulator"),
    **dict.fromkeys(("elec_bad", "tant_short", "ceramic_short"), "capacitor"),
}
"""The kind of part that a repair needs, where there is a table of substitutes for it."""


class Advice(msgspec.Struct, frozen=True, kw_only=True):
    """Rows that fit the question, ways to do it, and what has to be said when no row fits."""

    rows: tuple[Substitute, ...]
    ways: tuple[Route, ...]
    unknown: str


def substitutes(kb: Knowledge, kind: str, *, have: str = "", want: str = "") -> Advice:
    """Advice for a ``kind`` (clock_module, cell, cache, tag, memory, crystal, regulator, capacitor).

    ``have`` and ``want`` narrow the rows by their words; no row that fits means not known, never yes. Raises
    ``LeadoffError`` for a kind that has no table.
    """
    kinds = {s.kind for s in kb.substitutes.values()}
    if kind not in kinds:
        text = f"there is no table of substitutes for {kind!r}; a guess could destroy the board"
        names = ", ".join(sorted(k.replace("_", " ") for k in kinds))
        raise LeadoffError.one("faults.substitute", text, do=f"ask for one of {names}")
    rows = tuple(
        s for s in kb.substitutes.values() if s.kind == kind and _fits(have, s.have) and _fits(want, s.want)
    )
    ways = tuple(w for w in kb.ways.values() if w.kind == kind)
    unknown = (
        "" if rows else f"not known whether {have or 'it'} may stand in for {want or kind.replace('_', ' ')}"
    )
    return Advice(rows=rows, ways=ways, unknown=unknown)


def question_of(text: str) -> tuple[str, str, str]:
    """Kind, what the person has and what is wanted, from words such as "64-byte for 128-byte clock module".

    Raises ``LeadoffError`` when no kind of part is named.
    """
    line = " ".join(text.lower().split())
    for kind, words in KINDS.items():
        for word in words:
            pattern = rf"\b{re.escape(word)}\b"
            if re.search(pattern, line):
                left, _, right = line.partition(" for ")
                if word not in _KEPT:
                    left, right = (re.sub(pattern, " ", x) for x in (left, right))
                return kind, _bare(left), _bare(right)
    return line.replace(" ", "_"), "", ""


def _bare(text: str) -> str:
    return " ".join(
        w for w in text.split() if w not in ("a", "an", "the", "my", "module", "modules", "chip", "of")
    )


def _fits(asked: str, text: str) -> bool:
    """Whether each word asked for starts a word of the row: ``edo`` is not found in ``speedometer``."""
    words = re.findall(r"[a-z0-9.+]+", text.lower())
    return all(any(w.startswith(a) for w in words) for a in re.findall(r"[a-z0-9.+]+", asked.lower()))
