"""A person's words to findings: echoed, never guessed, nothing dropped in silence."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from difflib import get_close_matches
from functools import lru_cache

import msgspec

from leadoff.faults.codes import beeps, post_code
from leadoff.faults.kinds import Knowledge, PostCode
from leadoff.faults.values import EXACTLY_ONE, REPAIR, SEVERAL, Finding
from leadoff.record.phrases import AnyPhrase, ReadingPhrase

_NEGATIONS = frozenset(
    ["no", "not", "never", "without", "isn't", "doesn't", "won't", "cannot", "can't", "nothing"]
)
_FILLERS = frozenset(
    [
        "a",
        "an",
        "the",
        "is",
        "are",
        "was",
        "were",
        "it",
        "its",
        "that",
        "this",
        "and",
        "but",
        "also",
        "very",
        "still",
        "now",
        "then",
        "just",
        "only",
        "board",
        "my",
        "of",
        "on",
        "in",
        "at",
        "to",
        "with",
        "after",
        "when",
        "i",
        "have",
        "had",
        "has",
        "some",
        "all",
        "so",
        "there",
        "goes",
        "get",
        "gets",
        "says",
        "shows",
        "said",
        "though",
        "although",
        "done",
        "did",
        "up",
        "be",
        "been",
        "me",
        "we",
        "you",
        "for",
        "from",
        "or",
        "as",
        "every",
        "start",
        "starts",
        "press",
        "set",
        "power",
        "set-up",
        "setup",
        "change",
    ]
)
_GAP = 2  # words that may stand between two words of a phrase
_JOIN = re.compile(
    r"[,;]\s*(?=(?:no change|no help|not fixed|not help|did not help|same|unchanged|fixed|works|cured|it works|"
    r"helped)\b)"
)


class Question(msgspec.Struct, frozen=True, kw_only=True):
    """Words that were not understood, with the nearest that would be."""

    words: str
    near: tuple[str, ...] = ()
    question: str = ""


class Heard(msgspec.Struct, frozen=True, kw_only=True):
    """Findings in the order told, questions, the mode if it was said, codes with their meanings, and the echo."""

    findings: tuple[Finding, ...]
    questions: tuple[Question, ...]
    mode: str | None
    codes: tuple[PostCode, ...]
    echo: str


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
    mode: str | None = None
    for phrase in phrases:
        if isinstance(phrase, ReadingPhrase):
            said = findings_of_reading(kb, phrase)
            findings += said
            if said:
                text = text.replace(phrase.text, ",")
    for clause in _clauses(text):
        if clause_mode := _mode(clause):
            mode = clause_mode
            continue
        rest = _codes(kb, clause, family, findings, questions, codes)
        _words(kb, rest, clause, findings, questions)
    told = tuple(dict.fromkeys(findings))
    return Heard(
        findings=told, questions=tuple(questions), mode=mode, codes=tuple(codes), echo=echo(kb, told)
    )


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


def _clauses(text: str) -> Iterator[str]:
    text = _JOIN.sub(" ", text.lower().replace("’", "'"))
    for clause in re.split(r"[,;:!?]|\.(?!\d)|\bbut\b|\band then\b|\n", text):
        if clause.strip():
            yield " ".join(clause.split())


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
    pattern = r"\b(?:post|code)s?(?: code)?\s+([0-9a-f]{2})h?\b"
    for m in re.finditer(pattern, clause):
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
        near = tuple(f"{c.family}: {c.meaning}" for c in found)
        questions.append(Question(words=said, near=near, question="which firmware family is it?"))
    else:
        text = "no table has this code; say how far the start got: early, memory, video, late"
        questions.append(Question(words=said, question=text))


@lru_cache(maxsize=4)
def _phrases(
    digest: str, kb_rows: tuple[tuple[str, str, tuple[str, ...]], ...]
) -> tuple[tuple[tuple[tuple[frozenset[str], ...], tuple[tuple[str, str], ...]], ...], frozenset[str]]:
    """Phrases as word alternatives with all (observation, outcome) they say, longest first, and all words."""
    table: dict[str, list[tuple[str, str]]] = {}
    for observation, outcome, words in kb_rows:
        for phrase in words:
            table.setdefault(phrase, []).append((observation, outcome))
    rows = [
        (tuple(frozenset(w.split("|")) for w in phrase.split()), tuple(says))
        for phrase, says in table.items()
    ]
    rows.sort(key=lambda r: -len(r[0]))
    return tuple(rows), frozenset(w for words, _ in rows for alternatives in words for w in alternatives)


def _words(kb: Knowledge, clause: str, said: str, findings: list[Finding], questions: list[Question]) -> None:
    rows, known = _phrases(
        kb.digest, tuple((w.observation, w.outcome, w.words) for w in kb.wordings.values())
    )
    tokens = re.findall(r"[a-z0-9+'.\-]+", clause)
    free = [True] * len(tokens)
    while match := _best(rows, tokens, free):
        span, says = match
        for i in span:
            free[i] = False
        findings += [Finding(observation=o, outcome=x, said=said) for o, x in says]
    left = [t for t, f in zip(tokens, free, strict=True) if f and t not in _FILLERS]
    if left:
        near = tuple(n for t in left for n in get_close_matches(t, known, n=2, cutoff=0.7))
        questions.append(Question(words=" ".join(left), near=near, question="what was seen, in other words?"))


def _best(
    rows: Sequence[tuple[tuple[frozenset[str], ...], tuple[tuple[str, str], ...]]],
    tokens: Sequence[str],
    free: Sequence[bool],
) -> tuple[list[int], tuple[tuple[str, str], ...]] | None:
    best: tuple[tuple[int, int], list[int], tuple[tuple[str, str], ...]] | None = None
    for words, says in rows:
        if best and len(words) < best[0][0]:
            break  # longest first: nothing better follows
        for start in range(len(tokens)):
            span = _match(words, tokens, free, start)
            if span and (best is None or (len(words), span[0] - span[-1]) > best[0]):
                best = ((len(words), span[0] - span[-1]), span, says)
    return (best[1], best[2]) if best else None


def _match(
    words: Sequence[frozenset[str]], tokens: Sequence[str], free: Sequence[bool], start: int
) -> list[int] | None:
    """Positions of the phrase from ``start``; a negation beside or inside it that is not its own forbids it."""
    span: list[int] = []
    at = start
    for word in words:
        limit = start if not span else min(at + _GAP, len(tokens) - 1)
        hit = next(
            (i for i in range(at, limit + 1) if i < len(tokens) and free[i] and tokens[i] in word), None
        )
        if hit is None:
            return None
        span.append(hit)
        at = hit + 1
    own = {w for word in words for w in word} & _NEGATIONS
    around = [tokens[i] for i in range(max(0, span[0] - 2), span[-1] + 1) if i not in span and free[i]]
    return None if not own and _NEGATIONS & set(around) else span
