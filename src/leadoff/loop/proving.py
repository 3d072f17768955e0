"""The verb ``proof``: what a count proves, whether two rows of readings differ, how many runs it takes."""

from __future__ import annotations

import math
import re
from typing import Any

import msgspec

from leadoff.claims import binomial
from leadoff.claims.scored import scored_forecasts
from leadoff.forecast.compare import compare
from leadoff.forecast.repeat import repeatability
from leadoff.forecast.student import runs_each
from leadoff.loop.history import read_history
from leadoff.loop.ledger import ledger_of
from leadoff.loop.session import Session
from leadoff.record.errors import LeadoffError
from leadoff.record.quantity import Quantity, Source
from leadoff.record.results import Result, note
from leadoff.record.runs import Direction, Outcome, Reading, Run, Workload
from leadoff.words import reading

_COUNT = re.compile(r"\s*(\d+)\s*(?:/|of|out of)\s*(\d+)\s*(?:bad|failed|failures)?\s*")
_VERSUS = re.compile(r"\s+(?:vs\.?|versus|against)\s+")
POWER = 0.8


def forecasts(session: Session) -> Result:
    """How the sealed forecasts of this book have done, and who was closer where the user guessed too."""
    found = scored_forecasts(ledger_of(read_history(session), session.book.is_before))
    levels = ((0.5, found.hit50), (0.9, found.hit90))
    data = {
        "kind": "forecasts",
        **msgspec.to_builtins(found),
        "calibration": [{"said": level, "hits": hits, "of": of} for level, (hits, of) in levels],
    }
    return session.result("proof", data)


def proof(
    session: Session,
    text: str,
    *,
    below_pct: float | None = None,
    difference_pct: float | None = None,
    workload: str | None = None,
    lower: bool = False,
) -> Result:
    """Answer one of three questions: ``BAD/OF`` counts, ``READINGS vs READINGS``, a difference to be shown.

    Raises:
        LeadoffError: nothing of that was asked, or a figure that is none.
    """
    if m := _COUNT.fullmatch(text):
        return session.result("proof", _count(int(m[1]), int(m[2])))
    if below_pct is not None:
        return session.result("proof", _below(below_pct))
    if difference_pct is not None:
        return _needed(session, difference_pct, workload)
    sides = _VERSUS.split(text.strip())
    if len(sides) != 2 or not all(s.strip() for s in sides):
        raise LeadoffError.one(
            "ask",
            "what is to be proven? A count of failures, two rows of readings, or a difference",
            where=text,
            do="such as 0/60, or 61.2 61.5 vs 61.6 61.3; for a difference --difference 0.5",
        )
    return _rows(session, sides[0], sides[1], lower=lower)


def _count(bad: int, of: int) -> dict[str, Any]:
    if not 0 <= bad <= of or of == 0 or of > binomial.MOST:
        raise LeadoffError.one(
            "no_count",
            f"{bad} of {of} is no count: bad ones first, then all",
            where=f"{bad}/{of}",
            do="such as 0/60",
        )
    lo, hi = binomial.two_sided(bad, of)
    one = binomial.upper(bad, of)
    return {
        "kind": "count",
        "bad": bad,
        "of": of,
        "rate": Quantity(value=bad / of, unit="", source=Source.COMPUTED, lo=lo, hi=hi, level=0.95),
        "below_one_sided_95": one,
        "said": binomial.said(bad, of),
    }


def _below(pct: float) -> dict[str, Any]:
    if not 0.0 < pct < 100.0:
        raise LeadoffError.one(
            "no_rate",
            f"{pct:g} % is no rate of failures to stay below",
            where=f"{pct:g}",
            do="between 0 and 100",
        )
    n = math.ceil(math.log(0.05) / math.log1p(-pct / 100.0) - 1e-9)
    return {"kind": "clean_needed", "below_pct": pct, "clean_runs": n, "said": binomial.said(0, n)}


def _needed(session: Session, pct: float, workload: str | None) -> Result:
    history = read_history(session)
    if workload is None:
        known = _plain("", lower=False)
    else:
        known = history.workload(workload, do="name one of these, or none for the house's repeatability")
    if pct <= 0.0:
        raise LeadoffError.one(
            "no_difference", f"{pct:g} % is no difference to be shown", do="a figure above 0"
        )
    house = repeatability(known, (o.run for o in history.all_runs()))
    n = runs_each(math.log1p(pct / 100.0), house.sd_log, power_wanted=POWER)
    data = {
        "kind": "needed",
        "difference_pct": pct,
        "workload": workload,
        "repeatability_pct": Quantity(
            value=100.0 * house.sd_log,
            unit="%",
            source=Source.ASSUMED if house.assumed else Source.MEASURED,
            lo=100.0 * house.lo,
            hi=100.0 * house.hi,
            why=f"from {house.pairs} repeats",
        ),
        "power": POWER,
        "runs_each": n,
        "order": "A B B A, with a restart between blocks",
    }
    text = "the repeatability is assumed: fewer than ten repeats of this workload are in the book"
    return session.result("proof", data, [note("repeatability_assumed", text)] if house.assumed else [])


def _plain(unit: str, *, lower: bool) -> Workload:
    return Workload(name="readings", unit=unit, direction=Direction.LOWER if lower else Direction.HIGHER)


def _rows(session: Session, first: str, second: str, *, lower: bool) -> Result:
    one, two = (_readings(s) for s in (first, second))
    c = compare(_run("first", one), _run("second", two), _plain("", lower=lower))
    lo, hi = c.possible_pct
    data = {
        "kind": "difference",
        "difference": c.difference,
        "ratio_pct": c.ratio_pct,
        "p95": list(c.p95),
        "verdict": c.verdict,
        "possible_pct": [lo, hi],
        "runs_each": c.runs_each,
        "n": list(c.n),
        "advice": list(c.advice),
    }
    return session.result("proof", data)


def _readings(text: str) -> tuple[Reading, ...]:
    return tuple(reading(w) for w in text.split())


def _run(number: str, readings: tuple[Reading, ...]) -> Run:
    return Run(number=number, board="", workload="readings", outcome=Outcome.REPEATS, readings=readings)
