"""What is said of sealed forecasts: the figure, whether it was sealed before, whether it held, and tallies."""

from __future__ import annotations

import re

from leadoff.claims.spoken.evidence import as_figure, reads
from leadoff.claims.spoken.forecast_tally import judgement, mean_of, sealed_for, tally_of
from leadoff.claims.spoken.scene import Ask
from leadoff.claims.spoken.values import Finding, Num, Verdict
from leadoff.claims.values import Sealed, Trial
from leadoff.record.runs import Direction

V = Verdict
CUE = (
    r"\b(?:forecasts?|forecasted|predict(?:s|ed|ion|ions)?|sealed|call(?:ed|s) (?:it|that|this)|call (?:that|this)|"
    r"called(?! (?:\w+ ){0,2}(?:stable|solid|safe|flawless|fast|slow|rock))|the band|bands|seals?|"
    r"the tool|prophecy|bet)\b"
)
WORDS = frozenset(
    {"optimistic", "pessimistic", "blown", "centre", "median", "stopwatch", "meter", "promised", "blew"}
)
"""Words that only the rules here understand."""
_OF_ONE = (
    r"\b(?:came true|came good|came off|called|spot on|held|the band|missed|was right|was wrong|inside|outside|"
    r"bang on|off by|blown)\b"
)
"""What is said of a forecast that was just spoken of."""
BEFORE = r"\b(?:before|beforehand|in advance|ahead of|prior to|first)\b"
AFTER = r"\b(?:after|afterwards|with hindsight|later than)\b"


