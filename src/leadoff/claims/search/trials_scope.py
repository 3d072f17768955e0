"""Which boards and states a sentence on holding may be about, from what it names and what was named before it."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from leadoff.claims.rows import constant
from leadoff.claims.search.trials_heard import Part
from leadoff.claims.spoken.evidence import Evidence
from leadoff.claims.spoken.reading import Said
from leadoff.claims.spoken.settings import near_clock
from leadoff.claims.spoken.values import Num, Want
from leadoff.claims.values import Trial, number_of

_CLOCKS = frozenset({"bus_mhz", "clock", "core_mhz"})
_WAITS = frozenset({"waits", "dram_read_ws", "dram_write_ws"})
_L2 = frozenset({"l2", "l2_read"})
_BEFORE_CLOCK = frozenset(
    {"at", "on", "to", "with", "bus", "around", "about", "past", "the", "of", "by", "from"}
)
_SLOWEST = constant("slowest_clock_mhz")
"""No clock of the trade's boards is below this many megahertz; smaller bare numbers are counts or ratios."""


class Scope(msgspec.Struct, frozen=True, kw_only=True):
    """Boards, what is said of their states, and every run, failure and test of those states. ``named``: settings were
    said in this sentence, ``carried``: before it. ``pooled``: tests of all boards of the book together."""

    boards: tuple[str, ...]
    wants: tuple[Want, ...]
    trials: tuple[Trial, ...]
    named: bool
    carried: bool
    pooled: bool = False

    def of(self, board: str) -> Scope:
        """The same for one board."""
        mine = tuple(t for t in self.trials if t.board == board)
        return msgspec.structs.replace(self, boards=(board,), trials=mine)


class Mentions(msgspec.Struct, frozen=True, kw_only=True):
    """Boards and settings of a sentence or of a part of one. ``read`` are signs of numbers taken for clocks,
    ``figures`` scores that may tell which state is meant."""

    boards: tuple[str, ...] = ()
    groups: tuple[tuple[str, ...], ...] = ()
    wants: tuple[Want, ...] = ()
    read: frozenset[str] = frozenset()
    figures: tuple[Num, ...] = ()


def mentions(parts: Sequence[Part], said: Said, evidence: Evidence) -> Mentions:
    """What these parts name. A bare number is a clock where it stands as one and a board of the book ran so, or
    after ``at``."""
    boards = tuple(dict.fromkeys(said.boards[int(s[1:])] for p in parts for s in p.signs("b")))
    groups = tuple(dict.fromkeys(said.groups[int(s[1:])] for p in parts for s in p.signs("k")))
    wants = [_taken_out(said.want(s), p) for p in parts for s in p.signs("s") if not _reference(p, s)]
    read: list[str] = []
    clocks = _known_clocks(evidence, boards or [b for g in groups for b in g])
    for p in parts:
        for n, after in p.ints:
            before = _before(p, n.text)
            if n.value < _SLOWEST or (after in _COUNTED and not (before == "at" and after == "starts")):
                continue
            ran = any(near_clock(c, f"{n.value:g}") for c in clocks)
            if before in ("at", "bus", "on", "to", "past") or (
                ran and (before in _BEFORE_CLOCK or len(p.words) == 1)
            ):
                wants.append(Want(f"{n.value:g} MHz", (("clock", "clock", f"{n.value:g}"),)))
                read.append(n.text)
    scores = [
        n for p in parts for s in p.signs("n") if (n := said.num(s)).kind in ("bare", "value") and n.places
    ]
    return Mentions(
        boards=boards,
        groups=groups,
        wants=tuple(w for w in wants if not w.bare),
        read=frozenset(read),
        figures=tuple(scores),
    )


def _reference(p: Part, sign: str) -> bool:
    """``same as with CAS 3``: what it is held against, and not how it is set."""
    at = next(i for i, w in enumerate(p.words) if w.sign == sign)
    near = [w.text for w in p.words[max(0, at - 4) : at]]
    return near[-2:] in (
        ["as", "with"],
        ["as", "at"],
        ["like", "with"],
        ["like", "at"],
        ["than", "with"],
        ["than", "at"],
    ) and (bool({"same", "just", "as", "unlike"} & set(near[:-2])) or near[-2] != "as")


