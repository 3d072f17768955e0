"""Whom a place is counted among: all boards, those of a list, those that are left when some are taken out."""

from __future__ import annotations

import re
from dataclasses import replace

import msgspec

from leadoff.claims.search.scores_place import boards_of
from leadoff.claims.search.talk import Talk

_THE = r"(?:the |my |that )?"
_LIST = rf"{_THE}\{{b\d+\}}(?:(?: ,| and| or| ,? and)+ {_THE}\{{b\d+\}})*"
_WITHOUT = re.compile(
    rf"(?:\bif (?:you|we|i) )?\b(?:leav\w+|tak\w+|set\w*|put\w*|count\w*|push\w*|mov\w+) (?P<a>{_LIST}) "
    r"(?:out|aside|away|off|apart|to one side)(?: of (?:it|this|that|the \w+|account))?|"
    rf"\b(?:with|once|after) (?P<b>{_LIST}) (?:is |are |was )?(?:out of the \w+|gone|aside|removed|"
    rf"excluded|left out|out)\b|"
    rf"\b(?:not counting|without|excluding|excepting|except for|except|apart from|other than|besides|"
    rf"barring|ignoring|"
    rf"forgetting|disregarding|minus|if not for|but for|were it not for|if it (?:was|were) not for) (?P<c>{_LIST})|"
    rf"(?P<d>{_LIST}) (?:apart|aside|excluded|excepted|left out)\b"
)


def without(talk: Talk) -> tuple[Talk, tuple[str, ...]]:
    """The sentence without the part that takes boards out, and the boards that are left; none where all are."""
    said = talk.said
    found = list(_WITHOUT.finditer(said.low))
    if len(found) != 1:
        return talk, ()
    m = found[0]
    out = {said.boards[int(i)] for i in re.findall(r"\{b(\d+)\}", m[0])}
    low = re.sub(r"^(?: ,)+ ", " ", f"{said.low[: m.start()]} {said.low[m.end() :]}")
    low = f" {' '.join(low.split())} "
    text = re.sub(r"\{[a-z]\d+\}", "", low)
    left = tuple(b for b in talk.evidence.ledger.boards if b not in out)
    return msgspec.structs.replace(talk, text=text, said=replace(said, low=low)), left


OF_THESE = re.compile(
    r"\b(?:of|among|from|between) (?:all )?(?:these|those|the lot)(?: (?:\{n\d+\}|two|three|four|boards|machines))?\b"
)


def these(talk: Talk) -> tuple[str, ...]:
    """``of these three``: the boards named before that, here or in the sentence before."""
    m = OF_THESE.search(talk.said.low)
    if m is None:
        return ()
    said = talk.said
    here = [s for s in said.signs("bk") if said.at(s) < m.start()]
    named = [
        b for s in here for b in ((said.boards[int(s[1:])],) if s[0] == "b" else said.groups[int(s[1:])])
    ]
    heard = next((b for s in reversed(talk.before) if len(b := boards_of(s)) > 1), ())
    if len(set(named)) > 1:
        return tuple(dict.fromkeys(named))
    return () if m[0].endswith("lot") else heard


def behind_these(talk: Talk) -> Talk:
    """The sentence without the list that it picks from."""
    m = OF_THESE.search(talk.said.low)
    if m is None or not these(talk):
        return talk
    return msgspec.structs.replace(talk, said=replace(talk.said, low=f" {talk.said.low[m.start() :]}"))


def of_its_states(talk: Talk) -> bool:
    """``the best of the four`` of one board's states that were spoken of just before."""
    heard = next((s for s in reversed(talk.before[-1:]) if len(boards_of(s)) == 1), None)
    if (
        heard is None
        or boards_of(talk.said)
        or not re.search(r"\bof the (?:lot|four|three|two|six|\{n\d+\})\b", talk.said.low)
    ):
        return False
    return re.search(r"\b(?:states?|settings?|runs?|readings|results|ways|figures)\b", heard.low) is not None