def forecasts(ask: Ask) -> list[Finding]:
    """Sentences about forecasts; none for others."""
    repeated = ask.has(r"\bsaid\b[^,]*\{n") and bool(ask.figures())
    if not ask.has(CUE) and not (ask.scene.forecast and (repeated or ask.has(_OF_ONE))):
        return []
    seals = ask.said.seals or ([] if ask.by_name or ask.wants else list(ask.scene.seals))
    every = [s for s in ask.evidence.ledger.sealed]
    if ask.has(
        r"\b(?:no|not (?:a|any|1)) (?:\w+ )?(?:forecasts?|predictions?)\b(?! (?:has|have|"
        r"ever|missed|held|was (?:right|wrong)))"
    ):
        return [_absent(ask, every)]
    if tally := tally_of(ask, every):
        return [tally]
    boards = ask.boards
    pool = [
        s
        for s in every
        if (not boards or s.board in boards) and (not ask.workloads_named or s.workload in ask.workloads)
    ]
    wants = ask.want_list()
    stated = [s for s in pool if all(sealed_for(s, w) for w in wants)]
    if seals:
        stated = [s for s in every if s.number in seals and s in pool]
    figures = [ask.said.num(f) for f in ask.figures()]
    used = frozenset({*ask.said.signs("sgr"), *WORDS})

    def found(verdict: Verdict, s: Sealed | None, why: str, refs: tuple[str, ...] = ()) -> list[Finding]:
        return [
            Finding(
                verdict=verdict,
                why=why,
                refs=((s.number, *refs) if s else refs),
                boards=tuple(boards or ((s.board,) if s else ())),
                used=used | (frozenset() if s is None else _fitting(ask, s)),
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
            V.CONTRADICTED
            if (wants or seals or (boards and ask.workloads_named)) and len(stated) == 1
            else V.NOT_FOUND,
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
        fits = said_before != late
        if (said_held := judgement(ask)) is not None and chosen.answered_by:
            runs = [mean_of(ask.evidence.by_number[r]) for r in chosen.answered_by]
            fits = fits and all(chosen.lo <= x <= chosen.hi for x in runs) == said_held
        return found(V.SUPPORTED if fits else V.CONTRADICTED, chosen, text, numbers)
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
    judged = judgement(ask)
    beside = _beside(ask)
    if beside is not None:
        if not results:
            return found(V.UNTESTED, chosen, text)
        ok = all((mean_of(t) > chosen.median) == (beside == "above") for t in results)
        if beside in ("beat", "short"):
            up = ask.evidence.ledger.workloads[chosen.workload].direction is Direction.HIGHER
            ok = all(((mean_of(t) > chosen.median) == up) == (beside == "beat") for t in results)
        if not ok:
            return found(V.CONTRADICTED, chosen, text, numbers)
        judged = judgement(ask, re.sub(_CENTRE, " ", ask.low))
        if judged is None:
            return found(V.SUPPORTED, chosen, text, numbers)
    if judged is not None:
        if not results:
            return found(V.UNTESTED, chosen, text)
        if late and not chosen.answered_by:
            return found(
                V.CONTRADICTED, chosen, f"{text}; sealed after the run, so it called nothing", numbers
            )
        inside = all(chosen.lo <= mean_of(ask.evidence.by_number[r]) <= chosen.hi for r in chosen.answered_by)
        ok = inside == judged
        if ok and not judged and not _direction_fits(ask, chosen):
            ok = False
        return found(V.SUPPORTED if ok else V.CONTRADICTED, chosen, text, numbers)
    if figures:
        return found(V.SUPPORTED, chosen, text, numbers)
    if ask.has(
        r"\b(?:no run|(?:not|never)(?: been)? tried|untried|never been run|not been (?:run|tried|"
        r"tested)|open|waiting)\b"
    ):
        return found(V.CONTRADICTED if results else V.SUPPORTED, chosen, text, numbers)
    return found(V.NOT_PLACED, chosen, text)


def _fitting(ask: Ask, s: Sealed) -> frozenset[str]:
    """Numbers of the sentence that are this forecast's or its runs', or sizes of a difference."""
    runs = [ask.evidence.by_number[r] for r in (*s.answered_by, *s.late_for)]
    out = set()
    for sign in ask.said.signs("n"):
        n = ask.said.num(sign)
        own = any(as_figure(v, n) for v in (s.median, s.lo, s.hi)) or any(reads(t, n) for t in runs)
        if n.kind == "either":
            own = abs((s.hi - s.lo) / 2 - n.value) <= 0.1 * n.value + 0.05
        if n.kind in ("difference", "pct", "count", "all", "hours") or own:
            out.add(sign)
    return frozenset(out)


def _off_by(ask: Ask, s: Sealed, results: list[Trial], n: Num) -> bool:
    """How far the forecast was from what came: ``a frame too high``, ``less than half a frame apart``."""
    value = sum(mean_of(t) for t in results) / len(results)
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


_CENTRE = (
    r"\b(above|over|higher than|more than|below|under|lower than|less than|beat|beats|better than|"
    r"ahead of|loses to|"
    r"short of|behind|worse than) (?:the |its |that |a |my )*(?:centre|middle|median|figure|forecast|"
    r"prediction|predicted|seal|sealed)"
    r"(?: (?:of|for|in) (?:the )?(?:forecast|band|prediction))?\b(?! band)"
)


def _beside(ask: Ask) -> str | None:
    """On which side of the middle of its forecast a run is said to have come out."""
    m = re.search(_CENTRE, ask.low)
    if m is None:
        return None
    if m[1] in ("beat", "beats", "better than", "ahead of"):
        return "beat"
    if m[1] in ("loses to", "short of", "behind", "worse than"):
        return "short"
    return "above" if m[1] in ("above", "over", "higher than", "more than") else "below"


def _absent(ask: Ask, every: list[Sealed]) -> Finding:
    """``there is no forecast for that``: true by absence."""
    pool = [s for s in every if s.board in ask.boards and all(sealed_for(s, w) for w in ask.want_list())]
    if ask.workloads_named:
        pool = [s for s in pool if s.workload in ask.workloads]
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
            at = (ends[0].lo, ends[0].hi)
            return ends[0], [n for n in figures if not any(abs(n.value - x) < 0.051 for x in at)]
        read = [
            s
            for s in pool
            if any(reads(ask.evidence.by_number[r], n) for r in s.answered_by for n in figures)
        ]
        if len(read) == 1 and judgement(ask) is not None and len(figures) == 1:
            return read[0], figures
        return None, figures
    if len(pool) == 1:
        return pool[0], []
    told = [s for s in pool for n in ask.scene.figures if as_figure(s.median, n)]
    if len(told) == 1 and not ask.workloads_named and not ask.wants:
        return told[0], []
    tried = [s for s in pool if s.answered_by]
    return (tried[0] if len(tried) == 1 else None), []


def _direction_fits(ask: Ask, s: Sealed) -> bool:
    runs = [mean_of(ask.evidence.by_number[r]) for r in s.answered_by]
    value = sum(runs) / len(runs)
    if ask.has(r"\b(?:too high|optimistic|overshot|fell short|short of|below)\b"):
        return value < s.lo
    if ask.has(r"\b(?:too low|pessimistic|undershot|above|beat)\b"):
        return value > s.hi
    return True


def _words(s: Sealed) -> str:
    return f"forecast {s.number} for {s.board}: {s.workload} {s.median:g} ({s.lo:g} to {s.hi:g})"
