"""A figure of something that the book does not measure."""

from __future__ import annotations

import re

from leadoff.claims.search.scores_words import strange
from leadoff.claims.search.talk import Talk

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
