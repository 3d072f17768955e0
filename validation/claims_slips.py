"""Slips put into a ten-year book and looked for again: entered twice, clocks that do not multiply, seconds as a rate.

A record that vanishes when adjusted needs no planting: a faster card makes one in most books, and the truth knows it;
books whose best states of one card were left out give the rest.
"""

from __future__ import annotations

import dataclasses
import math
from collections import Counter
from datetime import datetime, timedelta
from fractions import Fraction

import numpy as np
from claims_books import (  # type: ignore[import-not-found,unused-ignore]
    RIGS,
    Made,
    World,
    ledger,
)

from leadoff.claims.doubts import doubts, vanished
from leadoff.claims.standings import Fields

FRAMES = 2134.0  # invented length of the timed flight, for seconds typed where a rate belongs
EACH = 2
KINDS = {"twice": "entered_twice", "clock": "clocks_disagree", "unit": "stands_out"}


def planted(made: World, seed: int) -> tuple[World, list[tuple[str, int]]]:
    """The book with ``EACH`` slips of every kind; each with its kind and its place in the book."""
    rng = np.random.default_rng([seed, 7])
    runs: list[tuple[str, Made]] = [("", m) for m in made.runs]
    for kind in KINDS:
        for _ in range(EACH):
            free = [
                i
                for i, (k, m) in enumerate(runs)
                if not k and (kind != "clock" or m.settings["ratio"] != "1")
            ]
            i = int(rng.choice(free))
            m = runs[i][1]
            if kind == "twice":
                later = datetime.fromisoformat(m.at) + timedelta(seconds=float(rng.uniform(5.0, 60.0)))
                runs.insert(i + 1, (kind, dataclasses.replace(m, at=later.strftime("%Y-%m-%dT%H:%M:%SZ"))))
            elif kind == "clock":
                half = Fraction(m.settings["ratio"]) + Fraction(1, 2)
                runs[i] = (kind, dataclasses.replace(m, core_mhz=Fraction(m.settings["bus_mhz"]) * half))
            else:
                runs[i] = (
                    kind,
                    dataclasses.replace(m, readings=tuple(round(FRAMES / v, 1) for v in m.readings)),
                )
    return World(tuple(m for _, m in runs), made.effects), [(k, i) for i, (k, _) in enumerate(runs) if k]


@dataclasses.dataclass
class Slips:
    """What was planted and found, by kind; false alarms over all clean runs; records that vanish when adjusted."""

    planted: Counter[str] = dataclasses.field(default_factory=Counter)
    found: Counter[str] = dataclasses.field(default_factory=Counter)
    clean: int = 0
    alarms: int = 0
    vanishing: int = 0
    vanishing_found: int = 0
    firm: int = 0
    vanishing_false: int = 0
    deleted: int = 0

    def lines(self) -> list[str]:
        """The rates in words."""
        found = [f"{KINDS[k]} {self.found[k]} of {n}" for k, n in self.planted.items()]
        rate = 100.0 * self.alarms / max(1, self.clean)
        return [
            f"slips found: {', '.join(found)}; goal 95 % each; entries lost {self.deleted}",
            f"false alarms: {self.alarms} of {self.clean} clean runs = {rate:.2f} %; goal under 1 %",
            f"record that vanishes when adjusted: found {self.vanishing_found} of {self.vanishing}; said of a record "
            f"that stands {self.vanishing_false} of {self.firm}",
        ]


def look(made: World, seed: int, tally: Slips) -> None:
    """One book with its slips, and once more without them for the record."""
    slipped, where = planted(made, seed)
    book = ledger(slipped)
    found = doubts(book)
    seen = {(d.kind, d.run) for d in found}
    runs_in_doubt = {d.run for d in found if d.kind != "no_record_adjusted"}
    tally.deleted += len(slipped.runs) - len(book.trials)
    wrong = {str(i + 1) for _, i in where}
    for kind, i in where:
        tally.planted[kind] += 1
        tally.found[kind] += (KINDS[kind], str(i + 1)) in seen
    tally.clean += len(slipped.runs) - len(where)
    tally.alarms += len(runs_in_doubt - wrong)


LEAD = 0.08
CLEAR = 0.02  # log score; a smaller lead is judged neither way


def record(made: World, tally: Slips) -> None:
    """The book as it is; once more without the best states of its new card, which makes lesser ones look like a
    record; and once without those of its old cards, so that the record stands."""
    new = RIGS[-1]
    top_old = max(m.scores[-1] for m in made.runs if m.card != new)
    top_new = max(m.scores[-1] for m in made.runs if m.card == new)
    lesser = tuple(m for m in made.runs if m.card != new or m.scores[-1] < top_old - LEAD)
    standing = tuple(m for m in made.runs if m.card == new or m.scores[-1] < top_new - LEAD)
    for runs in (made.runs, lesser, standing):
        best = max(runs, key=lambda m: sum(m.readings) / len(m.readings))
        under = RIGS.index(best.card)
        lead = max((m.scores[under] for m in runs if m.card != best.card), default=-1.0) - math.log(best.true)
        if abs(lead) < CLEAR:
            continue
        said = bool(vanished(Fields(ledger(World(runs, made.effects)))))
        if lead > 0.0:
            tally.vanishing += 1
            tally.vanishing_found += said
        else:
            tally.firm += 1
            tally.vanishing_false += said
