"""What a sentence says of holding and health: its parts, what each is about, and whether it came out well or not."""

from __future__ import annotations

import itertools
import re
from collections.abc import Sequence

import msgspec

from leadoff.claims.rows import constant
from leadoff.claims.search.trials_around import (
    all_through,
    closes,
    comes_up,
    in_a_test,
    not_made,
    not_one,
    of_telling,
    partly,
    short_of,
)
from leadoff.claims.search.trials_numbers import numbers_in, share_in, timed
from leadoff.claims.search.trials_words import Word, split, words_of
from leadoff.claims.spoken.reading import Said
from leadoff.claims.spoken.values import Num

TESTS = ("soak", "copy", "start")
EVENTS = ("hang", "reboot", "crash")
STATES = ("stable", "unstable", "flawless", "safe", "unsafe")
_OUTCOMES = ("good", "bad", *EVENTS, "dark", "picture", *STATES)
_WELL = frozenset({"good", "picture", "stable", "flawless", "safe"})
_SYMPTOMS = ("fixed", "anymore", "still", "repair", "retest")


class Item(msgspec.Struct, frozen=True):
    """A word that may turn a claim, and whether it is denied."""

    kind: str
    denied: bool

    @property
    def well(self) -> bool:
        """Whether it says that all went well."""
        return (self.kind in _WELL) != self.denied


class Part(msgspec.Struct, frozen=True, kw_only=True):
    """A part of a sentence. ``topics`` are the kinds of tests it names, ``outcomes`` what came of it, ``health`` what
    it says of symptoms; ``denied_topic``: the test itself is denied. ``asked``: a question
    before the claim, ``share``: how far a soak got; ``unspent``: a denial that goes with nothing that was heard."""

    words: tuple[Word, ...]
    topics: tuple[str, ...] = ()
    denied_topic: bool = False
    outcomes: tuple[Item, ...] = ()
    health: tuple[Item, ...] = ()
    hours: tuple[Num, ...] = ()
    clocks: tuple[str, ...] = ()
    counts: tuple[Num, ...] = ()
    ints: tuple[tuple[Num, str], ...] = ()
    share: Num | None = None
    read: frozenset[str] = frozenset()
    asked: bool = False
    unspent: bool = False

    def has(self, *names: str) -> bool:
        """Whether a word of one of these classes is in it."""
        return any(w.of(*names) for w in self.words)

    def signs(self, kinds: str) -> list[str]:
        """Signs of these kinds in their order."""
        return [w.sign for w in self.words if w.sign and w.sign[0] in kinds]

    @property
    def events(self) -> tuple[Item, ...]:
        return tuple(i for i in self.outcomes if i.kind in EVENTS)

    @property
    def states(self) -> tuple[Item, ...]:
        return tuple(i for i in self.outcomes if i.kind in STATES)

    @property
    def well(self) -> bool | None:
        """Whether it came out well; ``None`` where nothing or both is said."""
        found = {i.well for i in self.outcomes}
        return found.pop() if len(found) == 1 else None


def heard(text: str, said: Said) -> list[Part]:
    """Parts of a sentence in their order, numbers read by what stands around them."""
    words = timed(words_of(said.low), said)
    asked = _asked(text, words)
    out, at = [], 0
    for piece in split(words):
        # An exception (``all but two``) is a word of its own.
        at = next((i for i in range(at, len(words)) if words[i] is piece[0]), at)
        out.append(_part(piece, said, asked=at < asked))
    return _turned(_answered(_beeping(out)))


def _beeping(parts: list[Part]) -> list[Part]:
    """``beeps, three of them``: a number of beeps."""
    out: list[Part] = []
    for p in parts:
        many = len(p.ints) == 1 and [w.text for w in p.words[1:]] == ["of them"]
        if out and many and out[-1].words[-1].text.startswith("beep"):
            number = ((p.ints[0][0], "beeps"),)
            out[-1] = msgspec.structs.replace(out[-1], words=(*out[-1].words, p.words[0]), ints=number)
        else:
            out.append(p)
    return out


