"""Words of ordinary talk, by topic: said beside a claim they turn none, and none of them could be part of one."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from functools import lru_cache

from leadoff.claims.rows import table
from leadoff.claims.spoken.inflection import adjective, doer, plural, verb
from leadoff.claims.spoken.names import everyday, harmless, remarks

TOPICS = ("talk_people", "talk_world", "talk_work")
_FORMS: dict[str, Callable[[str], frozenset[str]]] = {
    "nouns": plural,
    "verbs": verb,
    "doers": doer,
    "adjectives": adjective,
    "words": lambda word: frozenset({word}),
}
_ANYWHERE = ("negation", "doubt", "supposition", "often", "which")
_PERSONS = ("family", "friends_and_company")


@lru_cache(maxsize=1)
def ordinary() -> frozenset[str]:
    """Every form of these words, but those that turn a claim; none where a form stands in a class of its own, but
    for those that are shared: known to one search, and nothing to the others."""
    rows = [(kind, row) for topic in _topics().values() for kind, row in topic.items()]
    shared = frozenset(w for kind, row in rows if kind == "shared" for w in row.split())
    families = [_FORMS[kind](w) for kind, row in rows for w in row.split() if kind != "shared"]
    return shared.union(*(f for f in families if not f & classed())) - turning()


@lru_cache(maxsize=1)
def acting() -> re.Pattern[str]:
    """Whoever does what a board would do: ``the rope held`` is no talk beside the claim but its subject."""
    verbs = f"is was has had does did {table('spoken')['harmless']['verbs']}".split()
    return re.compile(
        rf"\b(?:the|my|our|your|his|her|their|an?|this|that) ([a-z-]+) (?:{'|'.join(verbs)})(?![\w-])"
    )


@lru_cache(maxsize=1)
def persons() -> frozenset[str]:
    """Words for persons; ``its brother`` is another board."""
    return frozenset(
        form for name in _PERSONS for noun in _topics()[name]["nouns"].split() for form in plural(noun)
    )


def _topics() -> Mapping[str, Mapping[str, str]]:
    return {topic: rows for name in TOPICS for topic, rows in table(name).items()}


@lru_cache(maxsize=1)
def turning() -> frozenset[str]:
    """Words that can turn a claim and stand in no class: they are to stay unknown, whatever they are a form of."""
    return frozenset(w for words in table("talk_turning").values() for w in str(words).split())


@lru_cache(maxsize=1)
def hedging() -> frozenset[str]:
    """Those of them that turn a claim even from a remark beside it, and that nobody reads."""
    rows = table("talk_turning")
    read = harmless() | remarks() | everyday() | classed()
    return frozenset(w for kind in _ANYWHERE for w in str(rows[kind]).split()) - read


@lru_cache(maxsize=1)
def classed() -> frozenset[str]:
    """Single words of the searches' own classes: each knows its own, and no other may pass them over."""
    rows = [
        *(str(r) for r in table("scores_words").values() if isinstance(r, str)),
        *(str(r) for part in ("classes", "small") for r in table("trials")[part].values()),
        *(str(r) for part in ("words", "moves") for r in table("effects")[part].values()),
        *(
            str(r)
            for name in ("seals_words", "runs_words")
            for r in table(name).values()
            if isinstance(r, str)
        ),
    ]
    return frozenset(
        form for row in rows for word in row.split() if "_" not in word for form in _spelled(word)
    )


def _spelled(pattern: str) -> set[str]:
    """``sav(?:e|es|ed)``: its words, as far as it is that plain."""
    stem, _, ends = pattern.partition("(?:")
    if not ends:
        return {stem}
    inner, _, tail = ends.partition(")")
    more = {""} if tail.startswith("?") else set()
    return {f"{stem}{e}" for e in {*inner.split("|"), *more}}


@lru_cache(maxsize=8192)
def is_ordinary(word: str) -> bool:
    """Whether it is one of these words, or several of them joined by hyphens (``coffee-table``)."""
    if word in ordinary():
        return True
    parts = word.split("-")
    return len(parts) > 1 and word not in turning() | classed() and all(p in ordinary() for p in parts)
