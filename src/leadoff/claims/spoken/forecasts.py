"""What is said of sealed forecasts: the figure, whether it was sealed before, whether it held, and tallies."""

from __future__ import annotations

import re

from leadoff.claims.spoken.evidence import as_figure, reads
from leadoff.claims.spoken.scene import Ask
from leadoff.claims.spoken.settings import meets
from leadoff.claims.spoken.values import Finding, Num, Verdict
from leadoff.claims.values import Sealed, Trial

V = Verdict
CUE = (
    r"\b(?:forecasts?|forecasted|predict(?:s|ed|ion|ions)?|sealed|called(?: it)?|call(?:ed)? "
    r"(?:that|this)|the band|bands|the seal|the tool said|prophecy|bet)\b"
)
HELD = (
    r"\b(?:spot on|called|held|holds|came true|right|correct|nailed|inside|within|"
    r"hit|accurate|bang on|dead on|in the band|good|fits?|true|landed|on the money)\b"
)
MISSED = (
    r"\b(?:missed|misses|wrong|too (?:high|low|optimistic|pessimistic)|outside|off|"
    r"did not hold|optimistic|pessimistic|failed|overshot|undershot|short of|fell "
    r"short|below|above|beat|better than|worse than|miss)\b"
)
BEFORE = r"\b(?:before|beforehand|in advance|ahead of|prior to|first)\b"
AFTER = r"\b(?:after|afterwards|with hindsight|later than)\b"


def forecasts(ask: Ask) -> list[Finding]:
    """Sentences about forecasts; none for others."""
    if not ask.has(CUE) and not (
        ask.scene.forecast
        and ask.has(
            r"\b(?:came true|called|spot on|held|the band|missed|was right|was wrong|inside|outside|bang on)\b"
        )
    ):
        return []
    every = [s for s in ask.evidence.ledger.sealed]
    if ask.has(
        r"\b(?:no|not (?:a|any|1)) (?:\w+ )?(?:forecasts?|predictions?)\b(?! (?:has|have|"
        r"ever|missed|held|was (?:right|wrong)))"
    ):
        return [_absent(ask, every)]
    tally = _tally(ask, every)
    if tally is not None:
        return [tally]
    boards = ask.boards
    pool = [
        s
        for s in every
        if (not boards or s.board in boards) and (not ask.workloads_named or s.workload in ask.workloads)
    ]
    wants = ask.want_list()
    stated = [s for s in pool if all(_meets(s, w) for w in wants)]
    if ask.said.seals:
        stated = [s for s in every if s.number in ask.said.seals and s in pool]
    figures = [ask.said.num(f) for f in ask.figures()]
    used = frozenset({*ask.said.signs("nsgr")})

    def found(verdict: Verdict, s: Sealed | None, why: str, refs: tuple[str, ...] = ()) -> list[Finding]:
        return [
            Finding(
                verdict=verdict,
                why=why,
                refs=((s.number, *refs) if s else refs),
                boards=tuple(boards or ((s.board,) if s else ())),
                used=used,
                true=why,
            )
        ]

    if not boards and not figures and not wants and not stated:
        return [Finding(verdict=V.NOT_PLACED, why="which forecast is not said")]
    if wants and not stated:
        return found(V.NOT_FOUND, None, "no forecast was sealed for that state")
    if not stated:
        return found(V.NOT_FOUND, None, f"no forecast was sealed for {', '.join(boards)}")
    chosen, rest = _choose(ask, stated, figures)
    if chosen is None:
        return found(
            V.CONTRADICTED if (wants or ask.said.seals) and len(stated) == 1 else V.NOT_FOUND,
            stated[0] if wants else None,
            "; ".join(_words(s) for s in stated[:4]),
        )
    results = [ask.evidence.by_number[r] for r in (*chosen.answered_by, *chosen.late_for)]
    text = _words(chosen) + (
        "; " + "; ".join(f"run {t.number} reads {' '.join(r.text for r in t.readings)}" for t in results[:3])
        if results
        else "; not tried yet"
    )
    numbers = tuple(t.number for t in results)
    timing = re.search(BEFORE, ask.low) or re.search(AFTER, ask.low)
    late = bool(chosen.late_for)
    if timing and not re.search(
        r"\b(?:got|came|scored|read|did|ran)\b", ask.low.replace("came after", "").replace("came before", "")
    ):
        said_before = re.search(BEFORE, ask.low) is not None
        if re.search(r"\bnot (?:\w+ )?(?:before|after)", ask.low):
            said_before = not said_before
        if not results:
            return found(V.UNTESTED if not said_before else V.SUPPORTED, chosen, text)
        return found(V.SUPPORTED if said_before != late else V.CONTRADICTED, chosen, text, numbers)
    if rest:
        if not results:
            return found(V.UNTESTED, chosen, text)
        ok = all(any(reads(t, n) for t in results) for n in rest)
        if not ok:
            return found(V.CONTRADICTED, chosen, text, numbers)
    if sizes := [n for x in ask.said.signs("n") if (n := ask.said.num(x)).kind in ("difference", "pct")]:
        if not results:
            return found(V.UNTESTED, chosen, text)
        ok = all(_off_by(ask, chosen, results, n) for n in sizes)
        return found(V.SUPPORTED if ok else V.CONTRADICTED, chosen, text, numbers)
    judged = _judgement(ask)
    if judged is not None:
        if not results:
            return found(V.UNTESTED, chosen, text)
        if late and not chosen.answered_by:
            return found(
                V.CONTRADICTED, chosen, f"{text}; sealed after the run, so it called nothing", numbers
            )
        inside = all(chosen.lo <= _mean(ask.evidence.by_number[r]) <= chosen.hi for r in chosen.answered_by)
        ok = inside == judged
        if ok and not judged and not _direction_fits(ask, chosen):
            ok = False
        return found(V.SUPPORTED if ok else V.CONTRADICTED, chosen, text, numbers)
    if figures:
        return found(V.SUPPORTED, chosen, text, numbers)
    if ask.has(r"\b(?:no run|not tried|untried|not been (?:run|tried|tested)|open|waiting)\b"):
        return found(V.CONTRADICTED if results else V.SUPPORTED, chosen, text, numbers)
    return found(V.NOT_PLACED, chosen, text)


