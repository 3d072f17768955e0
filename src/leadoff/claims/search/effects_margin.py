"""``By a hair``: a lead that is called tiny is one."""

from __future__ import annotations

import re

import msgspec

from leadoff.claims.rows import constant
from leadoff.claims.search.effects_mentions import Heard
from leadoff.claims.spoken.values import Finding, Verdict
from leadoff.claims.spoken.weigh import Weighed

_NARROW = re.compile(
    r"\bby (?:a|the) (?:mere |bare |tiny |narrow )?(?:hair|hair.s breadth|whisker|nose|sliver|smidge|smidgen|"
    r"fraction|touch|shade|tad|negligible amount|tiny margin|narrow margin)\b(?! (?:of|over|under|more|less))|"
    r"\b(?:narrowly|fractionally|marginally)\b",
    re.I,
)
_MOST_PERCENT = constant("narrow_most")


def no_wider(found: Finding, of: Weighed, h: Heard) -> Finding:
    """A finding on two states in the light of a lead called tiny: contradicted where it is a clear one."""
    if found.verdict is not Verdict.SUPPORTED or not _NARROW.search(h.said.plain.text):
        return found
    one, two = of.first.mean.value, of.second.mean.value
    if 100.0 * abs(one - two) <= _MOST_PERCENT * min(one, two):
        return found
    why = f"{found.why}; that is no small lead"
    return msgspec.structs.replace(found, verdict=Verdict.CONTRADICTED, why=why, true=found.why)
