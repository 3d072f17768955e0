"""Tallies of sealed forecasts: ``five of six held``, ``just one missed``; only those sealed before a run count."""

from __future__ import annotations

import re
from collections.abc import Callable

from leadoff.claims.spoken.scene import Ask
from leadoff.claims.spoken.settings import meets
from leadoff.claims.spoken.tallies import counts_in, quantity
from leadoff.claims.spoken.values import Finding, Verdict, Want
from leadoff.claims.values import Sealed, Trial, number_of

V = Verdict
HELD = (
    r"\b(?:spot on|called|held|holds|came true|came good|came off|right|correct|nailed|inside|within|"
    r"hit|accurate|bang on|dead on|in the band|good|fits?|true|landed|on the money)\b"
)
MISSED = (
    r"\b(?:missed|misses|wrong|too (?:high|low|optimistic|pessimistic)|outside|off|"
    r"did not hold|optimistic|pessimistic|failed|overshot|undershot|short of|fell "
    r"short|below|above|beat|better than|worse than|miss|blown|blew)\b"
)
_HOLD = rf"{HELD}|\b(?:hold|come true|nail|hit)\b"
_PUT = r"(?:sealed|set|made|put|written)"
_LATE = rf"\bnot (?:been )?{_PUT}\b|\b{_PUT} (?:\w+ ){{0,2}}(?:after|too late)\b"
"""Forecasts that are no forecasts: none of the tallies counts them."""
_NOUN = r"(?:forecasts?|predictions?|seals?|bands?)"
_HOW = (
    r"(?:held|hold|missed|miss|came true|came in|was wrong|were wrong|wrong|was right|were right|"
    r"landed|failed|hit|blown)"
)
_SO = r"(?:of them |have |has |had |were |was |been |did |then |tried |and |that |which |before a run )*"


_DENIED = re.compile(r"\b(?:not|never|neither|no longer|hardly|nowhere)(?: \w+){0,3} $")


def judgement(ask: Ask, low: str | None = None) -> bool | None:
    """Held (true), missed (false), or neither said: by the first word that says either, with its own denial."""
    low = ask.low if low is None else low
    words = [(m.start(), True, m) for m in re.finditer(_HOLD, low)]
    words += [(m.start(), False, m) for m in re.finditer(MISSED, low)]
    if not words:
        return None
    _, held, m = min(words, key=lambda x: (x[0], x[1]))
    inside = m[0].startswith("did not")
    before = low[: m.start()].rpartition(" , ")[2]
    return held != (_DENIED.search(f" {before}") is not None and not inside)


def mean_of(t: Trial) -> float:
    """The mean of a run's readings."""
    return sum(r.value for r in t.readings) / len(t.readings)


def tally_of(ask: Ask, every: list[Sealed]) -> Finding | None:
    """A count over forecasts; ``None`` for other sentences."""
    pool = [s for s in every if s.answered_by and (not ask.boards or s.board in ask.boards)]
    pool = [s for s in pool if s.number in ask.said.seals] or pool
    if m := re.search(
        rf"\bonly {_NOUN} (?:that |which |to )*{_HOW} (?:was|is) (?:for |on |that of |with )?(?:the )?\{{b\d+\}}",
        ask.low,
    ):
        pool = [s for s in every if s.answered_by]
        hits = [s for s in pool if _held(ask, s) == (judgement(ask, m[0]) is not False)]
        return _found(ask, {s.board for s in hits} == set(ask.boards), hits, pool)
    if (
        re.search(
            r"\b(?:one|1|forecast) (?:that |which )?was sealed after the run (?:is|was)\b|"
            r"\bsealed after the run (?:is|was) (?:the |for the )?\{b",
            ask.low,
        )
        and ask.boards
    ):
        late = [s for s in every if s.late_for]
        return _found(ask, {s.board for s in late} == set(ask.boards), late, pool or late)
    parts = counts_in(ask, _NOUN, MISSED, HELD)
    if len(parts) > 1:
        missed = [s for s in pool if not _held(ask, s)]
        found = {"all": len(pool), "failed": len(missed), "passed": len(pool) - len(missed)}
        return _found(ask, all(how(found[of], len(pool)) for of, how in parts), missed, pool)
    claim = None if ask.has(_LATE) else _claim(ask)
    if claim is None:
        return None
    whole, k, how = claim
    if ask.has(r"\bafter (?:its |their |the )?run\b") and not ask.has(r"\bbefore\b"):
        return Finding(verdict=V.NOT_PLACED, why="those sealed after their run are not counted")
    judged = judgement(ask)
    hits = [s for s in pool if _held(ask, s) == (judged is not False)]
    exact = (whole is None or whole == len(pool)) and k in (None, len(hits))
    ok = exact if how is None else how(len(hits), len(pool))
    wants = [ask.said.want(x) for x in ask.wants]
    ok = ok and all(sealed_for(s, w) for s in hits for w in wants if not w.bare)
    return _found(ask, ok and bool(pool), hits, pool)


