"""The verb ``profile`` without a trace: the shipped profiles, and how well they foretell what they have not seen."""

from __future__ import annotations

import math
from typing import Any

from leadoff.loop.session import Session
from leadoff.record.results import Result, note


def profiles(session: Session) -> Result:
    """Names and makers of the shipped profiles; the error of the others for each one left out, against the prior.

    Errors are factors (1 is exact), middle and worst over geometries. No book is needed and none is touched.
    """
    from leadoff.memory.demand import made_with
    from leadoff.memory.left_out import QUANTITIES, left_out, prior_wins
    from leadoff.memory.profile import shipped

    found = shipped()[0]
    rows = [
        {
            "family": e.family,
            "quantity": e.quantity,
            "middle_factor": math.exp(e.median_log_error),
            "worst_factor": math.exp(e.worst_log_error),
            "prior_factor": math.exp(e.band),
            "prior_wins": e.prior_wins,
        }
        for e in left_out()
    ]
    winners = {q: "prior" if prior_wins(q) else "profiles" for q in QUANTITIES}
    data: dict[str, Any] = {
        "families": [{"name": p.name, "references": p.references, "made": p.made} for p in found.values()],
        "left_out": rows,
        "winners": winners,
        "made_with": made_with(),
    }
    won = [q for q, w in winners.items() if w == "profiles"]
    kept = [q for q, w in winners.items() if w == "prior"]
    marks = [
        note(
            "used_for", f"profiles foretell {_said(won)} better than the prior: swap rests on them for that"
        ),
        note(
            "not_used_for", f"for {_said(kept)} the prior is better: the forecast takes little of them there"
        ),
    ]
    return session.result("profiles", data, marks)


WORDS = {
    "fills": "line fills",
    "miss_share": "share that misses the second level",
    "dirty": "written lines",
    "stores": "stores that leave",
    "doubling": "the gain by doubling the second level",
    "page_miss": "page misses",
}


def _said(names: list[str]) -> str:
    return ", ".join(WORDS[n] for n in names) or "nothing"
