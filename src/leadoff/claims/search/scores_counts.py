"""How many boards there are, how many workloads one has figures in, whether every board has one; and ``how many``
answered by a number alone."""

from __future__ import annotations

import re

import msgspec

from leadoff.claims.search.scores_frame import names_in
from leadoff.claims.search.scores_place import boards_of
from leadoff.claims.search.scores_words import hears_raw, strange, tried
from leadoff.claims.search.talk import Reading, Talk, said_of
from leadoff.claims.spoken.values import Finding, Verdict

V = Verdict
_BOARDS = re.compile(
    r"^ (?:(?:there|i|we|you|the book|this book|my book|it|that|all told|altogether|in all|in total|"
    r"here|the shelf|,|so|and) )*"
    r"(?:is|are|have|has|holds?|own|owns|knows?|covers?|lists?|contains?|makes?|see|count|counts) "
    r"(?:only |just |exactly |all of )?\{(?P<n>n\d+)\} (?:different )?(?:boards|machines)"
    r"(?: (?:in|on|of|to) (?:the |my |this |it |its |all |total |book |shelf |bench |name )*)?(?:,? "
    r"?(?:all told|altogether|in all|in total))? *$"
)
_FIGURES = (
    r"(?:figures?|times?|scores?|results?|readings?|runs?|numbers?|entries|something|been (?:run|"
    r"tried|measured|timed)|ran|"
    r"a (?:figure|time|score|result|reading|number))"
)
_WORKS = r"(?:workloads?|tests?|benchmarks?|disciplines?|programs?|kinds of work)"
_WORKED = re.compile(
    rf"\{{b\d+\}} (?:has |have |shows? |ran |was run |did |got )+(?:{_FIGURES} )?(?:\w+ )?(?:in|for|"
    rf"from|on|at|with)? ?(?:only |just |"
    rf"exactly )?(?:(?P<all>all|every|each)(?: of)?(?: the| my)? ?)?(?:\{{(?P<n>n\d+)\}} )?(?:of "
    rf"(?:the |my |all )*\{{(?P<of>n\d+)\}} )?"
    rf"(?:different )?{_WORKS}(?= |$)"
)
_EVERY = re.compile(
    r"\b(?P<all>every(?: single)? (?:board|machine|one of (?:them|the boards))|each (?:board|machine|"
    r"of (?:them|the boards))|all (?:the |my |of the )?(?:boards|machines))"
    r" (?:of mine |here |in the book )*(?:has|have|had|got|shows?|comes? with) (?:a |an |its |their |"
    r"some )?(?:\{w\d+\} )?"
    r"(?:figures?|times?|scores?|results?|readings?|numbers?)(?= |$)"
)
_ASKED = re.compile(
    r"^\W*(?:(?:so|and|now|then|well|ok)\W+)?how many (?:of (?:them|these|those|the boards|my boards|"
    r"the lot|the five) |boards |machines )?(?P<rest>.+?)\?$",
    re.I,
)
_SO_MANY = re.compile(
    r"^\W*(?P<lead>(?:(?:just|only|exactly|at least|at most|no more than|i make it|i count|that would "
    r"be|that is|that's|precisely) )*)"
    r"(?P<n>none|all|both|every one|one|two|three|four|five|six|seven|eight|nine|ten|\d+)"
    r"(?: of (?:them|the lot|the boards|my boards|the five|those|these)| boards?| machines?)?\W*$",
    re.I,
)
_WORDS = {"none": "no board", "all": "every board", "every one": "every board", "both": "two boards"}


def number_asked(talk: Talk) -> Talk | None:
    """The question with the number that answers it; ``None`` where none was asked for."""
    if not talk.before or talk.asks:
        return None
    asked, said = _ASKED.match(talk.before[-1].plain.text.strip()), _SO_MANY.match(talk.text)
    if asked is None or said is None:
        return None
    n = said["n"].lower()
    text = f"{said['lead']}{_WORDS.get(n, f'{n} boards' if n not in ('one', '1') else 'one board')} {asked['rest']}"
    read = said_of(text, talk.evidence, names_in(talk.evidence))
    return msgspec.structs.replace(talk, text=text, said=read, before=talk.before[:-1])


def counted(talk: Talk) -> Reading | None:
    """What the book says to a count of its boards or of the workloads of one; ``None`` where none is counted."""
    said = talk.said
    if talk.asks or said.strangers or said.gone or said.seals or said.signs("kgsrdfo") or tried(talk):
        return None
    if hears_raw(talk, "causes", "seals", "reported", "supposes", "compares", "denials"):
        return None
    return _boards(talk) or _worked(talk) or _every(talk)


def _boards(talk: Talk) -> Reading | None:
    said, boards = talk.said, tuple(talk.evidence.ledger.boards)
    m = _BOARDS.match(said.low)
    if m is None or said.signs("bw") or len(said.signs("n")) != 1 or said.num(m["n"]).mod:
        return None
    text = f"{len(boards)} boards: {', '.join(boards)}"
    return _found(said.num(m["n"]).value == len(boards), text, boards, talk)


def _worked(talk: Talk) -> Reading | None:
    """``has figures in four workloads``."""
    said, ev = talk.said, talk.evidence
    m, boards = _WORKED.search(said.low), boards_of(said)
    if m is None or len(boards) != 1 or said.signs("w") or (not m["all"] and not m["n"]):
        return None
    if set(said.signs("n")) - {m["n"], m["of"]} or any(said.num(s).mod for s in said.signs("n")):
        return None
    every = list(ev.ledger.workloads)
    there = [w for w in every if ev.cells(w, boards)]
    good = len(there) == (said.num(m["n"]).value if m["n"] else len(every))
    good = (
        good
        and not (m["of"] and said.num(m["of"]).value != len(every))
        and not (m["all"] and len(there) < len(every))
    )
    return _found(
        good, f"{boards[0]}: {len(there)} of {len(every)} workloads: {', '.join(there)}", boards, talk
    )


def _every(talk: Talk) -> Reading | None:
    """``every board has a time in this``."""
    said, ev = talk.said, talk.evidence
    works = list(dict.fromkeys(said.workloads))
    if _EVERY.search(said.low) is None or len(works) != 1 or said.signs("bn"):
        return None
    boards = tuple(ev.ledger.boards)
    there = [b for b in boards if ev.cells(works[0], [b])]
    text = f"{works[0]}: {len(there)} of {len(boards)} boards: {', '.join(there)}"
    return _found(len(there) == len(boards), text, boards, talk)


def _found(good: bool, text: str, boards: tuple[str, ...], talk: Talk) -> Reading:
    verdict = V.SUPPORTED if good else V.CONTRADICTED
    return Reading(
        finding=Finding(verdict=verdict, why=text, boards=boards, true=text), sure=not strange(talk)
    )
