"""Numbers of a part by what stands around them: hours, times of a failure, so many of so many, shares of a soak."""

from __future__ import annotations

import re
from collections.abc import Sequence

import msgspec

from leadoff.claims.search.trials_words import Word
from leadoff.claims.spoken.reading import Said
from leadoff.claims.spoken.values import Num

_CLOCK = re.compile(r"\d{1,2}:\d\d")
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


def numbers_in(
    words: Sequence[Word], said: Said
) -> tuple[tuple[Num, ...], tuple[str, ...], tuple[Num, ...], tuple[tuple[Num, str], ...], list[str]]:
    """Hours, times of day as said, counts such as 3 of 5, and whole numbers with the word after them."""
    hours: list[Num] = []
    clocks: list[str] = []
    counts: list[Num] = []
    ints: list[tuple[Num, str]] = []
    read: list[str] = []
    skip = -1
    failing = any(x.of("hang", "reboot", "crash") for x in words)
    for i, w in enumerate(words):
        if _CLOCK.fullmatch(w.text):
            clocks.append(w.text)
        if not w.sign.startswith("n") or i == skip or w.sign in read:
            continue
        n = said.num(w.sign)
        if (spoken := _spoken_clock(n, words, i)) and failing:
            clocks.append(spoken)
            read.append(w.sign)
            continue
        after = words[i + 1] if i + 1 < len(words) else Word("")
        people = after.text == "of" and any(x.text in ("you", "us") for x in words[i + 2 : i + 3])
        if people or (n.value == 1 and i and words[i - 1].of("all")):
            read.append(w.sign)
            continue
        two = said.num(after.sign) if after.sign.startswith("n") else None
        joined = n.kind == "hours" or (n.kind == "value" and n.unit == "s" and n.value % 60 == 0)
        if joined and two is not None and (small := _smaller(n, two)) is not None:
            whole = n.value if n.kind == "hours" else n.value / 60
            clocks.append(f"{whole:.0f}:{small:02.0f}")
            read += [w.sign, after.sign]
            skip = i + 1
        elif _in_minutes(n) and failing:
            clocks.append(
                f"{n.value // 60:.0f}:{n.value % 60:02.0f}" if n.value % 60 else f" {n.value // 60:.0f}:"
            )
        elif n.kind == "hours":
            hours.append(_longer(n, words, i))
        elif n.kind == "bare" and (of := _whole(words, i, said)):
            counts.append(msgspec.structs.replace(n, kind="count", of=said.num(of).value))
            read.append(of)
        elif n.kind == "factor" and n.text in _OFTEN and after.text not in ("as", "the", "that", "what"):
            ints.append((msgspec.structs.replace(n, text=w.sign), "times"))
            continue
        elif n.kind in ("bare", "goes") and not n.places and (few := _few_of(words, i, said)):
            rate = "rate" if words[i - 1].text == "in" else ""
            counts.append(Num("count", few, of=n.value, mod=rate))
        elif n.kind == "all" and n.of is None and i and words[i - 1].text == "of":
            ints.append((msgspec.structs.replace(n, text=w.sign), after.text))
            continue
        elif n.kind in ("part", "pct") and (unit := _unit_after(words, i)):
            share = n.value if n.value < 1 else n.value / 100
            hours.append(msgspec.structs.replace(n, kind="hours", value=share * _UNITS_OF_TIME[unit]))
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


def _unit_after(words: Sequence[Word], i: int) -> str:
    """``half a day``, ``a quarter of a day``: the unit of a share."""
    near = [w.text for w in words[i + 1 : i + 4] if w.text not in ("a", "the", "of")]
    return near[0] if near and near[0] in _UNITS_OF_TIME and near[0] not in ("night", "nights") else ""


def _in_minutes(n: Num) -> bool:
    """Minutes and seconds in one: 200 s."""
    return n.kind == "value" and n.unit == "s" and n.value >= 60 and n.value == round(n.value)


def _spoken_clock(n: Num, words: Sequence[Word], i: int) -> str:
    """``at three twenty``: a time of three digits, empty where it is none."""
    at = i > 0 and words[i - 1].text in ("at", "after")
    timed = at and n.kind == "bare" and not n.unit and 100 <= n.value < 1260 and n.value % 100 < 60
    return f"{n.value // 100:.0f}:{n.value % 100:02.0f}" if timed else ""


def _smaller(n: Num, two: Num) -> float | None:
    """Minutes after hours or seconds after minutes, as said after them."""
    if two.kind == "bare" and two.value < 60:
        return two.value
    if two.kind != "value" or two.unit != "s":
        return None
    small = two.value / 60 if n.kind == "hours" else two.value
    return small if small < 60 and small == round(small) else None


_OFTEN = ("twice", "thrice")
_FEW = {"one": 1.0, "1": 1.0, "single": 1.0, "once": 1.0, "twice": 2.0, "thrice": 3.0}


def _few_of(words: Sequence[Word], i: int, said: Said) -> float:
    """``one in sixty``, ``twice out of five``: how many of the number that stands here; 0 where none is said."""
    before = [
        w.text
        for w in words[max(0, i - 4) : i]
        if not w.of("copy", "start") and w.text not in ("time", "cold")
    ]
    if before[-2:] == ["out", "of"]:
        before = before[:-1]
    counted = i + 1 < len(words) and words[i + 1].of("board")
    if len(before) < 2 or counted or before[-1] not in ("in", "of", "out", "out of"):
        return 0.0
    n = said.num(before[-2][1:-1]) if re.fullmatch(r"\{n\d+\}", before[-2]) else None
    return _FEW.get(before[-2] if n is None else n.text, 0.0)


def _whole(words: Sequence[Word], i: int, said: Said) -> str:
    """The sign of the whole that a number is so many of: ``three copies in sixty``, ``ten for ten``."""
    near = words[i + 1 : i + 7]
    for k, w in enumerate(near):
        if w.sign[:1] == "n":
            return ""
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


def share_in(words: Sequence[Word], said: Said) -> Num | None:
    """``not even half over``: the share of a soak that had gone by."""
    for i, w in enumerate(words):
        n = said.num(w.sign) if w.sign[:1] == "n" else None
        if n is not None and any(x.text in _UNITS_OF_TIME for x in words[i + 1 : i + 3]):
            continue
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


def timed(words: list[Word], said: Said) -> list[Word]:
    """Without the ``and`` of ``three hours and twenty minutes``."""

    def spans(a: Word, b: Word) -> bool:
        if a.sign[:1] != "n" or b.sign[:1] != "n":
            return False
        one, two = said.num(a.sign), said.num(b.sign)
        minutes = two.kind == "value" and two.unit == "s" and two.value % 60 == 0 and two.value < 3600
        return one.kind == "hours" and (minutes or (two.kind == "bare" and two.value < 60))

    return [
        w
        for i, w in enumerate(words)
        if not (w.text == "and" and 0 < i < len(words) - 1 and spans(words[i - 1], words[i + 1]))
    ]
