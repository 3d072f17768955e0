"""Claims of a sentence on holding, one for each thing it speaks of, and the verdict on each over a scope."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import msgspec

from leadoff.claims.rows import constant
from leadoff.claims.search.trials_heard import TESTS, Part
from leadoff.claims.search.trials_words import Word
from leadoff.claims.spoken.values import Num, Verdict

V = Verdict


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
        return any(i.denied for p in self.parts for i in p.outcomes if not (p.ints or p.counts))

    @property
    def every(self) -> bool:
        """Whether every test is meant, which ``every board`` is not."""
        return self.denied or any(
            w.of("all")
            and not any(x.of("board", "entry") or x.sign[:1] == "k" for x in p.words[i + 1 : i + 4])
            for p in self.parts
            for i, w in enumerate(p.words)
        )

    def ints(self, read: frozenset[str]) -> list[tuple[Num, str]]:
        """Whole numbers that no clock and no count of boards has taken."""
        return [(n, after) for p in self.parts for n, after in p.ints if n.text not in read]


def claims_of(
    parts: Sequence[Part],
    before: str,
    workload: str | None,
    *,
    over: str | None = None,
    taken: frozenset[str] = frozenset(),
) -> list[Claim] | None:
    """Claims in their order; ``before`` is the topic of the talk so far, ``over`` the workload that was told of,
    ``taken`` numbers that are clocks. ``None`` where it cannot be told what a part says came out how."""
    out: list[Claim] = []
    topic = before
    lead: Part | None = None
    for p in parts:
        own = _topic(p, workload, taken)
        if (
            own is None
            and any(i.kind in ("fixed", "still") for i in p.health)
            and any(_symptoms(x) for x in parts[: parts.index(p)])
        ):
            own = "open"
        if p.asked:
            topic = own or topic
            continue
        says = bool(p.outcomes or p.counts or p.denied_topic) or bool(_left(p, taken) and (topic or out))
        listed = (
            bool(out) and out[-1].topic == "open" and bool(p.signs("b")) and p.words[0].text in ("one", "1")
        )
        if own is None and not (says or listed):
            lead = p if p.clocks and not out else lead
            continue
        if own is None:
            if out and p.outcomes and not (p.counts or p.ints or p.has("once", "except") or _one_of(p)):
                if p.well is None:
                    return None
                if out[-1].well is None or out[-1].well is p.well:
                    joined = (*out[-1].parts, p)
                    out[-1] = msgspec.structs.replace(out[-1], parts=joined, well=p.well)
                    continue
            own = out[-1].topic if out else topic or ("count" if p.counts else _alone(p, over))
            if own is None or (own in ("event", "state") and not p.outcomes):
                lead = p if p.well is not None and not out else lead
                continue
        if p.outcomes and p.well is None:
            return None
        if out and _one_count(out[-1], own, p):
            wells = {w for w in (out[-1].well, p.well) if w is not None}
            well = wells.pop() if len(wells) == 1 else None
            out[-1] = msgspec.structs.replace(out[-1], parts=(*out[-1].parts, p), well=well)
            continue
        out.append(
            Claim(
                topic=own,
                parts=(p,),
                well=p.well,
                absent=p.denied_topic and (own != "start" or _counts(p)),
                workload=over if own == "run" else workload,
            )
        )
        if (
            own == "start"
            and out[-1].well is None
            and not out[-1].absent
            and (p.denied_topic or not (p.ints or p.counts or _tries(p)))
        ):
            out[-1] = msgspec.structs.replace(out[-1], well=not p.denied_topic)
        if lead is not None and (own == "soak" or (own == "event" and lead.clocks)) and len(out) == 1:
            # ``it is happy at 75, eight hours of soak say so``; ``three hours and twenty minutes in, it restarted``.
            well = out[-1].well if out[-1].well is not None else lead.well
            out[-1] = msgspec.structs.replace(out[-1], parts=(lead, *out[-1].parts), well=well)
        lead, topic = None, own
    return [c for c in _count_first(_shared_outcome(out)) if not _empty(c)]


def _one_count(c: Claim, topic: str, p: Part) -> bool:
    """``it started three times, and I tried five``: numbers of one count in two parts."""
    numbers = all(any(x.ints or x.counts for x in ps) for ps in (c.parts, (p,)))
    apart = p.signs("bks") or p.has("other", "board", "state") or c.absent or p.denied_topic
    return topic == c.topic in ("copy", "start") and numbers and not apart


def _counts(p: Part) -> bool:
    """Whether it is the counting of starts that is denied."""
    return any(
        w.text
        in (
            "starts",
            "start-ups",
            "boots",
            "count",
            "counted",
            "counts",
            "tallied",
            "recorded",
            "noted",
            "logged",
        )
        for w in p.words
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
        if not claims and (_own_will(p) or _granted(p) or (p.has("deny") and p.has("tell")) or _ordered(p)):
            continue
        if not (p.outcomes or p.topics or p.health) and any(
            a.text == "will" and b.of("able") for a, b in itertools.pairwise(p.words)
        ):
            # ``it will run without waits, and you will never have trouble``: how it is set.
            continue
        for i, w in enumerate(p.words):
            after = p.words[i + 1].text if i + 1 < len(p.words) else ""
            named = w.text == "would" and after in _NAMES
            calls = named or (
                w.text in ("may", "might", "can") and [x.text for x in p.words[i + 1 : i + 3]] in _CALLED
            )
            if calls or any(x.text == "before" for x in p.words[max(0, i - 2) : i]):
                continue
            if not claims and w.text in _MODALS and p.has("tell"):
                continue
            if w.of("suppose") and not (w.text in ("will", "would", "could") and after in ("not", "never")):
                return True
    return False


_NAMES = frozenset({"call", "say", "describe", "trust", "recommend", "rank", "rate", "swear", "vouch"})
_CALLED = [["be", x] for x in ("called", "considered", "said", "trusted", "counted", "described", "deemed")]
_SPEAKERS = frozenset({"i", "we", "you"})


def _ordered(p: Part) -> bool:
    """``do not even think of it``: what one is told to do."""
    return [w.text for w in p.words[:2]] in (["do", "not"], ["please", "do"]) or p.words[0].text in (
        "think",
        "imagine",
    )


def _granted(p: Part) -> bool:
    """``Mad, maybe, yet``: what is granted before the claim is not supposed of it."""
    last = p.words[-1]
    return last.of("suppose") and last.text in ("maybe", "perhaps", "probably") and len(p.words) < _SHORT


_SHORT = int(constant("grant_words"))
"""So few words grant a thing and say no more."""


def _own_will(p: Part) -> bool:
    """Whether its speaker says what he would do, and supposes nothing."""
    pairs = itertools.pairwise([Word(""), *p.words])
    return all(a.text in _SPEAKERS and b.text in _MODALS for a, b in pairs if b.of("suppose"))


_MODALS = frozenset({"would", "could", "can", "will", "should", "ought", "shall", "must"})


def _tries(p: Part) -> bool:
    """``I pressed the switch``: a start is tried, and nothing said of what came of it."""
    return bool(p.topics) and all(
        w.text in _SWITCHED or "switch" in w.text.split() for w in p.words if w.of("start")
    )


_SWITCHED = frozenset(
    {"hit the button", "press the button", "pressed the button", "push the button", "pushed the button"}
    | {
        "hit the power",
        "pressed power",
        "hit power",
        "powered it up",
        "power it up",
        "turn it on",
        "turned it on",
    }
    | {"presses of the button", "switch it on", "switched it on", "switching it on", "fired it up"}
)


def _topic(p: Part, workload: str | None, taken: frozenset[str] = frozenset()) -> str | None:
    kinds = {i.kind for i in p.outcomes}
    if "dark" in kinds or "start" in p.topics or any(i.kind == "picture" and i.denied for i in p.outcomes):
        return "start"
    if "picture" in kinds and any(w.text in _SHOWS or w.text in _AT_ONCE for w in p.words):
        return "start"
    for kind in TESTS[:2]:
        if kind in p.topics:
            return kind if kind == "soak" or "soak" not in p.topics else "soak"
    if p.hours:
        return "soak"
    if p.has("fail") and p.has("entry") and not p.events:
        return None
    if p.events:
        return "event"
    if p.states:
        return "state"
    if workload is not None and p.has("through") and p.signs("w") and not _left(p, taken):
        return "run"
    noun = _symptoms(p)
    health = any(i.kind in ("still", "fixed") for i in p.health)
    if (noun and (health or p.has("deny"))) or (health and any(w.text == "open" for w in p.words)):
        return "open"
    return None


def _left(p: Part, taken: frozenset[str]) -> bool:
    """Whether it has whole numbers that are no clocks."""
    return any(n.text not in taken for n, _ in p.ints)


def _symptoms(p: Part) -> bool:
    return any(
        w.text.removesuffix("s") in _SYMPTOM or w.text.startswith(("wrong with", "left to")) for w in p.words
    )


def _one_of(p: Part) -> bool:
    """``one of them``, which is counted by itself."""
    return any(
        a.text in ("one", "1")
        and b.text.startswith("of ")
        and not any(w.of("deny") for w in p.words[max(0, i - 1) : i])
        for i, (a, b) in enumerate(itertools.pairwise(p.words))
    )


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
_AT_ONCE = frozenset(
    {
        "first",
        "once",
        "straight",
        "straight away",
        "immediately",
        "at once",
        "right away",
        "instantly",
        "was there",
    }
)
_SYMPTOM = frozenset({"symptom", "oddity", "oddities", "fault", "bug", "problem", "issue"})


def _alone(p: Part, workload: str | None) -> str | None:
    """What a bare ``failed`` or ``made it`` speaks of."""
    if p.has("fail") and p.has("entry"):
        return None
    if p.signs("r") and p.has("through"):
        return "run"
    if workload is not None:
        return "run" if p.has("through", "fail") and not p.ints else None
    if p.well and any(w.text in _HEALTHY for w in p.words) and not p.signs("w"):
        return "state"
    if p.outcomes and all(i.kind == "bad" and i.denied for i in p.outcomes) and not _symptoms(p):
        return "state"
    return "event" if p.well is False and p.has("fail") else None


_HEALTHY = frozenset({"sound", "healthy", "happy", "healthily", "soundly"})


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
