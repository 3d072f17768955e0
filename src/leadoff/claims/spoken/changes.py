"""What a change of settings did: which settings differ, what may be named as the cause, effects held side by side."""

from __future__ import annotations

import re
from itertools import product

from leadoff.claims.spoken.evidence import reads
from leadoff.claims.spoken.relation import sizes_of
from leadoff.claims.spoken.scene import Act, Ask
from leadoff.claims.spoken.settings import L2, meets
from leadoff.claims.spoken.values import Finding, Num, Verdict, Want
from leadoff.claims.spoken.weigh import judge, weigh
from leadoff.claims.standings import Cell

V = Verdict


def family(names: frozenset[str]) -> frozenset[str]:
    """Settings that go with a named one: the timings of a cache with the cache, all wait states together."""
    out = set(names)
    if names & {"l2", "l2_read"}:
        out |= L2
    if "waits" in names:
        out |= {"dram_read_ws", "dram_write_ws"}
    if "core_mhz" in names:
        out |= {"bus_mhz", "ratio"}
    return frozenset(out)


def differing(a: Cell, b: Cell) -> frozenset[str]:
    """Settings in which two cells differ. Unknown in both is taken as untouched, as nobody noted a change."""
    one, two = a.trials[0].settings, b.trials[0].settings
    return frozenset(n for n in one.keys() | two.keys() if one.get(n) != two.get(n))


def several(a: Cell, b: Cell, w: str) -> Finding:
    """Two runs between which more than the named setting changed, or something is not known."""
    names = ", ".join(sorted(differing(a, b))) or "nothing that is noted"
    return Finding(
        verdict=V.UNTESTED,
        why=(
            f"{w}: between runs {', '.join((*a.mean.runs, *b.mean.runs))} more than one thing "
            f"changed or is unknown ({names})"
        ),
        refs=(*a.mean.runs, *b.mean.runs),
        boards=(a.board,),
        true=(
            f"{a.board}: the change in {w} came with several changes at once ({names}); which "
            f"one did it is not known"
        ),
    )


def unsplit(
    ask: Ask, pairs: list[tuple[Cell, Cell]], other: Want | None, w: str, relation: str
) -> list[Finding]:
    """More than one thing changed: which one acted is untested, unless the two states are not told apart at all."""
    even = [x for a, b in pairs if (x := weigh(ask.evidence, a, b, w)).pair is not None and not x.pair.shown]
    if other is not None and len(even) == len(pairs):
        return [judge(x, ask.evidence, relation, []) for x in even]
    return [several(*pairs[0], w)]


def meets_bare(target: Want, c: Cell) -> bool:
    return meets(target, c.trials[0].settings, c.trials[0].core_mhz)


def two_effects(ask: Ask) -> list[Finding]:
    """``more from the bus than from the multiplier``: only where each was changed alone."""
    form = (
        r"\b(more|less|better|worse)\b[^{]* (?:from|by|with|of) (?:the )?\{(s\d+)\} than (?:from|by|"
        r"with|of) (?:the )?\{(s\d+)\}"
    )
    m = re.search(form, ask.low)
    if m is None or len(ask.boards) != 1:
        return []
    ev, (one, two) = ask.evidence, (ask.said.want(s) for s in m.groups()[1:])
    used = frozenset(ask.said.signs("nswgr"))
    if one.names & two.names:
        return []
    gains: list[tuple[float, float]] = []
    for w in ask.workloads or [w for w in ev.ledger.workloads if ev.cells(w, ask.boards)]:
        cells = ev.cells(w, ask.boards)
        each = [
            [
                abs(x.pair.pct)
                for a, b in product(cells, cells)
                if differing(a, b)
                and differing(a, b) <= want.names
                and (x := weigh(ev, a, b, w)).pair is not None
            ]
            for want in (one, two)
        ]
        if all(each):
            gains.append((max(each[0]), max(each[1])))
    if not gains:
        why = f"{ask.boards[0]}: the two were not each changed alone"
        return [Finding(verdict=V.UNTESTED, why=why, boards=tuple(ask.boards), used=used, true=why)]
    ok = all((a > b) == (m[1] in ("more", "better")) for a, b in gains)
    why = "; ".join(f"{a:.1f} % against {b:.1f} %" for a, b in gains)
    return [
        Finding(
            verdict=V.SUPPORTED if ok else V.CONTRADICTED,
            why=why,
            boards=tuple(ask.boards),
            used=used,
            true=why,
        )
    ]


def cause_of_act(ask: Ask, act: Act, cause: frozenset[str], relation: str, sizes: list[Num]) -> list[Finding]:
    """A change just spoken of that one setting is said to explain: only where nothing else changed."""
    ev = ask.evidence
    assert act.other is not None
    found = []
    for board in ask.boards:
        for w in ask.workloads or list(ev.ledger.workloads):
            to, left = (ev.cells(w, [board], [x, *act.base], ask.rigs) for x in (act.target, act.other))
            pairs = [
                (a, b) for a, b in product(to, left) if a is not b and a.rig == b.rig and differing(a, b)
            ]
            clean = [(a, b) for a, b in pairs if differing(a, b) <= cause and len(differing(a, b)) == 1]
            if clean:
                found += [judge(weigh(ev, a, b, w), ev, relation, sizes) for a, b in clean]
            elif pairs:
                found += unsplit(ask, pairs, act.other, w, relation)
    return found


def cause_of_figures(
    ask: Ask, cells: list[Cell], target: Want, w: str, relation: str, nums: list[Num]
) -> list[Finding]:
    """Two scores, or one, that a setting is said to explain."""
    ev = ask.evidence
    hits = [[c for c in cells if reads(c, n)] for n in nums]
    if not all(hits):
        return []
    allowed = family(target.names)
    if len(nums) >= 2:
        pairs = [(b, a) for a, b in product(hits[0], hits[1]) if a is not b]
        instead = ask.has(r"\{n\d+\}[^{]{0,12}(?:\{w\d+\} )?(?:instead of|rather than|not|against|over) \{n")
        loose = target.bare or any(op == "over" for _, op, _ in target.tests)
        if loose and instead:
            pairs = [(a, b) for b, a in pairs]
        elif not loose or instead:
            # What is named is what the first of the two has: "67.3 instead of 65.9 because of CAS 2".
            pairs = [
                (a, b) if meets_bare(target, a) or not meets_bare(target, b) else (b, a) for b, a in pairs
            ]
    else:
        pairs = [(c, o) for c in hits[0] for o in cells if o is not c]
        pairs = [(a, b) for a, b in pairs if a.rig == b.rig]
    clean = [(a, b) for a, b in pairs if differing(a, b) and differing(a, b) <= allowed]
    if allowed <= {"bus_mhz", "ratio", "core_mhz"}:
        clean = [(a, b) for a, b in clean if len(differing(a, b)) == 1]
    if clean:
        return [
            judge(weigh(ev, a, b, w), ev, relation if relation != "differs" else "better", sizes_of(ask)[0])
            for a, b in clean[:3]
        ]
    if pairs and len(nums) >= 2 and all(len(d := differing(a, b)) == 1 and not d & allowed for a, b in pairs):
        a, b = pairs[0]
        why = (
            f"{w}: between runs {', '.join((*a.mean.runs, *b.mean.runs))} only {min(differing(a, b))} changed"
        )
        return [
            Finding(
                verdict=V.CONTRADICTED,
                why=why,
                refs=(*a.mean.runs, *b.mean.runs),
                boards=(a.board,),
                true=why,
            )
        ]
    return [several(*pairs[0], w)] if pairs else []
