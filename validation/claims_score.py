"""Scores the claim check on one part of the sentences, or on any file of the same form: totals, and no sentence.

    python validation/claims_score.py [seen|unseen|own|third|PATH]

A part in ``tests/claims/shut`` is a judge, scored once at the end of a piece of work: ``LEADOFF_JUDGE=1`` opens it.
Goals on sentences that no author of rules has read: 90 % right; nothing called supported that is not.
"""

from __future__ import annotations

import math
import sys
import tempfile
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "claims"))

from blind_book import write  # type: ignore[import-not-found,unused-ignore]
from blind_sentences import score  # type: ignore[import-not-found,unused-ignore]

from leadoff.loop.history import read_history
from leadoff.loop.ledger import ledger_of
from leadoff.loop.session import Session


def table(found: Counter[tuple[str, str]]) -> str:
    """Right of all for each true verdict, then the whole with its standard error, then the precision."""
    lines = []
    for true in sorted({t for t, _ in found}):
        of = sum(n for (t, _), n in found.items() if t == true)
        wrong = ", ".join(f"{g} {n}" for (t, g), n in sorted(found.items()) if t == true and g != true)
        lines.append(f"{true:16s} {found[true, true]:3d} of {of:3d}" + (f"   else: {wrong}" if wrong else ""))
    n = sum(found.values())
    p = sum(k for (t, g), k in found.items() if t == g) / n
    error = 100 * math.sqrt(p * (1 - p) / n)
    right = f"{round(p * n):3d} of {n:3d} = {100 * p:.1f} % (standard error {error:.1f})"
    lines.append(f"{'all':16s} {right}")
    called = sum(k for (_, g), k in found.items() if g == "supported")
    lines.append(f"called supported {called}, of them truly {found['supported', 'supported']}")
    return "\n".join(lines)


def main() -> None:
    """Print the table."""
    mark = sys.argv[1] if len(sys.argv) > 1 else "seen"
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        session = Session(book=str(place / "b.db"), config=place / "c", cache=place / "cache")
        write(session)
        ledger = ledger_of(read_history(session), session.book.is_before)
        print(f"claim check, {mark} part")
        print(table(score(ledger, mark)))
        session.close()


if __name__ == "__main__":
    main()
