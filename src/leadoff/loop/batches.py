"""What was read from files in one go, so that it can be taken back as one."""

from __future__ import annotations

from collections.abc import Sequence
from hashlib import sha256
from typing import TYPE_CHECKING, TypeVar

import msgspec

from leadoff.record.entries import Body

if TYPE_CHECKING:
    from leadoff.book import Entry

B = TypeVar("B", bound=Body)


def batch_name(*said: str) -> str:
    """A name for one go: of the files' digests, the book's head before it and the time."""
    return sha256("\x1f".join(said).encode()).hexdigest()[:16]


def in_batch(body: B, batch: str) -> B:
    """A body as part of one go; kinds that cannot say so stay as they are."""
    return msgspec.structs.replace(body, batch=batch) if hasattr(body, "batch") else body


def batch_of(entry: Entry) -> str:
    """The go in which an entry was read from files, of a correction that of its new text; empty for none."""
    if entry.body is None or b'"batch":"' not in entry.body:
        return ""
    said = msgspec.json.decode(entry.body)
    if entry.kind == "amend":
        said = (said.get("to") or {}) if said.get("how") == "correct" else {}
    return str(said.get("batch") or "")


def together(alive: Sequence[Entry]) -> list[Entry]:
    """Of entries, newest first: all of the newest one's go, with the workloads that it brought; empty for none."""
    name = batch_of(alive[0]) if alive else ""
    if not name:
        return []
    mine = [e for e in alive if batch_of(e) == name]
    seqs = {e.seq for e in mine}
    first = min(seqs)
    rows = {e.seq: e for e in alive if e.kind == "row"}
    while first - 1 in rows:
        first -= 1
    brought = [e for seq, e in rows.items() if first <= seq <= max(seqs)]
    return sorted([*mine, *brought], key=lambda e: -e.seq)
