"""The verbs under ``book``."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import msgspec

from leadoff.loop.session import Session
from leadoff.record.errors import Problem
from leadoff.record.marks import Level, Mark
from leadoff.record.results import Result, mark, note

SELF_HELD = (
    "a chain that its owner holds shows damage and careless edits; it convinces others only if the head's "
    "fingerprint left the house before"
)


def verify(session: Session, *, quick: bool = False) -> Result:
    """Check the chain; a damaged book is not ok and names what is damaged."""
    report = session.book.verify(since_checkpoint=quick)
    data = {
        "entries": report.entries,
        "checked": report.checked,
        "pens": [msgspec.to_builtins(p) for p in report.pens],
        "faults": [msgspec.to_builtins(f) for f in report.faults],
        "forks": [msgspec.to_builtins(f) for f in report.forks],
        "redacted": report.redacted,
        "heads": list(report.heads),
    }
    marks: list[Mark] = [note("self_held", SELF_HELD)]
    marks += [
        mark(
            Level.AMBER,
            "forked",
            f"pen {f.pen[:8]} wrote {len(f.entries)} entries as its number {f.seq}: all kept",
        )
        for f in report.forks
    ]
    marks += [note("book", text) for text in report.notes]
    errors = [
        Problem(
            code=f"damaged_{f.kind}" if not f.kind.startswith("damaged") else f.kind,
            text=f.text,
            where=f.entry,
            do="restore that entry by merging a backup: `leadoff book merge BACKUP.db`",
        )
        for f in report.faults
    ]
    return session.result("book", data, marks, errors)


def backup(session: Session, file: str | None) -> Result:
    """An online copy of the book."""
    path = session.book.backup(Path(file)) if file else session.book.backup()
    return session.result("book", {"backup": str(path)})


def merge(session: Session, other: str) -> Result:
    """Set union with another book."""
    from leadoff.book import open_book

    session.may_begin()
    with open_book(other, session.config, create=False) as theirs:
        report = session.book.merge(theirs)
    return session.result("book", _merged(report), _merge_marks(report))


def import_(session: Session, file: str) -> Result:
    """Set union with an export."""
    session.may_begin()
    report = session.book.import_(Path(file))
    return session.result("book", _merged(report), _merge_marks(report))


def _merged(report: Any) -> dict[str, Any]:
    return {
        "added": list(report.added),
        "already": report.already,
        "healed": list(report.healed),
        "dropped": list(report.dropped),
        "files": report.files,
        "forks": [msgspec.to_builtins(f) for f in report.forks],
        "newer": list(report.newer),
        "refused": [msgspec.to_builtins(f) for f in report.refused],
    }


def _merge_marks(report: Any) -> list[Mark]:
    marks = [
        mark(
            Level.AMBER,
            "forked",
            f"pen {f.pen[:8]} wrote {len(f.entries)} entries as its number {f.seq}: all kept",
        )
        for f in report.forks
    ]
    marks += [mark(Level.RED, "not_taken", f.text, f.entry) for f in report.refused]
    if report.newer:
        marks.append(note("newer", f"{len(report.newer)} entries are of a newer leadoff: kept and not read"))
    return marks + [mark(Level.AMBER, "left_over", text) for text in report.left]


def export(session: Session, file: str) -> Result:
    """Everything as a zip."""
    count = session.book.export(Path(file))
    return session.result("book", {"exported": file, "entries": count})


def rebuild(session: Session) -> Result:
    """Derived columns and folds anew."""
    report = session.book.rebuild()
    return session.result(
        "book", {"entries": report.entries, "mended": report.mended, "folds": list(report.folds)}
    )


def redact(session: Session, entry: str, why: str) -> Result:
    """Remove a body for good."""
    found = session.book.get(entry)
    done = session.book.amend(found.id, "redact", why, at=session.at)
    marks = [mark(Level.RED, "left_over", text) for text in done.left]
    marks += [
        mark(Level.AMBER, "mentioned", f"entry {e[:12]} repeats words of what was removed: look at it", e)
        for e in done.mentioned
    ]
    data = {"redacted": found.id, "kind": found.kind, "orphaned": list(done.orphaned)}
    return session.result("book", data, marks)
