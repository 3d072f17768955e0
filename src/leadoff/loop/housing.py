"""The verb ``proof`` about the house: repeatability, drift, evenings, anchor, and the timer."""

from __future__ import annotations

from typing import Any

import msgspec

from leadoff.claims.house import House, house_of
from leadoff.claims.timer import timer as timed
from leadoff.loop.history import read_history
from leadoff.loop.ledger import ledger_of
from leadoff.loop.session import Session
from leadoff.record.quantity import Quantity, Source
from leadoff.record.results import Result


def house(session: Session, workload: str | None = None) -> Result:
    """The house as an instrument, for one workload or all that have a score.

    Raises:
        LeadoffError: a workload that the book does not have.
    """
    history = read_history(session)
    if workload is not None:
        history.workload(workload, do="name one of these, or none for all")
    ledger = ledger_of(history)
    names = [n for n in sorted(ledger.workloads) if workload in (None, n) and ledger.of(n)]
    return session.result(
        "proof", {"kind": "house", "workloads": [_view(house_of(ledger, ledger.workloads[n])) for n in names]}
    )


def timer(text: str) -> dict[str, Any]:
    """What pairs of times say of the program's timer."""
    found = timed(text)
    return {
        "kind": "timer",
        "other_over_shown_pct": Quantity(
            value=found.pct, unit="%", source=Source.COMPUTED, lo=found.lo, hi=found.hi, level=0.95
        ),
        "pairs": found.pairs,
        "verdict": found.verdict,
    }


def _view(of: House) -> dict[str, Any]:
    r = of.repeatability
    return {
        **msgspec.to_builtins(of),
        "repeatability": Quantity(
            value=100.0 * r.sd_log,
            unit="%",
            source=Source.ASSUMED if r.assumed else Source.MEASURED,
            lo=100.0 * r.lo,
            hi=100.0 * r.hi,
            why=f"from {r.pairs} repeats",
        ),
    }
