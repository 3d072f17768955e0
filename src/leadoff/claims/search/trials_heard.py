"""What a sentence says of holding and health: its parts, what each is about, and whether it came out well or not."""

from __future__ import annotations

import re
from collections.abc import Sequence

import msgspec

from leadoff.claims.rows import constant
from leadoff.claims.search.trials_words import Word, split, words_of
from leadoff.claims.spoken.reading import Said
from leadoff.claims.spoken.values import Num

TESTS = ("soak", "copy", "start")
EVENTS = ("hang", "reboot", "crash")
STATES = ("stable", "unstable", "flawless", "safe", "unsafe")
_OUTCOMES = ("good", "bad", *EVENTS, "dark", "picture", *STATES)
_WELL = frozenset({"good", "picture", "stable", "flawless", "safe"})
_SYMPTOMS = ("fixed", "anymore", "still", "repair", "retest")
_CLOCK = re.compile(r"\d{1,2}:\d\d")


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
    before the claim, ``share``: how far a soak got."""

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
    words = words_of(said.low)
    asked = _asked(text, words)
    out, at = [], 0
    for piece in split(words):
        # An exception (``all but two``) is a word of its own.
        at = next((i for i in range(at, len(words)) if words[i] is piece[0]), at)
        out.append(_part(piece, said, asked=at < asked))
    return _turned(out)


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
        if w.of("deny") and not w.of(*_OUTCOMES) and not _partly(words, i) and not _of_telling(words, i):
            pending = denials = True
            topic_after = False
        kinds = [k for k in (*_OUTCOMES, *_SYMPTOMS) if w.of(k)]
        if w.text in ("came back", "come back", "comes back") and any(
            x.of("good", "bad") for x in words[i + 1 : i + 3]
        ):
            kinds = []
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
    if pending and topic_after and not outcomes:
        denied_topic = True
    elif pending and outcomes and not any(o.denied for o in outcomes) and not topic_after and _closes(words):
        outcomes[-1] = Item(outcomes[-1].kind, True)
    hours, clocks, counts, ints, read = _numbers(words, said)
    if len(counts) == 1 and counts[0].value == 1 and _not_one(words):
        # Not one of sixty was bad: none of them.
        counts = (msgspec.structs.replace(counts[0], value=0.0),)
        outcomes = [Item(o.kind, False) for o in outcomes]
    share = _share(words, said) if "soak" in topics else None
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
        asked=asked and not denials,
    )


_LOST = frozenset({"minute", "minutes", "second", "seconds", "byte", "bytes", "key", "keys", "file", "files"})
"""``not a minute gone``: what is missing, and no symptom that is gone."""


def _share(words: Sequence[Word], said: Said) -> Num | None:
    """``not even half over``: the share of a soak that had gone by."""
    for i, w in enumerate(words):
        n = said.num(w.sign) if w.sign[:1] == "n" else None
        half = w.text in ("halfway", "half-way", "midway") or (
            w.text == "half" and any(x.text in _GONE for x in words[i + 1 : i + 3])
        )
        if half or (n is not None and n.kind in ("part", "pct")):
            value = 0.5 if n is None else n.value if n.value <= 1 else n.value / 100
            less = any(
                x.of("deny") or x.text in ("less", "before", "barely", "short")
                for x in words[max(0, i - 4) : i]
            )
            mod = "under" if less else n.mod if n is not None else ""
            return Num("part", value, mod=mod, text=w.sign)
    return None


_GONE = frozenset({"over", "done", "through", "gone", "way", "finished", "up", "into", "completed"})


def _not_one(words: Sequence[Word]) -> bool:
    """Whether the count of a clause is denied: ``not one of the sixty``."""
    return any(
        w.of("deny") and any(x.sign[:1] == "n" or x.text in ("one", "single") for x in words[i + 1 : i + 3])
        for i, w in enumerate(words)
    )


def _partly(words: Sequence[Word], i: int) -> bool:
    """``not all``, which denies none of them."""
    after = words[i + 1 : i + 2]
    return words[i].text == "not" and bool(after) and after[0].text in ("all", "every", "both", "each")


def _of_telling(words: Sequence[Word], i: int) -> bool:
    """``can not argue with``, ``will not hide``: the telling is denied, not what is told."""
    return any(w.of("tell") for w in words[i + 1 : i + 3])


def _closes(words: Sequence[Word]) -> bool:
    """Whether nothing of weight follows the last denial: ``trouble none at all``."""
    at = max(i for i, w in enumerate(words) if w.of("deny"))
    return all(w.text in _EMPTY for w in words[at + 1 :])


_EMPTY = frozenset(
    {"at", "all", "once", "ever", "a", "single", "one", "1", "time", "of", "them", "it", "whatsoever"}
)


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
            )
        empty = not (
            p.outcomes or p.health or p.topics or p.hours or p.counts or p.ints or p.signs("bkswrgo")
        )
        if (
            empty
            and out
            and any(w.of("deny") for w in p.words)
            and _closes(p.words)
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
    if p.outcomes or p.topics or p.health or p.hours or p.counts or p.ints or len(p.words) > _SHORT:
        return False
    another = p.signs("bk") or any(
        w.text in ("former", "latter", "first", "second", "other") for w in p.words
    )
    return bool(another) and any(w.text in ("did", "does", "was", "has", "had", "could") for w in p.words)


_SHORT = int(constant("trial_answer_words"))
"""An answer that leans on what was said before has no more words than this."""
_UNITS_OF_TIME = {"day": 24.0, "days": 24.0, "night": 12.0, "nights": 12.0, "week": 168.0, "weeks": 168.0}

_APART = frozenset(
    {
        "later",
        "ago",
        "apart",
        "between",
        "after",
        "before",
        "earlier",
        "afterwards",
        "on",
        "since",
        "lie",
        "lay",
    }
)
"""After a span of days, words that make it the time between two runs and no length of a test."""


def _numbers(
    words: Sequence[Word], said: Said
) -> tuple[tuple[Num, ...], tuple[str, ...], tuple[Num, ...], tuple[tuple[Num, str], ...], list[str]]:
    """Hours, times of day as said, counts such as 3 of 5, and whole numbers with the word after them."""
    hours: list[Num] = []
    clocks: list[str] = []
    counts: list[Num] = []
    ints: list[tuple[Num, str]] = []
    read: list[str] = []
    skip = -1
    for i, w in enumerate(words):
        if _CLOCK.fullmatch(w.text):
            clocks.append(w.text)
        if not w.sign.startswith("n") or i == skip or w.sign in read:
            continue
        n = said.num(w.sign)
        after = words[i + 1] if i + 1 < len(words) else Word("")
        people = after.text == "of" and any(x.text in ("you", "us") for x in words[i + 2 : i + 3])
        if people or (n.value == 1 and i and words[i - 1].of("all")):
            read.append(w.sign)
            continue
        two = said.num(after.sign) if after.sign.startswith("n") else None
        joined = n.kind == "hours" or (n.kind == "value" and n.unit == "s" and n.value % 60 == 0)
        if joined and two is not None and two.kind == "bare" and two.value < 60:
            whole = n.value if n.kind == "hours" else n.value / 60
            clocks.append(f"{whole:.0f}:{two.value:02.0f}")
            read += [w.sign, after.sign]
            skip = i + 1
        elif n.kind == "hours":
            hours.append(_longer(n, words, i))
        elif n.kind == "bare" and (of := _whole(words, i, said)):
            counts.append(msgspec.structs.replace(n, kind="count", of=said.num(of).value))
            read.append(of)
        elif n.kind == "bare" and not n.places and (few := _few_of(words, i, said)):
            rate = "rate" if words[i - 1].text == "in" else ""
            counts.append(Num("count", few, of=n.value, mod=rate))
        elif n.kind in ("count", "all"):
            counts.append(n if n.of is not None else msgspec.structs.replace(n, of=n.value))
        elif n.kind in ("bare", "loose", "value", "beeps", "goes") and not n.places and n.unit in ("", "h"):
            if after.text in _UNITS_OF_TIME and n.kind == "bare":
                if any(x.text in _APART for x in words[i + 2 : i + 3]):
                    continue
                hours.append(
                    msgspec.structs.replace(n, kind="hours", value=n.value * _UNITS_OF_TIME[after.text])
                )
            else:
                name = "beeps" if n.kind == "beeps" else after.text
                ints.append((msgspec.structs.replace(n, text=w.sign), name))
                continue
        else:
            continue
        read.append(w.sign)
    return tuple(hours), tuple(clocks), tuple(counts), tuple(ints), read


_FEW = {"one": 1.0, "1": 1.0, "single": 1.0, "once": 1.0, "twice": 2.0, "thrice": 3.0}


def _few_of(words: Sequence[Word], i: int, said: Said) -> float:
    """``one in sixty``, ``twice out of five``: how many of the number that stands here; 0 where none is said."""
    before = [w.text for w in words[max(0, i - 3) : i]]
    if before[-2:] == ["out", "of"]:
        before = before[:-1]
    counted = i + 1 < len(words) and words[i + 1].of("board")
    if len(before) < 2 or counted or before[-1] not in ("in", "of", "out", "out of"):
        return 0.0
    n = said.num(before[-2][1:-1]) if re.fullmatch(r"\{n\d+\}", before[-2]) else None
    return _FEW.get(before[-2] if n is None else n.text, 0.0)


def _whole(words: Sequence[Word], i: int, said: Said) -> str:
    """The sign of the whole that a number is so many of: ``three copies in sixty``, ``ten for ten``."""
    near = words[i + 1 : i + 5]
    for k, w in enumerate(near):
        if w.text in ("of", "in", "from", "for", "out of") and k + 1 < len(near):
            of = next((x.sign for x in near[k + 1 : k + 3] if x.sign.startswith("n")), "")
            if of and said.num(of).kind == "bare" and said.num(of).value >= said.num(words[i].sign).value:
                return of
            return ""
    return ""


def _longer(n: Num, words: Sequence[Word], i: int) -> Num:
    """``12 hours or longer`` is at least that."""
    near = {w.text for w in words[i + 1 : i + 4]}
    if "or" in near and near & {"longer", "more", "better", "above", "over"}:
        return msgspec.structs.replace(n, mod="over")
    if "or" in near and near & {"less", "shorter", "under"}:
        return msgspec.structs.replace(n, mod="under")
    return n
