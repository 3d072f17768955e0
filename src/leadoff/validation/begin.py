"""The first evening of a board, and the evening a rig is changed."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np

from leadoff.record.entries import DidBody
from leadoff.record.moves import Change
from leadoff.validation.history import RISING, Teller
from leadoff.validation.limits import chance, margins
from leadoff.validation.rigs import Rig
from leadoff.validation.sheets import Draft
from leadoff.validation.telling import settled
from leadoff.validation.truth import Bench


def holding(bench: Bench, draft: Draft, rng: np.random.Generator) -> Draft:
    """The board begins in a state that holds: slower until it does."""
    board = bench.boards[draft.id]
    start = dict(draft.start)
    names = list(draft.reach)
    for step in range(80):
        if chance(margins(board, start)) > 0.97:
            return replace(draft, start=start)
        name = names[int(rng.integers(len(names)))] if step else "bus_mhz"
        values = draft.reach.get(name, (start[name],))
        start[name] = values[0] if name in RISING else values[-1]
        start = settled(start)
    raise ValueError(f"board {draft.id}: no state that holds was found from its start")


def change_rig(teller: Teller, at: datetime, rig: Rig) -> datetime:
    before = teller.true["video"]
    teller.true["video"] = rig.display
    teller.held["video"] = rig.display
    teller.boot += 1
    change = Change(name="video", before=before, after=rig.display, said=f"video {rig.display}")
    said = f"rig {rig.name}: {rig.display}, {rig.image}, {rig.drivers}"
    changes = (change,) if before != rig.display else ()
    teller.say(at, DidBody(board=teller.board, what="rig", changes=changes, minutes=15.0, said=said))
    return at + timedelta(minutes=15)
