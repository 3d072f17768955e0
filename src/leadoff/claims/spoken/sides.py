"""The two sides of a comparison: boards before and after the word that compares, with their states and rigs."""

from __future__ import annotations

import re

from leadoff.claims.spoken.bounds import THAT
from leadoff.claims.spoken.cues import COMPARES, REST, TIE
from leadoff.claims.spoken.evidence import reads
from leadoff.claims.spoken.relation import EXTREME
from leadoff.claims.spoken.scene import Ask, family_names
from leadoff.claims.spoken.values import Num, Want
from leadoff.claims.standings import Cell


def board_sides(ask: Ask) -> tuple[list[str], list[str]]:
    """Boards before and after the word that compares."""
    said = ask.said
    order: list[tuple[int, list[str]]] = []
    for s in said.signs("bk"):
        members = [said.boards[int(s[1:])]] if s[0] == "b" else list(said.groups[int(s[1:])])
        order.append((said.at(s), members))
    rest = re.search(REST, ask.low)
    named = [b for _, bs in order for b in bs]
    everyone = list(ask.evidence.ledger.boards)
    if len(set(named)) == 1 and ask.has(r"\bno board\b|\bnobody\b"):
        return [b for b in everyone if b not in named], named[:1]
    if not order and len(ask.scene.boards) == 2 and ask.has(r"\b(?:between|of) them\b|\bapart\b"):
        return [ask.scene.boards[0]], [ask.scene.boards[1]]
    alone = [said.boards[int(s[1:])] for s in said.signs("b")]
    if len(set(alone)) == 1 and said.signs("k") and len(set(named)) > 1:
        return alone[:1], [b for b in dict.fromkeys(named) if b != alone[0]]
    if rest and named:
        return named[:1], [b for b in ask.evidence.ledger.boards if b not in named]
    if (
        not order
        and len(ask.scene.boards) == 2
        and re.search(r"\b(?:ties?|tied|level|same|nothing between|neck)\b", ask.low)
    ):
        return [ask.scene.boards[0]], [ask.scene.boards[1]]
    if not order and len(ask.scene.boards) == 2 and not ask.wants and (pair := _by_readers(ask)):
        return pair
    sized = any(ask.said.num(s).kind in ("factor", "part") for s in ask.said.signs("n"))
    pointing = (
        re.match(r"(?:so |and |well |now |, )*(?:that|this|which|makes)\b", ask.said.plain.low) is not None
        or re.match(
            r" (?:only |just |about )?\{n\d+\} (?:slower|faster|quicker|longer|as|less|more|that|of that)\b",
            ask.low,
        )
        is not None
    )
    unnamed = not order and len(ask.scene.boards) == 2 and not ask.wants and not ask.figures()
    if unnamed and sized and pointing:
        return [ask.scene.boards[0]], [ask.scene.boards[1]]
    one = next(iter(named), None)
    if one is not None and len(set(named)) == 1 and ask.scene.boards and ask.scene.boards[0] != one:
        sized = any(ask.said.num(s).kind in ("factor", "part") for s in ask.said.signs("n"))
        after = r"(?:\b(?:than|as|of|against|versus|to|behind|over)|\{n\d+\}) (?:the |my )?\{b\d+\}"
        subject = re.match(r"(?:so |and |now |well , )?(?:that|this|which) ", ask.said.plain.low) is not None
        if (sized and not ask.wants) or ask.has(THAT) or (subject and ask.has(after)):
            return ([ask.scene.boards[0]], [one]) if ask.has(after) else ([one], [ask.scene.boards[0]])
    if one in ask.scene.boards and len(ask.scene.boards) == 2 and len(set(named)) == 1 and not ask.wants:
        other = [b for b in ask.scene.boards if b != one]
        last = re.search(r"\b(?:than|against|versus|vs|to|beats?|beat|behind|as) (?:the )?\{b\d+\}", ask.low)
        return (other, [str(one)]) if last else ([str(one)], other)
    if (
        one is not None
        and len(set(named)) == 1
        and one not in ask.scene.boards
        and len(ask.scene.boards) == 1
        and not ask.wants
    ):
        against = r"\b(?:than|of|against|versus|to|as fast as|beats?|loses to|behind) (?:the |my )?\{b\d+\}"
        if re.search(against, ask.low):
            return [ask.scene.boards[0]], [one]
        if ask.has(
            r"\b(?:faster|quicker|slower|ahead|behind|better|worse|in front|level|wins?|won|loses|"
            r"as fast|as quick|as long|longer)\b"
        ):
            return [one], [ask.scene.boards[0]]
    if len(set(named)) < 2:
        return [], []
    m = re.search(
        rf"(?:{COMPARES})|(?:{TIE})|\bthan\b|\{{n\d+\}} (?:as fast as )?(?:the )?\{{b",
        ask.low,
    )
    cut = m.start() if m else 0
    left = [b for at, bs in order if at < cut for b in bs]
    right = [b for at, bs in order if at >= cut for b in bs if b not in left]
    if not left or not right:
        first = order[0][1]
        left, right = (
            first[:1] if len(order) == 1 else first,
            [b for b in named if b not in (first[:1] if len(order) == 1 else first)],
        )
    return left, right