def _off_by(ask: Ask, s: Sealed, results: list[Trial], n: Num) -> bool:
    """How far the forecast was from what came: ``a frame too high``, ``less than half a frame apart``."""
    value = sum(_mean(t) for t in results) / len(results)
    off = s.median - value if n.kind == "difference" else 100.0 * (s.median - value) / value
    if ask.has(r"\b(?:too high|optimistic|overshot|fell short|short of|below it|under it)\b") and off <= 0:
        return False
    if ask.has(r"\b(?:too low|pessimistic|undershot|above it|better than|over it)\b") and off >= 0:
        return False
    off = abs(off)
    if n.mod == "under" or ask.has(r"\bwithin \{n\d+\}"):
        return off < n.value + 1e-9
    if n.mod == "over":
        return off > n.value
    return abs(off - n.value) <= max(0.12 * n.value, 0.06)


def _absent(ask: Ask, every: list[Sealed]) -> Finding:
    """``there is no forecast for that``: true by absence."""
    pool = [s for s in every if s.board in ask.boards and all(_meets(s, w) for w in ask.want_list())]
    text = "; ".join(_words(s) for s in pool[:4]) or "no such forecast in the book"
    verdict = V.NOT_PLACED if not ask.boards else V.CONTRADICTED if pool else V.SUPPORTED
    return Finding(
        verdict=verdict,
        why=text,
        refs=tuple(s.number for s in pool),
        boards=tuple(ask.boards),
        used=frozenset(ask.said.signs("nsgr")),
        true=text,
    )


def _meets(s: Sealed, w: object) -> bool:
    from leadoff.claims.values import number_of

    core = s.core_mhz
    if core is None:
        bus, ratio = number_of(s.settings.get("bus_mhz")), number_of(s.settings.get("ratio"))
        core = bus * ratio if bus and ratio else None
    return meets(w, s.settings, core)  # type: ignore[arg-type]


