"""Outcomes without a reading: failures with place, time and count, and plain finishes. Never a number."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import msgspec

from leadoff.record.errors import LeadoffError
from leadoff.record.phrases import FailurePhrase, NotePhrase, SymptomPhrase, Verb
from leadoff.record.runs import Outcome
from leadoff.words.rows import rows
from leadoff.words.scan import END, NUM, Found, Scan, match
from leadoff.words.units import quantity
from leadoff.words.vocabulary import known_words, nearest, phrase_words, reserved_words

_AT = r"(?:(?:at|in|on|during|after|for|within|with)\s+(?:the\s+)?)?"
_SPAN = r"(?:s|secs?|seconds?|min|mins|minutes?|h|hours?|hrs?|d|days?)"
_DURATION = rf"((?:\d{{1,3}}:)?\d{{1,3}}:[0-5]\d|\d+\s*h\s*\d+(?:\s*min|m)?|{NUM}\s*{_SPAN}){END}"
_GROUP = r"\d+(?:-\d+)*(?:\s*(?:long|short))?"
_BEEPS = rf"({_GROUP}(?:[\s,]+{_GROUP})*\s*beeps?|beeps?\s+\d+(?:-\d+)*){END}"
_CODE = rf"(?:post|code|post\s+code)\s+(?:code\s+)?([0-9a-f]{{2}})h?{END}"


class _Extras(msgspec.Struct):
    """What followed the words of a failure."""

    place: str = ""
    outcome: Outcome | None = None
    after_s: float | None = None
    count: int | None = None
    of: int | None = None
    workload: str | None = None


def outcome(scan: Scan, pos: int) -> Found | None:
    """``hang memcount``, ``reboot 3:20``, ``no video 3 beeps``, ``starts 3/5 cold``, ``post C1``, ``smoke``."""
    return _codes(scan, pos) or outcome_of(scan, pos, pos, None, None)


def _codes(scan: Scan, pos: int) -> Found | None:
    if code := match(scan, _CODE, pos):
        return _phrase(scan, pos, code.end(), "post", Outcome.NO_START, _Extras(place=code[1].upper()))
    if beeps := match(scan, _BEEPS, pos):
        return _phrase(scan, pos, beeps.end(), "beeps", Outcome.NO_START, _Extras(place=_tidy(beeps[1])))
    return None


def outcome_of(scan: Scan, pos: int, at: int, what: str | None, workload: str | None) -> Found | None:
    """An outcome whose words start at ``at`` (or ``what`` ended there), said of ``workload`` if one was named."""
    if what is not None:
        return _phrase(scan, pos, at, what, Outcome.FINISHES, _Extras(workload=workload))
    failures = scan.labels(at, phrase_words("failures", "failure"))
    symptoms = scan.labels(at, phrase_words("failures", "symptom"))
    if not failures or (symptoms and symptoms[0][0] > failures[0][0]):
        return None
    end, row = failures[0]
    takes = row["takes"]
    assert isinstance(takes, list)
    extras = _Extras(workload=workload)
    try:
        end = _extras(scan, end, takes, extras)
    except LeadoffError as error:
        return scan.ask_error(pos, end, error)
    said = scan.typed(pos, end)
    if stray := match(scan, rf"\s+(?:{_DURATION}|{NUM}{END})", end):
        whole = scan.typed(pos, stray.end())
        return scan.ask(
            pos,
            stray.end(),
            f"{whole}: is the figure a time or a result? Such as {said} 3:20 or {said} 12 min",
        )
    return _checked(scan, pos, end, row, extras)


def failure_of_a_new_name(scan: Scan, pos: int) -> Found | None:
    """``w1 hang`` where nobody has said what w1 is: a failure at that place; a name needs no result to fail."""
    found = match(scan, r"([a-z][\w.+#-]{0,39})\s*:?\s+", pos)
    if found is None or scan.context.verb != Verb.LOG or not scan.fresh or found[1] in reserved_words():
        return None
    failures = scan.labels(found.end(), phrase_words("failures", "failure"))
    if not failures or "place" not in str(failures[0][1]["takes"]) or nearest(found[1], known_words()):
        return None
    said = outcome_of(scan, pos, found.end(), None, None)
    phrase = said.phrases[0] if said is not None else None
    if said is None or not isinstance(phrase, FailurePhrase):
        return said
    if phrase.place:
        return None  # two places: which of them is asked by the common question
    return Found(said.end, (msgspec.structs.replace(phrase, place=scan.typed(*found.span(1))),))


def _checked(scan: Scan, pos: int, end: int, row: Mapping[str, Any], extras: _Extras) -> Found:
    what, reached = str(row["what"]), Outcome(row["outcome"])
    said = scan.typed(pos, end)
    if extras.of is not None and not 0 <= (extras.count or 0) <= extras.of > 0:
        return scan.ask(pos, end, f"{said}: {extras.count} of {extras.of} cannot be; how many of how many?")
    if extras.of is not None and extras.count == 0:
        if what == "boots":
            return scan.ask(
                pos, end, f"{said}: how far did it come?", (f"starts {extras.of}/{extras.of}", "no start")
            )
        if what == "starts":
            reached = Outcome.NO_START
        elif reached.held:
            reached = Outcome.FAILS_MID_RUN
    if extras.outcome is not None and reached is Outcome.FAILS_MID_RUN and extras.workload is None:
        reached = extras.outcome
    if reached is Outcome.FAILS_MID_RUN and extras.workload is None:
        extras.workload = scan.last_workload()
    return _phrase(scan, pos, end, what, reached, extras)


def _phrase(scan: Scan, pos: int, end: int, what: str, reached: Outcome, extras: _Extras) -> Found:
    phrase = FailurePhrase(
        text=scan.typed(pos, end),
        outcome=reached,
        what=what,
        workload=extras.workload,
        place=extras.place,
        after_s=extras.after_s,
        count=extras.count,
        of=extras.of,
    )
    return Found(end, (phrase,))


def _extras(scan: Scan, end: int, takes: list[str], extras: _Extras) -> int:
    """Reads what may follow, in any order; returns where it ended."""
    while True:
        gap = match(scan, r",?\s+(?=(?:\d{1,6}\s+times|twice)\b)|\s+(?=\S)|$", end)
        at = gap.end() if gap else end
        after = _one_extra(scan, at, takes, extras)
        if after is None or after == at:
            return end
        end = after


def _one_extra(scan: Scan, at: int, takes: list[str], extras: _Extras) -> int | None:
    if "share" in takes and (
        found := match(scan, rf"(\d{{1,6}})\s*(?:/|(?:out\s+)?of)\s*(\d{{1,6}})(?:\s+times)?{END}", at)
    ):
        extras.count, extras.of = int(found[1]), int(found[2])
        return found.end()
    if "share" in takes and not extras.place and (found := match(scan, rf"(?:when\s+)?(cold|warm){END}", at)):
        extras.place = found[1]
        return found.end()
    if "count" in takes and (
        found := match(
            scan, rf"(\d{{1,6}})\s*x{END}|x\s*(\d{{1,6}}){END}|(\d{{1,6}})\s+times{END}|(twice){END}", at
        )
    ):
        extras.count = 2 if found[4] else int(found[1] or found[2] or found[3])
        return found.end()
    if "time" in takes and extras.after_s is None and (found := match(scan, _AT + _DURATION, at)):
        extras.after_s = quantity(found[1], "duration").value
        return found.end()
    if "beeps" in takes and (found := match(scan, r"(?:with\s+)?" + _BEEPS, at)):
        extras.place = " ".join(filter(None, (extras.place, _tidy(found[1]))))
        return found.end()
    if "code" in takes and (found := match(scan, _CODE, at)):
        extras.place = " ".join(filter(None, (extras.place, f"post {found[1].upper()}")))
        return found.end()
    return _where(scan, at, takes, extras)


def _where(scan: Scan, at: int, takes: list[str], extras: _Extras) -> int | None:
    lead = match(scan, _AT, at)
    start = lead.end() if lead else at
    if "place" not in takes:
        return None
    if extras.workload is None:
        for end, name in scan.labels(start, {w.name.lower(): w.name for w in scan.context.workloads}):
            extras.workload = name
            return end
    if extras.place:
        return None
    for end, row in scan.labels(start, phrase_words("failures", "place")):
        extras.place, extras.outcome = str(row["name"]), Outcome(str(row["outcome"]))
        return end
    if quoted := match(scan, r'"([^"]+)"', start):
        extras.place = scan.plain[quoted.start(1) : quoted.end(1)].strip()
        return quoted.end()
    return None


def _tidy(text: str) -> str:
    return " ".join(text.replace(",", " ").split())


def symptom(scan: Scan, pos: int) -> Found | None:
    """``clock stops``, ``battery low``, and ``battery low gone`` once it was tested again."""
    closed = "|".join(rows("failures")["closed"]["words"])
    lead = match(scan, rf"(?:{closed})\s*:?\s+", pos)
    for end, row in scan.labels(lead.end() if lead else pos, phrase_words("failures", "symptom")):
        after = match(scan, rf"\s*(?:is\s+|:\s*)?(?:{closed}){END}", end)
        stop = after.end() if after else end
        phrase = SymptomPhrase(
            text=scan.typed(pos, stop), symptom=str(row["what"]), closed=bool(after or lead)
        )
        return Found(stop, (phrase,))
    return None


def note(scan: Scan, pos: int) -> Found | None:
    """``note: fan off`` up to the next semicolon, or ``note "fan off"``: kept as it is, never read."""
    found = match(scan, r'note\s*:?\s*"[^"]*"|note\s*:[^;]*', pos)
    return None if found is None else Found(found.end(), (NotePhrase(text=scan.typed(pos, found.end())),))


def quoted_note(scan: Scan, pos: int) -> Found | None:
    """Words in quotes that name nothing are a note."""
    found = match(scan, rf'"[^"]*\w[^"]*"{END}', pos)
    return None if found is None else Found(found.end(), (NotePhrase(text=scan.typed(pos, found.end())),))


def verdict(scan: Scan, pos: int) -> Found | None:
    """``ok`` alone is kept as a note; ``stable`` is a claim, so it is asked what was done to show it."""
    for end, _ in scan.labels(pos, dict.fromkeys(rows("failures")["claim"]["words"], True)):
        said = scan.typed(pos, end)
        question = f"{said} is a claim: what was run, for how long or how often?"
        return scan.ask(pos, end, question, ("soak 8h ok", "copy 60/60", "finishes"))
    for end, _ in scan.labels(pos, dict.fromkeys(rows("failures")["ok"]["words"], True)):
        return Found(end, (NotePhrase(text=scan.typed(pos, end)),))
    return None
