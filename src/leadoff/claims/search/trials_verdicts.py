"""The verdict on one claim on holding over the boards and states it may be about."""

from __future__ import annotations

import itertools

import msgspec

from leadoff.claims.grade import failed, undefined
from leadoff.claims.search.trials_claims import Claim
from leadoff.claims.search.trials_heard import Part
from leadoff.claims.search.trials_scope import Scope
from leadoff.claims.search.trials_states import events, stable, weakest_held
from leadoff.claims.search.trials_tests import Held, TestClaim, judged, longest, tests_of
from leadoff.claims.search.trials_words import Word
from leadoff.claims.spoken.evidence import Evidence
from leadoff.claims.spoken.holding_words import event
from leadoff.claims.spoken.values import Num, Verdict

V = Verdict
_TIMES = {"once": 1.0, "twice": 2.0, "thrice": 3.0}


def held(c: Claim, scope: Scope, evidence: Evidence, read: frozenset[str]) -> Held:
    """The verdict on one claim over the boards of a scope, each of which must show it."""
    if c.topic in ("soak", "copy", "count") and len(scope.boards) > 1 and not scope.pooled:
        return weakest_held([_held(c, scope.of(b), evidence, read) for b in scope.boards])
    if c.topic == "event" and len(scope.boards) > 1 and _times(c, read) is not None and not c.every:
        return _held(c, scope, evidence, read)
    if c.topic in ("event", "state", "open", "run", "start") and len(scope.boards) > 1:
        return weakest_held([_held(c, scope.of(b), evidence, read) for b in scope.boards])
    return _held(c, scope, evidence, read)


def _held(c: Claim, scope: Scope, evidence: Evidence, read: frozenset[str]) -> Held:
    who = ", ".join(scope.boards)
    if c.topic == "state":
        item = next((i for p in c.parts for i in p.states), None)
        if item is None and c.well is True:
            whole = stable(scope, evidence, "stable", denied=False)
            vague = not (scope.named or scope.carried)
            return msgspec.structs.replace(whole, doubtful=whole.doubtful or vague)
        if item is None:  # what was said of the state stands in a part of another claim
            return Held(
                verdict=V.UNTESTED, why=f"{who}: what is said of the state is not clear", doubtful=True
            )
        return stable(scope, evidence, item.kind, denied=item.denied)
    if c.topic == "event":
        kinds = [i.kind for p in c.parts for i in p.events] or ["crash"]
        return events(
            scope,
            kinds,
            denied=c.well is True,
            times=_times(c, read),
            clocks=[x for p in c.parts for x in p.clocks],
            workload=c.workload,
        )
    if c.topic == "open":
        return _open(c, scope, evidence)
    if c.topic == "run":
        return _ran(c, scope, who)
    if c.topic == "count":
        return _counted(c, scope, read, who)
    if c.topic == "soak" and (end := _end(c)):
        return longest(
            test_claim(c, c.topic, read), evidence.ledger.trials, scope.boards, most=end == "longest"
        )
    found = judged(
        test_claim(c, c.topic, read), scope.trials, who, anywhere=not (scope.named or scope.carried)
    )
    return msgspec.structs.replace(found, doubtful=found.doubtful or _failed_later(c))


_UP = frozenset({"started", "picture", "up"})
"""Says that a start came off, unless it is denied."""


def _failed_later(c: Claim) -> bool:
    """Whether a start that came off is told, and a failure after it: no failed start bears that out."""
    if c.topic != "start" or any(p.counts or p.has("deny") for p in c.parts):
        return False
    kinds = {i.kind for p in c.parts for i in p.outcomes} - {"picture"}
    return (
        any(w.text in _UP for p in c.parts for w in p.words) and bool(kinds) and not kinds & {"dark", "good"}
    )


_MEANT = frozenset({"meant", "supposed", "set", "asked", "planned", "due", "scheduled", "should"})
"""How long a soak was to be, whatever came of it."""


def _end(c: Claim) -> str:
    return next((w.text for p in c.parts for w in p.words if w.text in ("longest", "shortest")), "")


def test_claim(c: Claim, kind: str, read: frozenset[str]) -> TestClaim:
    """What is said of tests, as amounts and outcome."""
    beeps = (
        next((n for n, after in c.ints(read) if _beeps(c, after)), _one_beep(c)) if kind == "start" else None
    )
    counts = [(n, p.well) for p in c.parts for n in p.counts]
    ints = [x for p in c.parts for x in _with_way(p, kind) if x[0].text not in read and x[0] is not beeps]
    return TestClaim(
        kind=kind,
        well=c.well,
        every=c.every,
        absent=c.absent or any(h.value == 0 for p in c.parts for h in p.hours),
        meant=any(w.text in _MEANT for p in c.parts for w in p.words),
        share=next((p.share for p in c.parts if p.share is not None), None),
        hours=tuple(h for p in c.parts for h in p.hours),
        clocks=tuple(x for p in c.parts for x in p.clocks),
        counts=tuple(_told(counts, ints, c.well)),
        ints=tuple(_told(ints, counts, c.well)),
        beeps=beeps,
        events=tuple(i.kind for p in c.parts for i in p.events if not i.denied),
    )


def _told(
    numbers: list[tuple[Num, bool | None]], others: list[tuple[Num, bool | None]], well: bool | None
) -> list[tuple[Num, bool | None]]:
    """A lone number of which nothing is said beside it goes with what is said of all: ``sixty copies, all clean``."""
    lone = len(numbers) == 1 and not others
    return [(n, well if lone and way is None else way) for n, way in numbers]


