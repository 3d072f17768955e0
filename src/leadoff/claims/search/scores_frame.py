"""A sentence without what claims nothing: a question it answers itself, a first yes or no, sayings, remarks."""

from __future__ import annotations

import re
from functools import lru_cache

import msgspec

from leadoff.claims.rows import table
from leadoff.claims.search.talk import Talk, said_of
from leadoff.claims.spoken.evidence import Evidence
from leadoff.claims.spoken.names import Names, names_of

_ASKED = re.compile(r"^(?P<asked>[^?]*\?)[\"'”’)]*\s*(?P<rest>[^?]*[^?\s][^?]*)$", re.S)
_ANSWER = re.compile(
    r"^\W*(?:no|nope|nah|yes|yep|yeah|sure|right|correct|exactly|indeed|of course|honestly|frankly|well|"
    r"ok|okay|look|listen|"
    r"correction|relax|so|and|but|oh|boom|hey|see|mind you|summary line|for the record|worth noting|"
    r"fun fact)\b\s*[,.:;!-]+\s*",
    re.I,
)


_BARE_DENIAL = re.compile(
    r"\W*(?:nobody|no one|no-one|none(?: of them)?|never|nothing|not one(?: of them)?|no board|"
    r"nowhere)(?: ever)?(?: (?:can|could|does|did|has|"
    r"had|will|here))?(?: (?:it|that|in this house|here))?\W*$",
    re.I,
)
"""``Less than four seconds? Nobody.``"""


@lru_cache(maxsize=4)
def names_in(ev: Evidence) -> Names:
    """What the book calls its boards, workloads and cards."""
    return names_of(ev.ledger)


@lru_cache(maxsize=1)
def _sayings() -> re.Pattern[str]:
    said = (re.escape(x.strip()).replace(r"\ ", r"\s+") for x in table("scores_words")["sayings"]["rows"])
    ways = "|".join(sorted(said, key=len, reverse=True))
    return re.compile(rf"[,(]?\s*\b(?:{ways})\b(?=\W|$)", re.I)


@lru_cache(maxsize=1)
def _turns() -> list[tuple[re.Pattern[str], str]]:
    return [(re.compile(form, re.I), words) for form, words in table("scores_words")["turns"]["rows"]]


def turned(text: str) -> str:
    """Ways of speech in one spelling each."""
    for form, words in _turns():
        text = form.sub(words, text)
    return text


def _as_workload(text: str, workloads: tuple[str, ...]) -> str:
    """``traced the rays`` of a workload that is called ray trace."""
    for name in workloads:
        if m := re.fullmatch(r"([a-z]{3,}) ([a-z]{3,}?)e?", name):
            text = re.sub(
                rf"\b{m[2]}(?:e|es|ed|ing|s)? (?:the |its |some |his )?{m[1]}s\b",
                f"does the {name}",
                text,
                flags=re.I,
            )
    return text


def framed(talk: Talk) -> Talk:
    """The talk with its sentence cut down; a question that it answers stands before it."""
    text, before = talk.text.replace("’", "'"), talk.before
    names = None
    if m := _ASKED.match(text):
        names = names_in(talk.evidence)
        if _BARE_DENIAL.match(m["rest"]):
            text = f"{m['asked'].rstrip('? ')}, {m['rest']}"
        else:
            before = (*before, said_of(m["asked"], talk.evidence, names))
            text = m["rest"]
    for _ in range(2):
        text = _ANSWER.sub("", text)
    text = _sayings().sub(" ", turned(text))
    text = turned(_as_workload(text, tuple(talk.evidence.ledger.workloads)))
    text = re.sub(r"\s+", " ", re.sub(r"\s+([,.!;])", r"\1", text)).strip(" ,")
    if text == talk.text or not re.search(r"\w", text):
        return talk
    said = said_of(text, talk.evidence, names or names_in(talk.evidence))
    return msgspec.structs.replace(talk, text=text, said=said, before=before)
