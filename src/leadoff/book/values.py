"""The frozen values that go into a book and come out of it."""

from __future__ import annotations

import os
from collections.abc import Callable
from hashlib import sha256
from typing import Generic, Literal, TypeVar

import msgspec

S = TypeVar("S")


class Draft(msgspec.Struct, frozen=True, gc=False):
    """What a caller wants written: a kind, one JSON object on one line as exact bytes, an effective time.

    ``seen`` is for inputs that waited elsewhere (a phone's queue): the heads the person had before them. Such
    an entry is not "after" anything that its ``seen`` does not reach. ``once`` is the client's own id for the
    input: sent twice, written once.
    """

    kind: str
    body: bytes
    at: str = ""
    seen: tuple[str, ...] | None = None
    once: str = ""


class Entry(msgspec.Struct, frozen=True, gc=False):
    """One entry as read. ``body`` is None when it was redacted (or is missing: ``verify`` tells which).

    ``v`` is the version of the body (its key ``v``, 1 if absent) after upcasting. ``at`` and ``body`` are
    those of the latest correction in ``Book.live``; in ``Book.entries`` they are as written.
    """

    id: str
    pen: str
    seq: int
    at: str
    kind: str
    body: bytes | None
    v: int = 1
    prev: str = ""
    seen: tuple[str, ...] = ()
    undone: bool = False
    withdrawn: bool = False
    redacted: bool = False
    corrected_by: str = ""
    newer: bool = False


class SealedFile(msgspec.Struct, frozen=True):
    """File bytes with their salt; ``digest`` = SHA-256(salt + data). A body cites ``cite``.

    What must not be kept (a photo's place) has to be taken out of ``data`` before it is sealed.
    """

    digest: str
    salt: bytes
    data: bytes

    @property
    def cite(self) -> str:
        """The JSON string by which a body cites this file."""
        return "file:" + self.digest


def seal(data: bytes) -> SealedFile:
    """Salt and digest for file bytes, to be kept by ``Book.append(drafts, files=[...])``."""
    salt = os.urandom(16)
    return SealedFile(sha256(salt + data).hexdigest(), salt, data)


class Record(msgspec.Struct, frozen=True, gc=False):
    """An entry as it travels between books: the exact line, the salt and the exact body."""

    id: str
    line: bytes
    salt: bytes | None
    body: bytes | None


class AmendResult(msgspec.Struct, frozen=True):
    """What an amend did.

    ``entries``: the amends written. ``orphaned``: live entries that cite the amended one (they stay as they
    are). ``mentioned``: after a redaction, entries whose own bodies repeat a text of the redacted one: look
    at them. ``left``: places a redaction could not reach, as sentences; empty when nothing is left.
    """

    entries: tuple[Entry, ...]
    orphaned: tuple[str, ...] = ()
    mentioned: tuple[str, ...] = ()
    left: tuple[str, ...] = ()


class MergeReport(msgspec.Struct, frozen=True):
    """What a merge or import brought: ids new here, bodies healed here, bodies dropped by a redaction,
    forks.
    """

    added: tuple[str, ...]
    already: int
    healed: tuple[str, ...]
    dropped: tuple[str, ...]
    files: int
    forks: tuple[Fork, ...]
    newer: tuple[str, ...]
    refused: tuple[Fault, ...] = ()
    left: tuple[str, ...] = ()


class Fork(msgspec.Struct, frozen=True):
    """Two or more entries that one pen wrote at one place: a copied config folder, or a forged line. All are
    kept.
    """

    pen: str
    seq: int
    entries: tuple[str, ...]


class Fault(msgspec.Struct, frozen=True):
    """One damaged place: the entry (or file digest), a stable ``kind``, and a sentence."""

    entry: str
    kind: str
    text: str


class PenLine(msgspec.Struct, frozen=True):
    """One pen in the book: how many entries it wrote and its last one."""

    pen: str
    entries: int
    head: str


class VerifyReport(msgspec.Struct, frozen=True):
    """What a check found. ``faults`` is empty when the book is whole; ``notes`` are not damage."""

    entries: int
    checked: int
    redacted: int
    heads: tuple[str, ...]
    pens: tuple[PenLine, ...]
    faults: tuple[Fault, ...]
    forks: tuple[Fork, ...]
    notes: tuple[str, ...]

    @property
    def good(self) -> bool:
        return not self.faults


class PenState(msgspec.Struct, frozen=True):
    """Which pen writes next, and why: the same as before, the first one here, or a new one (and the
    reason).
    """

    pen: str
    why: Literal["same", "first", "copied", "restored"]
    text: str


class Fold(msgspec.Struct, Generic[S], frozen=True):
    """A pure function over live entries in fold order, with a name and version for the cache.

    ``step(state, entry)`` returns the next state and may change the state it was given. Without ``encode``
    and ``decode`` nothing is cached. Change ``version`` whenever the result of the same entries would change.
    """

    name: str
    version: int
    initial: Callable[[], S]
    step: Callable[[S, Entry], S]
    kinds: frozenset[str] | None = None
    encode: Callable[[S], bytes] | None = None
    decode: Callable[[bytes], S] | None = None


class RebuildReport(msgspec.Struct, frozen=True):
    """Entries read, stored columns that differed from the journal and were set right, folds computed anew."""

    entries: int
    mended: int
    folds: tuple[str, ...]
