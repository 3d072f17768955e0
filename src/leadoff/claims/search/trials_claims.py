"""Claims of a sentence on holding, one for each thing it speaks of, and the verdict on each over a scope."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import msgspec

from leadoff.claims.grade import failed, undefined
from leadoff.claims.search.trials_heard import TESTS, Part
from leadoff.claims.search.trials_scope import Scope
from leadoff.claims.search.trials_states import events, stable, weakest_held
from leadoff.claims.search.trials_tests import Held, TestClaim, judged, longest, tests_of
from leadoff.claims.spoken.evidence import Evidence
from leadoff.claims.spoken.holding_words import event
from leadoff.claims.spoken.values import Num, Verdict

V = Verdict
_TIMES = {"once": 1.0, "twice": 2.0, "thrice": 3.0}


class Claim(msgspec.Struct, frozen=True, kw_only=True):
    """``topic``: soak, copy, start, event, state, open (symptoms), run (a workload to its end), count (of tests,
    as the numbers tell). ``well`` is ``None`` where no outcome is said. ``parts`` are what it was said in."""

    topic: str
    parts: tuple[Part, ...]
    well: bool | None
    absent: bool = False
    workload: str | None = None

    @property
    def denied(self) -> bool:
        """Whether an outcome is denied, which speaks of every one."""
        return any(i.denied for p in self.parts for i in p.outcomes)

    @property
    def every(self) -> bool:
        """Whether every test is meant, which ``every board`` is not."""
        return self.denied or any(
            w.of("all") and not any(x.of("board") or x.sign[:1] == "k" for x in p.words[i + 1 : i + 4])
            for p in self.parts
            for i, w in enumerate(p.words)
        )

    def ints(self, read: frozenset[str]) -> list[tuple[Num, str]]:
        """Whole numbers that no clock and no count of boards has taken."""
        return [(n, after) for p in self.parts for n, after in p.ints if n.text not in read]


def claims_of(parts: Sequence[Part], before: str, workload: str | None) -> list[Claim] | None:
    """Claims in their order; ``before`` is the topic of the talk so far. ``None`` where it cannot be told what a part
    says came out how."""
    out: list[Claim] = []
    topic = before
    for p in parts:
        own = _topic(p, workload)
        if p.asked:
            topic = own or topic
            continue
        says = bool(p.outcomes or p.counts or p.denied_topic) or bool(p.ints and (topic or out))
        listed = (
            bool(out) and out[-1].topic == "open" and bool(p.signs("b")) and p.words[0].text in ("one", "1")
        )
        if own is None and not (says or listed):
            continue
        if own is None:
            if out and p.outcomes and not (p.counts or p.ints or _one_of(p)):
                if p.well is None:
                    return None
                if out[-1].well is None or out[-1].well is p.well:
                    joined = (*out[-1].parts, p)
                    out[-1] = msgspec.structs.replace(out[-1], parts=joined, well=p.well)
                    continue
            own = out[-1].topic if out else topic or ("count" if p.counts else _alone(p, workload))
            if own is None:
                continue
        if p.outcomes and p.well is None:
            return None
        out.append(
            Claim(
                topic=own,
                parts=(p,),
                well=p.well,
                absent=p.denied_topic and (own != "start" or _counts(p)),
                workload=workload,
            )
        )
        if (
            own == "start"
            and out[-1].well is None
            and not out[-1].absent
            and (p.denied_topic or not (p.ints or p.counts))
        ):
            out[-1] = msgspec.structs.replace(out[-1], well=not p.denied_topic)
        topic = own
    return [c for c in _count_first(_shared_outcome(out)) if not _empty(c)]


def _counts(p: Part) -> bool:
    """Whether it is the counting of starts that is denied."""
    return any(
        w.text in ("count", "counted", "counts", "tallied", "recorded", "noted", "logged") for w in p.words
    )


def _empty(c: Claim) -> bool:
    """Copies and starts that nothing is said of."""
    numbers = any(p.counts or p.ints for p in c.parts)
    return c.topic in ("copy", "start") and c.well is None and not c.absent and not numbers


def supposed(parts: Sequence[Part]) -> bool:
    """Whether it is only supposed; ``will not`` and ``would not`` tell what it does, and ``I would hand it to you``
    is talk beside the claim."""
    for p in parts:
        claims = p.outcomes or p.topics or p.health or p.ints or p.counts or p.hours
        if not claims and _own_will(p):
            continue
        for i, w in enumerate(p.words):
            after = p.words[i + 1].text if i + 1 < len(p.words) else ""
            if w.of("suppose") and not (w.text in ("will", "would", "could") and after in ("not", "never")):
                return True
    return False


_SPEAKERS = frozenset({"i", "we", "you"})


def _own_will(p: Part) -> bool:
    """Whether its speaker says what he would do, and supposes nothing."""
    said = [w.text for w in p.words if w.text not in ("and", "so")]
    return (
        said[:1] != [] and said[0] in _SPEAKERS and all(w.text == "would" for w in p.words if w.of("suppose"))
    )


def _topic(p: Part, workload: str | None) -> str | None:
    kinds = {i.kind for i in p.outcomes}
    if "dark" in kinds or "start" in p.topics or any(i.kind == "picture" and i.denied for i in p.outcomes):
        return "start"
    if any(w.text == "picture" for w in p.words) and any(w.text in _SHOWS for w in p.words):
        return "start"
    for kind in TESTS[:2]:
        if kind in p.topics:
            return kind if kind == "soak" or "soak" not in p.topics else "soak"
    if p.hours:
        return "soak"
    if p.events:
        return "event"
    if p.states:
        return "state"
    if workload is not None and p.has("through") and p.signs("w") and not p.ints:
        return "run"
    noun = _symptoms(p)
    health = any(i.kind in ("still", "fixed") for i in p.health)
    if (noun and (health or p.has("deny"))) or (health and any(w.text == "open" for w in p.words)):
        return "open"
    return None


def _symptoms(p: Part) -> bool:
    return any(w.text.removesuffix("s") in _SYMPTOM for w in p.words)


def _one_of(p: Part) -> bool:
    """``one of them``, which is counted by itself."""
    return any(a.text in ("one", "1") and b.text.startswith("of ") for a, b in itertools.pairwise(p.words))


_SHOWS = frozenset(
    {
        "get",
        "got",
        "gets",
        "give",
        "gave",
        "gives",
        "put",
        "puts",
        "show",
        "shows",
        "showed",
        "came",
        "comes",
        "had",
    }
    | {"brought", "produced", "threw", "has", "with", "saw", "see", "made", "makes", "managed", "delivered"}
)
"""Verbs with which a board puts up a picture."""
_SYMPTOM = frozenset({"symptom", "oddity", "oddities", "fault", "bug", "problem", "issue"})


def _alone(p: Part, workload: str | None) -> str | None:
    """What a bare ``failed`` or ``made it`` speaks of."""
    if workload is not None:
        return "run" if p.has("through", "fail") and not p.ints else None
    return "event" if p.well is False and p.has("fail") else None


def _shared_outcome(claims: list[Claim]) -> list[Claim]:
    """``passed both the soak and the copies``: what is said of one test goes for the one beside it."""
    for i, c in enumerate(claims):
        numbers = any(p.hours or p.counts or p.ints for p in c.parts)
        if c.well is None and not numbers and not c.absent and _tests_both(claims[i - 1 : i + 1]):
            claims[i] = msgspec.structs.replace(c, well=claims[i - 1].well)
    return claims


def _tests_both(two: Sequence[Claim]) -> bool:
    return len(two) == 2 and all(c.topic in TESTS for c in two)


def _count_first(claims: list[Claim]) -> list[Claim]:
    """``three of five: so often it came up``: a count with the test that is named after it."""
    out: list[Claim] = []
    for c in claims:
        alone = not any(p.hours or p.counts or p.ints for p in c.parts)
        of_symptoms = c.topic == "open" and bool(out) and any(_symptoms(p) for p in out[-1].parts)
        if out and out[-1].topic == "count" and (c.topic in ("copy", "start") or of_symptoms) and alone:
            c = msgspec.structs.replace(c, parts=(*out.pop().parts, *c.parts))
        out.append(c)
    return out


def held(c: Claim, scope: Scope, evidence: Evidence, read: frozenset[str]) -> Held:
    """The verdict on one claim over the boards of a scope, each of which must show it."""
    if c.topic in ("soak", "copy", "count") and len(scope.boards) > 1 and not scope.pooled:
        return weakest_held([_held(c, scope.of(b), evidence, read) for b in scope.boards])
    if c.topic in ("event", "state", "open", "run", "start") and len(scope.boards) > 1:
        return weakest_held([_held(c, scope.of(b), evidence, read) for b in scope.boards])
    return _held(c, scope, evidence, read)


def _held(c: Claim, scope: Scope, evidence: Evidence, read: frozenset[str]) -> Held:
    who = ", ".join(scope.boards)
    if c.topic == "state":
        item = next((i for p in c.parts for i in p.states), None)
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
    return judged(
        test_claim(c, c.topic, read), scope.trials, who, anywhere=not (scope.named or scope.carried)
    )


_MEANT = frozenset({"meant", "supposed", "set", "asked", "planned", "due", "scheduled", "should"})
"""How long a soak was to be, whatever came of it."""


def _end(c: Claim) -> str:
    return next((w.text for p in c.parts for w in p.words if w.text in ("longest", "shortest")), "")


def test_claim(c: Claim, kind: str, read: frozenset[str]) -> TestClaim:
    """What is said of tests, as amounts and outcome."""
    ints = [n for n, after in c.ints(read)]
    beeps = (
        next((n for n, after in c.ints(read) if _beeps(c, after)), _one_beep(c)) if kind == "start" else None
    )
    return TestClaim(
        kind=kind,
        well=c.well,
        every=c.every,
        absent=c.absent or any(h.value == 0 for p in c.parts for h in p.hours),
        meant=any(w.text in _MEANT for p in c.parts for w in p.words),
        share=next((p.share for p in c.parts if p.share is not None), None),
        hours=tuple(h for p in c.parts for h in p.hours),
        clocks=tuple(x for p in c.parts for x in p.clocks),
        counts=tuple(n for p in c.parts for n in p.counts),
        ints=tuple(n for n in ints if n is not beeps),
        beeps=beeps,
        events=tuple(i.kind for p in c.parts for i in p.events if not i.denied),
    )


def _beeps(c: Claim, after: str) -> bool:
    said = any(w.text.startswith(("beep", "bleep")) for p in c.parts for w in p.words)
    return after.startswith(("beep", "bleep")) or (said and after in ("times", "time", ""))


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
    trials = [t for t in scope.trials if t.workload == c.workload]
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
