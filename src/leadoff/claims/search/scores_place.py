"""Where a figure is said to have been read: boards, workload, state, rig, from the sentence and those before it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from itertools import product

import msgspec

from leadoff.claims.rows import constant
from leadoff.claims.search.talk import Talk
from leadoff.claims.spoken.evidence import Evidence, reads
from leadoff.claims.spoken.reading import Said
from leadoff.claims.spoken.scene import family_names
from leadoff.claims.spoken.settings import near_clock
from leadoff.claims.spoken.values import Num, Want
from leadoff.claims.standings import Cell
from leadoff.claims.values import number_of

UNITS = {"fps": "frames", "lines/s": "lines"}
"""Units of workloads by the name that a said figure carries, where the two differ."""
MOST = int(constant("places_most"))
"""So many likely places are looked at; a sentence that leaves more open is not clear."""
_OTHER = re.compile(r"\b(?:other|former|first (?:one|of)|the first|earlier|previous)\b")
_LATTER = re.compile(r"\b(?:latter|second (?:one|of)|the second|newcomer|last one)\b")
_BOTH = re.compile(
    r"\bthe (?P<one>first|former|second|latter)\b.*\bthe (?:other|second|latter|first|former)\b"
)
_AT = re.compile(
    r"(?:(?<!in )(?<!out )(?<!stands )(?<!sits )(?<!reads )(?<!lands )(?<!ends )(?<!starts "
    r")(?<!begins )(?<!opens )(?<!started )(?<!stops )(?<!stood )(?<!ended )(?<!stays )"
    r"(?<!in fact )\b(?:at|on|@)|\bbus(?: at| of| on| to| is| was)?|\bclock(?: at| of)?) (?:a |an |the |its |"
    r"just )?$"
)
_MAY_BE_AT = re.compile(r"\b(?:to|with|for|from|of|the|a) $|^ ?(?:the |a )?$|, $")
_BUS_STOOD = re.compile(
    r"\{(s\d+)\} (?:(?:was|is|stood|sat|ran|stayed|set|running|being|standing|sitting|still) )*(?:at|"
    r"on|to) (?:a |just )?$"
)
_BUS_AFTER = re.compile(r"^ ?(?:on the bus|bus|mhz|megahertz|mhz bus|fsb)\b")


class Place(msgspec.Struct, frozen=True, kw_only=True):
    """One thing the sentence may be about. No boards: the whole book. ``stated``: its state was said."""

    boards: tuple[str, ...] = ()
    workload: str | None = None
    wants: tuple[Want, ...] = ()
    rigs: tuple[str, ...] = ()
    runs: tuple[str, ...] = ()

    @property
    def stated(self) -> bool:
        return bool(self.wants or self.runs)

    def cells(self, ev: Evidence) -> list[Cell]:
        """Scores of this place."""
        if self.workload is None:
            return []
        found = ev.cells(self.workload, self.boards or ev.ledger.boards, self.wants, self.rigs)
        return [c for c in found if not self.runs or set(self.runs) & set(c.mean.runs)]


class Here(msgspec.Struct, frozen=True, kw_only=True):
    """What a sentence itself says of the place of one figure."""

    boards: tuple[str, ...] = ()
    workloads: tuple[str, ...] = ()
    wants: tuple[Want, ...] = ()
    rigs: tuple[str, ...] = ()


def boards_of(said: Said) -> tuple[str, ...]:
    """Boards named in a sentence, in its order; a kind names all of it."""
    out: list[str] = []
    for sign in said.signs("bk"):
        i = int(sign[1:])
        out += [said.boards[i]] if sign[0] == "b" else said.groups[i]
    return tuple(dict.fromkeys(out))


def fits_unit(ev: Evidence, workload: str, n: Num) -> bool:
    """Whether a figure may be a score of this workload by its unit."""
    unit = ev.ledger.workloads[workload].unit
    return not n.unit or n.unit == UNITS.get(unit, unit)


def board_choices(talk: Talk, here: Here) -> list[tuple[str, ...]]:
    """Boards that may be meant: those named, else those of the latest sentence that names some."""
    said = talk.said
    if here.boards:
        return [here.boards]
    heard = [b for b in (boards_of(s) for s in talk.before) if b]
    if _stranger_heard(talk):
        return []
    if not heard:
        only = tuple(talk.evidence.ledger.boards)
        return [only] if len(only) == 1 else [()]
    every = list(dict.fromkeys(b for bs in heard for b in bs))
    last = heard[-1]
    low = said.plain.low
    if len(every) == 2:
        if _LATTER.search(low):
            return [(every[1],)]
        if re.search(r"\bother\b", low):
            return [(b,) for b in every if (b,) != last] if len(last) == 1 else [(b,) for b in every]
        if _OTHER.search(low):
            return [(every[0],)]
    if re.search(r"\b(?:both|each|apiece|either|neither|they|them|two)\b", low):
        return [last if len(last) > 1 else tuple(every)]
    return [(b,) for b in last]


def _stranger_heard(talk: Talk) -> bool:
    """Whether the sentence that names boards last names one that the book does not have."""
    latest = next((s for s in reversed(talk.before) if s.strangers or boards_of(s)), None)
    return latest is not None and bool(latest.strangers)


def clock_of(ev: Evidence, boards: Iterable[str], n: Num) -> bool:
    """Whether some state of these boards had this bus or core clock."""
    boards = set(boards) or set(ev.ledger.boards)
    text = f"{n.value:g}"
    return any(
        near_clock(number_of(t.settings.get("bus_mhz")), text) or near_clock(t.core_mhz, text)
        for t in ev.ledger.trials
        if t.board in boards
    )


def clocks_said(said: Said, ev: Evidence, boards: Sequence[str]) -> tuple[dict[str, Want], dict[str, Want]]:
    """Bare numbers of a sentence that are clocks, and those that may be one, by their signs."""
    sure: dict[str, Want] = {}
    may: dict[str, Want] = {}
    for sign in said.signs("n"):
        n = said.num(sign)
        if n.kind != "bare" or n.mod or n.value < 14:
            continue
        at = said.at(sign)
        head, tail = said.low[:at], said.low[at + len(sign) + 2 :]
        want = Want(n.text, (("clock", "clock", f"{n.value:g}"),))
        bus = _BUS_STOOD.search(head)
        if _BUS_AFTER.search(tail) or (bus and "bus_mhz" in said.want(bus[1]).names):
            sure[sign] = want
        elif not clock_of(ev, boards, n):
            if _AT.search(head) and not n.places and n.value < 150:
                may[sign] = want
        elif _AT.search(head):
            sure[sign] = want
        elif _MAY_BE_AT.search(head) and not n.places:
            may[sign] = want
    return sure, may


def own_wants(said: Said) -> list[Want]:
    """Settings with a value."""
    return [w for w in said.wants if not w.bare and not any(op == "unknown" for _, op, _ in w.tests)]


def _by_dimension(wants: Sequence[Want]) -> list[list[Want]]:
    """Settings that speak of one thing together; of clocks that say bus and ratio each stands alone."""
    groups: list[tuple[frozenset[str], list[Want]]] = []
    for w in wants:
        names = w.names
        hit = next((g for g in groups if g[0] & names), None)
        if hit is None:
            groups.append((names, [w]))
        elif w.tests not in [x.tests for x in hit[1]]:
            hit[1].append(w)
    return [g for _, g in groups]


def states_said(wants: Sequence[Want]) -> list[tuple[Want, ...]]:
    """States that a sentence may speak of: one value of each setting that was said with several, the last first."""
    ways = [list(reversed(g)) for g in _by_dimension(wants)]
    return [tuple(c) for c in product(*ways)] if ways else [()]


def _heard_wants(talk: Talk, boards: tuple[str, ...], taken: frozenset[str]) -> list[Want]:
    """What was said before of the state of these boards, the latest word on each setting."""
    out: list[Want] = []
    taken_now = set(taken)
    for said in reversed(talk.before):
        named = boards_of(said)
        if named and boards and not set(boards) & set(named):
            continue
        here = own_wants(said)
        sure, may = clocks_said(said, talk.evidence, boards or named)
        here += [*sure.values(), *may.values()]
        fresh = [w for w in here if not family_names(w.names) & taken_now]
        out += fresh
        taken_now |= {n for w in fresh for n in (w.names | _clock_names(w))}
    return out


def _clock_names(want: Want) -> frozenset[str]:
    """A bare clock speaks of bus and core, a bus clock leaves the ratio as it was."""
    return frozenset({"clock", "core_mhz", "bus_mhz"}) if want.names & {"clock", "core_mhz"} else want.names


def _taken(wants: Sequence[Want]) -> frozenset[str]:
    return frozenset(n for w in wants for n in (w.names | _clock_names(w)))


def wants_choices(talk: Talk, boards: tuple[str, ...], here: Here) -> list[tuple[Want, ...]]:
    """States that may be meant: what is said here, with and without what was said before of the same board."""
    ev = talk.evidence
    own = here.wants
    named = bool(here.boards)
    heard = _heard_wants(talk, boards, _taken(own)) if len(boards) <= 1 else []
    out: list[tuple[Want, ...]] = []
    for state in states_said(own):
        for before in states_said(heard):
            out.append((*state, *before))
        whole = {n for w in state for n in w.names} >= {"bus_mhz", "ratio"}
        if heard and (named or whole):
            out.append(state)
    settled = [tuple(ev.settle(w, boards) for w in ws) for ws in out]
    return list(dict.fromkeys(settled))


def workload_choices(talk: Talk, here: Here, figures: Sequence[Num]) -> list[str]:
    """Workloads that may be meant: named here, else before, else by the unit of a figure."""
    ev = talk.evidence
    if here.workloads:
        return list(here.workloads)
    fits = [w for w in ev.ledger.workloads if all(fits_unit(ev, w, n) for n in figures)]
    for said in reversed(talk.before):
        named = list(dict.fromkeys(said.workloads[int(s[1:])] for s in said.signs("w")))
        if named:
            return [w for w in reversed(named) if w in fits] or (fits if any(n.unit for n in figures) else [])
    return fits if any(n.unit for n in figures) else []


def rigs_heard(talk: Talk, boards: tuple[str, ...]) -> tuple[str, ...]:
    """The display card that was last said of these boards before."""
    for said in reversed(talk.before):
        named = boards_of(said)
        if named and boards and not set(boards) & set(named):
            continue
        if found := [said.rigs[int(s[1:])] for s in said.signs("g")]:
            return tuple(found[-1:])
    return ()


def _by_figures(
    ev: Evidence, boards: Sequence[str], wants: Sequence[Want], rigs: Sequence[str], figures: Sequence[Num]
) -> list[str]:
    """The workload that nobody named, where a figure and the card or the state tell it: it was read there in that one
    and no other; or where only one was ever run there with that card."""
    if len(boards) != 1:
        return []
    with_card = [w for w in ev.ledger.workloads if rigs and ev.cells(w, boards, (), rigs)]
    if len(with_card) == 1 and figures:
        return with_card
    if not (wants or rigs) or len(figures) != 1 or not figures[0].places or figures[0].mod:
        return []
    there = [
        w for w in ev.ledger.workloads if any(reads(c, figures[0]) for c in ev.cells(w, boards, wants, rigs))
    ]
    return there if len(there) == 1 else []


def places(talk: Talk, here: Here, figures: Sequence[Num]) -> list[Place]:
    """Every likely place of a figure; none where more are open than can be told apart."""
    ev = talk.evidence
    out: list[Place] = []
    for boards in board_choices(talk, here):
        rigs = here.rigs or rigs_heard(talk, boards)
        named = workload_choices(talk, here, figures)
        for wants in wants_choices(talk, boards, here):
            for w in named or _by_figures(ev, boards, wants, rigs, figures):
                place = Place(boards=boards, workload=w, wants=wants, rigs=rigs)
                if rigs and not here.rigs and not place.cells(ev):
                    place = msgspec.structs.replace(place, rigs=())
                out.append(place)
    out = list(dict.fromkeys(out))
    return out if len(out) <= MOST else []


def shared_out(talk: Talk, clocks: Mapping[str, Want], count: int) -> list[Here] | None:
    """What is said of the place of each of so many figures: one thing said holds for all, as many things as figures
    go to them in order; ``None`` where they do not go up."""
    said = talk.said
    boards = _boards_in_order(talk)
    joined = bool(re.search(r"\b(?:both|each|all|every|any|no|neither|none|nobody)\b", said.low))
    if count > 1 and joined and len(boards) != count:
        return None
    wants = [(s, said.want(s)) for s in said.signs("s") if said.want(s) in own_wants(said)]
    wants += list(clocks.items())
    wants.sort(key=lambda x: said.at(x[0]))
    shared: list[Want] = []
    by_figure: list[list[Want]] = [[] for _ in range(count)]
    for group in _by_dimension([w for _, w in wants]):
        if count > 1 and len(group) == count:
            for i, want in enumerate(group):
                by_figure[i].append(want)
        elif len(group) == 1 or count == 1:
            shared += group
        else:
            return None
    workloads = list(dict.fromkeys(said.workloads[int(s[1:])] for s in said.signs("w")))
    rigs = list(dict.fromkeys(said.rigs[int(s[1:])] for s in said.signs("g")))
    out: list[Here] = []
    for i in range(count):
        parts = [_share(x, i, count) for x in (boards, workloads, rigs)]
        if None in parts:
            return None
        b, w, g = (tuple(p or ()) for p in parts)
        out.append(Here(boards=b, workloads=w, rigs=g, wants=(*shared, *by_figure[i])))
    return out


def _share(items: Sequence[str], i: int, count: int) -> Sequence[str] | None:
    if count == 1 or len(items) <= 1:
        return items
    return [items[i]] if len(items) == count else None


def _boards_in_order(talk: Talk) -> list[str]:
    """Boards of the sentence in its order, "the other one" as the second of two that are spoken of."""
    own = list(boards_of(talk.said))
    if len(own) == 1 and re.search(r"\bother\b", talk.said.low):
        every = dict.fromkeys(b for s in talk.before for b in boards_of(s))
        rest = [b for b in every if b != own[0]]
        if own[0] in every and len(rest) == 1:
            at = talk.said.low.find("other")
            sign = next(s for s in talk.said.signs("bk"))
            return [own[0], rest[0]] if talk.said.at(sign) < at else [rest[0], own[0]]
    if not own and (m := _BOTH.search(talk.said.low)):
        every_board = list(dict.fromkeys(b for s in talk.before for b in boards_of(s)))
        if len(every_board) == 2:
            return every_board if m["one"] in ("first", "former") else every_board[::-1]
    return own
