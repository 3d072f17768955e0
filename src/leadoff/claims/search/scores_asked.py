"""An answer in full: what was asked or named just before, with the figure or the board that fills it."""

from __future__ import annotations

import re

import msgspec

from leadoff.claims.search.scores_frame import names_in, turned
from leadoff.claims.search.scores_place import boards_of
from leadoff.claims.search.scores_ranks import rank_of
from leadoff.claims.search.scores_words import is_in, words
from leadoff.claims.search.talk import Talk, said_of
from leadoff.claims.spoken.reading import Said

_WHO = re.compile(
    r"^\W*(?:(?:so|and|ok|okay|then|now|right|well|tell me|remind me|buyer|caller|chat|question)\W+)*"
    r"(?:what(?:'s| is| was| are)?|who(?:'s| is| was| has| comes| holds)?|whose|"
    r"which(?: one)?(?: of \w+(?: \w+)?)?|"
    r"how (?:high|low|much|many|far|fast|long) (?:is|was|are)?|where)\b"
    r"(?: (?:is|was|has|are)\b)?(?: (?:board|machine|one|box)\b)?(?: (?:is|was|comes|has|takes|holds)\b)?",
    re.I,
)
_TOPIC = re.compile(
    r"^(?:(?!\b(?:is|was|are|were|has|have|had|does|did|makes?|made|do|reads?|ran|runs?)\b).)*$", re.I
)


_NOUN = re.compile(r"(?:the|my|its|his|her|our|your) \w+", re.I)


def in_full(talk: Talk) -> Talk | None:
    """The sentence with the place that was asked for or named just before; ``None`` where none was."""
    said = talk.said
    if not talk.before or talk.asks or rank_of(talk) is not None or not said.signs("bn"):
        return None
    question = framed_question(talk)
    text = question.plain.text.strip()
    asked = text.endswith("?")
    if not asked and (not _TOPIC.match(text) or boards_of(question) or question.signs("n")):
        return None
    rest = (_WHO.sub("", text, count=1) if asked else text).strip(" ?.!:,")
    if not rest or question.signs("snrdfou") or any(is_in(w, "denials") for w in words(question.low)):
        return None
    twice = bool(said.signs("w")) and bool(question.signs("w"))
    if rank_of(msgspec.structs.replace(talk, said=question)) is None or twice or not _short(said):
        return None
    joint = " is" if _NOUN.match(rest) else ","
    whole = f"{talk.text.rstrip(' .!')}{joint} {rest}"
    read = said_of(whole, talk.evidence, names_in(talk.evidence))
    return msgspec.structs.replace(talk, text=whole, said=read, before=talk.before[:-1])


def framed_question(talk: Talk) -> Said:
    """What was said just before, its ways of speech in one spelling each."""
    said = talk.before[-1]
    text = turned(said.plain.text)
    return said if text == said.plain.text else said_of(text, talk.evidence, names_in(talk.evidence))


def _short(said: Said) -> bool:
    """An answer names one board or one figure and little beside it."""
    return len(set(boards_of(said))) <= 1 and len(said.signs("n")) <= 1 and not said.signs("kdfrou")
