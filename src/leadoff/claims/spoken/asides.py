"""Remarks beside a claim: parts between commas that name nothing of the book and set no condition."""

from __future__ import annotations

import re

_COMMENT = re.compile(
    r"^(?:and )?(?:as|which|should|so|spare|whatever|no matter|mind|i|you|we|if (?:you|anyone|anybody|i|"
    r"we)|believe|trust me|"
    r"not that|thank|for what|just|call it|that is)\b"
)
_CONDITION = re.compile(
    r"^(?:and |or )?(?:if|unless|except|provided|assuming|until|without|with|while|when|on|under|in|at|"
    r"using|running|"
    r"from|by|through|over|after|before|for|only|via|inside|near|during|because|since|to|but|only|not)\b|"
    r"\b(?:unless|except|provided|assuming)\b"
)
_SUBJECT = re.compile(r"\b(?:it|they|she|he|them)\b")


def without_asides(low: str) -> str:
    """A skeleton without its remarks; the whole where no part of it names anything."""
    parts = [p.strip() for p in low.split(" , ")]
    if not any("{" in p for p in parts):
        return low
    return " , ".join(p for p in parts if "{" in p or not _aside(p))


def _aside(part: str) -> bool:
    if _COMMENT.search(part):
        return True
    return not (_CONDITION.search(part) or _SUBJECT.search(part))
