"""Scores in a line: which workload they are of, repeats in one go, and what was dropped."""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import pairwise

from leadoff.record.errors import LeadoffError
from leadoff.record.phrases import NotePhrase, ScorePhrase, Verb, WorkloadWord
from leadoff.record.runs import Reading
from leadoff.words.numbers import number
from leadoff.words.outcomes import outcome_of
from leadoff.words.rows import rows
from leadoff.words.scan import END, NUM, QUOTED, Found, Scan, match
from leadoff.words.score_units import Score, read_score, scale_between
from leadoff.words.vocabulary import heads, nearest, reserved_words

_ORDINALS = {
    "1st": 0,
    "first": 0,
    "2nd": 1,
    "second": 1,
    "3rd": 2,
    "third": 2,
    "4th": 3,
    "5th": 4,
    "last": -1,
}
_DROP = rf"\s*,?\s*drop(?:ped|s)?\s+(?:the\s+)?({'|'.join(_ORDINALS)})(?:\s+(?:run|one))?{END}"
_LIKE_A_THOUSAND = re.compile(r"\d{1,3} \d{3}(?:[.,]\d+)?", re.A)
_SPREAD = 3
"""Repeats that differ by more than this factor are no repeats, so a blank between them may be a thousand."""


def known_workload(scan: Scan, pos: int) -> Found | None:
    """``w2 23.5 23.6``, ``w2 crash``, ``w2 ok``: a workload that the book knows."""
    table = {w.name.lower(): w for w in scan.context.workloads}
    for end, workload in scan.labels(pos, table):
        gap = match(scan, r"\s*[=:(]?\s*", end)
        found = _after_name(scan, pos, gap.end() if gap else end, workload)
        if found is not None:
            return found
    return None


def bare_workload(scan: Scan, pos: int) -> Found | None:
    """A known workload's name with nothing said of it."""
    table = {w.name.lower(): w for w in scan.context.workloads}
    for end, workload in scan.labels(pos, table):
        return scan.ask(
            pos,
            end,
            f"{workload.name}: what did it do? Such as {workload.name} 23.5, or {workload.name} crash",
        )
    return None


def _after_name(scan: Scan, pos: int, at: int, workload: WorkloadWord) -> Found | None:
    if absent := _absent(scan, at):
        name = workload.name
        question = f"{scan.typed(pos, absent)}: did {name} fail, or was it not run?"
        return scan.ask(pos, absent, question, (f"{name} did not finish", f"{name} crash", f"{name} not run"))
    scored = readings(scan, pos, at, workload)
    if scored is not None:
        return scored
    if said := match(scan, rf"(?:{'|'.join(rows('failures')['ok']['words'])}){END}", at):
        return outcome_of(scan, pos, said.end(), "finishes", workload.name)
    if skipped := match(scan, rf"(?:was\s+)?not\s+run{END}", at):
        return Found(skipped.end(), (NotePhrase(text=scan.typed(pos, skipped.end())),))
    return outcome_of(scan, pos, at, None, workload.name)


def _absent(scan: Scan, pos: int) -> int | None:
    for end, _ in scan.labels(pos, dict.fromkeys(rows("scores")["absent"]["marks"], True)):
        return end
    return None


def readings(scan: Scan, pos: int, at: int, workload: WorkloadWord | None) -> Found | None:
    """Readings from ``at`` on, of ``workload`` or of the only one that they can be of."""
    scores: list[Score] = []
    end = at
    try:
        while (found := read_score(scan, at)) is not None:
            scores.append(found)
            end = found.end
            gap = match(scan, r"\s*(?:[,/]\s*)?", end)
            at = gap.end() if gap else end
    except LeadoffError as error:
        return _split_list(scan, pos, at, workload) or scan.ask_error(pos, _word_end(scan, at), error)
    if not scores:
        return None
    units = {s.unit for s in scores if s.unit}
    if len(units) > 1:
        return scan.ask(
            pos, end, f"{scan.typed(pos, end)}: two units, {' and '.join(sorted(units))}, in one result"
        )
    unit = units.pop() if units else ""
    owner = workload or _owner(scan, unit)
    if not isinstance(owner, WorkloadWord):
        return _which(scan, pos, end, owner)
    if thousand := _thousand(scan, pos, end, owner.name, scores):
        return thousand
    return _finish(scan, pos, end, owner, [s.reading for s in scores], unit)


def _word_end(scan: Scan, pos: int) -> int:
    found = match(scan, r"[^\s;]+(?:\s+(?:frames?|ticks?\S*)(?=[\s,;]|$))?", pos)
    return found.end() if found else pos


def _split_list(scan: Scan, pos: int, at: int, workload: WorkloadWord | None) -> Found | None:
    """``23.5,23.6`` without blanks, where each part has a point, so that the comma cannot be a decimal one."""
    found = match(scan, r"\d+\.\d+(?:,\d+\.\d+)+(?=[\s;]|$)", at)
    if found is None or workload is None:
        return None
    parts = [number(part).as_reading() for part in found[0].split(",")]
    return _finish(scan, pos, found.end(), workload, parts, "")


