"""Every two states that a sentence could compare, scored by how much of what was said they account for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

import msgspec

from leadoff.claims.rows import constant, table
from leadoff.claims.search.effects_mentions import Heard, Need
from leadoff.claims.spoken.dates import on_date
from leadoff.claims.spoken.evidence import Evidence, reads
from leadoff.claims.standings import Cell


class Weights(msgspec.Struct, frozen=True, kw_only=True):
    """What each thing adds to the score of a pair, chosen on sentences whose pair of runs is known. Each weight for a
    thing said further back is less by ``FADE`` for every sentence."""

    fit: float
    """A value said that the sides have."""
    unfit: float
    """A value said of a board that its side does not have."""
    moved: float
    """Two values of one setting were said, and each side has one of them."""
    kept: float
    """Two values of one setting were said, and both sides have the same."""
    named: float
    """The sides differ in a setting that was named."""
    unnamed: float
    """The sides, of one board, differ in a setting that nobody named."""
    read: float
    """A figure said is a reading of a side."""
    unread: float
    """A figure said is a reading of neither."""
    both_read: float
    """Two figures said, one reading of each side."""
    board: float
    """A board of the sentence is on no side."""
    stray: float
    """A side's board was never named."""
    compared: float
    """Both sides are of a board that was only named to hold another against."""
    older: float
    """A side's board was named, and another since."""
    kind: float
    """One board with a change of settings, or two boards, as the words of the sentence have it."""
    rig: float
    """A display card said that is on no side; two that were said and are not one on each."""
    other_rig: float
    """The sides ran with different cards and nobody spoke of cards."""
    unknown: float
    """The sides, of one board, differ in that a setting of one of them is unknown."""
    more: float
    """Each further setting in which two states of one board differ, unless both its values were said."""
    place: float
    """A value said to be where it was tried (``at 40``) that only one of two states of one board has."""
    half: float
    """A value said of no single board that one of two boards does not have."""
    best: float
    """The side is the best of its board as said."""
    run: float
    """A run said that is on no side."""
    two_runs: float
    """Two runs said, one on each side: then nothing else has to be named."""


W = Weights(**{name: row["value"] for name, row in table("search")["weights"].items()})
FADE = constant("pair_fade")
"""A thing said one sentence further back counts this much less: speakers go on from what they said last."""


class Duo(msgspec.Struct, frozen=True, kw_only=True):
    """Two states of one workload, how likely they are meant, and the settings in which they differ."""

    workload: str
    one: Cell
    two: Cell
    score: float
    differ: frozenset[str]

    @property
    def within(self) -> bool:
        return self.one.board == self.two.board


class Cues(msgspec.Struct, frozen=True, kw_only=True):
    """What the words of a sentence say of its two sides. ``cross``: two boards; ``change``: one board, changed;
    ``again``: one state on two occasions."""

    cross: bool = False
    change: bool = False
    again: bool = False


def differing(a: Cell, b: Cell) -> frozenset[str]:
    """Settings, or the rig, in which two cells differ."""
    one, two = a.trials[0].settings, b.trials[0].settings
    out = {n for n in one.keys() | two.keys() if one.get(n) != two.get(n)}
    return frozenset(out | ({"rig"} if a.rig != b.rig else set()))


def fits(need: Need, cell: Cell, ev: Evidence) -> bool:
    """Whether a state is as said."""
    return need.want is not None and ev.as_said(cell.trials[0], [need.want])


class Scene(msgspec.Struct, frozen=True, kw_only=True):
    """All that was said, sorted: every need with its fading, the boards by how lately they were named."""

    ev: Evidence
    wants: tuple[Need, ...]
    figures: tuple[Need, ...]
    rigs: tuple[Need, ...]
    runs: tuple[Need, ...]
    dates: tuple[Need, ...]
    here: frozenset[str]
    compared: frozenset[str]
    boards: dict[str, int]
    workloads: tuple[str, ...]


