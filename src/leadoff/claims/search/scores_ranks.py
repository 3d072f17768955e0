"""Superlatives, places and records of a sentence, whoever and whatever they are said of."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

import msgspec

from leadoff.claims.search.scores_among import OF_THESE, behind_these, of_its_states, these, without
from leadoff.claims.search.scores_figures import agreed
from leadoff.claims.search.scores_firsts import Rank, contest, nobody_reads, placed, unread
from leadoff.claims.search.scores_place import Place, boards_of, clocks_said, places, shared_out
from leadoff.claims.search.scores_proof import (
    BY_HUNDRED,
    PROOF,
    by_so_much,
    copies_in,
    margins_in,
    proved,
    soaked_for_less,
)
from leadoff.claims.search.scores_repeats import repeats_in
from leadoff.claims.search.scores_unknown import SCORES
from leadoff.claims.search.scores_words import (
    OUTDONE,
    UNSHARED,
    against_all,
    classes,
    excepts,
    hears,
    hears_raw,
    is_in,
    outdone_at,
    words,
)
from leadoff.claims.search.talk import Reading, Talk
from leadoff.claims.spoken.cues import extremes
from leadoff.claims.spoken.values import Finding, Num, Verdict

V = Verdict
_NTH = {"second": 2, "2nd": 2, "third": 3, "3rd": 3, "fourth": 4, "4th": 4, "fifth": 5, "5th": 5}
_ENDS = r"best|fastest|quickest|slowest|worst|highest|lowest"
_PLACE = re.compile(
    rf"\b(?P<a>{'|'.join(_NTH)})[ -](?:\{{w\d+\}} )?(?:{_ENDS}|place|spot|rank|position|(?:only )?to (?:the |"
    rf"my )?\{{b|(?:in|at|"
    rf"over) (?:the )?\{{w)|"
    rf"\b(?:is|was|ranks?|ranked|finish(?:es|ed)?|placed?|places|comes?|came|runs?|lies?|sits?|takes?|stands?)"
    rf" (?:in |only |a |the |just |its |close |distant |clear |good |poor |"
    rf"comfortable |solid |easy |narrow )*(?P<b>{'|'.join(_NTH)})\b(?! (?:one|go|run|time|card|evening|try|"
    rf"{_ENDS}))|"
    r"\b(?P<c>runners?[ -]up|next[ -](?:best|fastest|quickest|one|board|machine|in line)|silver|number two)\b|"
    r"\b(?P<d>bronze|number three)\b"
)
_BEHIND = re.compile(
    r"\b(?:behind|after|following|than|except|but|from|"
    r"(?<!goes )(?<!go )(?<!went )(?<!belongs )(?<!falls )to)\b"
)
_OWN = re.compile(
    rf"(?<=holds the )\{{b\d+\}}(?:'s)? (?:\{{w\d+\}} )?records?\b|"
    rf"\b(?:board|machine|box)(?:'s| s) (?:own )?(?:{_ENDS}|records?|peak|top)\b|"
    rf"\b(?:its(?! (?:state|soak|copies|grade|settings? (?:was|were|has|have))\b)|(?<!\bi )(?<!\bwe "
    rf")(?<!\byou )(?<!\bthey )own|personal)\b|"
    rf"\b(?:{_ENDS}|most|least) (?:\{{w\d+\}} |(?!is\b|was\b)[a-z]+ ){{0,3}}(?:that )?(?:the |"
    rf"my )?\{{b\d+\}} (?:has|had|ever|did|could|can|does|got|managed|"
    rf"showed|made)\b|"
    rf"\b(?:{_ENDS}|records?|champion|peak|top|limit|ceiling|floor|maximum|minimum)\b(?: (?!is\b|was\b|goes\b|"
    rf"belongs\b)[\w{{}}]+){{0,3}} (?:for|of|"
    rf"on|from|with|by) "
    rf"(?:this|that|the|my) (?:board|machine|box|one|thing|\{{b\d+\}})|\{{b\d+\}}(?:'s|s'|"
    rf" s) (?:own )?(?:\{{w\d+\}} )?"
    rf"(?:{_ENDS}|records?|peak|top)\b|\b(?:all|any|of|its) (?:the )?(?:\{{b\d+\}}(?:'s)? )?(?:settings|"
    rf"states|runs)\b|"
    r"\bever\b"
)
_ALL = re.compile(
    r"\b(?:house|book|lot|boards|machines|fleet|collection|everybody|anybody|nobody|everyone|anyone|overall|of all|"
    r"of the five|all five|on the shelf|in the shop|in the stable)\b"
)
_ALLOWED = frozenset(
    {
        "lead",
        "leads",
        "leading",
        "winner",
        "win",
        "wins",
        "won",
        "behind",
        "second",
        "third",
        "fourth",
        "fifth",
    }
)
"""Words that compare but may stand beside a place."""
_HELD = re.compile(
    r"\brecords? (?:\w+ )?(?:in |for |of |at |over )?(?:the )?(?:\{w\d+\} )?(?:is |was |has been )?(?:still |now )?"
    r"(?:held by|belongs? to|goes? to|went to|in the hands of|(?:is|was) (?:that )?of) (?:the |my )?\{b\d+\}|"
    r"\{b\d+\} (?:still |now )?(?:holds?|held|owns?|keeps?|has|takes?|is) the (?:\{w\d+\} )?"
    r"(?:record|title|crown)(?:[ -]?holder)?\b(?! for (?:itself|this|that))"
)
"""A record that somebody holds is the record of the house."""
_THIS = re.compile(r"\bhere\b|\b(?:this|that) (?:board|one|machine)\b|\bits\b")
_ONE_READING = re.compile(r"\bsingle (?:readings?|runs?|figures?|scores?|go|shot|measurement)\b")
_NOT_FIRST = re.compile(
    rf"\b(?:not|hardly|scarcely|never|no longer|neither|nowhere near) (?:(?:by any means|really|quite|exactly|even|"
    rf"actually|yet|now|been|be|in fact|at all|anywhere near|come|came|finish|rank) )*(?:the |a |its |in )*"
    rf"(?:{'|'.join(_NTH)}|{_ENDS}|last|first|top|bottom|champion|winner)\b"
)
_SOAKED_ONLY = re.compile(
    r"\b(?:(?:that|which) (?:has|have|was|were|is|are|ever)(?: actually| ever)?(?: been)? soaked|"
    r"soaked (?P<end>best|figure|state|setting|"
    r"record)s?|(?:counting|taking) only (?:what|the states|those|the settings)[^,]*soaked|(?:among|"
    r"of) (?:the|its) soaked"
    r"(?: states| settings| ones)?)\b"
)
_SPOTLESS = re.compile(
    r"\bwithout (?:a |an |one |any |so much as a )?(?:single )?(?:blot|hitch|fault|error|bad (?:one|copy)|"
    r"slip|mistake|"
    r"flaw|stumble|hiccup|complaint|wobble|bit out of place|bit wrong)\b"
)
_PROVES = frozenset(["compared", "compare"])


def rank_of(talk: Talk) -> Rank | None:
    """The place that is claimed; ``None`` where there is none, or more than one."""
    low = talk.said.low
    heard = words(low)
    ends = [e for e in ("best", "worst", "highest", "lowest") if any(w in classes()[e] for w in heard)]
    record = any(w in classes()["record"] for w in heard) and not re.search(
        r"\brecord(?:ed|ing)\b|\brecords? that\b", low
    )
    plain_best = re.search(r"\b(?:best|top|first place|number one|number 1|first)\b", low)
    nth = _nth(low)
    ends = list(dict.fromkeys([*ends, *extremes(low), *against_all(low)]))
    if OUTDONE.search(low):
        ends = [outdone_at(low)]
    elif re.search(
        r"\b(?:dead|comes?|came|is|was|finish\w*|ends?|ended)(?: in| up| dead| as)* last\b|\blast (?:in|place|"
        r"of|when|at|on|over)\b",
        low,
    ):
        ends.append("worst")
    if (not ends and (record or nth)) or (
        not ends
        and plain_best
        and not re.search(
            r"\bfirst (?:\{w\d+\} )?(?:one|go|run|time|and|of|readings?|figures?|scores?|"
            r"results?|tests?)\b|\bat best\b|\bthe first\b",
            low,
        )
    ):
        ends = ["best"]
    if len(ends) != 1 or len(_PLACE.findall(low)) > 1:
        return None
    said = talk.said
    figure = any(said.num(s).kind == "value" for s in said.signs("n"))
    readings = (
        figure
        or re.search(r"\b(?:readings?|figures?|scores?|numbers?|values?|results?|times?)\b", low) is not None
    )
    readings = readings or ends[0] in ("highest", "lowest")
    return Rank(end=ends[0], nth=nth or 1, record=record, readings=readings)


def _nth(low: str) -> int:
    m = _PLACE.search(low)
    if m is None:
        return 0
    return 3 if m["d"] else 2 if m["c"] else _NTH[m["a"] or m["b"]]


def ranks(talk: Talk, *, answer: bool = False) -> Reading | None:
    """What the book says to a place, a superlative or a record; ``None`` where none is claimed. ``answer``: a board
    was asked for, its figure is said beside it."""
    said, ev = talk.said, talk.evidence
    if rank_of(talk) is not None:
        low = _SOAKED_ONLY.sub(lambda m: f" {m['end'] or ''} ", said.low)
        said = replace(said, low=UNSHARED.sub(" of all ", _SPOTLESS.sub(" clean ", low)))
        talk = msgspec.structs.replace(talk, said=said)
    if talk.asks or said.strangers or said.gone or said.seals or said.oddities or said.dates:
        return None
    talk, among = without(talk)
    said = talk.said
    rank = rank_of(talk)
    if rank is None or not _is_of_ranks(behind_these(talk), rank):
        return None
    rank = msgspec.structs.replace(rank, among=among)
    boards = boards_of(said)
    sure, may = clocks_said(said, ev, boards)
    subjects = _subjects(talk)
    if len(subjects) > 1:
        return None
    found: list[tuple[Place, Finding]] = []
    told = False
    for clocks in ({**sure, **may}, sure) if may else (sure,):
        aside = {*clocks, *repeats_in(talk), *margins_in(talk), *copies_in(talk)}
        figures = [said.num(s) for s in said.signs("n") if s not in aside and said.num(s).kind in SCORES]
        told = told or bool(figures)
        heres = shared_out(talk, clocks, 1)
        if heres is None or len(figures) > 1:
            continue
        here = msgspec.structs.replace(heres[0], boards=subjects)
        nobody = OUTDONE.search(said.low) is not None
        nobody = nobody or of_its_states(talk)
        whole = not subjects and not here.wants and not nobody and bool(figures)
        whole = whole and (rank.nth > 1 or bool(_ALL.search(said.low)))
        for p in places(talk, here, figures):
            exact = msgspec.structs.replace(rank, readings=rank.readings or bool(figures))
            if answer and subjects:
                exact = msgspec.structs.replace(rank, readings=False)
            found += of_place(
                talk, exact, msgspec.structs.replace(p, boards=(), wants=()) if whole else p, figures
            )
        told_of = _THIS.search(said.plain.low) or of_its_states(talk)
        if not subjects and figures and not whole and not told_of:
            exact = msgspec.structs.replace(rank, readings=True)
            wants = tuple(ev.settle(x, ()) for x in here.wants)
            for w in here.workloads:
                found += of_place(talk, exact, Place(workload=w, wants=wants), figures)
    found = list({(p, f): None for p, f in found})
    if not found:
        return None
    return agreed(talk, found, exact=told and not rank.record)


def _is_of_ranks(talk: Talk, rank: Rank) -> bool:
    """Whether the sentence says nothing beside a place that this search cannot judge."""
    said = talk.said
    outdone = bool(OUTDONE.search(said.low) or against_all(said.low))
    allowed = _ALLOWED | _PROVES if rank.record else _ALLOWED
    others = [w for w in words(said.low) if w in classes()["compares"] and w not in allowed and not outdone]
    trials = [w for w in words(said.low) if w in classes()["trials"] and w not in PROOF]
    if (
        others
        or trials
        or hears(talk, "causes", "seals")
        or any(is_in(w, "alone") for w in words(_ONE_READING.sub(" ", said.low)))
        or hears_raw(talk, "causes", "seals", "reported")
    ):
        return False
    kinds = {said.num(s).kind for s in said.signs("n") if s not in repeats_in(talk)}
    if (
        kinds - SCORES - ({"hours", "count"} if rank.record else {"difference", "hours"})
        or excepts(talk)
        or len(said.runs) > 1
    ):
        return False
    denied = [w for w in words(said.low) if w in classes()["denials"]]
    if re.search(r"\b(?:shared?|shares|joint|jointly|together|tied|both|neither)\b", said.low):
        return False
    return not denied or outdone or (len(denied) == 1 and _NOT_FIRST.search(said.low) is not None)


def _subjects(talk: Talk) -> tuple[str, ...]:
    """Boards that are said to be in the place, without those that are only behind or before."""
    said = talk.said
    out = []
    of_these = OF_THESE.search(said.low) if these(talk) else None
    for sign in said.signs("b"):
        if of_these and said.at(sign) < of_these.start():
            continue
        head = said.low[: said.at(sign)]
        said_so = _BEHIND.findall(re.split(r"\{b\d+\}| , ", head)[-1])
        if not said_so or OUTDONE.search(said.low) or (set(said_so) == {"from"} and "{b" not in head):
            out.append(said.boards[int(sign[1:])])
    return tuple(dict.fromkeys(out))


def of_place(
    talk: Talk, rank: Rank, place: Place, figures: Sequence[Num], *, among: bool = False
) -> list[tuple[Place, Finding]]:
    """The claim over all boards (``among``: for sure), over the states of the board, or both where the words do not
    tell."""
    said, ev = talk.said, talk.evidence
    group = tuple(b for s in said.signs("k") for b in said.groups[int(s[1:])])
    group = rank.among or these(talk) or group
    own = bool(_OWN.search(f"{said.low} {said.plain.low}") or extremes(said.low)) or (
        not boards_of(said) and len(place.boards) == 1 and _THIS.search(said.plain.low) is not None
    )
    nobody = OUTDONE.search(said.low) is not None
    every = nobody or bool(_ALL.search(said.low)) or bool(group) or bool(_HELD.search(said.low))
    if of_its_states(talk) and len(place.boards) == 1:
        own, every = True, False
    own = own and not nobody and bool(place.boards)
    if not group and not own and not every and _group_heard(talk, place):
        return []
    ways = [True] if own and not every else [False]
    if (
        not among
        and len(place.boards) == 1
        and not own
        and not every
        and (place.wants or not boards_of(said))
    ):
        ways = [True, False]
    out = []
    for way in ways:
        if way and len(place.boards) != 1:
            return []
        c = contest(
            ev,
            place,
            list(figures),
            way,
            group,
            among=rank.nth > 1 or not rank.readings,
            soaked=bool(_SOAKED_ONLY.search(talk.text)),
        )
        if c is None:
            if figures and (f := nobody_reads(ev, rank, place, way, group)) is not None:
                out.append((place, f))
                continue
            if not figures and (f := unread(ev, place)) is not None:
                out.append((place, f))
                continue
            return []
        f = placed(ev, rank, c)
        if f is None:
            return []
        if f.verdict is V.SUPPORTED and soaked_for_less(talk, c):
            f = msgspec.structs.replace(f, verdict=V.CONTRADICTED, why=f"{f.why}; {c.mine[0].grade.said}")
        if f.verdict is V.SUPPORTED and not (proved(talk, c) and by_so_much(talk, rank, c)):
            return []
        m = OUTDONE.search(said.low)
        if m and f.verdict is V.WITHIN_NOISE and not _REACHED.search(m[0]):
            f = msgspec.structs.replace(f, verdict=V.SUPPORTED)
        if not m and _NOT_FIRST.search(said.low):
            if rank.record or f.verdict not in _TURNED or margins_in(talk) or BY_HUNDRED.search(said.low):
                return []
            f = msgspec.structs.replace(f, verdict=_TURNED[f.verdict])
        out.append((place, f))
    return out


_REACHED = re.compile(r"\b(?:near|close|match\w*|touch\w*)\b")
"""Nobody is said to be even level."""
_TURNED = {V.SUPPORTED: V.CONTRADICTED, V.CONTRADICTED: V.SUPPORTED}


def _group_heard(talk: Talk, place: Place) -> bool:
    """Whether some boards, this one among them, were spoken of just before: they may be all that is meant."""
    heard = next((b for s in reversed(talk.before) if (b := boards_of(s))), ())
    return len(heard) > 1 and bool(set(place.boards) & set(heard))
