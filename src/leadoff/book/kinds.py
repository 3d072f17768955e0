"""The kinds of entry this release writes. Others come from newer programs: kept, exported, listed as
newer.
"""

from __future__ import annotations

from typing import Final

AMEND: Final = "amend"

KINDS: Final = frozenset(
    {
        "board",
        "row",
        "party",
        "state",
        "did",
        "run",
        "finding",
        "fact",
        "forecast",
        "guess",
        "mark",
        "deal",
        AMEND,
    }
)

ONLY_WITHDRAWN: Final = frozenset({"forecast"})
"""Kinds that can be withdrawn but never undone, corrected or redacted: a missed forecast must stay in the
score.
"""

HOWS: Final = ("undo", "correct", "withdraw", "redact")

FORMAT: Final = 1
"""Version of the book format (envelope, tables' meaning, archive). A higher number in a book: read, never
write.
"""

HEAD_REVISION: Final = "0002"
"""The newest migration of the tables. Known here so that a current book is opened without Alembic and SQLAlchemy
(0.3 s)."""