def _with_way(p: Part, kind: str) -> list[tuple[Num, bool | None]]:
    """Whole numbers of a part with whether they count what went well; the largest of several is the whole."""
    found = _counted_in(p, kind)
    top = max(found, key=lambda n: n.value) if len(found) > 1 else None
    return [(n, None if n is top else p.well) for n in found]


def _counted_in(p: Part, kind: str) -> list[Num]:
    """Whole numbers of a part; ``one came to nothing`` is a number where copies or starts are counted."""
    found = [n for n, _ in p.ints]
    if kind == "soak" or found or p.counts or p.well is None or p.has("all") or _first_one(p) is None:
        return found
    return [Num("bare", 1.0)]


def _first_one(p: Part) -> int | None:
    for i, w in enumerate(p.words[:-1]):
        before, after = p.words[i - 1] if i else Word(""), p.words[i + 1]
        if w.text in ("one", "1", "single") and not (
            before.text in _POINTING
            or any(x.of("deny") for x in p.words[max(0, i - 3) : i])
            or after.of("board", "state")
            or after.text in _ANYBODY
            or after.sign
        ):
            return i
    return None


_ANYBODY = frozenset({"can", "could", "would", "must", "may", "might", "should", "has", "never", "cannot"})
_POINTING = frozenset(
    {"that", "this", "which", "other", "another", "each", "every", "any", "the", "no", "good", "bad"}
)


def _beeps(c: Claim, after: str) -> bool:
    said = any(w.text.startswith(("beep", "bleep")) for p in c.parts for w in p.words)
    return after.startswith(("beep", "bleep")) or (said and after in ("times", "time", "of them", ""))


def _one_beep(c: Claim) -> Num | None:
    words = [w.text for p in c.parts for w in p.words]
    one = any(
        a in ("one", "1", "single", "a") and b in ("beep", "bleep") for a, b in itertools.pairwise(words)
    )
    return Num("beeps", 1.0) if one else None


def _times(c: Claim, read: frozenset[str]) -> Num | None:
    """How often, where it is said."""
    words = [w.text for p in c.parts for w in p.words]
    for i, w in enumerate(words):
        if (
            w in _TIMES
            and (i == 0 or words[i - 1] not in ("not", "at"))
            and words[i + 1 : i + 2]
            not in (
                ["i"],
                ["it"],
                ["the"],
            )
        ):
            return Num("bare", _TIMES[w])
    if any(w in ("one hang", "1 hang", "single hang") for w in words) and any(p.has("only") for p in c.parts):
        return Num("bare", 1.0)
    return next((n for n, after in c.ints(read) if after in ("times", "time", "hangs", "crashes")), None)


def _open(c: Claim, scope: Scope, evidence: Evidence) -> Held:
    """Whether the boards have an open symptom."""
    ever = any(w.text in ("ever", "never", "had") for p in c.parts for w in p.words)
    found = [o for o in evidence.ledger.oddities if o.board in scope.boards and (o.open or ever)]
    items = [i for p in c.parts for i in p.health if i.kind in ("still", "fixed")]
    gone = any(i.kind == "fixed" for i in items)
    deny = any(i.denied for i in items) or (not gone and any(w.of("deny") for p in c.parts for w in p.words))
    denied = deny != gone if items else True
    if gone and denied and found and all(o.seen == 1 for o in found):
        why = "; ".join(f"{o.board}: {o.finding}: not tested again since" for o in found)
        return Held(verdict=V.UNTESTED, why=why, refs=tuple(e[:12] for o in found for e in o.entries))
    why = "; ".join(f"{o.board}: {o.finding}" for o in found) or f"{', '.join(scope.boards)}: nothing open"
    refs = tuple(e[:12] for o in found for e in o.entries)
    return Held(verdict=V.SUPPORTED if bool(found) != denied else V.CONTRADICTED, why=why, refs=refs)


def _ran(c: Claim, scope: Scope, who: str) -> Held:
    """Whether a workload ran to its end."""
    trials = [t for t in scope.trials if c.workload in (None, t.workload)]
    bad = [t for t in trials if failed(t) or undefined(t)]
    if not trials:
        return Held(verdict=V.UNTESTED, why=f"{who}: no such run")
    ok = bool(bad) if c.well is False else not bad
    shown = bad or trials
    return Held(
        verdict=V.SUPPORTED if ok else V.CONTRADICTED,
        why="; ".join(event(t) for t in shown[:3]),
        refs=tuple(t.number for t in shown),
        doubtful=len(bad) not in (0, len(trials)),
    )


def _counted(c: Claim, scope: Scope, read: frozenset[str], who: str) -> Held:
    """A count with nothing said of what: the tests of so many."""
    wholes = {round(n.of or 0) for p in c.parts for n in p.counts}
    kinds = [k for k in ("copy", "start") if any(t.run.of in wholes for t in tests_of(k, scope.trials))]
    if not kinds and any(n.mod == "rate" for p in c.parts for n in p.counts):
        kinds = [k for k in ("copy", "start") if tests_of(k, scope.trials)]
    if len(kinds) != 1:
        return Held(verdict=V.UNTESTED, why=f"{who}: no such count", doubtful=True)
    return judged(test_claim(c, kinds[0], read), scope.trials, who)
