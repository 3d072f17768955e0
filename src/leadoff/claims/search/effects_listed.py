"""Two readings beside two sides: ``17.4 on the ISA card and 24.9 on the PCI card``, ``at 33 7.6, at 40 9.1``."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import product

from leadoff.claims.rows import constant
from leadoff.claims.search.effects_mentions import Heard, Need
from leadoff.claims.search.effects_pairs import Scene, differing, fits
from leadoff.claims.spoken.changes import family
from leadoff.claims.spoken.dates import on_date
from leadoff.claims.spoken.evidence import reads
from leadoff.claims.spoken.values import Finding, Verdict
from leadoff.claims.spoken.weigh import name
from leadoff.claims.standings import Cell

V = Verdict
_BOUND = re.compile(
    r"\b(?:past|over|under|above|below|beyond|at least|at most|between|up to|short of|only \{n\d+\})\b"
)
"""Words of a bound, or of an order."""
_ORDER = re.compile(
    r"\b(?:first|second|third|fourth|fifth|last|next|then|after|before|follow\w*|rank\w*|place\w*|"
    r"behind|comes?|came|place)\b"
)
"""Words of a place in an order: whether another board comes between is asked elsewhere."""
_KINDS = ("board", "rig", "want", "run", "date")


def listed(h: Heard, scene: Scene) -> Finding | None:
    """Whether each of two readings is that of the side it stands beside; ``None`` where no two are listed so."""
    figures = [n for n in h.of("figure") if n.num is not None and n.num.mod not in ("over", "under")]
    if len(figures) != 2 or len(h.of("figure")) != 2 or len(scene.workloads) > 1:
        return None
    if _BOUND.search(h.low) or any(x.kind in ("better", "worse", "high", "low", "margin") for x in h.hits):
        return None
    sides = _sides(h, figures)
    if sides is None or (sides[0].kind == "board" and _ORDER.search(h.low)):
        return None
    loads = scene.workloads or tuple(scene.ev.ledger.workloads)
    found = [f for w in loads if (f := _on(w, figures, sides, scene)) is not None]
    if len(loads) > 1:
        found = [f for f in found if f.verdict is V.SUPPORTED]
    return found[0] if len(found) == 1 else None


def _sides(h: Heard, figures: Sequence[Need]) -> tuple[Need, Need] | None:
    """The two sides in the order of the figures: one beside each, or both and then both."""
    out: list[tuple[Need, Need]] = []
    for kind in _KINDS:
        marks = [n for n in h.of(kind) if kind != "want" or n.valued]
        if kind == "want":
            marks = [n for n in marks if sum(o.dims == n.dims for o in marks) == 2]
            dims = {n.dims for n in marks}
            marks = marks if len(dims) == 1 else []
        if len(marks) != 2 or _key(marks[0]) == _key(marks[1]):
            continue
        order = "".join(
            "f" if n.kind == "figure" else "s" for n in sorted((*figures, *marks), key=lambda n: n.at)
        )
        if order in ("fsfs", "sfsf", "ffss", "ssff"):
            out.append((marks[0], marks[1]))
        elif order in ("fssf", "sffs"):
            return None
    return out[0] if len(out) == 1 else None


def _key(n: Need) -> object:
    return n.want.tests if n.want is not None else n.name


def _on(workload: str, figures: Sequence[Need], sides: tuple[Need, Need], scene: Scene) -> Finding | None:
    boards = scene.here or {b for b, back in scene.boards.items() if back == min(scene.boards.values())}
    cells = [c for c in scene.ev.field(workload).cells if not boards or c.board in boards]
    dims = sides[0].dims
    common = [n for n in scene.wants if n.valued and not n.dims & dims]
    rigs = [n for n in scene.rigs if n.back == 0 and n not in sides]
    each = [[c for c in cells if _beside(s, c, scene) and _as_told(c, common, rigs, scene)] for s in sides]
    if not all(each) or (not boards and not scene.runs):
        return None
    right = [
        [c for c in cs if (f.num is not None and reads(c, f.num))]
        for cs, f in zip(each, figures, strict=True)
    ]
    pairs = [(a, b) for a, b in product(*right) if _one_change(a, b, sides[0])]
    if pairs:
        return _finding(V.SUPPORTED, workload, pairs[0])
    if not boards or all(right) or not all(_near(f, cs) for f, cs in zip(figures, each, strict=True)):
        return None
    return _finding(V.CONTRADICTED, workload, (each[0][0], each[1][0]))


def _near(figure: Need, cells: Sequence[Cell]) -> bool:
    """Whether a figure is of the size of a reading of these."""
    assert figure.num is not None
    off = constant("difference_most")
    return any(off * c.mean.value < figure.num.value < c.mean.value / off for c in cells)


def _beside(side: Need, c: Cell, scene: Scene) -> bool:
    match side.kind:
        case "board":
            return c.board == side.name
        case "rig":
            return c.rig == side.name
        case "run":
            return any(t.number == side.name for t in c.trials)
        case "date":
            return any(on_date(t.observed.when, side.name) for t in c.trials)
        case _:
            return fits(side, c, scene.ev)


def _as_told(c: Cell, common: Sequence[Need], rigs: Sequence[Need], scene: Scene) -> bool:
    told = all(fits(n, c, scene.ev) for n in common if n.owner in ("", c.board))
    return told and all(c.rig == n.name for n in rigs if n.owner in ("", c.board))


def _one_change(a: Cell, b: Cell, side: Need) -> bool:
    """Whether two states of one board differ in no more than what tells the sides apart."""
    if a.board != b.board or side.kind in ("run", "date"):
        return True
    return differing(a, b) <= (frozenset({"rig"}) if side.kind == "rig" else family(side.dims))


def _finding(verdict: Verdict, workload: str, two: tuple[Cell, Cell]) -> Finding:
    text = f"{workload}: {', '.join(f'{name(c)} {c.mean.value:.4g}' for c in two)}"
    refs = tuple(r for c in two for r in c.mean.runs)
    return Finding(
        verdict=verdict, why=text, refs=refs, boards=tuple(dict.fromkeys(c.board for c in two)), true=text
    )
