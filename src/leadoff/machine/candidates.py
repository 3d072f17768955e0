"""States that can be set next: every change of positions worth trying, from the board as it is."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, product

from leadoff.machine.effects import Carrier, carriers
from leadoff.machine.fold import BoardFold
from leadoff.machine.partfacts import Processor
from leadoff.record.moves import Change
from leadoff.record.settings import SETTINGS, Touch
from leadoff.record.state import State

SUPPLY = frozenset({"core_v", "io_v"})
"""Settings that no plan touches by itself: a wrong one kills."""


def position_changes(
    fold: BoardFold, state: State, part: Processor | None, *, most: int, together: int = 3
) -> Iterator[tuple[Change, ...]]:
    """Up to ``most`` sets of changed positions, fewest changes first.

    Supply jumpers, jumpers that say which parts are fitted, positions to be left alone and carriers of a ratio
    that the part ignores are not used.
    Unknown positions may be put to a known one.
    """
    usable = [c for c in carriers(fold.sheet) if _usable(c, part)]
    given = 0
    for size in range(1, together + 1):
        for chosen in combinations(usable, size):
            for positions in product(*(_others(c, state) for c in chosen)):
                yield tuple(
                    Change(name=c.id, before=state.value(c.id), after=p)
                    for c, p in zip(chosen, positions, strict=True)
                )
                given += 1
                if given >= most:
                    return


def _usable(carrier: Carrier, part: Processor | None) -> bool:
    acts_on = set(carrier.sets)
    if carrier.leave or not acts_on or acts_on & SUPPLY:
        return False
    if any(name in SETTINGS and SETTINGS[name].touch is Touch.SWAP for name in acts_on):
        return False  # such a jumper says what is fitted; moving it fits nothing
    return not (
        part is not None
        and part.locked is not None
        and all(n == "ratio" or n.startswith("pin.") for n in acts_on)
    )


def _others(carrier: Carrier, state: State) -> tuple[str, ...]:
    now = state.value(carrier.id)
    with_meaning = {p for by_position in carrier.sets.values() for p in by_position}
    return tuple(p for p in carrier.positions if p != now and p in with_meaning)