def _thousand(scan: Scan, pos: int, end: int, name: str, scores: list[Score]) -> Found | None:
    """``1 234.5``: a thousand, or two results that are far apart? Asked, unless they are near like repeats."""
    for one, two in pairwise(scores):
        joined = f"{one.reading.text} {two.reading.text}"
        if not _LIKE_A_THOUSAND.fullmatch(joined) or joined not in scan.plain:
            continue
        low, high = sorted((one.reading.value, two.reading.value))
        if high > _SPREAD * low:
            whole, listed = joined.replace(" ", ""), joined.replace(" ", ", ")
            choices = (f"{name} {whole}", f"{name} {listed}")
            return scan.ask(pos, end, f"{joined}: {whole} in one, or two results?", choices)
    return None


def _owner(scan: Scan, unit: str) -> WorkloadWord | list[WorkloadWord]:
    """The one workload that readings without a name are of, else all that they could be of."""
    known = {w.name: w for w in scan.context.workloads}
    named = scan.last_workload() or scan.context.default_workload
    if named is not None:
        return known.get(named, WorkloadWord(name=named))
    could = [w for w in known.values() if not unit or scale_between(unit, w.unit) is not None]
    return could[0] if len(could) == 1 else could or list(known.values())


def _which(scan: Scan, pos: int, end: int, could: list[WorkloadWord]) -> Found:
    said = scan.typed(pos, end)
    if not could:
        return scan.ask(pos, end, f"{said}: of which workload? Name it first, such as w1 {said}")
    return scan.ask(pos, end, f"{said}: of which workload?", [f"{w.name} {said}" for w in could])


def _finish(scan: Scan, pos: int, end: int, owner: WorkloadWord, found: list[Reading], unit: str) -> Found:
    if unit and owner.unit:
        factor = scale_between(unit, owner.unit)
        if factor is None:
            said = scan.typed(pos, end)
            return scan.ask(pos, end, f"{said}: {owner.name} is counted in {owner.unit}, not in {unit}")
        if factor != 1:
            found = [_scaled(r, factor) for r in found]
    dropped: list[Reading] = []
    while drop := match(scan, _DROP, end):
        which = _ORDINALS[drop[1]]
        end = drop.end()
        if len(found) < 2 or which >= len(found):
            said = scan.typed(pos, end)
            listed = " ".join(r.text for r in found)
            choices = (f"{owner.name} {listed}", f"{owner.name} not run")
            return scan.ask(
                pos, end, f"{said}: drop which? Nothing would be left, or there is no such run", choices
            )
        dropped.append(found.pop(which))
    phrase = ScorePhrase(
        text=scan.typed(pos, end),
        workload=owner.name,
        readings=tuple(found),
        unit=owner.unit or unit,
        dropped=tuple(dropped),
    )
    return Found(end, (phrase,))


def _scaled(reading: Reading, factor: Fraction) -> Reading:
    value, lo, hi = (float(Fraction(x) * factor) for x in (reading.value, reading.lo, reading.hi))
    return Reading(text=reading.text, value=value, lo=lo, hi=hi)


def nameless(scan: Scan, pos: int) -> Found | None:
    """``23.5 fps``, ``41.2s``, ``1:02.4``, raw counters, a bare number: by their unit or the only workload."""
    try:
        first = read_score(scan, pos)
    except LeadoffError as error:
        return scan.ask_error(pos, _word_end(scan, pos), error)
    if first is None:
        return None
    if not first.unit:
        if not scan.fresh:
            return scan.ask(pos, first.end, f"{first.reading.text}: what is it? Put a comma before a result")
        if scan.context.verb in (Verb.MOVE, Verb.WANT):
            said = first.reading.text
            choices = [f"{name} {said}" for name in ("bus", "can", "core")]
            return scan.ask(pos, first.end, f"{said}: which clock or setting?", choices)
    return readings(scan, pos, pos, None)


def new_workload(scan: Scan, pos: int) -> Found | None:
    """The first unknown word followed by results names a new workload; near misses of known words are asked."""
    quoted = QUOTED.match(scan.low, pos)
    found = match(scan, r"[a-z][\w.+#-]{0,39}", pos) if quoted is None else quoted
    if found is None or scan.context.verb != Verb.LOG or not scan.fresh:
        return None
    name = " ".join((quoted[1] if quoted else found[0]).split())
    if not name or (quoted is None and name in reserved_words()):
        return None
    gap = match(scan, rf"\s*[=:]?\s*(?={NUM}|~|about\s|ca\.?\s)", found.end())
    if gap is None:
        return None
    scored = readings(scan, pos, gap.end(), WorkloadWord(name=name))
    if scored is None:
        return None
    words = (*heads(), *(w.name.lower() for w in scan.context.workloads))
    near = [n for n in nearest(name, words) if n[0] == name[0]]
    if near and quoted is None:
        rest = scan.typed(gap.end(), scored.end)
        choices = (*(f"{n} {rest}" for n in near), f'"{name}" {rest}')
        return scan.ask(
            pos,
            scored.end,
            f"{name} is not known: is it {near[0]}, or a new workload (put it in quotes)?",
            choices,
        )
    return scored


def like_a_new_workload(scan: Scan, pos: int) -> tuple[str, str] | None:
    """``w9 12.1`` where no phrase may begin: the name, and the stretch that would parse after a comma."""
    found = match(scan, rf"([a-z][\w.+#-]{{0,39}})\s+{NUM}", pos)
    if found is None or found[1] in reserved_words():
        return None
    return scan.typed(*found.span(1)), scan.typed(*found.span())
