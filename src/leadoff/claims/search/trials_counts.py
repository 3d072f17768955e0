"""How many boards, states, tests or symptoms: a claim held against each of them and counted."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import msgspec

from leadoff.claims.rows import constant
from leadoff.claims.search.trials_claims import Claim
from leadoff.claims.search.trials_heard import TESTS, Part
from leadoff.claims.search.trials_scope import Scope
from leadoff.claims.search.trials_tests import Held, fits_amount, judged, passed, tests_of, text_of
from leadoff.claims.search.trials_verdicts import held, test_claim
from leadoff.claims.search.trials_words import Word
from leadoff.claims.spoken.evidence import Evidence
from leadoff.claims.spoken.values import Num, Verdict

V = Verdict
_NEAR = int(constant("count_reach"))
"""A number and what it counts stand at most so many words apart."""
_NOUNS = {
    "soak": ("soak", "soaks", "burn-ins"),
    "copy": ("copy-compare", "copy-compares"),
    "start": ("counts", "series"),
}


class Quantity(msgspec.Struct, frozen=True, kw_only=True):
    """How many of what: ``unit`` is board, state, test or symptom (``some``: boards with a state that is
    so). ``k`` of them (so many less than all where it is below zero), at least or at most where ``mod`` says so, of
    ``of`` in all; ``named``: none but the boards that are named; ``others``: of those not counted before."""

    unit: str
    k: int | None = None
    mod: str = ""
    of: int | None = None
    named: str = ""
    others: bool = False
    some: bool = False
    read: frozenset[str] = frozenset()

    def fits(self, found: int, whole: int) -> bool:
        """Whether so many were found."""
        if self.mod == "most":
            return 2 * found > whole
        if self.of is not None and self.of != whole:
            return False
        if self.k is None:
            return found == whole
        if self.k < 0:
            return found == whole + self.k
        if self.mod == "over":
            return found >= self.k
        if self.mod == "under":
            return found <= self.k
        return found == self.k


def quantity(
    p: Part, topic: str, them: str, *, named: bool, taken: frozenset[str] = frozenset()
) -> Quantity | None:
    """What a part counts; ``them`` is what ``of them`` stands for, ``taken`` are numbers that are
    clocks. ``None`` where it counts nothing but the amounts of a test."""
    words = p.words
    ints = [(n, after) for n, after in p.ints if n.text not in taken]
    words = p.words
    others = any(w.of("other") for w in words)
    if found := _by_words(p, ints, "test" if them == "test" else "board", named=named):
        return found
    units = [
        (i, u)
        for i, w in enumerate(words)
        if (u := _unit(w, topic, them)) and not (i and words[i - 1].text in _POINTS and u == "state")
    ]
    if {u for _, u in units} == {"board", "state"} and p.has("all") and _one(words):
        return Quantity(unit="board", some=True)
    for i, unit in units:
        if found := _before_noun(p, unit, words[max(0, i - _NEAR) : i], [n for n, _ in ints], others=others):
            return found
    if (
        others
        and not (p.hours and not units)
        and (p.outcomes or p.topics or p.has("deny") or p.hours or ints)
    ):
        left = [n.text for n, _ in ints if _after_other(words, n.text)]
        return Quantity(unit=them, k=None, others=True, read=frozenset(left[:1]))
    if topic == "open" and ints and not units:
        return Quantity(unit="symptom", k=round(ints[0][0].value), read=frozenset({ints[0][0].text}))
    if topic == "open" and not units and p.signs("b") and not p.outcomes and not p.health and _one(words):
        return Quantity(unit="symptom", k=1)
    if topic != "soak" or (p.has("deny") and not _one_denied(words)):
        return None
    if ints and not units:
        first = ints[0][0]
        return Quantity(unit="test", k=round(first.value), mod=first.mod, read=frozenset({first.text}))
    if _one(words) and (p.has("only") or p.outcomes):
        return Quantity(unit="test", k=1)
    least = any(w.text in ("at least", "least", "more than") for w in words)
    often = "" if least else next((w.text for w in words if w.of("once")), "")
    return Quantity(unit="test", k={"once": 1, "twice": 2}.get(often, 3)) if often else None


def one_more(p: Part) -> Quantity | None:
    """``two boards hung, one rebooted``: a board beside those that were counted."""
    return Quantity(unit="board", k=1) if _one(p.words[:2]) and p.outcomes else None


def _by_words(p: Part, ints: Sequence[tuple[Num, str]], unit: str, *, named: bool) -> Quantity | None:
    """Counts without a number: ``only the Larch``, ``all but one``, ``not every board``."""
    words = p.words
    if p.has("except") and not named and any(w.text in ("one", "1") for w in words):
        return Quantity(unit=unit, k=-1)
    if any(w.text == "not" and words[i + 1].of("all") for i, w in enumerate(words[:-1])):
        return Quantity(unit="board", named="not all")
    if named and p.has("except") and (p.has("all") or p.has("deny")):
        return Quantity(unit="board", named="except")
    if named and not ints and p.outcomes and _the_one(p):
        return Quantity(unit="board", named="only")
    if named and p.has("only") and not ints and _only_named(words):
        return Quantity(unit="board", named="only")
    return None


def _before_noun(
    p: Part, unit: str, near: Sequence[Word], ints: Sequence[Num], *, others: bool
) -> Quantity | None:
    """The number that stands before what it counts."""
    for n in ints:
        if not any(w.sign == n.text for w in near):
            continue
        if _of_all(p.words, n.text):
            rest = [x for x in ints if x.text != n.text]
            k = round(rest[0].value) if len(rest) == 1 else 1 if _one(p.words) else None
            read = frozenset({n.text, *(x.text for x in rest)})
            return Quantity(unit=unit if k is not None else "", k=k, of=round(n.value), read=read)
        return Quantity(unit=unit, k=round(n.value), mod=n.mod, others=others, read=frozenset({n.text}))
    for count in p.counts:
        if any(w.sign.startswith("n") for w in near):
            return Quantity(unit=unit, k=round(count.value), of=round(count.of or 0), others=others)
    if _one(near) and not any(w.of("deny") for w in near):
        exact = p.has("only") or any(w.text in ("single", "sole") for w in near)
        return Quantity(unit=unit, k=1, mod="" if exact else "over", others=others)
    if any(w.text in ("most", "majority") for w in near):
        return Quantity(unit=unit, mod="most")
    return Quantity(unit="", others=others) if any(w.of("half") for w in near) else None


def _one(words: Sequence[Word]) -> bool:
    """``one`` as a number, where ``that one`` is a thing spoken of."""
    for i, w in enumerate(words):
        only = i > 1 and words[i - 1].text == "the" and words[i - 2].of("only")
        if w.text in ("one", "1", "single") and (only or not (i and words[i - 1].text in _POINTS)):
            return True
    return False


_POINTS = frozenset({"that", "this", "the", "which", "other", "another", "each", "every", "any"})


def _the_one(p: Part) -> bool:
    """``the one copy-compare that was not clean was the Alder's``."""
    for i, w in enumerate(p.words[:-3]):
        lone = w.of("only") or w.text in ("one", "single", "1")
        near = p.words[i + 1 : i + 3]
        if lone and any(x.of("bad") for x in near) and any(x.of("soak", "copy", "start") for x in near):
            return True
        if (
            lone
            and i
            and p.words[i - 1].text == "the"
            and any(x.of("soak", "copy", "start", "board") for x in near)
        ):
            return any(x.text in ("that", "which", "to") for x in p.words[i + 2 : i + 5])
    return False