def _by_readers(ask: Ask) -> tuple[list[str], list[str]] | None:
    """Two scores without names: which of the two boards just spoken of reads which."""
    figures = [ask.said.num(f) for f in ask.figures()]
    if len(figures) != 2 or len(ask.workloads) != 1:
        return None
    one, two = ask.scene.boards
    for a, b in ((one, two), (two, one)):
        if _reads(ask, a, ask.workloads[0], figures[0]) and _reads(ask, b, ask.workloads[0], figures[1]):
            return [a], [b]
    return None


def sided_wants(ask: Ask, board_sign: dict[str, int]) -> dict[str, list[Want]]:
    """State words by the board they follow; those before any board are of all."""
    out: dict[str, list[Want]] = {b: [] for b in board_sign}
    first = min(board_sign.values())
    last = max(board_sign.values())
    for s in ask.wants:
        at = ask.said.at(s)
        owners = [b for b, p in board_sign.items() if p < at]
        want = ask.said.want(s)
        shared = len(ask.wants) == 1 and at > last and all(_has_state(ask, b, want) for b in out)
        if at < first or shared:
            for b in out:
                if shared or board_sign[b] == first or _has_state(ask, b, want):
                    out[b].append(want)
        else:
            mine = out[max(owners, key=lambda b: board_sign[b])]
            # "At 66 the one against the other at 100": what was said first is not of the other.
            mine[:] = [w for w in mine if not family_names(w.names) & family_names(want.names)] + [want]
    return out


def _has_state(ask: Ask, board: str, want: Want) -> bool:
    return any(ask.evidence.as_said(t, [want]) for t in ask.evidence.trials([board]))


def rigs_of(ask: Ask, board: str, where: dict[str, int]) -> list[str]:
    """The rigs that were named for a board: ``the one with its own card, the other with the ISA card``."""
    own: dict[str, list[str]] = {}
    for m in re.finditer(
        r"\{(b\d+)\}[^{]{0,12}\b(?:with|under|behind|using|has|on) (?:the |its |an? )?\{(g\d+)\}", ask.low
    ):
        own.setdefault(ask.said.boards[int(m[1][1:])], []).append(ask.said.rigs[int(m[2][1:])])
    if not own or set(where) <= own.keys():
        return own.get(board, ask.rigs)
    last = len(own) == 1 and next(iter(own)) == max(where, key=lambda b: where[b])
    return ask.rigs if last and " own card" not in ask.said.plain.low else own.get(board, [])


def owner(ask: Ask, figure: str, where: dict[str, int]) -> str | None:
    """The board a figure belongs to: the last one named before it, else the first after."""
    at = ask.said.at(figure)
    before = [b for b, p in where.items() if p < at]
    return max(before, key=lambda b: where[b]) if before else min(where, key=lambda b: where[b], default=None)


def figure_sides(
    ask: Ask, a: str, b: str, figures: list[str], workload: str, where: dict[str, int]
) -> tuple[Num, Num] | None:
    """Two scores that belong to the two boards: by who reads them, else in their order."""
    if len(figures) != 2:
        return None
    one, two = (ask.said.num(f) for f in figures)
    for x, y in ((one, two), (two, one)):
        if _reads(ask, a, workload, x) and _reads(ask, b, workload, y):
            return x, y
    return one, two


def _reads(ask: Ask, board: str, workload: str, n: Num) -> bool:
    return any(reads(c, n) for c in ask.evidence.cells(workload, [board]))


def rig_order(ask: Ask) -> list[str]:
    """The rig that is judged, then the other: after ``from`` comes the other one, before the verb the judged."""
    names = list(dict.fromkeys(ask.rigs))
    swapped = (
        r"\b(?:pull\w*|tak(?:e|es|ing) out|took out|remov\w+|los(?:e|ing)|ditch\w*) (?:out )?"
        r"(?:the )?\{g\d+\}.{0,30}? "
        r"(?:fit\w*|put\w*|install\w*|plugg\w*|add\w*)(?: in)? (?:the )?\{g\d+\}|"
        r"\b(?:from|swap\w*|replac\w*|exchang\w*) (?:the )?\{g\d+\}.{0,30}? (?:to|for|by|"
        r"with) (?:the )?\{g\d+\}"
    )
    if re.search(swapped, ask.low):
        return names[::-1]
    signs = ask.said.signs("g")
    if len(signs) > 2:
        last = ask.said.rigs[int(signs[-1][1:])]
        return [last, *(n for n in names if n != last)]
    return names


def extreme(ask: Ask, board: str, cells: list[Cell], where: dict[str, int]) -> list[Cell]:
    """``in its slowest``, ``at its best``: that state of the board alone, where it is said of it."""
    for m in EXTREME.finditer(ask.low):
        which = m["which"] or m["own"]
        before = [b for b, p in where.items() if p < m.start()]
        after = [b for b, p in where.items() if p > m.start()]
        if m["own"] or not before:
            meant = min(after, key=lambda b: where[b], default=None)
        else:
            meant = max(before, key=lambda b: where[b])
        if meant == board and cells:
            best = ask.evidence.best(cells)
            if which in ("best", "fastest", "quickest"):
                return [best]
            up = best.mean.value == max(c.mean.value for c in cells)
            return [(min if up else max)(cells, key=lambda c: c.mean.value)]
    return cells