def _choose(ask: Ask, pool: list[Sealed], figures: list[Num]) -> tuple[Sealed | None, list[Num]]:
    """The forecast with the figure said, else the only one, else the only one that has been tried."""
    for i, n in enumerate(figures):
        hits = [s for s in pool if as_figure(s.median, n)]
        if len(hits) == 1:
            return hits[0], figures[:i] + figures[i + 1 :]
    if len(figures) >= 2:
        a, b = sorted(n.value for n in figures[:2])
        hits = [s for s in pool if abs(s.lo - a) < 0.06 and abs(s.hi - b) < 0.06]
        if len(hits) == 1:
            return hits[0], figures[2:]
    if figures:
        ends = [
            s for s in pool for n in figures if abs(s.lo - n.value) < 0.051 or abs(s.hi - n.value) < 0.051
        ]
        if len(ends) == 1 and ask.has(r"\b(?:band|at (?:least|most)|edge|end)\b"):
            return ends[0], []
        read = [
            s
            for s in pool
            if any(reads(ask.evidence.by_number[r], n) for r in s.answered_by for n in figures)
        ]
        if len(read) == 1 and _judgement(ask) is not None and len(figures) == 1:
            return read[0], figures
        return None, figures
    if len(pool) == 1:
        return pool[0], []
    tried = [s for s in pool if s.answered_by]
    return (tried[0] if len(tried) == 1 else None), []


def _judgement(ask: Ask) -> bool | None:
    """Held (true), missed (false), or neither said."""
    missed, held = re.search(MISSED, ask.low), re.search(HELD, ask.low)
    denied = re.search(
        (
            r"\b(?:not|never|n't|neither)\b(?: \w+){0,2} ?(?:spot on|held|hold|holds|come "
            r"true|came true|right|correct|nail|inside|within|hit|accurate|in the band|miss)"
        ),
        ask.low,
    )
    if held and missed:
        held = None if missed.start() < held.start() else held
    if missed and not held:
        return bool(denied)
    if held:
        return not denied
    return None if not denied else False


def _direction_fits(ask: Ask, s: Sealed) -> bool:
    runs = [_mean(ask.evidence.by_number[r]) for r in s.answered_by]
    value = sum(runs) / len(runs)
    if ask.has(r"\b(?:too high|optimistic|overshot|fell short|short of|below)\b"):
        return value < s.lo
    if ask.has(r"\b(?:too low|pessimistic|undershot|above|beat)\b"):
        return value > s.hi
    return True


def _mean(t: Trial) -> float:
    return sum(r.value for r in t.readings) / len(t.readings)


def _words(s: Sealed) -> str:
    return f"forecast {s.number} for {s.board}: {s.workload} {s.median:g} ({s.lo:g} to {s.hi:g})"


def _tally(ask: Ask, every: list[Sealed]) -> Finding | None:
    """``four of five forecasts held``, ``every forecast held``: only those sealed before a run count."""
    counts = [s for s in ask.said.signs("n") if ask.said.num(s).kind in ("count", "all")]
    whole = ask.has(
        r"\b(?:every|all(?: of)?(?: the| my)?|each|no|none of the|both) (?:\w+ )?(?:forecasts?|"
        r"predictions?|bands?)\b"
    ) or ask.has(
        r"\b(?:forecasts|predictions|bands) (?:\w+ ){0,2}(?:all|always|never) |\bnever "
        r"(?:\w+ )?(?:missed|wrong|held)\b"
    )
    only = re.search(
        r"\b(?:only (?:1|one)|(?:1|one) (?:forecast|prediction|band)|missed once|once)\b", ask.low
    )
    if not counts and not whole and not only:
        return None
    pool = [s for s in every if s.answered_by and (not ask.boards or s.board in ask.boards)]
    inside = [s for s in pool if all(s.lo <= _mean(ask.evidence.by_number[r]) <= s.hi for r in s.answered_by)]
    text = f"{len(inside)} of {len(pool)} forecasts that were sealed before their run held"
    judged = _judgement(ask)
    if counts:
        n = ask.said.num(counts[0])
        k, of = n.value, n.of if n.of is not None else n.value
        right = len(inside) if judged is not False else len(pool) - len(inside)
        ok = of == len(pool) and k == right
    elif only and not whole:
        right = len(inside) if judged else len(pool) - len(inside)
        ok = right == 1
    else:
        none = ask.has(r"\b(?:no|none|never)\b")
        want_all = (judged is not False) != none
        ok = len(inside) == (len(pool) if want_all else 0)
        if ask.has(r"\bnot (?:every|all|each)\b"):
            ok = 0 < len(inside) < len(pool)
    used = frozenset({*ask.said.signs("nsgr")})
    return Finding(
        verdict=V.SUPPORTED if ok and pool else V.CONTRADICTED if pool else V.UNTESTED,
        why=text,
        refs=tuple(s.number for s in pool),
        boards=tuple(ask.boards),
        used=used,
        true=text,
    )