def sealed_for(s: Sealed, want: Want) -> bool:
    """Whether a forecast was sealed for such a state."""
    core = s.core_mhz
    if core is None:
        bus, ratio = number_of(s.settings.get("bus_mhz")), number_of(s.settings.get("ratio"))
        core = bus * ratio if bus and ratio else None
    return meets(want, s.settings, core)


def _held(ask: Ask, s: Sealed) -> bool:
    return all(s.lo <= mean_of(ask.evidence.by_number[r]) <= s.hi for r in s.answered_by)


def _claim(ask: Ask) -> tuple[float | None, float | None, Callable[[int, int], bool] | None] | None:
    """The whole, the part of it, or a test of both."""
    low, said = ask.low, ask.said
    counts = [said.num(s) for s in said.signs("n") if said.num(s).kind in ("count", "all")]
    if counts:
        n = counts[0]
        return (n.of if n.of is not None else n.value), n.value, None
    every = [said.num(s) for s in said.signs("n")]
    plain = [n for n in every if n.kind in ("loose", "value") and not n.places]
    plural = re.search(r"\b(?:forecasts|predictions|seals|bands)\b", low) is not None
    if len(plain) == 2 and plural and re.search(_HOW, low):
        return max(n.value for n in plain), min(n.value for n in plain), None
    if judgement(ask) is not None and (how := quantity(ask, _NOUN)) is not None:
        if re.search(r"\bnever\b", low):
            return None, 0.0, None
        return None, None, how
    if re.search(
        r"\bnever (?:been |yet been |once been )?(?:wrong|missed|off|failed)\b|\b(?:always|"
        r"every time) (?:right|held|hits?)\b",
        low,
    ):
        return None, None, lambda k, n: k == n
    if re.search(
        r"\b(?:missed|wrong|off|failed) (?:only |just )?once\b|\b(?:only|just) (?:wrong |missed )?once\b", low
    ):
        return None, 1.0, None
    if not (plural or ask.scene.topic == "forecast"):
        return None
    for form, k in (
        (rf"\b(?:only|just|exactly) (?:one|1) {_SO}{_HOW}\b", 1.0),
        (rf"\b(?:none|not one|not 1) {_SO}{_HOW}\b", 0.0),
    ):
        if re.search(form, low):
            return None, k, None
    if re.search(rf"\ball (?:but|except) (?:one|1|\{{n\d+\}}) (?:of [^{{]*)?{_HOW}\b", low):
        return None, None, lambda k, n: k == n - 1
    if re.search(rf"\bmost (?:of [^{{]*)?{_HOW}\b", low):
        return None, None, lambda k, n: 2 * k > n
    if m := re.search(rf"\{{(n\d+)\}} {_SO}{_HOW}\b|\b{_HOW} , \{{(n\d+)\}}", low):
        n = said.num(m[1] or m[2])
        return (None, n.value, None) if not n.unit and not n.places else None
    if plural and (
        m := re.search(r"\b(?:tried|in time|before (?:a |the |their )?run)\b[^{]* , \{(n\d+)\}", low)
    ):
        return said.num(m[1]).value, None, None
    return None


def _found(ask: Ask, ok: bool, hits: list[Sealed], pool: list[Sealed]) -> Finding:
    inside = [s for s in pool if _held(ask, s)]
    text = f"{len(inside)} of {len(pool)} forecasts that were sealed before their run held"
    return Finding(
        verdict=V.SUPPORTED if ok else V.CONTRADICTED if pool else V.UNTESTED,
        why=text,
        refs=tuple(s.number for s in (hits or pool)),
        boards=tuple(ask.boards),
        used=frozenset({*ask.said.signs("nsgr"), "tool"}),
        true=text,
    )
