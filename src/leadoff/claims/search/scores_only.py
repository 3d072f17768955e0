"""Whether a sentence speaks of figures and of nothing that a search for figures cannot judge."""

from __future__ import annotations

import re

from leadoff.claims.search.scores_place import boards_of
from leadoff.claims.search.scores_words import OUTDONE, alone, compares, hears, hears_raw, is_in, tried, words
from leadoff.claims.search.talk import Talk
from leadoff.claims.spoken.cues import extremes

_SOONER = re.compile(
    r"^\{n\d+\} (?:frames |fps |seconds |lines )?(?:sooner|earlier|faster|quicker|shorter|longer|slower|later|more|"
    r"fewer|less|better|worse|higher|lower|ahead|behind|apart|off(?! (?:it|him|her|them|that|this|the|"
    r"\{)\b)|in front|in hand|to spare|down|up|in it)\b"
)
"""A difference: so many seconds sooner."""
_SET_AGAINST = re.compile(
    r"(?=.*\b(?:more|less|fewer|extra)\b).*\{n\d+\} (?:against|versus|vs) (?:the |its |a )?\{n\d+\}|"
    r"\{[bgsw]\d+\} (?:under|over|above|below|past|behind|before|after|against|to|in front of) "
    r"(?:the |my )?\{[bg]\d+\}|"
    r"\ball (?:of )?(?:it|that|this|from|down to)\b(?! (?:book|house|bench|fleet|time|while|year))|"
    r"\b(?:purely|entirely|solely|down to|comes? from|came from)\b"
)
"""Two things against each other, or what made the one out of the other, without a word that says so alone."""


_HALF = re.compile(r"\bbetween (?:about |some )?\{n\d+\}(?! (?:\w+ )?(?:and|to|or)\b)")
"""One end of a range whose other end is elsewhere."""
ON_DAY = re.compile(r"^(?!.*\b(?:since|before|after|until|till|by|from|between|throughout|than|only|then)\b)")


_ONE_AFTER_ANOTHER = re.compile(r"\b(?:followed|trailed|chased|pursued|succeeded)\b|\b(?:next|then) comes?\b")


def only_figures(talk: Talk) -> bool:
    """Whether the sentence says nothing that a search for figures cannot judge."""
    said = talk.said
    if compares(talk) or hears(talk, "causes", "seals") or hears_raw(talk, "causes", "seals", "reported"):
        return False
    if _SET_AGAINST.search(said.low) or (not boards_of(said) and _sealed_before(talk)):
        return False
    if (
        _HALF.search(said.low)
        or extremes(said.low)
        or any(_SOONER.search(said.low[said.at(s) :]) for s in said.signs("n"))
    ):
        return False
    if len(boards_of(said)) > 1 and _ONE_AFTER_ANOTHER.search(said.low):
        return False
    if OUTDONE.search(said.low) or re.search(r"\{n\d+\} to (?:one|1)\b", said.low):
        return False
    if tried(talk) or alone(talk) or hears(talk, "best", "worst", "highest", "lowest", "record"):
        return False
    if said.strangers or said.gone or said.seals or said.oddities or talk.asks:
        return False
    return not said.dates or (len(said.dates) == 1 and ON_DAY.search(said.low) is not None)


def _sealed_before(talk: Talk) -> bool:
    """Whether a forecast was spoken of just before: a figure may be its own."""
    return bool(talk.before) and (
        bool(talk.before[-1].seals) or any(is_in(w, "seals") for w in words(talk.before[-1].low))
    )