def scene_of(said: Sequence[Heard], ev: Evidence) -> Scene:
    """The scene a sentence is judged in: later words override earlier ones of the same dimension and board."""
    wants: list[Need] = []
    settled: set[tuple[str, str]] = set()
    for one in said:
        fresh = [n for n in one.of("want")]
        held = {(d, n.owner) for n in fresh if n.valued for d in n.dims}
        for n in fresh:
            if not any((d, o) in settled for d in n.dims for o in (n.owner,)) or not n.valued:
                wants.append(n)
        # A single value after two others of it keeps what was said before as the other end of a change.
        settled |= {k for k in held if len([n for n in fresh if n.valued and k[0] in n.dims]) > 1}
    boards: dict[str, int] = {}
    for n in (x for one in said for x in one.of("run")):
        if n.name in ev.by_number:
            boards.setdefault(ev.by_number[n.name].board, n.back)
    for n in (x for one in said for x in one.of("board")):
        boards.setdefault(n.name, n.back)
    named = said[0].of("board")
    loads = next((tuple(dict.fromkeys(n.name for n in ws)) for one in said if (ws := one.of("workload"))), ())
    if len(loads) > 1 and not said[0].of("workload") and not said[0].counted:
        loads = loads[-1:]  # the one that was spoken of last
    return Scene(
        ev=ev,
        wants=tuple(wants),
        figures=tuple(n for one in said for n in one.of("figure")),
        rigs=tuple(n for one in said for n in one.of("rig")),
        runs=tuple(n for one in said for n in one.of("run")),
        dates=tuple(n for one in said for n in one.of("date")),
        here=frozenset(n.name for n in said[0].of("board")),
        compared=frozenset(n.name for n in named if n.role == "ref")
        - {n.name for n in named if n.role != "ref"},
        boards=boards,
        workloads=loads,
    )


def duos(scene: Scene, cues: Cues) -> list[Duo]:
    """All pairs of the boards in question, the likeliest first."""
    ev = scene.ev
    boards = list(scene.boards) or list(ev.ledger.boards)
    out: list[Duo] = []
    for w in scene.workloads or tuple(ev.ledger.workloads):
        cells = [c for c in ev.field(w).cells if c.board in boards]
        best = _best(scene, cells, ev) if cells else set()
        for a, b in _pairs(cells, cues, ev, apart=bool(scene.boards) or cues.cross):
            differ = differing(a, b)
            out.append(
                Duo(workload=w, one=a, two=b, differ=differ, score=_score(scene, cues, a, b, differ, best))
            )
    return sorted(out, key=lambda d: -d.score)


def _pairs(cells: Sequence[Cell], cues: Cues, ev: Evidence, *, apart: bool) -> Iterator[tuple[Cell, Cell]]:
    """Pairs of states; of two boards only where they may be ``apart``, as a big book has too many."""
    if apart:
        yield from combinations(cells, 2)
    else:
        by_board: dict[str, list[Cell]] = {}
        for c in cells:
            by_board.setdefault(c.board, []).append(c)
        for mine in by_board.values():
            yield from combinations(mine, 2)
    if cues.again:
        for c in cells:
            if len(c.trials) > 1:
                single = [x for t in c.trials if (x := ev.of_runs([t.number])) is not None]
                yield from combinations(single, 2)


def _best(scene: Scene, cells: Sequence[Cell], ev: Evidence) -> set[int]:
    """The best cell of each board and rig among those that are as said."""
    out: set[int] = set()
    groups: dict[tuple[str, str], list[Cell]] = {}
    for c in cells:
        if all(fits(n, c, ev) for n in scene.wants if n.valued and n.owner in ("", c.board)):
            groups.setdefault((c.board, c.rig), []).append(c)
    for group in groups.values():
        out.add(id(ev.best(group)))
    return out


def _score(scene: Scene, cues: Cues, a: Cell, b: Cell, differ: frozenset[str], best: set[int]) -> float:
    within = a.board == b.board
    total = _of_boards(scene, a.board, b.board)
    if within:
        same = a.trials[0].key == b.trials[0].key and a.rig == b.rig
        total += W.kind if (cues.again if same else cues.change) else 0.0
        total += _of_changes(scene, a, b, differ)
    else:
        total += W.kind if cues.cross else 0.0
        total += sum(W.best for c in (a, b) if id(c) in best)
        total += _of_states(scene, a, b)
    return total + _of_figures(scene, a, b) + _of_rigs(scene, a, b) + _of_runs(scene, a, b)


def _fade(back: int) -> float:
    return FADE**back


def _of_boards(scene: Scene, a: str, b: str) -> float:
    total = 0.0
    sides = {a, b}
    if scene.here:
        total += W.board * len(scene.here - sides) if len(scene.here) <= 2 else 0.0
    if a == b and a in scene.compared:
        total += W.compared
    latest = min(scene.boards.values(), default=0)
    for x in sides - scene.here:
        if x not in scene.boards:
            total += W.stray if scene.boards else 0.0
        elif a == b or not scene.here:
            total += W.older * max(0, scene.boards[x] - latest)
    return total


