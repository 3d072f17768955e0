"""A figure of something that the book does not measure."""

from __future__ import annotations

import re

from leadoff.claims.search.scores_words import strange
from leadoff.claims.search.talk import Reading, Talk
from leadoff.claims.spoken.values import Finding, Verdict

SCORES = frozenset({"value", "bare"})
"""Kinds of numbers that may be a score."""
_SLOT = re.compile(
    r"\b(?:in|over|on|at|through|for|with|under|during|off|of) (?:the |a |my |its |"
    r"that )?(?P<name>(?:[a-z-]+ ){0,2}[a-z-]+)"
    r"(?= (?:it|he|she|they|that|this|was|is|took|needs?|needed|takes?|got|gets|makes?|made|comes?|came|"
    r"finish\w*)\b| ,| ?$)"
)


_DOES = re.compile(
    r"\b(?:took|takes?|ran|runs?|did|does|needs?|needed) (?:it |him )?(?:for )?(?:the |a |"
    r"my )(?P<name>(?:[a-z-]+ ){0,2}[a-z-]+) "
    r"(?=(?:in )?\{n)"
)


def unknown_workload(talk: Talk) -> str:
    """What stands where a workload stands and is none of the book: ``over the prime sieve it took``."""
    if talk.said.workloads or not any(talk.said.num(s).kind in SCORES for s in talk.said.signs("n")):
        return ""
    strangers = set(strange(talk))
    names = [m["name"] for form in (_SLOT, _DOES) for m in form.finditer(talk.said.low)]
    return next((n for n in names if strangers & set(n.split())), "")


_TAKEN_AS_GIVEN = re.compile(
    r"\b(?:no|not|never|none|nothing|lacks?|missing|gone|exists?|invented|imaginary)\b|\?"
)


def unknown_run(talk: Talk) -> str:
    """A run of which a figure is told and which the book does not have."""
    said, by = talk.said, talk.evidence.by_number
    if not said.signs("n") or _TAKEN_AS_GIVEN.search(talk.text.lower()):
        return ""
    return next((r for r in said.runs if r not in by), "")


_FIRST_IN = re.compile(
    r"\b(?:records?|titles?|crown|champion|first place|best|fastest|quickest|slowest)\b (?:for|in|of|"
    r"at|over|on) (?:the |a )?"
    r"(?P<name>(?:[a-z-]+ ){0,2}?[a-z-]+)(?= (?:is|was|are|were|belongs|goes|stands|stood|held|by|on|"
    r"at|with)\b| ,| ?$)"
)


def no_such_first(talk: Talk) -> Reading | None:
    """A first place or a record in something that the book does not measure."""
    if talk.said.workloads or any(s.workloads for s in talk.before):
        return None
    unknown = set(strange(talk))
    name = next(
        (m["name"] for m in _FIRST_IN.finditer(talk.said.low) if unknown & set(m["name"].split())), ""
    )
    why = f"no workload {name} in the book"
    return Reading(finding=Finding(verdict=Verdict.NOT_FOUND, why=why), sure=True) if name else None