def _answered(parts: list[Part]) -> list[Part]:
    """``Is it stable? It is.``: what was asked goes for the answer."""
    for i, (a, b) in enumerate(itertools.pairwise(parts)):
        words = [w.text for w in b.words]
        if a.asked and a.outcomes and not b.asked and words and all(t in _ANSWERS for t in words):
            turn = any(w.of("deny") for w in b.words)
            items = tuple(Item(o.kind, o.denied != turn) for o in a.outcomes)
            return [*parts[:i], msgspec.structs.replace(a, outcomes=items, asked=False), *parts[i + 2 :]]
    return parts


_ANSWERS = frozenset(
    {
        "it",
        "she",
        "he",
        "yes",
        "no",
        "is",
        "was",
        "did",
        "does",
        "do",
        "has",
        "had",
        "will",
        "not",
        "never",
        "indeed",
        "oh",
    }
    | {"they", "were", "are", "certainly", "sure", "surely", "absolutely", "very", "of", "course", "i"}
)


def _asked(text: str, words: Sequence[Word]) -> int:
    """How many words belong to a question before the claim: ``Serial port? Fixed.``"""
    m = re.match(r"([^?]{2,40})\?\s+\S", text.strip())
    if m is None:
        return 0
    commas = m[1].count(",")
    for i, w in enumerate(words):
        if w.text == ",":
            if commas == 0:
                return i
            commas -= 1
    return 0


def _part(words: Sequence[Word], said: Said, *, asked: bool) -> Part:
    outcomes: list[Item] = []
    health: list[Item] = []
    topics: list[str] = []
    pending = denied_topic = denials = topic_after = False
    for i, w in enumerate(words):
        if w.of("deny") and not w.of(*_OUTCOMES) and not partly(words, i) and not of_telling(words, i):
            pending = denials = True
            topic_after = False
        kinds = [k for k in (*_OUTCOMES, *_SYMPTOMS) if w.of(k)]
        if kinds == ["picture"] and any(
            x.text in ("end", "through", "to the end") for x in words[max(0, i - 4) : i]
        ):
            # What a workload draws.
            kinds = []
        if w.text in ("came back", "come back", "comes back") and any(
            x.of("good", "bad") for x in words[i + 1 : i + 3]
        ):
            kinds = []
        if i > 1 and words[i - 1].text == "to" and words[i - 2].of("bad"):
            # Declined to answer, failed to match: one outcome.
            kinds = []
        if w.text in ("right", "straight") and any(x.text in _PUTS for x in words[max(0, i - 7) : i]):
            kinds = ["fixed"]
        if w.text in _UNDERGOES and pending and any(x.of(*TESTS) for x in words[i + 1 : i + 4]):
            # Never went through a copy-compare: there was none.
            kinds = []
        if w.of("good") and outcomes and not outcomes[-1].well and short_of(words, i):
            kinds = []
        if w.text == "last" and i and words[i - 1].text in _BEFORE_LAST:
            kinds = ["good"]
        if kinds == ["retest"] and in_a_test(words, i):
            kinds = []
        if not kinds and (comes_up(words, i) or all_through(words, i, said)):
            kinds = ["good"]
        if w.text == "gone" and i and (words[i - 1].sign[:1] == "n" or words[i - 1].text in _LOST):
            kinds = []
        if w.sign.startswith("n") and said.num(w.sign).kind == "beeps":
            kinds = ["dark"]
        again = i > 0 and words[i - 1].text in ("or", "nor") and bool(outcomes) and outcomes[-1].denied
        for kind in kinds:
            (health if kind in _SYMPTOMS else outcomes).append(Item(kind, pending or again))
        tests = [t for t in TESTS if w.of(t)]
        if any(not said_of_time(words, i) for _ in tests):
            topics += tests
            topic_after = topic_after or pending
        if any(k in _OUTCOMES for k in kinds):
            pending = topic_after = False
    if (pending and topics and not outcomes and not_made(words)) or (
        pending and topic_after and not outcomes
    ):
        denied_topic = True
    elif pending and outcomes and not any(o.denied for o in outcomes) and not topic_after and closes(words):
        outcomes[-1] = Item(outcomes[-1].kind, True)
    hours, clocks, counts, ints, read = numbers_in(words, said)
    if (
        "soak" in topics
        and not hours
        and any(
            a.text in ("a", "one", "whole", "full", "entire") and b.text == "day"
            for a, b in itertools.pairwise(words)
        )
    ):
        hours = (Num("hours", 24.0, text="a whole day"),)
    if len(counts) == 1 and counts[0].value == 1 and not_one(words):
        # Not one of sixty was bad: none of them.
        counts = (msgspec.structs.replace(counts[0], value=0.0),)
        outcomes = [Item(o.kind, False) for o in outcomes]
    if len(ints) == 1 and ints[0][0].value == 1 and not_one(words):
        read, ints = [*read, ints[0][0].text], ()
    share = share_in(words, said) if "soak" in topics else None
    if share is not None:
        read = [*read, share.text]
    return Part(
        words=tuple(words),
        share=share,
        topics=tuple(dict.fromkeys(topics)),
        denied_topic=denied_topic,
        outcomes=tuple(outcomes),
        health=tuple(health),
        hours=hours,
        clocks=clocks,
        counts=counts,
        ints=ints,
        read=frozenset(read),
        unspent=pending
        and not denied_topic
        and not any(o.denied for o in (*outcomes, *health))
        and not any(
            w.of("symptom", "other") or w.text in ("longer", "shorter", "long", "short") for w in words
        ),
        asked=asked and not denials,
    )


