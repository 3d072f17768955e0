"""The skeleton of a sentence made even: boards by their age or their slot, sayings of who is ahead, settings that
were said by their values alone."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from copy import copy
from functools import lru_cache

from leadoff.claims.rows import table
from leadoff.claims.spoken.reading import Said
from leadoff.claims.values import Ledger


@lru_cache(maxsize=1)
def _rows() -> tuple[tuple[re.Pattern[str], str], ...]:
    """Sayings and the words that the search has for them, tried in their order."""
    return tuple((re.compile(old), new) for old, new in table("effects")["skeleton"]["rows"])


@lru_cache(maxsize=1)
def _ages() -> tuple[tuple[re.Pattern[str], int], ...]:
    """Classes of boards by their age, the oldest first."""
    return tuple((re.compile(form), n) for n, form in enumerate(table("effects")["ages"]["classes"]))


@lru_cache(maxsize=2)
def _aged(older: bool) -> re.Pattern[str]:
    words = str(table("effects")["ages"]["older" if older else "newer"]).split()
    noun, verb = (str(table("effects")["ages"][x]) for x in ("noun", "verb"))
    return re.compile(
        rf"\bthe (?:{'|'.join(words)})(?= (?:{noun}|{verb})(?!\w)| ,| ?$)(?: (?:{noun})(?!\w))*"
    )


def even(said: Said, about: Sequence[str], ledger: Ledger) -> Said:
    """A sentence in the words of the search; ``about`` are the boards that were spoken of before."""
    out = copy(said)
    out.boards = said.boards.copy()
    out.low = said.low
    two = tuple(dict.fromkeys(said.boards)) if len(set(said.boards)) == 2 else tuple(dict.fromkeys(about))
    if len(two) == 2:
        _by_age(out, two, ledger)
        _by_slot(out, two, ledger)
    for form, new in _rows():
        out.low = form.sub(new, out.low)
    return out


def _put(said: Said, form: re.Pattern[str], board: str) -> None:
    if form.search(said.low):
        said.boards.append(board)
        said.low = form.sub(f"the {{b{len(said.boards) - 1}}}", said.low)


def _by_age(said: Said, two: Collection[str], ledger: Ledger) -> None:
    """``the older of the two``, ``the later one``: a board by the age of its class."""
    ages = {
        b: next((n for form, n in _ages() if form.search(ledger.boards.get(b, "").lower())), -1) for b in two
    }
    if -1 in ages.values() or len(set(ages.values())) < 2:
        return
    _put(said, _aged(True), min(ages, key=lambda b: ages[b]))
    _put(said, _aged(False), max(ages, key=lambda b: ages[b]))


def _by_slot(said: Said, two: Collection[str], ledger: Ledger) -> None:
    """``the one with VLB``, ``the PCI specimen`` of two boards of which one has such a slot: that board, where no
    card is spoken of."""
    for sign in said.signs("g"):
        slot = said.rigs[int(sign[1:])].lower()
        own = [b for b in two if slot in re.split(r"[\s_-]", ledger.boards.get(b, "").lower())]
        if len(own) != 1 or re.search(
            rf"\b{re.escape(slot)}\b[^,.]{{0,12}}\b(?:card|graphics|video|display)", said.plain.low
        ):
            continue
        _put(
            said,
            re.compile(
                rf"\b(?:the )?(?:one (?:with|on|of) (?:the )?)?\{{{sign}\}}(?: (?:one|specimen|side))?"
            ),
            own[0],
        )