def _only_named(words: Sequence[Word]) -> bool:
    """``only the Larch``, ``the Larch alone``."""
    for i, w in enumerate(words):
        if w.of("only"):
            near = (
                [x for x in words[i + 1 : i + 3] if x.sign] if w.text != "alone" else words[max(0, i - 2) : i]
            )
            return any(x.sign[:1] == "b" for x in near) or any(x.text == "one" for x in words[i + 1 : i + 2])
    return False


def _one_denied(words: Sequence[Word]) -> bool:
    """``a single one was not passed``: one of which it is denied."""
    at = next((i for i, w in enumerate(words) if w.of("deny")), 0)
    return any(w.text in ("one", "single", "1") for w in words[max(0, at - 3) : at])


def _of_all(words: Sequence[Word], sign: str) -> bool:
    """``of the five``: the whole that others are counted of."""
    at = next(i for i, w in enumerate(words) if w.sign == sign)
    return any(w.text == "of" for w in words[max(0, at - 2) : at])


def _after_other(words: Sequence[Word], sign: str) -> bool:
    at = next(i for i, w in enumerate(words) if w.sign == sign)
    return at > 0 and words[at - 1].of("other")


def _unit(w: Word, topic: str, them: str) -> str:
    if w.text in ("of them", "of these", "of those"):
        return them
    if w.of("board"):
        return "board"
    if w.of("state"):
        return "state"
    if w.of("symptom") and topic == "open":
        return "symptom"
    return "test" if w.text in _NOUNS.get(topic, ()) else ""


