"""A person's words to findings: echoed, never guessed, nothing dropped in silence."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

import msgspec

from leadoff.faults.codes import beeps, post_code
from leadoff.faults.kinds import Knowledge, PostCode
from leadoff.faults.phrases import ACTIONS, ASK, FILLERS, NEGATIONS, best, phrase_book
from leadoff.faults.values import EXACTLY_ONE, REPAIR, SEVERAL, Finding
from leadoff.record.phrases import AnyPhrase, ReadingPhrase

_JOIN = re.compile(
    r"[,;]\s*(?=(?:no change|no help|not fixed|not help|did not help|same|unchanged|fixed|works|cured|it works|"
    r"helped)\b)"
)


_NOTHING_YET = ("00", "ff")
"""What a card shows before anything was sent to it, and after the last step. Common practice, no source."""
_CURED = frozenset({"works", "worked", "fixed", "cured", "helped"})
_AS_BEFORE = frozenset({"no", "not", "same", "unchanged", "dead"})
_WHAT_NOW = "after that repair: what does it do now? Say it anew, for example: still no picture"
_NOTHING_OR_ALL = (
    "this code stands on a card that was sent nothing, and after the last step: say no code, or boots"
)


class Question(msgspec.Struct, frozen=True, kw_only=True):
    """Words that were not understood, with the nearest that would be; or a ``question`` back to the person."""

    words: str
    near: tuple[str, ...] = ()
    question: str = ""


class Heard(msgspec.Struct, frozen=True, kw_only=True):
    """Findings in the order told, questions, the mode if it was said, codes with their meanings, and the echo.

    ``respelt``: words that were read as others, as typed and as read.
    """

    findings: tuple[Finding, ...]
    questions: tuple[Question, ...]
    mode: str | None
    codes: tuple[PostCode, ...]
    echo: str
    respelt: tuple[tuple[str, str], ...] = ()


def read_findings(
    kb: Knowledge, text: str, phrases: Iterable[AnyPhrase] = (), *, family: str | None = None
) -> Heard:
    """Findings from the words of a line, and from measured figures in ``phrases`` of the phrase parser.

    ``family``: the firmware family of POST codes, when known. Clauses are parted by commas, semicolons, full
    stops and ``but``. A POST code that its families read differently becomes a question.
    """
    findings: list[Finding] = []
    questions: list[Question] = []
    codes: list[PostCode] = []
    respelt: dict[str, str] = {}
    mode: str | None = None
    for phrase in phrases:
        if isinstance(phrase, ReadingPhrase):
            said = findings_of_reading(kb, phrase)
            findings += said
            if said:
                text = text.replace(phrase.text, ",")
    family = family_of(text) or family
    text = _FAMILY.sub(" ", text.lower())
    for clause in _clauses(text):
        if clause_mode := _mode(clause):
            mode = clause_mode
            continue
        rest = _codes(kb, clause, family, findings, questions, codes)
        _words(kb, rest, clause, findings, questions, respelt)
    if any(f.observation == "o_screen" and f.outcome == "none" for f in findings):
        blank = [q for q in questions if q.question == _NOTHING_OR_ALL]
        findings += [Finding(observation="o_card_code", outcome="no_code", said=q.words) for q in blank]
        questions = [q for q in questions if q not in blank]
    told = _once(findings)
    seen = {f.observation for f in told}
    settled = {w.outcome for w in kb.wordings.values() if w.observation == ASK and seen & set(w.settled_by)}
    questions = [q for q in questions if q.question not in settled]
    return Heard(
        findings=told,
        questions=tuple(questions),
        mode=mode,
        codes=tuple(codes),
        echo=echo(kb, told),
        respelt=tuple(respelt.items()),
    )


def _once(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """Each finding once, with the first words that said it."""
    first: dict[tuple[str, str], Finding] = {}
    for f in findings:
        first.setdefault((f.observation, f.outcome), f)
    return tuple(first.values())


def echo(kb: Knowledge, findings: Sequence[Finding]) -> str:
    """The findings said back in plain words."""
    out = []
    for f in findings:
        if f.observation.startswith(REPAIR):
            out.append(f"repaired: {kb.faults[f.observation.removeprefix(REPAIR)].name.lower()}")
        else:
            o = kb.observations[f.observation]
            out.append(f"{o.name.lower()}: {f.outcome.replace('_', ' ')}")
    return "; ".join(out)


def findings_of_reading(kb: Knowledge, phrase: ReadingPhrase) -> list[Finding]:
    """What a measured figure says; empty when no rule knows it."""
    what = phrase.what.lower().strip()
    for rule in kb.reading_rules.values():
        if what in rule.what and phrase.unit.lower() == rule.unit.lower():
            for band in rule.bands:
                if band.below is None or phrase.value < band.below:
                    return [Finding(observation=o, outcome=x, said=phrase.text) for o, x in band.says.items()]
    return []


_PART = (
    r"(?:the |a |an |my )?(?:ram|memory|simms?|dimms?|cpu|processor|video|graphics|display|vga|psu|power supply|"
    r"supply|bios|rom|chips?|cards?|contacts|slots|sockets|cache|tag|keyboard controller)\b"
)
_TRIED = re.compile(rf"\b(swapped|replaced|exchanged|reseated|cleaned|tried)((?: \S+)+?) and ({_PART}.*)")
_TAIL = re.compile(
    r" (no change|no help|no difference|same|unchanged|not fixed|fixed|works|cured|helped|still .*)$"
)


def _clauses(text: str) -> Iterator[str]:
    text = _JOIN.sub(" ", text.lower().replace("’", "'"))
    for clause in re.split(r"[,;:!?]|\.(?!\d)|\bbut\b|\band then\b|\n", text):
        if clause.strip():
            yield from _apart(" ".join(clause.split()))


def _apart(clause: str) -> Iterator[str]:
    """ "swapped the memory and the display card, no change" is two things tried, with one result."""
    m = _TRIED.search(clause)
    if m is None:
        yield clause
        return
    tail = _TAIL.search(clause)
    yield f"{clause[: m.start()]}{m[1]}{m[2]}{tail[0] if tail else ''}"
    yield from _apart(f"{m[1]} {m[3]}")


_FAMILY = re.compile(
    r"\b(?:first codes? (?:is |are |was |were )?(?P<first>cf|c0|c1|d0|d1|01)\b(?P<then>.{0,20}before 1999)?|"
    r"(?P<three>(?:beeps in )?three groups|groups of three)|(?P<beeps>beeps in groups|beep groups)|"
    r"(?P<at>(?:at|firmware) of 1984)|"
    r"(?P<old>286 (?:firmware )?(?:from )?before 1990))"
)
_EARLY_C0 = "first_codes_c0_before_1999"
_BY_FIRST = {
    "cf": "first_codes_cf_c0_c1",
    **dict.fromkeys(("c0", "c1"), f"first_codes_cf_c0_c1|{_EARLY_C0}"),
    **dict.fromkeys(("d0", "d1"), "first_codes_d0_d1"),
    "01": "checkpoints_from_01",
}
FAMILY_QUESTION = (
    "firmware families differ on this code: say which it is by what the card shows first: first code C0, "
    "first code D0 or first code 01 (add before 1999 when it is); or beeps in groups, beeps in three groups; "
    "or 286 before 1990, AT of 1984"
)


def family_of(text: str) -> str | None:
    """The firmware family that the words name by its first codes or its beeps, several parted by ``|``."""
    m = _FAMILY.search(text.lower())
    if m is None:
        return None
    if m["first"]:
        return _EARLY_C0 if m["then"] and m["first"] in ("c0", "c1") else _BY_FIRST[m["first"]]
    if m["three"]:
        return "beeps_in_three_groups"
    if m["at"]:
        return "at_of_1984"
    return "beep_groups" if m["beeps"] else "286_before_1990"


def _mode(clause: str) -> str | None:
    if re.search(r"\bexactly one( fault)?\b|\bone fault only\b|\bonly one fault\b", clause):
        return EXACTLY_ONE
    if re.search(r"\bseveral faults\b|\bmore than one fault\b", clause):
        return SEVERAL
    return None


def _codes(
    kb: Knowledge,
    clause: str,
    family: str | None,
    findings: list[Finding],
    questions: list[Question],
    codes: list[PostCode],
) -> str:
    """Take POST codes and beep patterns out of a clause; returns what is left of it."""
    pattern = (
        r"\b(?:post|code|card|port 80h?)s?(?: card| code)?"
        r"(?:\s+(?:shows|says|reads|stops|stuck|sticks|stays|is|at|on))*"
        r"\s+([0-9a-f]{2})h?\b"
    )
    for m in re.finditer(pattern, clause):
        if m[1] in _NOTHING_YET:
            questions.append(Question(words=m[0], question=_NOTHING_OR_ALL))
        else:
            _meaning(post_code(kb, m[1], family), m[0], findings, questions, codes)
    clause = re.sub(pattern, " ", clause)
    number = r"(?:\d+|two|three|four|five|six|seven|eight|nine|ten|eleven)"
    pattern = (
        rf"\b(?:(?:\d+|one|two) long\W*(?:and )?{number} short(?: beeps?)?|\d(?:-\d){{2,3}}(?: beeps?)?|"
        rf"{number} (?:short )?beeps?)\b"
    )
    for m in re.finditer(pattern, clause):
        _meaning(beeps(kb, m[0], family), m[0], findings, questions, codes)
    return re.sub(pattern, " ", clause)


def _meaning(
    found: Sequence[PostCode],
    said: str,
    findings: list[Finding],
    questions: list[Question],
    codes: list[PostCode],
) -> None:
    outcomes = {(c.observation, c.outcome) for c in found}
    codes += found
    if len(outcomes) == 1:
        observation, outcome = outcomes.pop()
        findings.append(Finding(observation=observation, outcome=outcome, said=said))
    elif found:
        near = tuple(f"{c.family.replace('_', ' ')}: {c.meaning}" for c in found)
        questions.append(Question(words=said, near=near, question=FAMILY_QUESTION))
    else:
        text = "no table has this code; say how far the start got: early, memory, video, late"
        questions.append(Question(words=said, question=text))


def _words(
    kb: Knowledge,
    clause: str,
    said: str,
    findings: list[Finding],
    questions: list[Question],
    respelt: dict[str, str],
) -> None:
    book = phrase_book(kb)
    slips: dict[str, str] = {}
    tokens = book.canonical(re.findall(r"[a-z0-9+'.\-]+", clause), slips)
    free = [True] * len(tokens)
    rows = book.possible(tokens)
    while match := best(rows, tokens, free):
        span, says = match
        for i in span:
            free[i] = False
        for observation, outcome in says:
            if observation == ASK:
                questions.append(Question(words=said, question=outcome))
            else:
                findings.append(Finding(observation=observation, outcome=outcome, said=said))
    used = {t for t, f in zip(tokens, free, strict=True) if not f}
    respelt.update({typed: read for typed, read in slips.items() if set(book.canonical([read])) & used})
    typed_as = {r: typed for typed, read in slips.items() for r in book.canonical([read]) if r not in used}
    left = [t for t, f in zip(tokens, free, strict=True) if f and t not in FILLERS]
    if not all(free):  # beside what was understood, only what could turn it or is not known needs asking
        sure = NEGATIONS | ACTIONS
        left = [t for t in left if t in sure or not (t in book.known or t[:1].isdigit())]
    if (
        not all(free)
        and left
        and {x for f in findings for x in [f.observation] if f.said == said and x.startswith(REPAIR)}
    ):
        if set(left) <= _CURED:
            findings.append(Finding(observation="o_card_code", outcome="boots", said=said))
            return
        if set(left) & _AS_BEFORE:
            questions.append(Question(words=" ".join(left), question=_WHAT_NOW))
            return
    if left:
        near = tuple(n for t in left for n in book.near(t))
        words = " ".join(typed_as.get(t, t) for t in left)
        questions.append(Question(words=words, near=near, question=""))