def _taken_out(w: Want, p: Part) -> Want:
    """``every wait state taken out``: waits that are said to be gone."""
    texts = [x.text for x in p.words]
    if w.bare and "waits" in w.names and "both" in texts and texts[-1] in ("in", "on", "left", "kept"):
        return Want(w.text, tuple((n, "over", "0") for n in ("dram_read_ws", "dram_write_ws")))
    gone = any(x.text in _GONE for x in p.words)
    if not (w.bare and gone and w.names & _WAITS):
        return w
    name = next(iter(w.names & _WAITS))
    return Want(w.text, ((name, "waits" if name == "waits" else "is", "0"),))


_GONE = frozenset({"out", "off", "gone", "cleared", "removed", "dropped", "zeroed", "stripped", "eliminated"})

_COUNTED = frozenset(
    {
        "copies",
        "copy",
        "files",
        "times",
        "time",
        "starts",
        "tries",
        "attempts",
        "soaks",
        "boards",
        "machines",
        "of",
    }
    | {
        "good",
        "bad",
        "fine",
        "ok",
        "clean",
        "came",
        "hours",
        "hour",
        "days",
        "day",
        "nights",
        "night",
        "beeps",
        "errors",
    }
)


def _before(p: Part, sign: str) -> str:
    at = next(i for i, w in enumerate(p.words) if w.sign == sign)
    return p.words[at - 1].text if at else ""


def _known_clocks(evidence: Evidence, boards: Sequence[str]) -> set[float]:
    found: set[float] = set()
    for t in evidence.ledger.trials:
        if not boards or t.board in boards:
            found |= {c for c in (number_of(t.settings.get("bus_mhz")), t.core_mhz) if c is not None}
    return found


def dims(want: Want) -> frozenset[str]:
    """Settings that a want speaks of, with those that it rules out carrying over: another clock, all waits."""
    names = want.names
    if names & _CLOCKS:
        names |= _CLOCKS
    if "core_mhz" in want.names:
        names |= {"ratio"}
    if "waits" in names:
        names |= _WAITS
    return names | _L2 if names & _L2 else names


def boards_of(
    m: Mentions, before: Sequence[Mentions], *, several: bool, evidence: Evidence
) -> list[tuple[str, ...]]:
    """Boards that may be meant, the likeliest first; empty where none was ever named. ``several``: the sentence
    speaks of more than one."""
    if m.boards:
        return [m.boards]
    told = next((x for x in reversed(before) if x.boards or x.groups), None)
    if m.groups:
        group = m.groups[0]
        inside = [b for b in (told.boards if told else ()) if b in group]
        if several or len(m.groups) > 1:
            return [tuple(dict.fromkeys(b for g in m.groups for b in g))]
        return [(inside[0],)] if len(inside) == 1 else [(b,) for b in group]
    if told is not None:
        found = told.boards or told.groups[0]
        if len(found) == 1 or several:
            return [found]
        return [(b,) for b in found]
    only = tuple(evidence.ledger.boards)
    return [only] if len(only) == 1 else []


def carried(m: Mentions, boards: Sequence[str], before: Sequence[Mentions]) -> list[Want]:
    """Settings said before that still hold for these boards: the latest of each kind that is left open."""
    taken = {n for w in m.wants for n in dims(w)}
    out: list[Want] = []
    for x in reversed(before):
        if x.boards and boards and not set(x.boards) & set(boards):
            break
        for w in reversed(x.wants):
            if not dims(w) & taken:
                out.append(w)
        taken |= {n for w in x.wants for n in dims(w)}
    return out


def scope_of(
    evidence: Evidence,
    boards: Sequence[str],
    wants: Sequence[Want],
    *,
    named: bool,
    carried: bool,
    pooled: bool = False,
) -> Scope:
    """Everything that ran on these boards in such states."""
    settled = tuple(evidence.settle(w, boards) for w in wants)
    return Scope(
        boards=tuple(boards),
        wants=settled,
        trials=tuple(evidence.trials(boards, settled)),
        named=named,
        carried=carried,
        pooled=pooled,
    )


def combinations(wants: Sequence[Want]) -> list[tuple[Want, ...]]:
    """Where two values of one setting are said, one list for each of them."""
    groups: list[list[Want]] = []
    for w in wants:
        mine = next((g for g in groups if dims(g[0]) & dims(w) and w.names == g[0].names), None)
        if mine is None:
            groups.append([w])
        elif all(x.tests != w.tests for x in mine):
            mine.append(w)
    out: list[tuple[Want, ...]] = [()]
    for g in groups:
        out = [(*c, w) for c in out for w in g]
    return out


def value(n: Num) -> int:
    """A whole number as said."""
    return round(n.value)
