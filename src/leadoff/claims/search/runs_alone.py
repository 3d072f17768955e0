"""What ran alone: a card on one board only, one workload of a state, one board in a month."""

from __future__ import annotations

import re

import msgspec

from leadoff.claims.search.runs_scene import Claimed, Scene, pool_of
from leadoff.claims.search.runs_select import Asked, select
from leadoff.claims.search.runs_words import says


def alone(low: str, whole: Asked, scene: Scene) -> Claimed | None:
    """The verdict on what is said to have been nowhere else, or nothing else; ``None`` where nothing is."""
    return _housed(low, whole, scene) or _alone(low, whole, scene) or _exclusive(low, whole, scene)


def _housed(low: str, whole: Asked, scene: Scene) -> Claimed | None:
    """``the VLB card was in the Alder only``: on which boards a card ran."""
    if len(whole.rigs) != 1 or not whole.boards or not says("housed").search(low) or whole.works:
        return None
    found = select(scene.every, Asked(rigs=whole.rigs))
    ran = {t.board for t in found}
    only = says("only").search(low) is not None
    denied = re.search(r"\b(?:not|never)\b", low) is not None
    ok = ran == set(whole.boards) if only else set(whole.boards) <= ran
    if denied:
        ok = not set(whole.boards) & ran
    return Claimed(ok=ok, why=f"so on {', '.join(sorted(ran))}", runs=found, clear=not (only and denied))


def _alone(low: str, whole: Asked, scene: Scene) -> Claimed | None:
    """``of the Cedar with L2 off I have nothing but the corridor``: workloads of a state."""
    if not whole.works or not (whole.boards or whole.wants) or not says("nothing_else").search(low):
        return None
    state = msgspec.structs.replace(whole, works=(), kind="")
    found = select(scene.every if whole.boards else pool_of(state, low, scene)[0], state)
    ran = {str(t.workload) for t in found}
    why = f"of that ran {', '.join(sorted(ran)) or 'nothing'}"
    return Claimed(ok=ran == set(whole.works), why=why, runs=found)


def _exclusive(low: str, whole: Asked, scene: Scene) -> Claimed | None:
    """``in January I ran nothing but the Elm``: that no other board was run then."""
    if not whole.boards or not (whole.whens or whole.works) or not says("nothing_but").search(low):
        return None
    found = select(scene.every, msgspec.structs.replace(whole, boards=()))
    ran = {t.board for t in found}
    return Claimed(
        ok=ran == set(whole.boards), why=f"then ran {', '.join(sorted(ran)) or 'none'}", runs=found
    )
