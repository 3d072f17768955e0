"""Sealed forecasts, found by search: how one came out, by how much, when it was sealed, and how many held."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache

import msgspec

from leadoff.claims.rows import constant
from leadoff.claims.search.scores_frame import framed
from leadoff.claims.search.scores_place import boards_of
from leadoff.claims.search.seals_claims import judged
from leadoff.claims.search.seals_count import sealed_so_many
from leadoff.claims.search.seals_sorts import Sorted, one_miss, sorts
from leadoff.claims.search.seals_tally import tally
from leadoff.claims.search.seals_which import likely, of_run, own_figure, words
from leadoff.claims.search.seals_words import (
    Outcome,
    of_many,
    outcomes,
    pattern,
    row,
    speaks,
    strange,
    timing,
    words_in,
)
from leadoff.claims.search.talk import Reading, Talk
from leadoff.claims.spoken.evidence import Evidence
from leadoff.claims.spoken.names import Names, names_of
from leadoff.claims.spoken.plain import Plain, spelled
from leadoff.claims.spoken.reading import Said, read
from leadoff.claims.spoken.values import Finding, Verdict
from leadoff.claims.values import Sealed

V = Verdict
_BACK = int(constant("seal_back"))
"""A forecast spoken of this many sentences ago may still be meant."""
_TAG = re.compile(
    r",\s*(?:no|right|eh|ok|okay|see|huh|isn't it|wasn't it|didn't it|did it not|yes|agreed)\s*\?\s*$", re.I
)
_ANY = re.compile(
    r"\b(?:not|never|yet to) (?:seal\w*|made?|had?|seen?) (?:a|one|any|1) (?:single )?(?:forecast|prediction|seal|"
    r"envelope)\b|"
    r"\b(?:every|each|any|no|not (?:a|1|one)|single) (?:single )?(?:forecast|prediction|seal|envelope)\b|"
    r"\b(?:everything|whatever|all|(?:every|each|no|any) (?:single )?(?:figure|number|value|band|range|"
    r"one))(?: that| of what)? (?:i|we) (?:\w+ )?(?:seal|forecast|predict)\w*"
)
"""One of several forecasts, which counts them all."""
_COUNTS = re.compile(r"\b(?:of (?:the )?\{n\d+\}|both|all of them|every one|all)\b|\{n\d+\}")
_ONE_OF = re.compile(
    r"^ ?(?:(?:only|just|but|and|so|exactly) )*(?:one|1|neither|none|both|the other|the first|"
    r"the second)\b(?! (?:board|run|soak))"
)
_LEANS = re.compile(r"\b(?:it|its|that one|this one|that (?:board|machine)|both|there|him|her)\b")
_MANY = re.compile(r"\btally\b|\bhow many\b|\b(?:forecast|prediction|seal)\w* (?:tally|count|score)\b")
_BITS = {"half": 0.5, "quarter": 0.25, "third": 1 / 3}
_AND_A_BIT = re.compile(r"\b(?:a|1|one) (frame|second|line) and (?:a )?(half|quarter|third)\b")
_SUPPOSED = re.compile(
    r"\b(?:would|could|might|may|should|hope|hoped|wish|if i|perhaps|maybe|i think|"
    r"will (?!not\b|admit|say|grant|confess|own|concede|allow)|going to)\b"
)


_BOTH_TIMES = re.compile(r"\b(?:both|each|either) (?:of the )?times?\b|\bon both occasions\b")
_SO_OFTEN = re.compile(
    r"\b(?:once|twice|thrice)\b(?! (?:as|that|more|again|its|the (?:band|width|distance|error|gap|"
    r"miss|figure|score|size)\b))"
)
_OFTEN = {"once": 1, "twice": 2, "thrice": 3}
_SEALED = re.compile(r"\b(?:seal|forecast|predict)\w*")


def _sealed_often(said: Said) -> bool:
    """``twice I sealed something for this board``."""
    often = any(n.kind == "goes" or n.text in ("twice", "thrice") for n in said.nums)
    return _SEALED.search(said.low) is not None and (
        often or re.search(r"\bseveral times\b", said.low) is not None
    )


def seals(talk: Talk) -> Reading | None:
    """The likeliest reading of a sentence of this kind; ``None`` where it is none."""
    talk = framed(talk)
    if talk.asks and not _TAG.search(talk.text):
        return None
    said = _as_said(talk.text, talk.evidence)
    talk = msgspec.structs.replace(talk, said=said)
    low = said.low
    if (
        miss := one_miss(said, talk.evidence, boards_of(said), [said.want(s) for s in said.signs("s")])
    ) is not None:
        return _reading(miss, strange(said), boards_of(said))
    own = speaks(low, strictly=True) or _expected(said, talk.before, talk.evidence)
    if not own and not _heard(talk.before):
        return None
    if any(w in row("other") for w in words_in(low)) and not own:
        return None
    if any("forecast" in g or "predict" in g or "seal" in g for g in said.gone):
        why = f"the book has no {', '.join(said.gone)}"
        return Reading(finding=Finding(verdict=V.NOT_FOUND, why=why, true=why), sure=True)
    if said.strangers or said.gone or _SUPPOSED.search(low):
        return None
    loose = strange(said)
    counts = _COUNTS.search(low) is not None and bool(
        said.signs("n") or re.search(r"\b(?:both|all|every)\b", low)
    )
    heard_many = any(of_many(s.low) or (counts and _MANY.search(s.low)) for s in talk.before[-_BACK:])
    heard_many = heard_many or (counts and any(_sealed_often(s) for s in talk.before[-1:]))
    heard_many = heard_many and not said.signs("bs")
    one_of = not own and _ONE_OF.match(low) is not None and any(of_many(s.low) for s in talk.before[-1:])
    boards = _spoken_of(talk) if one_of else []
    if (own or one_of) and not said.seals and (counted := sorts(said, talk.evidence, boards)) is not None:
        return _reading(counted, loose, boards or boards_of(said))
    if own and not outcomes(low) and not timing(low):
        many = sealed_so_many(said, boards_of(said), loose, talk.evidence)
        if many is not None:
            return many
    if (of_many(low) or heard_many or (own and _so_often(said)) or _ANY.search(low)) and not said.seals:
        return _tally(talk, loose)
    return _single(talk, loose, own=own)


@lru_cache(maxsize=8)
def _names(ev: Evidence) -> Names:
    return names_of(ev.ledger)


def _as_said(text: str, ev: Evidence) -> Said:
    """The sentence in the words it was said in."""
    low = _AND_A_BIT.sub(lambda m: f"{1.0 + _BITS[m[2]]:g} {m[1]}s", spelled(text))
    low = _BOTH_TIMES.sub("both", low)
    if len(_SO_OFTEN.findall(low)) > 1:
        low = _SO_OFTEN.sub(lambda m: f"{_OFTEN[m[0]]} goes", low)
    return read(Plain(text=text, low=low), ev.ledger, _names(ev))


def _so_often(said: Said) -> bool:
    """``twice it was sealed and twice it held``: several forecasts of the board that is spoken of."""
    return sum(n.kind == "goes" for n in said.nums) > 1


def _heard(before: Sequence[Said]) -> bool:
    """Whether a forecast was spoken of just before, and no other kind of test since."""
    for s in reversed(before[-_BACK:]):
        if speaks(s.low, strictly=True):
            return True
        if any(w in row("other") for w in words_in(s.low)):
            return False
    return False


_EXPECTS = re.compile(
    r"\b(?:said|put down|put (?:it|him|her) (?:down )?at|down for|told|called|thought|expected|reckoned|promised|"
    r"figured on)\b"
)


_TOO = re.compile(r"\bi (?:was|had been|have been|am|came out|ended up|proved) (?:\S+ ){0,4}?too \w+")


def _expected(said: Said, before: Sequence[Said], ev: Evidence) -> bool:
    """``I said 29.6 and was wrong``: a forecast by its own number, with what came of it; both ends of a band; ``I was
    too hopeful``."""
    boards = boards_of(said)
    heard = boards or next((b for s in reversed(before[-_BACK:]) if (b := boards_of(s))), ())
    mine = [s for s in ev.ledger.sealed if s.board in boards]
    nums = [said.num(n) for n in said.signs("n")]
    told = _EXPECTS.search(said.low) and (outcomes(said.low) or len(nums) > 1)
    if told and any(own_figure(s, n) for s in mine for n in nums):
        return True
    if boards and _TOO.search(said.low) and any(o.kind in ("worse", "better") for o in outcomes(said.low)):
        return True
    exact = [n for n in nums if n.places and not n.mod]
    return any(
        s.board in heard and all(any(abs(end - n.value) < 1e-6 for n in exact) for end in (s.lo, s.hi))
        for s in ev.ledger.sealed
    )


def _spoken_of(talk: Talk) -> list[str]:
    """Boards named with the forecasts just before, where this sentence leans on it: ``both were met``."""
    heard = next((s for s in reversed(talk.before[-_BACK:]) if speaks(s.low, strictly=True)), None)
    leans = _LEANS.search(talk.said.low) or not speaks(talk.said.low, strictly=True)
    return list(boards_of(heard)) if heard is not None and leans else []


def _reading(found: Sorted, loose: Sequence[str], boards: Sequence[str]) -> Reading:
    finding = Finding(
        verdict=V.SUPPORTED if found.fits else V.CONTRADICTED,
        why=found.why,
        refs=tuple(s.number for s in found.pool),
        boards=tuple(boards),
        true=found.why,
    )
    return Reading(finding=finding, sure=found.clear and not loose)


def _tally(talk: Talk, loose: Sequence[str]) -> Reading | None:
    ev = talk.evidence
    boards = boards_of(talk.said) or _spoken_of(talk)
    if not boards and not of_many(talk.said.low) and talk.before and _so_often(talk.said):
        boards = list(next((b for x in reversed(talk.before[-_BACK:]) if (b := boards_of(x))), ()))
    found = tally(talk.said, talk.said.low, boards, ev)
    if found is None:
        return None
    why = f"{len(found.inside)} of {len(found.pool)} forecasts that were sealed before their run held"
    finding = Finding(
        verdict=V.SUPPORTED if found.fits else V.CONTRADICTED,
        why=why,
        refs=tuple(s.number for s in found.pool),
        boards=tuple(boards),
        true=why,
    )
    return Reading(finding=finding, sure=found.clear and not loose and not talk.said.signs("sg"))


def _single(talk: Talk, loose: Sequence[str], *, own: bool) -> Reading | None:
    ev, said = talk.evidence, talk.said
    says = outcomes(said.low)
    if (
        not own
        and not any(o.held is not None or o.kind in ("low", "high", "untried") for o in says)
        and not _sealed_when(said.low)
    ):
        return None
    found = likely(said, talk.before[-4:], ev)
    if not found:
        return None
    works, boards = set(said.workloads), boards_of(said)
    mine = [s for s in ev.ledger.sealed if s.board in boards]
    if own and not said.seals and len(works) == 1 and mine and not works & {s.workload for s in mine}:
        why = f"{', '.join(boards)}: no forecast was sealed for {', '.join(works)}"
        return Reading(finding=Finding(verdict=V.NOT_FOUND, why=why, boards=boards, true=why), sure=not loose)
    judgements = [(x, j) for x in found if (j := judged(said, says, x.sealed, ev)) is not None]
    if not judgements:
        return None
    first, best = judgements[0]
    verdicts = {j.verdict for _, j in judgements}
    sure = len(judgements) == len(found) and len(verdicts) == 1 and all(j.clear for _, j in judgements)
    sure = sure and not first.against
    if loose and _two_figures(said, says, first.sealed, ev):
        loose = ()
    if loose and (best.verdict is V.SUPPORTED or len(loose) > 1):
        sure = False
    s = first.sealed
    why = words(s, ev)
    finding = Finding(
        verdict=best.verdict,
        why=why,
        refs=(s.number, *s.answered_by, *s.late_for),
        boards=(s.board,),
        true=why,
    )
    return Reading(finding=finding, sure=sure)


def _two_figures(said: Said, says: Sequence[Outcome], s: Sealed, ev: Evidence) -> bool:
    """Whether the forecast and its reading are both said to the digit and nothing else of them: what is said around
    them is talk."""
    nums = [said.num(n) for n in said.signs("n")]
    exact = all(n.places and not n.mod for n in nums) and len(nums) == 2
    own = [n for n in nums if own_figure(s, n)]
    read_ = [n for n in nums if of_run(s, n, ev)]
    denied = re.search(r"\b(?:not|no|never|nor|neither|without)\b", said.low)
    return exact and bool(own) and bool(read_) and not says and not denied and not timing(said.low)


def _sealed_when(low: str) -> bool:
    return bool(timing(low)) and pattern("early").search(low) is not None
