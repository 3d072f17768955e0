"""What stands around a word that may turn a claim: small looks at the words of a part."""

from __future__ import annotations

from collections.abc import Sequence

from leadoff.claims.search.trials_words import Word
from leadoff.claims.spoken.reading import Said


def comes_up(words: Sequence[Word], i: int) -> bool:
    """``it started``, ``the board woke``: what a start is for."""
    after = words[i + 1].text if i + 1 < len(words) else ""
    subject = any(x.text in _SUBJECTS or x.sign[:1] in ("b", "k") for x in words[max(0, i - 2) : i] if x.text)
    return words[i].text in _RISES and subject and after not in ("to", "with", "from", "screen", "at")


def all_through(words: Sequence[Word], i: int, said: Said) -> bool:
    """``went eight hours through``."""
    before = words[i - 1].sign if i else ""
    return words[i].text == "through" and before[:1] == "n" and said.num(before).kind == "hours"


def not_made(words: Sequence[Word]) -> bool:
    """``the copy-compare was never done``: that there was none."""
    at = max(i for i, w in enumerate(words) if w.of("deny"))
    return any(w.text in _MADE for w in words[at + 1 : at + 4])


def in_a_test(words: Sequence[Word], i: int) -> bool:
    """``in the disk read test``: a thing that is run, and no test of a symptom."""
    return words[i].text in ("test", "tests") and any(
        x.text in ("in", "on", "during", "by", "under") for x in words[max(0, i - 4) : i]
    )


def short_of(words: Sequence[Word], i: int) -> bool:
    """``froze before it could finish``: what it did not come to."""
    timed = words[i].text in ("lasted", "lasts") and any(x.sign[:1] == "n" for x in words[i + 1 : i + 3])
    return timed or any(x.text in ("before", "instead", "rather") for x in words[max(0, i - 4) : i])


def not_one(words: Sequence[Word]) -> bool:
    """Whether the count of a clause is denied: ``not one of the sixty``."""
    return any(
        w.of("deny") and any(x.sign[:1] == "n" or x.text in ("one", "single") for x in words[i + 1 : i + 3])
        for i, w in enumerate(words)
    )


def partly(words: Sequence[Word], i: int) -> bool:
    """``not all``, which denies none of them."""
    after = words[i + 1 : i + 2]
    return words[i].text == "not" and bool(after) and after[0].text in ("all", "every", "both", "each")


def of_telling(words: Sequence[Word], i: int) -> bool:
    """``can not argue with``, ``will not hide``: the telling is denied, not what is told."""
    return any(w.of("tell") for w in words[i + 1 : i + 3])


def closes(words: Sequence[Word]) -> bool:
    """Whether nothing of weight follows the last denial: ``trouble none at all``."""
    at = max(i for i, w in enumerate(words) if w.of("deny"))
    return all(w.text in _EMPTY for w in words[at + 1 :])


_MADE = frozenset(
    {
        "done",
        "made",
        "counted",
        "run",
        "taken",
        "recorded",
        "logged",
        "tallied",
        "given",
        "attempted",
        "carried",
    }
)


_SUBJECTS = frozenset(
    {
        "first",
        "second",
        "former",
        "latter",
        "other",
        "it",
        "she",
        "he",
        "board",
        "machine",
        "box",
        "thing",
        "one",
        "they",
    }
)


_RISES = frozenset(
    {
        "ran",
        "started",
        "starts",
        "booted",
        "woke",
        "awoke",
        "came up",
        "comes up",
        "came alive",
        "comes alive",
        "came to life",
    }
    | {"powered up", "started up", "sprang to life", "lit up", "woke up", "fired up", "got going"}
)


_EMPTY = frozenset(
    {
        "to",
        "speak",
        "mention",
        "worth",
        "at",
        "all",
        "once",
        "ever",
        "a",
        "single",
        "one",
        "1",
        "time",
        "of",
        "them",
        "it",
        "whatsoever",
    }
)
