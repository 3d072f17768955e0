"""What a clause says of runs: its noun, what it counts, when, the first and the last, and what it says of them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache

import msgspec

from leadoff.claims.rows import constant, table
from leadoff.claims.search.trials_words import Word
from leadoff.claims.spoken.reading import Said
from leadoff.claims.spoken.values import Num


@lru_cache(maxsize=64)
def says(name: str) -> re.Pattern[str]:
    """A class of sayings, as one pattern."""
    return re.compile("|".join(table("runs_words")[name]))


@lru_cache(maxsize=8)
def row(name: str) -> frozenset[str]:
    """A class of single words."""
    return frozenset(str(table("runs_words")[name]).split())


@lru_cache(maxsize=1)
def own_words() -> frozenset[str]:
    """Words that the sayings of this kind are made of."""
    texts = [x for v in table("runs_words").values() for x in ([v] if isinstance(v, str) else v)]
    return frozenset(w for t in texts for w in re.findall(r"(?<!\\)[a-z]{3,}", str(t).replace("\\b", " ")))


_DAYS = {"day": 1.0, "days": 1.0, "week": 7.0, "weeks": 7.0, "month": 30.4, "months": 30.4, "years": 365.0}
_CLOSE = int(constant("count_near"))
"""A number and the runs it counts stand at most so many words apart."""
_RANGE = re.compile(
    r"\b(?P<kind>between|from)(?: the)? \{(?P<a>d\d+)\}"
    r"(?: (?:and|to|until|till|through|up to))?(?: the)? \{(?P<b>d\d+)\}"
)


@lru_cache(maxsize=1)
def _relations() -> dict[str, str]:
    return {
        words: name for name in ("before", "after", "until", "since") for words in table("runs_words")[name]
    }


@lru_cache(maxsize=1)
def _dated() -> re.Pattern[str]:
    ways = "|".join(sorted(_relations(), key=len, reverse=True))
    return re.compile(
        rf"(?P<rel>(?:\b(?:{ways}) (?:the |as early as |as late as )*)?)\{{(?P<d>d\d+)\}}"
        r"(?P<on>(?: onwards?| on(?= ,| ?$))?)"
    )


class When(msgspec.Struct, frozen=True, kw_only=True):
    """A date with how a run stands to it: on, before, after, until, since; ``to`` ends a range."""

    relation: str
    date: str
    to: str = ""


class Amount(msgspec.Struct, frozen=True, kw_only=True):
    """How many of what. ``unit``: run, reading, board or workload. ``k`` with ``mod``, or a ``word`` in its
    place: all, none, share. ``of`` is the whole that it is counted of; ``each``: so many on every board."""

    unit: str
    k: int | None = None
    mod: str = ""
    word: str = ""
    share: float = 0.0
    of: int | None = None
    each: bool = False
    read: frozenset[str] = frozenset()

    def fits(self, found: int) -> bool:
        """Whether so many were found."""
        if self.word == "none":
            return found == 0
        k = self.k or 0
        return found >= k if self.mod == "over" else found <= k if self.mod == "under" else found == k


def whens(low: str, said: Said) -> list[When]:
    """Dates of a clause in their order."""
    out: list[When] = []

    def ranged(m: re.Match[str]) -> str:
        a, b = (said.dates[int(m[k][1:])] for k in ("a", "b"))
        relation = "span" if m["kind"] == "from" else "between"
        out.append(When(relation=relation, date=a, to=b))
        return " "

    low = _RANGE.sub(ranged, low)
    for m in _dated().finditer(low):
        relation = _relations().get(re.sub(r" (?:the|as early as|as late as)\b", "", m["rel"].strip()), "on")
        if m["on"]:
            relation = "since"
        out.append(When(relation=relation, date=said.dates[int(m["d"][1:])]))
    return out


def amount(words: Sequence[Word], said: Said, taken: frozenset[str], *, first: bool = True) -> Amount | None:
    """What a clause counts, ``None`` where it counts nothing. ``taken``: numbers that are clocks; ``first``: nothing
    was counted before it."""
    for i, w in enumerate(words):
        if (
            w.sign.startswith("n")
            and (n := said.num(w.sign)).kind in ("part", "pct")
            and _after(words, i) in ("of", "the", "my")
        ):
            share = n.value / 100 if n.value > 1 or n.kind == "pct" else n.value
            return Amount(unit="run", word="share", share=share, mod=n.mod, read=frozenset({w.sign}))
    for w in words:
        if w.sign.startswith("n") and (n := said.num(w.sign)).kind == "count" and n.of:
            return Amount(unit="run", k=round(n.value), mod=n.mod, of=round(n.of), read=frozenset({w.sign}))
    if any(w.text == "not" for w in words[-1:]) and words[0].sign[:1] == "n":
        return None
    nouns = [
        i for i, w in enumerate(words) if w.of("entry", "outing") or w.text in _OF_THEM or w.sign[:1] == "w"
    ]
    readings = [
        i
        for i, w in enumerate(words)
        if w.of("reading")
        and not any(x.of("deny") or (nouns and x.text in _LONE) for x in words[max(0, i - 2) : i])
    ]
    per = {i + 1 for i, w in enumerate(words[:-1]) if w.text in ("per", "a") and words[i + 1].of("board")}
    each = any(w.text in ("each", "apiece") for w in words[-2:]) or _each_board(words) or bool(per)
    whole, rest = _wholes(words, said, taken)
    numbers = [(i, said.num(w.sign)) for i, w in enumerate(words) if w.sign in rest]
    times = [
        (i, n)
        for i, n in numbers
        if _after(words, i) in ("times", "time", "goes") or n.kind in ("goes", "factor")
    ]
    boards = [
        i
        for i, w in enumerate(words)
        if (i not in per and (w.of("board") and w.text not in _OF_THEM))
        or (w.sign[:1] == "k" and i not in per)
    ]
    works = [i for i, w in enumerate(words) if w.text in _WORKS]
    for unit, at in (("board", boards), ("workload", works), ("run", nouns), ("reading", readings)):
        near = [(i, n) for i, n in numbers if any(0 < j - i <= _CLOSE for j in at)]
        if len(near) == 1:
            i, n = near[0]
            if unit == "board" and any(w.text in _EACH for w in words[i + 1 : at[0]]):
                return Amount(
                    unit="run", k=round(n.value), mod=n.mod, each=True, read=frozenset({words[i].sign})
                )
            if unit == "board" and any(w.text in _OFTEN for w in words):
                return None
            return Amount(
                unit=unit, k=round(n.value), mod=n.mod, of=whole, each=each, read=frozenset({words[i].sign})
            )
        if len(near) > 1:
            return None
        for j in at:
            before = words[max(0, j - _CLOSE) : j]
            if any(w.text in ("one", "1", "single", "sole") for w in before) and not any(
                w.of("deny") for w in before
            ):
                if unit == "board" and any(w.text in _EACH for w in before):
                    return Amount(unit="run", k=1, each=True)
                return Amount(unit=unit, k=1, of=whole, each=each)
            if any(w.of("deny") for w in before):
                return Amount(unit=unit, word="none")
            if any(w.text == "any" for w in before) and any(w.of("deny") for w in words[:j]):
                return Amount(unit=unit, word="none")
            if unit != "run" and (times or any(w.text in _OFTEN for w in words)):
                return None
            if any(w.of("all") or w.text == "both" for w in before) or (
                words[j].text == "of them" and _all(before)
            ):
                return Amount(unit=unit, word="all", of=whole)
            if any(w.text in ("most", "majority") for w in before):
                return Amount(unit=unit, word="share", share=0.5, mod="over")
    if len(times) == 1:
        i, n = times[0]
        return Amount(unit="run", k=round(n.value), mod=n.mod, each=each, read=frozenset({words[i].sign}))
    often = next((w.text.split()[-1] for w in words if w.text in _OFTEN or w.text == "the once"), "")
    if any(w.text in ("one single time", "a single time") for w in words):
        often = "once"
    if often and not any(w.of("deny") for w in words):
        return Amount(unit="run", k=_OFTEN[often], each=each)
    if whole is not None and len(numbers) == 1:
        i, n = numbers[0]
        return Amount(unit="run", k=round(n.value), mod=n.mod, of=whole, read=frozenset({words[i].sign}))
    if whole is not None and not numbers and nouns:
        return Amount(unit="run", k=whole)
    if (
        whole is None
        and len(numbers) == 1
        and numbers[0][1].kind in ("bare", "loose")
        and nouns == []
        and first
        and _bare(words)
    ):
        return Amount(
            unit="run", k=round(numbers[0][1].value), each=each, read=frozenset({words[numbers[0][0]].sign})
        )
    if len(numbers) == 1 and first and numbers[0][0] <= 1 and numbers[0][1].kind in ("bare", "loose"):
        return Amount(
            unit="run", k=round(numbers[0][1].value), each=each, read=frozenset({words[numbers[0][0]].sign})
        )
    if any(
        w.text in ("one", "1")
        and words[i + 1].text in _ALONE
        and not (i and words[i - 1].text in ("no", "not", "that", "this", "the"))
        for i, w in enumerate(words[:-1])
    ):
        return Amount(unit="run", k=1, of=whole, each=each)
    if denied := [i for i, w in enumerate(words) if w.of("deny")]:
        # ``the run never began`` counts no runs.
        told = nouns and min(denied) > max(nouns) and not any(w.of("able") for w in words[min(denied) :])
        return None if told else Amount(unit="run", word="none")
    if any(w.text in ("both", "all", "everything") for w in words):
        return Amount(unit="run", word="all")
    return None


_ALONE = frozenset(
    {
        "time",
        "single",
        "alone",
        "only",
        "of them",
        "of these",
        "of those",
        "has",
        "had",
        "gave",
        "did",
        "never",
        "failed",
        "ended",
        "came",
        "went",
        "was",
        "is",
    }
)
_EACH = ("each", "every")
_LONE = ("one", "1", "single", "sole")
_WORKS = ("workload", "workloads", "tests", "programs", "benchmarks")
_OF_THEM = ("of them", "of these", "of those")
_OFTEN = {"once": 1, "twice": 2, "thrice": 3}


def _bare(words: Sequence[Word]) -> bool:
    """Whether a clause is a bare number: ``fourteen``."""
    return sum(not w.sign for w in words) <= _CLOSE


def _each_board(words: Sequence[Word]) -> bool:
    return any(
        w.text in ("each", "every") and any(x.of("board") or x.sign[:1] == "k" for x in words[i + 1 : i + 4])
        for i, w in enumerate(words)
    )


def _all(words: Sequence[Word]) -> bool:
    return any(w.of("all") for w in words)


def _after(words: Sequence[Word], i: int) -> str:
    return words[i + 1].text if i + 1 < len(words) else ""


def _wholes(words: Sequence[Word], said: Said, taken: frozenset[str]) -> tuple[int | None, list[str]]:
    """The whole that others are counted of (``of the sixty-two runs``), and the numbers that are left."""
    whole: int | None = None
    rest: list[str] = []
    for i, w in enumerate(words):
        if not w.sign.startswith("n") or w.sign in taken:
            continue
        n = said.num(w.sign)
        if not counts(n):
            continue
        if any(x.text in ("of", "out of") for x in words[max(0, i - 2) : i]) and whole is None:
            whole = round(n.value)
        else:
            rest.append(w.sign)
    return whole, rest


def counts(n: Num) -> bool:
    """Whether a number may count runs."""
    if n.kind == "factor":
        return n.text in _OFTEN
    return (
        n.kind in ("bare", "loose", "value", "goes", "all") and not n.unit and not n.places and n.hi is None
    )


def verb_at(words: Sequence[Word]) -> int | None:
    """Where the verb of a clause stands."""
    found = [i for i, w in enumerate(words) if i and w.text in row("verbs")]
    if (
        len(found) > 1
        and words[found[0] - 1].text in _SPEAKERS
        and words[found[1]].text in ("was", "is", "were")
    ):
        # ``the last thing I ran on it was``
        return found[1]
    return found[0] if found else None


_SPEAKERS = ("i", "we", "it", "she", "he", "ever")


def days(m: re.Match[str], said: Said) -> tuple[float, float]:
    """A span of time in days, and how far off it may be."""
    if m["n"]:
        n, unit = said.num(m["n"]).value, _DAYS[m["u"]]
        return n * unit, 0.5 if unit == 1.0 else 0.5 * unit
    more = _DAYS[m["yd"]] if m["yd"] else 0.0
    return 365.0 + more, 0.5 if m["yd"] == "day" else 10.0
