"""Explanations and next tests from the user's own table. Exact, no NumPy."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from leadoff.faults.table import Table, TableTest
from leadoff.faults.values import (
    EXACTLY_ONE,
    SEVERAL,
    Caution,
    Contradiction,
    Diagnosis,
    Explanation,
    Lead,
    Proposal,
    Result,
)
from leadoff.record.errors import LeadoffError
from leadoff.record.marks import Level, Mark

BAD, CLEAN = "bad", "clean"
_BAD = ["bad", "found", "positive", "fail", "failed", "fails", "yes", "worn", "dirty", "high", "low"]
_CLEAN = ["clean", "ok", "good", "negative", "pass", "passed", "passes", "no", "fine", "normal"]
_SAFETY = (
    "before each power-up: rails to ground measured, supply proven on a load, voltage set for the processor, "
    "heatsink on; a table of your own says nothing of these"
)


def table_words(table: Table, words: Sequence[str]) -> tuple[dict[str, str], str | None, list[str]]:
    """Results of tests, the mode if the words name one, and the words that were not understood.

    A result is a test's name with a word such as ``clean`` or ``bad``: "ripple clean, memory bad".
    """
    results: dict[str, str] = {}
    mode: str | None = None
    lost: list[str] = []
    for clause in re.split(r"[,;]|\band\b|\bthen\b", " ".join(words).lower()):
        clause = " ".join(clause.split())
        if re.search(r"\b(exactly|only|just) one\b|\bone fault\b", clause):
            mode = EXACTLY_ONE
            continue
        if re.search(r"\bseveral\b|\bindependent\b|\bmore than one\b|\bat least one\b", clause):
            mode = SEVERAL
            continue
        said, rest = _results(table, clause)
        for name, result in said:
            if results.get(name, result) != result:
                text = f"{name} is said to be both {results[name]} and {result}"
                raise LeadoffError.one(
                    "faults.twice", text, where=clause, do="say which holds, or repeat the test"
                )
            results[name] = result
        if rest:
            lost.append(rest)
    return results, mode, lost


def _results(table: Table, clause: str) -> tuple[list[tuple[str, str]], str]:
    names = sorted((t.name for t in table.tests), key=len, reverse=True)
    if not names:
        return [], clause
    ends = "|".join([*_BAD, *_CLEAN])
    tests = "|".join(re.escape(n.lower()) for n in names)
    pattern = rf"\b({tests})\b(?:\s+(?:test|reading|is|was|reads|=|:))*\s*({ends})\b"
    found = [(m[1], BAD if m[2] in _BAD else CLEAN) for m in re.finditer(pattern, clause)]
    real = {n.lower(): n for n in names}
    return [(real[n], r) for n, r in found], re.sub(pattern, "", clause).strip(" .:")


def posterior(
    table: Table, results: Mapping[str, str], mode: str
) -> tuple[dict[str, float], dict[str, float], float]:
    """Chance that each cause is *the* cause, that it is present, and the chance of the results.

    ``several``: independent causes, at least one present. A cause is the cause when it is present alone.
    """
    weight = {c.name: c.p for c in table.causes}
    like = {n: _likelihood(table, results, n) for n in weight}
    if mode == EXACTLY_ONE:
        total = sum(weight.values())
        joint = {n: p / total * _world(like, {n}) for n, p in weight.items()}
        z = sum(joint.values())
        _possible(z)
        only = {n: v / z for n, v in joint.items()}
        return only, only, z
    factor = {n: (1 - p) * like[n][0] + p * like[n][1] for n, p in weight.items()}
    none, nobody, every = 1.0, 1.0, 1.0
    for n, p in weight.items():
        none *= (1 - p) * like[n][0]
        nobody *= 1 - p
        every *= factor[n]
    z = every - none
    _possible(z)
    present = {n: _others(factor, n) * p * like[n][1] / z for n, p in weight.items()}
    off = {n: (1 - p) * like[n][0] for n, p in weight.items()}
    alone = {n: _others(off, n) * p * like[n][1] / z for n, p in weight.items()}
    return alone, present, z / (1 - nobody) if nobody < 1 else z


def _others(values: Mapping[str, float], name: str) -> float:
    out = 1.0
    for n, v in values.items():
        out *= v if n != name else 1.0
    return out


def _possible(z: float) -> None:
    if not z > 0:
        raise LeadoffError.one(
            "faults.impossible",
            "these results are impossible by the table: a sensitivity or specificity of 1 leaves no cause",
            do="repeat the last test, or give the tests the accuracy they have",
        )


def _likelihood(table: Table, results: Mapping[str, str], cause: str) -> tuple[float, float]:
    """P(results of this cause's tests | absent), P(... | present)."""
    absent = present = 1.0
    for t in table.tests:
        if t.cause == cause and t.name in results:
            bad = results[t.name] == BAD
            absent *= 1 - t.specificity if bad else t.specificity
            present *= t.sensitivity if bad else 1 - t.sensitivity
    return absent, present


def _world(like: Mapping[str, tuple[float, float]], there: set[str]) -> float:
    out = 1.0
    for n, (absent, present) in like.items():
        out *= present if n in there else absent
    return out


def diagnose_table(
    table: Table, words: Sequence[str] = (), mode: str | None = None, top: int = 3
) -> Diagnosis:
    """Explanations by chance and the next tests by chance of their cause per minute.

    That order is the best one for tests that find their cause and causes of which one is present (falling
    chance over cost; Kadane and Simon 1977 for the proof, from memory); with imperfect tests it is an
    approximation. In mode several the chance used is that the cause is present. ``mode`` overrides the
    words, and they the table.
    """
    results, said, lost = table_words(table, words)
    mode = mode or said or table.mode
    alone, present, _ = posterior(table, results, mode)
    key = present
    order = sorted(present, key=lambda n: -key[n])
    open_tests = [t for t in table.tests if t.name not in results]
    ranked = sorted(open_tests, key=lambda t: (-present[t.cause] / t.minutes, t.minutes, t.name))
    tests = tuple(_proposal(table, results, mode, t, present[t.cause] / t.minutes) for t in ranked[:top])
    repairs = {c.name: c.repair for c in table.causes}
    explanations = tuple(
        Explanation(
            fault=n, name=n, p_cause=alone[n], p_present=present[n], p_blocks=present[n], what=repairs[n]
        )
        for n in order
    )
    return Diagnosis(
        mode=mode,
        era="",
        symptom="start",
        explanations=explanations,
        other_p=max(0.0, 1.0 - sum(alone.values())),
        several_p=max(0.0, 1.0 - sum(alone.values())),
        unlisted_p=0.0,
        tests=tests,
        blocked=(),
        stop=_stop(explanations, bool(tests)),
        repair=None,
        save_first=(),
        contradictions=_clashes(table, results, mode),
        open_symptoms=(),
        look_first=(),
        set_aside=(),
        marks=_marks(table, mode, lost),
        method="table",
        error=1e-15 * max(len(table.causes), 1),
        learnt_from=0,
        tables="",
    )


SURE = 0.9
"""A cause this likely is repaired before another test is made. Judgement."""


def _stop(explanations: Sequence[Explanation], tests: bool) -> str:
    lead = explanations[0]
    if lead.p_cause >= SURE or not tests:
        reason = f"{100 * lead.p_cause:.0f} %" if tests else "all tests of the table are done"
        return f"go to the repair of {lead.name} ({reason})"
    return ""


def _proposal(table: Table, results: Mapping[str, str], mode: str, t: TableTest, rate: float) -> Proposal:
    chance = {}
    leads = {}
    _, _, now = posterior(table, results, mode)
    for result in (CLEAN, BAD):
        try:
            _, p, z = posterior(table, {**results, t.name: result}, mode)
        except LeadoffError:
            continue  # a result that the table holds impossible has chance 0 and leads nowhere
        chance[result] = z / now
        leads[result] = tuple(
            Lead(fault=n, p=p[n], p_blocks=p[n], name=n) for n in sorted(p, key=lambda n: -p[n])[:3]
        )
    return Proposal(
        test=t.name,
        name=t.name,
        how=f"test for {t.cause}",
        expect=CLEAN,
        tools=(),
        minutes=t.minutes,
        cost=0.0,
        worth_per_minute=rate,
        needs=(),
        opens=(),
        results=tuple(Result(result=r, p=chance[r], leads=leads[r]) for r in chance),
        cautions=(Caution(id="own", severity=2, text=t.caution, source="your table"),) if t.caution else (),
    )


def _clashes(table: Table, results: Mapping[str, str], mode: str) -> tuple[Contradiction, ...]:
    """With exactly one cause, two tests that each find another cause contradict each other."""
    bad = [t for t in table.tests if results.get(t.name) == BAD]
    if mode != EXACTLY_ONE or len({t.cause for t in bad}) < 2:
        return ()
    names = tuple(t.name for t in bad)
    text = (
        f"{' and '.join(names)} each found another cause, and only one can be present: repeat the quicker one"
    )
    return (Contradiction(findings=names, text=text),)


def _marks(table: Table, mode: str, lost: Sequence[str]) -> tuple[Mark, ...]:
    words = {
        EXACTLY_ONE: "exactly one of the causes is present",
        SEVERAL: "the causes are independent and at least one is present",
    }
    out = [Mark(level=Level.NOTE, code="faults.mode", text=f"mode: {words[mode]}")]
    out.append(Mark(level=Level.AMBER, code="faults.safety", text=_SAFETY))
    if table.normalised and mode == EXACTLY_ONE:
        total = sum(c.p for c in table.causes)
        text = f"the chances of the causes add to {total:.4g}; they were scaled to 1"
        out.append(Mark(level=Level.NOTE, code="faults.scaled", text=text))
    out += [
        Mark(
            level=Level.AMBER,
            code="faults.not_understood",
            text=f"your table has no test for {w!r}: not used",
        )
        for w in lost
    ]
    return tuple(out)