def counted(
    q: Quantity,
    c: Claim,
    scope: Scope,
    evidence: Evidence,
    read: frozenset[str],
    counted_before: list[object],
    names: Sequence[str] = (),
) -> Held:
    """The verdict on a count; ``names``: the boards that it is said to be."""
    if q.unit == "test" and c.topic in TESTS:
        return _tests(q, c, scope, read)
    if q.unit == "symptom":
        fixed = any(i.kind == "fixed" and not i.denied for p in c.parts for i in p.health)
        told = any(p.health or p.has("deny") for p in c.parts)
        found = [
            o for o in evidence.ledger.oddities if o.board in scope.boards and (not told or o.open != fixed)
        ]
        whole = [o for o in evidence.ledger.oddities if o.board in scope.boards]
        why = f"{len(found)} of {len(whole)}: " + "; ".join(f"{o.board}: {o.finding}" for o in found)
        return _held(q.fits(len(found), len(whole)), why, ())
    if q.unit == "state":
        groups = list(evidence.states(scope.trials).values())
        units: list[object] = [(ts[0].board, ts[0].hold_key) for ts in groups]
        scopes = [msgspec.structs.replace(scope, trials=tuple(ts)) for ts in groups]
    elif q.unit == "board":
        units = list(scope.boards)
        scopes = [scope.of(b) for b in scope.boards]
    else:
        return Held(verdict=V.UNTESTED, why="a count that is not understood", doubtful=True)
    if q.others:
        left = [(u, s) for u, s in zip(units, scopes, strict=True) if u not in counted_before]
        units, scopes = [u for u, _ in left], [s for _, s in left]
    claim: Callable[[Scope], Held] = lambda s: held(c, s, evidence, read)  # noqa: E731
    if q.unit == "board" and c.topic in TESTS and c.well is None and not _amounts(q, c, read):
        claim = lambda s: _tested(c, s)  # noqa: E731
    verdicts = [_somewhere(claim, s, evidence) if q.some else claim(s) for s in scopes]
    hits = [u for u, v in zip(units, verdicts, strict=True) if v.verdict is V.SUPPORTED and not v.doubtful]
    counted_before += hits
    shown = ", ".join(u if isinstance(u, str) else str(u[0]) for u in hits)  # type: ignore[index]
    refs = tuple(dict.fromkeys(r for v in verdicts for r in v.refs))
    right = q.fits(len(hits), len(units)) and (not names or set(hits) == set(names))
    counted_ = _held(right, f"{len(hits)} of {len(units)}: {shown or 'none'}", refs)
    # That a workload ran on no board at all is seldom what the book says: what was said was not understood.
    doubt = (c.topic == "run" and not hits) or any(v.doubtful for v in verdicts)
    return msgspec.structs.replace(counted_, doubtful=doubt)


def _somewhere(claim: Callable[[Scope], Held], scope: Scope, evidence: Evidence) -> Held:
    """Whether a board has one state that is so."""
    each = [
        claim(msgspec.structs.replace(scope, trials=tuple(ts)))
        for ts in evidence.states(scope.trials).values()
    ]
    return next(
        (h for h in each if h.verdict is V.SUPPORTED), Held(verdict=V.CONTRADICTED, why="in no state")
    )


def _amounts(q: Quantity, c: Claim, read: frozenset[str]) -> bool:
    """Whether more is said of the tests than how many boards had them."""
    counts = [n for p in c.parts for n in p.counts if round(n.value) != q.k]
    return bool(counts or c.ints(read) or any(p.hours or p.clocks for p in c.parts))


def _tested(c: Claim, scope: Scope) -> Held:
    """Whether a board had a test of the kind at all."""
    tests = tests_of(c.topic, scope.trials)
    return _held(bool(tests) != c.absent, "; ".join(map(text_of, tests)), tuple(t.number for t in tests))


def by_name(
    q: Quantity, c: Claim, scope: Scope, names: Sequence[str], evidence: Evidence, read: frozenset[str]
) -> Held:
    """``only the Larch``, ``every board except the Larch``."""
    verdicts = {b: held(c, scope.of(b), evidence, read) for b in scope.boards}
    hits = {b for b, v in verdicts.items() if v.verdict is V.SUPPORTED}
    if q.named == "not all":
        ok = len(hits) < len(scope.boards)
        return _held(ok, f"so on {', '.join(sorted(hits)) or 'none'}", ())
    wanted = set(names) if q.named == "only" else set(scope.boards) - set(names)
    why = f"so on {', '.join(sorted(hits)) or 'none'}"
    refs = tuple(dict.fromkeys(r for v in verdicts.values() for r in v.refs))
    return _held(hits == wanted, why, refs)


def _tests(q: Quantity, c: Claim, scope: Scope, read: frozenset[str]) -> Held:
    """So many tests, or so many of them good or bad."""
    tests = tests_of(c.topic, scope.trials)
    claim = msgspec.structs.replace(test_claim(c, c.topic, read | q.read), every=False, ints=(), counts=())
    if c.topic != "soak" and any(t.run.of == q.k for t in tests):
        return judged(test_claim(c, c.topic, read), scope.trials, ", ".join(scope.boards))
    hits = [t for t in tests if c.well is None or passed(t) == c.well]
    if claim.hours or claim.clocks:
        hits = [t for t in tests if fits_amount(t, claim)]
    why = f"{len(hits)} of {len(tests)}: " + "; ".join(text_of(t) for t in hits or tests)
    return _held(q.fits(len(hits), len(tests)), why, tuple(t.number for t in hits or tests))


def _held(ok: bool, why: str, refs: tuple[str, ...]) -> Held:
    return Held(verdict=V.SUPPORTED if ok else V.CONTRADICTED, why=why, refs=refs)
