"""What a search on holding keeps of a book: its names, the words it knows, and sentences already read."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache
from weakref import WeakKeyDictionary

import msgspec

from leadoff.claims.rows import table
from leadoff.claims.search.trials_heard import Part, heard
from leadoff.claims.search.trials_scope import Mentions, mentions
from leadoff.claims.search.trials_words import unknown
from leadoff.claims.spoken.evidence import Evidence
from leadoff.claims.spoken.names import Names, harmless, names_of, remarks
from leadoff.claims.spoken.plain import Plain, spelled
from leadoff.claims.spoken.reading import Said, read


class _Known(msgspec.Struct, frozen=True, kw_only=True):
    """What depends on the book only, and sentences read so far."""

    names: Names
    words: frozenset[str]
    read: dict[str, tuple[Said, list[Part]]]


_BOOKS: WeakKeyDictionary[Evidence, _Known] = WeakKeyDictionary()
_REMEMBERED = 512
"""Sentences that are kept read; a text goes back only a few."""


def _known(evidence: Evidence) -> _Known:
    if evidence not in _BOOKS:
        ledger = evidence.ledger
        texts = [t for o in ledger.oddities for t in (o.finding, *o.details, *o.mends)]
        texts += [t.run.place for t in ledger.trials]
        texts += [text for row in ("kin", "opposites") for text in _flat(table("trials")[row]["rows"])]
        own = frozenset(w.strip(".,;:") for t in texts for w in t.lower().split())
        _BOOKS[evidence] = _Known(
            names=_without_copies(names_of(ledger)), words=harmless() | remarks() | own, read={}
        )
    return _BOOKS[evidence]


def _flat(rows: Sequence[str | Sequence[str]]) -> list[str]:
    return [text for row in rows for text in ([row] if isinstance(row, str) else row)]


def _without_copies(names: Names) -> Names:
    """Names of the book in which copies alone are no workload: here they are what a copy-compare counts."""
    rate = "".join(rf"(?<={w})|" for w in ("rate", "speed", "test", "score", "figure")).rstrip("|")
    forms = [
        (rf"{form}(?:{rate})" if re.match(form, "copy") or re.match(form, "copies 60") else form, name)
        for form, name in names.workloads
    ]
    return msgspec.structs.replace(names, workloads=tuple(forms))


def heard_in(text: str, evidence: Evidence) -> tuple[Said, list[Part]]:
    """A sentence in the words it was said in, without the wording that the rules of speech put in their place."""
    known = _known(evidence)
    if text not in known.read:
        if len(known.read) >= _REMEMBERED:
            known.read.clear()
        said = read(Plain(text=text, low=spelled(_idioms().sub("", text))), evidence.ledger, known.names)
        known.read[text] = (said, heard(text, said))
    return known.read[text]


@lru_cache(maxsize=1)
def _idioms() -> re.Pattern[str]:
    return re.compile(rf"\b(?:{'|'.join(table('trials')['idioms']['rows'])})\b", re.I)


def mentioned(said: Said, parts: Sequence[Part], evidence: Evidence) -> Mentions:
    m = mentions(parts, said, evidence)
    if m.boards or m.groups or not said.runs:
        return m
    found = [evidence.by_number[r].board for r in said.runs if r in evidence.by_number]
    return msgspec.structs.replace(m, boards=tuple(dict.fromkeys(found)))


def known_words(evidence: Evidence) -> frozenset[str]:
    """Words that say nothing by themselves, and those of the book."""
    return _known(evidence).words


def loose_words(parts: Sequence[Part], evidence: Evidence) -> list[str]:
    """Unknown words in parts that claim something."""
    return [
        w
        for p in parts
        if p.outcomes or p.topics or p.health or p.counts or p.hours or p.ints
        for w in unknown(p.words, _known(evidence).words)
    ]
