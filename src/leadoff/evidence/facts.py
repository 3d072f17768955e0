"""What readers are given and what they return. Every reader: ``sniff(source) -> float``, ``read(source, hints)``."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from hashlib import sha256
from typing import Any

import msgspec

from leadoff.record.evidence import Certainty, Fact, Rank

__all__ = [
    "Certainty", "Choice", "Fact", "Hints", "Proposal", "Quarantined", "Question", "Rank", "Reading", "Source",
    "Teller",
]  # fmt: skip


class Source(msgspec.Struct, frozen=True, kw_only=True):
    """A file as it was given: its name, its bytes, and their SHA-256.

    ``parts`` names the files this one was put together from, such as the two halves of a firmware pair.
    """

    name: str
    data: bytes
    digest: str
    parts: tuple[str, ...] = ()

    @classmethod
    def of(cls, name: str, data: bytes, parts: tuple[str, ...] = ()) -> Source:
        """A source of these bytes."""
        return cls(name=name, data=data, digest=sha256(data).hexdigest(), parts=parts)


class Hints(msgspec.Struct, frozen=True, kw_only=True):
    """What a reader may know beside the bytes. All of it may be missing.

    ``answers``: question id to choice key, as given by the person. ``kind``: the kind of file the person says it
    is. ``catalogue``: rows of parts (duck-typed). ``workloads``: name to unit. ``context``: what words of a line may
    refer to on the board; ``boards``: every board of the book. ``meanings``: POST code to its
    meanings as ``(family, text)``.
    """

    answers: Mapping[str, str] = {}
    kind: str = ""
    board: str = ""
    board_class: str = ""
    catalogue: Any = None
    workloads: Mapping[str, str] = {}
    meanings: Any = None
    at: str = ""
    context: Any = None
    boards: tuple[str, ...] = ()


class Choice(msgspec.Struct, frozen=True, kw_only=True):
    """One answer to a question: a short key to type, and what it would mean with an example from the file."""

    key: str
    text: str


class Question(msgspec.Struct, frozen=True, kw_only=True):
    """One question that settles many places of a file at once. ``places`` is how many, ``examples`` a few."""

    id: str
    text: str
    choices: tuple[Choice, ...]
    places: int = 1
    examples: tuple[str, ...] = ()


class Quarantined(msgspec.Struct, frozen=True, kw_only=True):
    """Something that cannot be decided: its original text, its place, and why it is not taken."""

    text: str
    at: str
    why: str


class Proposal(msgspec.Struct, frozen=True, kw_only=True):
    """An entry that the file would add: a line in the words of the bench, with the time it counts from.

    ``key`` names what is said (the same after an edit), ``id`` its content (changes with an edit): a known id is
    already in the book, a known key with another id is corrected there. ``verb`` is ``log`` or ``move``.
    ``apart``: a row of history that stands on its own; what it does not name is unknown, and what is set on the
    board today is not changed by it. ``said``: the original words of the row, kept with the entry.
    """

    key: str
    id: str
    line: str
    verb: str = "log"
    board: str = ""
    at: str = ""
    place: str = ""
    workload: str | None = None
    unit: str | None = None
    apart: bool = False
    said: str = ""


class Reading(msgspec.Struct, frozen=True, kw_only=True):
    """What one file gave. ``lines`` are for people, at most eight, the most telling first.

    ``warnings`` are things to look at (amber). ``data``: the bytes that the book keeps with the facts; empty
    keeps none. Without a fact, of a file that only proposes lines, nothing is kept beside them.
    """

    kind: str
    title: str
    file: str
    digest: str
    facts: tuple[Fact, ...] = ()
    lines: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    questions: tuple[Question, ...] = ()
    quarantined: tuple[Quarantined, ...] = ()
    proposals: tuple[Proposal, ...] = ()
    data: bytes = b""


MOST_LINES = 8
"""Lines for people that one file may have."""


class Teller:
    """Makes facts of one source and the reading they belong to, so that no reader repeats where they come from."""

    def __init__(self, source: Source, rank: Rank) -> None:
        self.source = source
        self.rank = rank
        self.facts: list[Fact] = []

    def __call__(
        self,
        key: str,
        value: float | str,
        unit: str = "",
        *,
        offset: int | None = None,
        at: str = "",
        about: str = "board",
        rank: Rank | None = None,
        certainty: Certainty = Certainty.PLAIN,
        note: str = "",
        setting: str = "",
        canonical: str = "",
    ) -> Fact:
        """Keep a fact and return it."""
        fact = Fact(
            key=key,
            value=value,
            unit=unit,
            about=about,
            rank=rank or self.rank,
            certainty=certainty,
            file=self.source.name,
            digest=self.source.digest,
            offset=offset,
            at=at,
            note=note,
            setting=setting,
            canonical=canonical,
        )
        self.facts.append(fact)
        return fact

    def reading(
        self,
        kind: str,
        title: str,
        lines: Sequence[str] = (),
        warnings: Sequence[str] = (),
        *,
        questions: tuple[Question, ...] = (),
        proposals: tuple[Proposal, ...] = (),
        data: bytes | None = None,
    ) -> Reading:
        """All that was told, as the reading of the source; the book keeps its bytes unless ``data`` says which."""
        return Reading(
            kind=kind,
            title=title,
            file=self.source.name,
            digest=self.source.digest,
            facts=tuple(self.facts),
            lines=tuple(line for line in lines if line)[:MOST_LINES],
            warnings=tuple(warnings),
            questions=questions,
            proposals=proposals,
            data=self.source.data if data is None else data,
        )
