"""Repair odds as a value: from the fault tables, fed with a seller's words or with what is known of a board."""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Sequence

import msgspec

from leadoff.faults import Finding, Fitted, Knowledge, fitted_from_sheet, load_knowledge, read_findings
from leadoff.loop.context import context_for
from leadoff.loop.history import read_history
from leadoff.loop.session import Session
from leadoff.record.errors import LeadoffError
from leadoff.record.marks import Level, Mark
from leadoff.record.phrases import Verb
from leadoff.record.quantity import Quantity, Source
from leadoff.record.results import mark, note
from leadoff.words import parse
from leadoff.words.vocabulary import likeness
from leadoff.worth.rows import limit

TEST = "test:"


class Odds(msgspec.Struct, frozen=True, kw_only=True):
    """The chance that the board can be made to start, with a band, and where it comes from."""

    chance: Quantity
    origin: str
    marks: tuple[Mark, ...] = ()


def board_odds(session: Session, name: str) -> Odds:
    """From the findings kept of a board."""
    board = read_history(session).board(name)
    kb = load_knowledge()
    findings = [
        Finding(observation=f.finding.removeprefix(TEST), outcome=f.detail, said=f.said)
        for f in board.findings
        if f.finding.startswith(TEST)
    ]
    sheet = board.fold.sheet
    found = _odds(
        kb, kb.era_of(sheet.board_class), findings, (), fitted_from_sheet(sheet), f"findings of {board.id}"
    )
    ran = [r.run.number for r in board.runs if r.run.outcome.held]
    if not ran or findings or board.open_symptoms:
        return found
    text = (
        f"{board.id} has run (run {ran[-1]}) and nothing is noted against it: the chance is that of a board of its "
        "kind that nobody has tried; --p-fix 1 counts it as working"
    )
    return msgspec.structs.replace(found, marks=(mark(Level.AMBER, "has_run", text), *found.marks))


def listing_odds(text: str, board_class: str | None) -> Odds:
    """From a seller's words, clause by clause: phrases of the tables first, then symptoms, the rest is said.

    Raises:
        LeadoffError: no class of board, on which every rate depends.
    """
    if not board_class:
        raise LeadoffError.one(
            "class_needed",
            "the rates of faults differ between kinds of boards, and the kind was not said",
            where=text[:60],
            do="give --class 486-vlb, or 386dx, socket7, slot1 ...",
        )
    kb = load_knowledge()
    words: list[str] = []
    findings: list[Finding] = []
    deaf: list[str] = []
    for clause in (c.strip() for c in re.split(r"[,;.]|\bbut\b", text)):
        if not clause:
            continue
        found = _phrase(kb, clause)
        if found is not None:
            words.append(found)
            continue
        heard = _symptoms(kb, clause)
        if heard:
            findings += heard
        else:
            deaf.append(clause)
    marks = []
    if words:
        said = "; ".join(f'"{kb.listing[w].phrase}": {kb.listing[w].note.lower()}' for w in words)
        marks.append(note("seller_words", said))
    if findings:
        marks.append(
            note("seller_findings", "taken as seen by the seller: " + "; ".join(f.said for f in findings))
        )
    if deaf:
        text = f"moves no odds, because the tables have nothing like it: {'; '.join(deaf)}"
        marks.append(mark(Level.AMBER, "not_understood", text))
    found_odds = _odds(kb, kb.era_of(board_class), findings, words, Fitted(), "the seller's words")
    return msgspec.structs.replace(found_odds, marks=(*marks, *found_odds.marks))


def _phrase(kb: Knowledge, clause: str) -> str | None:
    """The row whose phrase this is, or nearly is, or stands in it whole."""
    low = " ".join(clause.lower().split())
    inside = [r for r in kb.listing.values() if re.search(rf"\b{re.escape(r.phrase.lower())}\b", low)]
    if inside:
        return max(inside, key=lambda r: len(r.phrase)).id
    phrases = {r.phrase.lower(): r.id for r in kb.listing.values()}
    near = difflib.get_close_matches(low, phrases, n=1, cutoff=likeness("phrase"))
    return phrases[near[0]] if near else None


def _symptoms(kb: Knowledge, clause: str) -> list[Finding]:
    """Findings in a clause; words that leave a question open count as none."""
    said = parse(clause, context_for(None, None, Verb.SICK))
    heard = read_findings(kb, clause, said.phrases)
    return [] if heard.questions else list(heard.findings)


def _odds(
    kb: Knowledge,
    era: str,
    findings: Sequence[Finding],
    listing: Sequence[str],
    fitted: Fitted,
    origin: str,
) -> Odds:
    from leadoff.faults import chance_to_fix

    found = chance_to_fix(kb, era, findings, fitted=fitted, listing=listing)
    p = min(max(found * limit("diagnosis_ends_well"), 1e-4), 1 - 1e-4)
    half = 1.645 * limit("odds_sd_logit")
    x = math.log(p / (1 - p))
    lo, hi = (1 / (1 + math.exp(-v)) for v in (x - half, x + half))
    why = f"{origin}, by the fault tables ({era})"
    return Odds(
        chance=Quantity(value=p, unit="probability", source=Source.COMPUTED, lo=lo, hi=hi, why=why),
        origin=why,
        marks=(
            note(
                "odds_judged", "repair odds rest on tables of judgement until closed cases of yours move them"
            ),
        ),
    )