_UNDERGOES = frozenset(
    {
        "went through",
        "go through",
        "gone through",
        "been through",
        "goes through",
        "sat through",
        "sit through",
    }
)
_BEFORE_LAST = frozenset({"not", "did", "will", "would", "could", "to", "it", "they", "never", "should"})
_PUTS = frozenset({"put", "puts", "set", "putting", "setting", "made"})
_LOST = frozenset({"minute", "minutes", "second", "seconds", "byte", "bytes", "key", "keys", "file", "files"})
"""``not a minute gone``: what is missing, and no symptom that is gone."""


def said_of_time(words: Sequence[Word], i: int) -> bool:
    """``to start with``, ``start screen``: no start of a board."""
    after = words[i + 1].text if i + 1 < len(words) else ""
    before = words[i - 1].text if i else ""
    return words[i].text.startswith("start") and (
        after in ("with", "screen")
        or (
            after == "from" and not any(w.text in ("cold", "stone", "standing") for w in words[i + 2 : i + 3])
        )
        or before == "start screen"
    )


def _turned(parts: list[Part]) -> list[Part]:
    """``hang, not once``: a part that only denies turns what was said before it."""
    out: list[Part] = []
    for p in parts:
        if out and _goes_for(p) and (before := next((x for x in reversed(out) if x.outcomes), None)):
            turn = any(w.of("deny") for w in p.words)
            p = msgspec.structs.replace(
                p,
                outcomes=tuple(Item(i.kind, i.denied != turn) for i in before.outcomes),
                topics=before.topics,
                unspent=False,
            )
        empty = not (
            p.outcomes or p.health or p.topics or p.hours or p.counts or p.ints or p.signs("bkswrgo")
        )
        if (
            empty
            and out
            and any(w.of("deny") for w in p.words)
            and closes(p.words)
            and out[-1].outcomes
            and not any(i.denied for i in out[-1].outcomes)
        ):
            turned = tuple(Item(i.kind, True) for i in out[-1].outcomes)
            out[-1] = msgspec.structs.replace(out[-1], outcomes=turned, asked=False)
        else:
            out.append(p)
    return out


def _goes_for(p: Part) -> bool:
    """``the second did not``, ``the Elm did``: what was said before goes for another, or does not."""
    if p.outcomes or p.topics or p.health or p.hours or p.counts or len(p.words) > _SHORT:
        return False
    if p.ints:
        return len(p.ints) == 1 and p.words[-1].text in _AUXILIARIES | {"not"} and not p.signs("bksw")
    another = p.signs("bks") or any(
        w.text in ("former", "latter", "first", "second", "other") for w in p.words
    )
    ends = [w.text for w in p.words if w.text != "not"][-1:]
    return bool(another) and (any(w.text in _DID for w in p.words) or ends[0] in _AUXILIARIES)


_DID = ("did", "does", "was", "has", "had", "could")
_AUXILIARIES = frozenset(
    {"did", "does", "do", "was", "were", "has", "had", "have", "could", "would", "is", "are"}
)
_SHORT = int(constant("trial_answer_words"))
"""An answer that leans on what was said before has no more words than this."""
