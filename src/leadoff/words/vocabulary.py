"""The names of settings, as a person may say them."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from functools import cache, lru_cache

from leadoff.record.settings import SETTINGS
from leadoff.words.forms import own_form
from leadoff.words.rows import rows

Head = tuple[tuple[str, str], ...]
"""Forms with the setting each sets, in the order in which they are tried."""


@cache
def heads() -> Mapping[str, Head]:
    """Every name a setting goes by, in lower case, with the forms of value that may follow."""
    table: dict[str, Head] = {}
    for name, setting in SETTINGS.items():
        own: Head = ((own_form(setting.kind, setting.unit), name),)
        for said in (name, name.replace("_", " "), label(name).lower()):
            table[said] = own
    for head in rows("aliases")["head"]:
        forms: Head = tuple(head["forms"].items())
        for said in head["words"]:
            own = table.get(said, ())
            table[said] = tuple(dict.fromkeys((*forms, *own))) if own and own[0] not in forms else forms
    return table


@cache
def own_names() -> Mapping[str, Head]:
    """Names of several words that say one setting and nothing else; the display card's own rule says more."""
    table: dict[str, Head] = {}
    for name, setting in SETTINGS.items():
        for said in (name, name.replace("_", " "), label(name).lower()):
            if name != "video" and (" " in said or "_" in said):
                table[said] = ((own_form(setting.kind, setting.unit), name),)
    return table


def label(name: str) -> str:
    """How a setting is said back."""
    if name.startswith("ram."):
        return "ram " + name.removeprefix("ram.")
    return str(rows("aliases")["label"].get(name, name))


@cache
def phrase_words(table: str, section: str) -> Mapping[str, Mapping[str, object]]:
    """The rows of a section of a word table by each of their words."""
    return {said: row for row in rows(table)[section] for said in row["words"]}


@cache
def known_words() -> frozenset[str]:
    """Every word that already means something, so that it names no new workload and can be offered."""
    said: set[str] = set(heads())
    said |= {
        "x4",
        "as",
        "back to",
        "ram",
        "cache",
        "tag",
        "video",
        "cpu",
        "specimen",
        "wb on",
        "soak",
        "copy",
    }
    for table, section in WORD_TABLES:
        said |= set(phrase_words(table, section))
    said |= set(rows("aliases")["alone"]) | set(rows("aliases")["several"])
    for name in ("closed", "ok", "claim"):
        said |= set(rows("failures")[name]["words"])
    return frozenset(said)


WORD_TABLES = (
    ("failures", "failure"),
    ("failures", "symptom"),
    ("failures", "place"),
    ("readings", "reading"),
    ("readings", "protocol"),
)


@cache
def reserved_words() -> frozenset[str]:
    """Single words that never name a workload: they mean something, or are the small change of speech."""
    return frozenset(w for said in known_words() for w in said.split()) | frozenset(
        rows("scores")["reserved"]["words"]
    )


def likeness(kind: str) -> float:
    """How like a known word a typed one must be to pass for a slip of it, by kind of word (``likeness.toml``)."""
    return float(rows("likeness")[kind]["value"])


def nearest(word: str, known: Collection[str], kind: str = "word") -> list[str]:
    """Known words that look like ``word``, best first; a digit more or less is another name, not a slip."""
    typed = word.lower()
    letters = typed.rstrip("0123456789")
    spelt = {k.lower(): k for k in known}
    near = _close(typed, frozenset(spelt), likeness(kind))
    return [spelt[n] for n in near if n.rstrip("0123456789") != letters or not letters]


@lru_cache(maxsize=4096)
def _close(word: str, known: frozenset[str], cutoff: float) -> tuple[str, ...]:
    """The three closest. Words whose length or letters alone rule them out are left out first: that is most."""
    from difflib import get_close_matches

    mine = len(word)
    able = [
        k
        for k in known
        if 2 * min(mine, len(k)) >= cutoff * (mine + len(k))
        and 2 * sum(map(k.__contains__, word)) >= cutoff * (mine + len(k))
    ]
    return tuple(get_close_matches(word, sorted(able), n=3, cutoff=cutoff))
