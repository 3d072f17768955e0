"""What the amends of a book amount to: which entries are undone, withdrawn, corrected, redacted.

A pure function of the set of entries, so that any order of merging gives the same answer.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import NamedTuple

import msgspec

from leadoff.book.envelope import CITED_FILE, UNREADABLE
from leadoff.book.kinds import ONLY_WITHDRAWN


class AmendBody(msgspec.Struct, frozen=True, omit_defaults=True):
    """Body of an amend. ``to`` and ``to_at`` are the corrected body and time; ``files`` those a redaction
    drops.
    """

    v: int
    of: str
    how: str
    why: str
    to: msgspec.Raw = msgspec.Raw()
    to_at: str | None = None
    files: tuple[str, ...] = ()


class AmendRow(NamedTuple):
    """An amend as stored: ``depth`` orders it after what it amends; ``seen`` still names it when the body is
    gone.
    """

    id: str
    depth: int
    seen: tuple[str, ...]
    body: bytes | None


class Correction(NamedTuple):
    amend: str
    body: bytes | None
    at: str | None


class Standing(msgspec.Struct, frozen=True):
    """The sum of all amends. ``covered`` are the entries whose bodies must be absent."""

    undone: frozenset[str]
    withdrawn: frozenset[str]
    covered: frozenset[str]
    corrected: Mapping[str, Correction]
    dropped_files: frozenset[str]
    redactions: frozenset[str]


EMPTY = Standing(frozenset(), frozenset(), frozenset(), {}, frozenset(), frozenset())

_decode = msgspec.json.Decoder(AmendBody).decode


def read_body(body: bytes | None) -> AmendBody | None:
    """The decoded amend, or None when it is missing or of a shape this release does not know."""
    if body is None:
        return None
    try:
        return _decode(body)
    except UNREADABLE:
        return None


def targets(rows: Iterable[AmendRow]) -> set[str]:
    """Ids that the amends speak about."""
    return {said.of for row in rows if (said := read_body(row.body)) is not None}


def standing(rows: Iterable[AmendRow], kinds: Mapping[str, str]) -> Standing:
    """Evaluate all amends; ``kinds`` gives the kind of each target that is in the book.

    An undo counts unless it is itself undone. A redaction always counts, except of a redaction and of kinds
    that can only be withdrawn. Several corrections: the last by ancestry, then id. Amends of a redacted entry
    are covered with it, because a correction may repeat what was redacted.
    """
    ordered = sorted(rows, key=lambda row: (row.depth, row.id))
    if not ordered:
        return EMPTY
    said = {row.id: body for row in ordered if (body := read_body(row.body)) is not None}
    redactions = {
        row.id
        for row in ordered
        if row.id in said
        and said[row.id].how == "redact"
        and kinds.get(said[row.id].of) not in ONLY_WITHDRAWN
    }
    covered = {said[i].of for i in redactions} - redactions
    for row in ordered:
        if row.id in redactions:
            continue
        body = said.get(row.id)
        about = (body.of,) if body is not None else row.seen
        if any(i in covered for i in about):
            covered.add(row.id)
    undone: set[str] = set()
    withdrawn: set[str] = set()
    corrected: dict[str, Correction] = {}
    for row in reversed(ordered):
        body = said.get(row.id)
        if body is None or row.id in undone or row.id in covered or body.of in redactions:
            continue
        if kinds.get(body.of) in ONLY_WITHDRAWN:
            if body.how == "withdraw":
                withdrawn.add(body.of)
        elif body.how == "undo":
            undone.add(body.of)
        elif body.how == "correct" and body.of not in corrected:
            to = bytes(body.to) or None
            corrected[body.of] = Correction(row.id, to, body.to_at)
    files = {f for i in redactions for f in said[i].files}
    return Standing(
        frozenset(undone),
        frozenset(withdrawn),
        frozenset(covered),
        corrected,
        frozenset(files),
        frozenset(redactions),
    )


def cited_files(body: bytes | None) -> set[str]:
    """Digests of the files a body cites."""
    return {found.decode() for found in CITED_FILE.findall(body)} if body else set()
