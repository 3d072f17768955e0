"""What looks like a slip among runs, as marks: shown with the entry and what to do, never changed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import msgspec

from leadoff.loop.history import History, RunView
from leadoff.record.marks import Level, Mark
from leadoff.record.results import mark
from leadoff.record.runs import Direction, Workload

if TYPE_CHECKING:
    from leadoff.claims.doubts import Doubt


def doubt_marks(found: Sequence[Doubt]) -> list[Mark]:
    """One amber for each doubt, with the entry and what to do."""
    return [mark(Level.AMBER, d.kind, f"{d.text}. {d.do}", d.run, *d.others) for d in found]


def slips_among(history: History, views: Sequence[RunView]) -> tuple[Doubt, ...]:
    """What looks like a slip in runs that were entered just now and are not in ``history`` yet."""
    from leadoff.claims.doubts import doubts
    from leadoff.loop.ledger import ledger_of, with_runs

    scored = [v for v in views if v.run.readings]
    if not scored:
        return ()
    new = {name: _new(v) for v in scored if (name := v.run.workload or "") not in history.workloads}
    ledger = msgspec.structs.replace(ledger_of(history), workloads={**history.workloads, **new})
    return doubts(with_runs(ledger, scored), only=[v.run.number for v in scored])


def _new(view: RunView) -> Workload:
    """A workload that this very line made known; its direction matters to nothing that is asked here."""
    return Workload(name=view.run.workload or "", unit=view.run.unit, direction=Direction.HIGHER)
