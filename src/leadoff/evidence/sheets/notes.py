"""Free notes: a date, then what was set and what came out, line by line in bench words."""

from __future__ import annotations

import re
from hashlib import sha256

from leadoff.evidence.facts import Choice, Proposal, Quarantined
from leadoff.evidence.sheets.asking import SKIP, Asker
from leadoff.evidence.sheets.days import Day, day_of
from leadoff.evidence.sheets.row import Unclear
from leadoff.evidence.sheets.row_words import parse
from leadoff.evidence.sheets.table import Table
from leadoff.record.phrases import Context, FailurePhrase, ScorePhrase, SetPhrase

_BEGIN = re.compile(r"^(\S+(?:[ ]\w+\.?,?[ ]'?\d{2,4})?)\s*[:,-]?\s*(.*)$")
_LABEL = re.compile(r"\d")
MOST_LINES = 5000
"""Lines of notes that are read (judgement)."""
GIVEN_UP = 300
"""Lines with words in which no result and no setting was found: then it is no notebook (judgement)."""


class Noted:
    """What notes gave."""

    def __init__(self) -> None:
        self.proposals: list[Proposal] = []
        self.quarantined: list[Quarantined] = []
        self.waiting: list[tuple[str, str, set[str]]] = []
        self.plain = 0
        self.unread = ""


def read_notes(table: Table, context: Context, asker: Asker, board: str, origin: str) -> Noted:
    """Lines with a result become proposals; settings said above hold until a blank line or another date.

    A line with figures that is not understood whole is set aside; a line without any is plain words.
    """
    noted = Noted()
    day, broken = "", ""
    settings: list[str] = []
    needs: set[str] = set()
    tried, told = 0, False
    for n, row in enumerate(table.rows):
        text = row[0].text if row else ""
        place = table.place(n)
        if n >= MOST_LINES or (tried >= GIVEN_UP and not told):
            why = "no result in" if n < MOST_LINES else "only"
            noted.unread = f"{why} the first {n} lines: the rest, from {place}, was not read"
            break
        tried += bool(text)
        if not text:
            settings, broken = [], ""
            continue
        date, rest = _dated(text)
        if date is not None:
            settings, broken = [], ""
            day, needs = _which(date, text, asker)
            if not rest:
                continue
            text = rest
        try:
            said = parse(text, context)
        except Unclear as unclear:
            noted.quarantined.append(Quarantined(text=text, at=place, why=str(unclear)))
            broken = broken or place
            continue
        results = [p for p in said.phrases if isinstance(p, ScorePhrase | FailurePhrase)]
        sets = [p for p in said.phrases if isinstance(p, SetPhrase)]
        told = told or bool((results or sets) and not said.questions)
        if said.questions:
            if not results and not sets and not _LABEL.search(text):
                noted.plain += 1
                continue
            noted.quarantined.append(Quarantined(text=text, at=place, why=said.questions[0].question))
            of_workload = any(re.match(rf"{re.escape(w.name)}\b", text, re.I) for w in context.workloads)
            broken = broken or (place if sets or not (results or of_workload) else "")
            continue
        settings += [p.text for p in sets]
        if not results:
            continue
        if broken:
            why = f"what was set is not clear: {broken} was not understood"
            noted.quarantined.append(Quarantined(text=text, at=place, why=why))
            continue
        if any(isinstance(p, ScorePhrase) and p.workload is None for p in results) or len(results) != 1:
            noted.quarantined.append(Quarantined(text=text, at=place, why="not one result of one workload"))
            continue
        if needs:
            noted.waiting.append((text, place, set(needs)))
            continue
        own = [p.text for p in said.phrases if not isinstance(p, SetPhrase)]
        line = ", ".join(dict.fromkeys([*settings, *own]))
        noted.proposals.append(_proposal(line, day, board, place, origin, str(results[0].workload)))
    return noted


def _dated(text: str) -> tuple[Day | None, str]:
    found = _BEGIN.match(text)
    for words in (found[1] if found else "", text.split()[0].rstrip(":,")):
        day = day_of(words.rstrip(":,"))
        if day is not None:
            return day, text[len(words) :].lstrip(" :,-")
    return None, text


def _which(date: Day, text: str, asker: Asker) -> tuple[str, set[str]]:
    if date.sure:
        return date.sure, set()
    first = text.split()[0]
    choices = (
        Choice(key="dmy", text=f"day first: {first} is {date.dmy}"),
        Choice(key="mdy", text=f"month first: {first} is {date.mdy}"),
        SKIP,
    )
    answer = asker.need("dates", "dates that can be two days: which comes first?", choices, first)
    if answer is None:
        return "", {"dates"}
    return (date.dmy if answer == "dmy" else date.mdy), {"skip"} if answer == "skip" else set()


def _proposal(line: str, day: str, board: str, place: str, origin: str, workload: str) -> Proposal:
    def short(*parts: str) -> str:
        return sha256("\x1f".join(parts).encode()).hexdigest()[:12]

    said = " ".join(line.lower().split())
    state, _, result = said.rpartition(", ")
    key = f"sheet:{origin}:{short(board, day, state, workload)}:{short(board, day, result)}:{short(board, said)}"
    return Proposal(
        key=key,
        id=short(board, day, said),
        line=line,
        board=board,
        at=day,
        place=place,
        workload=workload if workload != "None" else None,
        apart=True,
        said=line,
    )
