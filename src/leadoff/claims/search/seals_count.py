"""How many forecasts were sealed, for which boards and workloads, where nothing is said of how they came out."""

from __future__ import annotations

import re
from collections.abc import Sequence

from leadoff.claims.search.talk import Reading
from leadoff.claims.spoken.evidence import Evidence
from leadoff.claims.spoken.reading import Said
from leadoff.claims.spoken.values import Finding, Verdict

V = Verdict
_NOUN = r"(?:\w+ ){0,2}?(?:forecasts?|predictions?|seals?|envelopes?|prophec(?:y|ies))\b"
_ALL_BUT = re.compile(
    rf"\ball (?:of )?(?:(?:my|the|our|these) )?(?:{_NOUN} )?(?:but|except|bar|save) (?:for )?(?:\{{(?P<n>n\d+)\}}|"
    rf"one|1)(?= )"
)
_MANY = re.compile(rf"\{{(?P<n>n\d+)\}} {_NOUN}")
_ONE = re.compile(
    rf"\b(?:only |just |exactly )?(?:one|a single|1) {_NOUN}|\b(?:forecast|sealed|predicted) (?:only )?once\b"
)
_NO = re.compile(rf"\b(?:no|never|not|nobody)\b(?: \w+){{0,3}}? (?:seal\w*|forecast\w*|predict\w*|{_NOUN})")
_ALL = re.compile(rf"\b(?:all|every|each)\b(?: \w+){{0,3}}? {_NOUN}")

_WERE_FOR = re.compile(r"\b(?:is|are|was|were|concern\w*) (?:\w+ )?(?:for|on|about|of) (?:the )?\{[bkw]\d+\}")


def sealed_so_many(said: Said, boards: Sequence[str], loose: Sequence[str], ev: Evidence) -> Reading | None:
    """The verdict on such a count; ``None`` where none is said."""
    low = said.low
    works = {said.workloads[int(s[1:])] for s in said.signs("w")}
    if said.signs("sgrdo") or said.seals or not (seals := ev.ledger.sealed):
        return None
    mine = [s for s in seals if (not boards or s.board in boards) and (not works or s.workload in works)]
    read: set[str] = set()
    if m := _ALL_BUT.search(low):
        k = said.num(m["n"]).value if m["n"] else 1.0
        read |= {m["n"]} if m["n"] else set()
        ok = len(mine) == len(seals) - k and bool(boards or works)
    elif m := _MANY.search(low):
        n = said.num(m["n"])
        read.add(m["n"])
        each = re.search(r"\b(?:each|apiece)\b", low) is not None and bool(boards)
        ok = (
            all(sum(s.board == b for s in mine) == n.value for b in boards)
            if each
            else len(mine) == n.value
            if not n.mod
            else len(mine) >= n.value
            if n.mod == "over"
            else len(mine) <= n.value
        )
    elif _NO.search(low) and (boards or works):
        ok = not mine
    elif _ALL.search(low) and _WERE_FOR.search(low):
        ok = len(mine) == len(seals)
    elif _ONE.search(low) and (boards or works):
        each = re.search(r"\b(?:each|apiece)\b", low) is not None
        ok = all(sum(s.board == b for s in mine) == 1 for b in boards) if each else len(mine) == 1
    else:
        return None
    why = f"{len(mine)} of {len(seals)} forecasts: {', '.join(s.number for s in mine) or 'none'}"
    finding = Finding(
        verdict=V.SUPPORTED if ok else V.CONTRADICTED,
        why=why,
        refs=tuple(s.number for s in mine),
        boards=tuple(boards),
        true=why,
    )
    return Reading(finding=finding, sure=not loose and not set(said.signs("n")) - read)
