"""One effect held against another: ``the write wait is worth more than the read wait``."""

from __future__ import annotations

import re
from itertools import combinations

from leadoff.claims.search.effects_mentions import Heard, Need
from leadoff.claims.search.effects_pairs import Scene, differing
from leadoff.claims.spoken.changes import family
from leadoff.claims.spoken.values import Finding, Verdict
from leadoff.claims.spoken.weigh import weigh

V = Verdict
_MORE = ("high", "better", "worse")


def against(h: Heard, scene: Scene) -> Finding | None:
    """The finding on two settings, the one said to do more than the other; each must have been changed alone."""
    one = next((n for n in h.of("want") if n.role != "ref" and not n.place), None)
    two = next((n for n in h.of("want") if n.role == "ref" and not n.place), None)
    size = next((x for x in h.hits if x.kind in (*_MORE, "low")), None)
    if one is None or two is None or size is None or one.dims & two.dims or len(scene.workloads) != 1:
        return None
    if not re.search(r"\b(?:than|then)\b", h.low[size.start : two.at]):
        return None
    if not one.at < size.start < two.at and not size.start < one.at < two.at:
        return None
    boards = list(scene.here) or [b for b, back in scene.boards.items() if back == min(scene.boards.values())]
    if len(boards) != 1:
        return None
    board, workload = boards[0], scene.workloads[0]
    first, second = (_effects(n, scene, board, workload) for n in (one, two))
    if not first or not second:
        missing = (one if not first else two).want
        why = f"{board}: {workload} was not run with {missing.text if missing else 'one of the two'} changed alone"
        return Finding(verdict=V.UNTESTED, why=why, boards=(board,), true=why)
    more = size.kind in _MORE
    small, large = (second, first) if more else (first, second)
    refs = tuple(dict.fromkeys(r for pct, rs in (*first, *second) for r in rs))
    why = f"{workload} on {board}: {first[0][0]:.1f} % against {second[0][0]:.1f} %"
    holds = min(p for p, _ in large) > max(p for p, _ in small)
    fails = max(p for p, _ in large) <= min(p for p, _ in small)
    if not holds and not fails:
        return None
    return Finding(
        verdict=V.SUPPORTED if holds else V.CONTRADICTED, why=why, refs=refs, boards=(board,), true=why
    )


def _effects(n: Need, scene: Scene, board: str, workload: str) -> list[tuple[float, tuple[str, ...]]]:
    """How much the score moved, in percent, wherever this setting alone was changed."""
    cells = [c for c in scene.ev.field(workload).cells if c.board == board]
    out = []
    for a, b in combinations(cells, 2):
        moved = differing(a, b)
        if moved and moved <= family(n.dims) and (len(moved) == 1 or "l2" in moved):
            w = weigh(scene.ev, a, b, workload)
            if w.pair is not None:
                out.append((abs(w.pair.pct) if w.pair.shown and not w.pair.tied else 0.0, w.refs))
    return out