def _of_changes(scene: Scene, a: Cell, b: Cell, differ: frozenset[str]) -> float:
    """Two states of one board: what differs should have been named, what was said should hold."""
    ev, total = scene.ev, 0.0
    mine = [n for n in scene.wants if n.owner in ("", a.board)]
    explained: set[str] = set()
    both: set[str] = set()
    by_dim: dict[frozenset[str], list[Need]] = {}
    for n in mine:
        by_dim.setdefault(n.dims, []).append(n)
    two_valued = any(len({n.want for n in ns if n.valued}) > 1 for ns in by_dim.values())
    for dims, needs in by_dim.items():
        valued = [n for n in needs if n.valued]
        tests = {n.want.tests for n in valued if n.want is not None}
        fade = _fade(min(n.back for n in needs))
        moves = bool(dims & differ)
        if len(tests) > 1:
            one = {n.want.tests for n in valued if n.want is not None and fits(n, a, ev)}
            two = {n.want.tests for n in valued if n.want is not None and fits(n, b, ev)}
            if moves and one and two and one != two:
                total += W.moved * fade
                explained |= dims & differ
                both |= dims & differ
            elif not moves and one:
                latest = min(valued, key=lambda n: (n.back, -n.at))
                total += W.kept * fade if fits(latest, a, ev) else W.unfit * fade
            else:
                total += W.unfit * fade
        elif valued:
            n = valued[0]
            hold = [fits(n, c, ev) for c in (a, b)]
            if all(hold):
                total += W.fit * fade
            elif any(hold) and "*" in dims:
                total += W.moved * fade
            elif any(hold):
                total += (W.place if n.place or two_valued else W.named if moves else W.unfit) * fade
                explained |= dims & differ
            else:
                total += W.unfit * fade
        elif moves:
            total += W.named * fade
            explained |= dims & differ
        elif min(n.back for n in needs) == 0:
            total += W.kept
    if scene.rigs:
        explained.add("rig")
        both.add("rig")
    left = differ - explained - ({"l2_read"} if "l2" in explained else set())
    sides = [c.trials[0].settings for c in (a, b)]
    unknown = {n for n in left if any(s.get(n) is None for s in sides)}
    total += W.more * max(0, len((differ & explained) - both) - (0 if both & differ else 1))
    return total + W.unnamed * len(left - unknown) + W.unknown * len(unknown)


def _of_states(scene: Scene, a: Cell, b: Cell) -> float:
    """Two boards: each side should be as was said of its board."""
    total = 0.0
    for n in scene.wants:
        if not n.valued:
            continue
        sides = [c for c in (a, b) if n.owner in ("", c.board)]
        hold = [fits(n, c, scene.ev) for c in sides]
        if not sides:
            continue
        if n.owner:
            total += (W.fit if hold[0] else W.unfit) * _fade(n.back)
        else:
            total += (
                W.fit * sum(hold) + (0.0 if any(hold) else W.unfit) + W.half * (len(hold) - sum(hold))
            ) * _fade(n.back)
    return total


def _of_figures(scene: Scene, a: Cell, b: Cell) -> float:
    total = 0.0
    sides: list[set[int]] = []
    for n in scene.figures:
        if n.num is None:
            continue
        hit = {i for i, c in enumerate((a, b)) if reads(c, n.num)}
        owned = {i for i, c in enumerate((a, b)) if n.owner in ("", c.board)}
        if n.owner and not owned:
            continue
        hit &= owned or hit
        if n.num.mod in ("over", "under"):
            continue  # a bound is met by many
        total += (W.read if hit else W.unread) * _fade(n.back)
        if hit:
            sides.append(hit)
    if len(sides) >= 2 and any(x != y for x, y in combinations(sides, 2)):
        total += W.both_read
    return total


def _of_rigs(scene: Scene, a: Cell, b: Cell) -> float:
    workload = a.trials[0].workload
    ran = scene.ev.field(workload).rigs.scores if workload else {}
    # A card that nothing ran this workload with was said of the board, or of another workload.
    rigs = [n for n in scene.rigs if n.back == 0 or n.name in ran]
    if not rigs:
        return W.other_rig if a.rig != b.rig else 0.0
    total = 0.0
    near = min(n.back for n in rigs)
    for n in rigs:
        sides = [c for c in (a, b) if n.owner in ("", c.board)] or [a, b]
        if not any(c.rig == n.name for c in sides):
            total += W.rig * _fade(n.back)
    named = {n.name for n in rigs if n.back == near}
    if len(named) >= 2 and {a.rig, b.rig} != named:
        total += W.rig * _fade(near)
    elif len(named) == 1 and a.rig != b.rig and a.board != b.board:
        total += W.other_rig
    return total


def _of_runs(scene: Scene, a: Cell, b: Cell) -> float:
    have = {t.number for c in (a, b) for t in c.trials}
    days = [t.observed.when for c in (a, b) for t in c.trials]
    missing = [n for n in scene.runs if n.name not in have]
    missing += [n for n in scene.dates if not any(on_date(when, n.name) for when in days)]
    near = min((n.back for n in scene.runs), default=0)
    here = {n.name for n in scene.runs if n.back <= near + 1}
    sides = [here & {t.number for t in c.trials} for c in (a, b)]
    both = W.two_runs if len(here) == 2 and all(sides) and sides[0] != sides[1] else 0.0
    return both + sum(W.run * _fade(n.back) for n in missing)
