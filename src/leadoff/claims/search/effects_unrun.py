"""States that a sentence names and that were never run, or only ever failed."""

from __future__ import annotations

from collections.abc import Sequence

from leadoff.claims.grade import failed
from leadoff.claims.search.effects_mentions import Heard, Need
from leadoff.claims.search.effects_pairs import Cues, Scene, fits
from leadoff.claims.spoken.evidence import Evidence
from leadoff.claims.spoken.values import Finding, Verdict
from leadoff.claims.standings import Cell

V = Verdict


def failed_there(scene: Scene, h: Heard) -> bool:
    """Whether the state that is named only ever failed: then more than a difference is spoken of."""
    boards = scene.here or frozenset(
        b for b, back in scene.boards.items() if back == min(scene.boards.values())
    )
    wants = [n.want for n in scene.wants if n.valued and n.want is not None and n.owner in ("", *boards)]
    there = scene.ev.trials(boards, wants) if wants else []
    return any(failed(t) for t in there) and not any(t.readings for t in there)


def never_run(scene: Scene, h: Heard, cues: Cues) -> Finding | None:
    """A state of a board that this sentence names and that was never run in the workload."""
    ev = scene.ev
    boards = list(scene.here) or [b for b, back in scene.boards.items() if back == min(scene.boards.values())]
    loads = scene.workloads
    if len(loads) != 1:
        return None
    for board in boards:
        mine = [c for c in ev.field(loads[0]).cells if c.board == board]
        if not mine:
            gone = ev.undefined(loads[0], board)
            if gone:
                return _undefined(loads[0], board, tuple(t.number for t in gone), boards)
            return untested(loads[0], board, "was not run there")
        if len(scene.here | set(scene.boards)) > 1 and cues.cross:
            mine_only = [n for n in h.of("want") if n.owner == board]
        else:
            mine_only = [n for n in h.of("want") if n.owner in ("", board)]
        if lacking := _lacking(mine_only, mine, ev):
            return untested(loads[0], board, f"was not run with {lacking}")
        if not cues.cross and (lacking := _lacking_before(scene, h, board, mine)):
            return untested(loads[0], board, f"was not run with {lacking}")
    return None


def _lacking(needs: Sequence[Need], cells: Sequence[Cell], ev: Evidence) -> str:
    """Values said together that no cell has: alone, or all those of which one value only was said."""
    valued = [n for n in needs if n.valued]
    for n in valued:
        if not any(fits(n, c, ev) for c in cells):
            return n.want.text if n.want else ""
    spots = {n.at for n in valued}
    groups = [[n for n in valued if n.at == at] for at in spots]
    single = [n for n in valued if n.role != "ref" and sum(o.dims == n.dims for o in valued) == 1]
    for group in (*groups, single):
        if group and not any(all(fits(n, c, ev) for n in group) for c in cells):
            return " and ".join(n.want.text for n in group if n.want)
    return ""


def _lacking_before(scene: Scene, h: Heard, board: str, cells: Sequence[Cell]) -> str:
    """The same of what was last said before of this board, unless this sentence says otherwise."""
    now = {d for n in h.of("want") for d in n.dims}
    past = [n for n in scene.wants if n.back and n.valued and n.owner in ("", board) and not n.dims & now]
    latest = min((n.back for n in past), default=0)
    return _lacking([n for n in past if n.back == latest], cells, scene.ev)


def untested(load: str, board: str, why: str) -> Finding:
    text = f"{board}: {load} {why}"
    return Finding(
        verdict=V.UNTESTED, why=text, boards=(board,), true=f"{text}; nothing can be said of it yet"
    )


def _undefined(load: str, board: str, refs: tuple[str, ...], boards: Sequence[str]) -> Finding:
    return Finding(
        verdict=V.NOT_COMPARABLE,
        why=f"{load} cannot run on {board}",
        refs=refs,
        boards=tuple(boards),
        true=f"{load} is undefined on {board}, so there is nothing to compare",
    )
