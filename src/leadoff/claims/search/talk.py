"""A sentence beside what was said before it, as mentions and in no fixed form."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from leadoff.claims.rows import constant
from leadoff.claims.spoken.evidence import Evidence
from leadoff.claims.spoken.names import Names
from leadoff.claims.spoken.plain import plain
from leadoff.claims.spoken.reading import Said, read
from leadoff.claims.spoken.values import Finding

REMEMBERED = int(constant("sentences_back"))
"""Sentences back that a reading may lean on."""


class Talk(msgspec.Struct, frozen=True, kw_only=True):
    """The sentence that is judged (``text`` as it was said) and the ones before it, the latest last."""

    text: str
    said: Said
    before: tuple[Said, ...]
    evidence: Evidence

    @property
    def asks(self) -> bool:
        """Whether it is a question."""
        return self.text.rstrip().endswith("?")


class Reading(msgspec.Struct, frozen=True, kw_only=True):
    """What a search made of a sentence. ``sure``: it accounts for every mention and every word that could turn the
    claim, and every other reading as likely as this one comes to the same verdict."""

    finding: Finding
    sure: bool


def said_of(sentence: str, evidence: Evidence, names: Names) -> Said:
    """Mentions of a whole sentence."""
    return read(plain(sentence), evidence.ledger, names)


def talk_of(sentence: str, before: Sequence[Said], evidence: Evidence, names: Names) -> Talk:
    """A sentence in its place."""
    return Talk(
        text=sentence,
        said=said_of(sentence, evidence, names),
        before=tuple(before[-REMEMBERED:]),
        evidence=evidence,
    )
