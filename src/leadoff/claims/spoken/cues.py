"""Words that compare, tie, cause and deny, as patterns over a skeleton."""

from __future__ import annotations

import re

from leadoff.claims.rows import table

TIE = (
    r"\b(?:ties?|tied|tie with|level|same|equals?|identical|on a par|neck and neck|dead heat|"
    r"no (?:measurable |real |visible |clear )?(?:difference|effect|gain|benefit)|nothing in it|makes nothing|"
    r"does nothing|did nothing|gains? nothing|gained nothing|brings? nothing|brought "
    r"nothing|cost nothing|costs nothing|"
    r"gives? nothing|gave nothing|worth nothing|buys? nothing|bought nothing|adds? nothing|changes? nothing|"
    r"changed nothing|"
    r"not (?:make|made|matter|make any|do anything|change anything)|not (?:a|any|1) bit|matches|match|matched|"
    r"as fast as|as quick as|as slow as|as good as|within (?:the )?noise|nothing between|no faster or slower|"
    r"draw|drew|doesn't matter|irrelevant|not worth anything|made no odds|makes no odds|indistinguishable)\b"
)


def _any(kind: str) -> str:
    return rf"\b(?:{'|'.join(table('cues')[kind])})\b"


BETTER, WORSE, HIGH, LOW = (_any(k) for k in ("better", "worse", "high", "low"))
COMPARES = "|".join((BETTER, WORSE, HIGH, LOW))
CAUSE = (
    r"\b(?:what (?:made|makes|gave|gives|brought|sped|slowed|helped)|because|thanks to|due to|owing to|"
    r"comes? from|came from|comes? down to|"
    r"owed to|owes?(?: \w+){0,3} to|attributable to|attributed to|put down to|stems? from|the work of|"
    r"the doing of|doing|courtesy of|"
    r"down to|explains?|reason|cause[sd]?|"
    r"responsible|did it|does it|credit|it is all|all the(?= \{)|was all(?= (?:the|down|because|about|due)\b|"
    r" \{s)|is all(?= (?:the|down|because|about|due)\b| \{s)|purely|to "
    r"thank|behind it|made the difference|"
    r"makes the difference|blame|on account of)\b|"
    r"\b(?:that|this|it|difference|gain|gap|loss|rest|all|just|only) (?:is|was|comes from) "
    r"(?:all |just |purely |only |simply |entirely |down to )?(?:the )?(?=\{s\d+\}(?: ,| and nothing| alone| $|$))|"
    r"(?<=, )(?:and )?(?:it is )?(?:all|only|purely|entirely|just) (?:the )?(?=\{s\d+\}(?: ,| $|$))"
)
EFFECT = (
    r"\b(?:gave|gives|give|worth|costs?|made|makes|brought|brings|bought|buys|helps?|helped|hurts?|added|"
    r"adds|gained|"
    r"gains?|difference|matters?|nothing|saved|saves|pays?|paid|speeds?|slows?|slowed|faster|slower|"
    r"quicker|better|worse|"
    r"improve[sd]?|loses?|lost|boosts?|boosted|drops?|dropped|effect|change[sd]?)\b"
)
REST = (
    r"\b(?:(?:all )?the others?|every(?:thing| board)? else|every other board|all "
    r"others|the rest|everything|all of them|any(?:thing| board)? else|all else|any other board|any of the others|"
    r"anything i (?:own|have))\b"
)
NOT = r"\b(?:not|no|never|nothing|neither|nor)\b"


def is_cue(word: str) -> bool:
    """Whether a word is one of those that the rules themselves look for."""
    return any(
        (m := re.search(p, word)) is not None and m[0] == word
        for p in (TIE, BETTER, WORSE, HIGH, LOW, CAUSE, EFFECT)
    )


EXTREMES = (
    (
        "highest",
        re.compile(
            r"\b(?:tops?|topped|topping|max(?:es|ed|ing)?|peaks?|peaked|peaking|caps?|capped) (?:out(?: at)?|at)"
            r"(?= |$)|"
            r"\bthe (?:very |absolute )?most (?:i|it|we|he|she|you|that|the|this|my|\{b\d+\})\b|"
            r"\bas (?:high|much) as (?:it|the \w+|\{b\d+\}) (?:ever )?(?:gets|got|goes|went)\b"
        ),
    ),
    (
        "lowest",
        re.compile(
            r"\bbottom(?:s|ed)? out at\b|"
            r"\bthe (?:very |absolute )?least (?:time|(?:i|it|we|he|she|you|that|the|this|my|\{b\d+\}))\b"
        ),
    ),
)
"""Ways to say an end of the scale without a word that is one by itself."""


def extremes(low: str) -> list[str]:
    """Ends that are spoken of in more than a word."""
    return [end for end, ways in EXTREMES if ways.search(low)]
