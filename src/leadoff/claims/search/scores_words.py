"""Classes of words that a sentence about single scores may hold."""

from __future__ import annotations

import re
from functools import lru_cache

from leadoff.claims.rows import table
from leadoff.claims.search.talk import Talk
from leadoff.claims.spoken.names import harmless, remarks
from leadoff.claims.spoken.reading import forms_of

_SIGN = re.compile(r"\{[a-z]\d+\}")
_EXCEPT = re.compile(
    r"\b(?:except(?:ing|ion)?|excluding|save(?: for)?|apart(?: from)?|barring|bar|aside|other than|besides|"
    r"(?:nobody|none|nothing|no \w+|every\w*|every \w+|all(?: \w+)?|any\w*) but|but (?:the|for))\b"
)
_WORD = re.compile(r"[a-z]+(?:[-'][a-z]+)*")


@lru_cache(maxsize=1)
def classes() -> dict[str, frozenset[str]]:
    """Every class by its name."""
    return {
        name: frozenset(str(row).split())
        for name, row in table("scores_words").items()
        if isinstance(row, str)
    }


def words(text: str) -> list[str]:
    """Words of a skeleton or of a sentence in lower case, signs left out."""
    return _WORD.findall(_SIGN.sub(" ", text.replace("’", "'")))


def is_in(word: str, name: str) -> bool:
    """Whether a word or what it is a form of stands in a class."""
    return bool(forms_of(word) & classes()[name])


def hears(talk: Talk, *names: str) -> bool:
    """Whether a word of one of these classes stands in the sentence as it was read."""
    return any(is_in(w, n) for w in words(talk.said.low) for n in names)


def hears_raw(talk: Talk, *names: str) -> bool:
    """The same of the sentence as it was said."""
    return any(is_in(w, n) for w in words(talk.text.lower()) for n in names)


def excepts(talk: Talk) -> bool:
    """Whether somebody or something is left out (``nobody but``, ``the 386 apart``)."""
    low = f" {talk.said.low} {' '.join(words(talk.text.lower()))} "
    return _EXCEPT.search(low) is not None


def strange(talk: Talk) -> list[str]:
    """Words of the sentence that are no known small word, no word of talk and in no class."""
    known = harmless() | remarks() | frozenset(w for row in classes().values() for w in row)
    return talk.said.leftovers(known)


OUTDONE = re.compile(
    r"\b(?:nobody|no \w+|nothing|none)\b[^{},]*\b(?:beats?|below|under|faster|quicker|sooner|better|past|"
    r"above|over|higher|"
    r"tops?|touch(?:es)?|near|close|lower|less|matches|ahead)\b(?: \w+){0,2} (?:this|that|it|\{b\d+\})(?= |$)"
)
"""Nobody gets past it: what it speaks of is first."""
_ALONE = re.compile(
    r"\bthe only\b|\bonly (?:the |my )?\{[bk]\d+\}|\{[bk]\d+\} (?:alone|only)\b|\bonly (?:one|"
    r"\{n\d+\}) (?:of|board|machine)|"
    r"\{n\d+\} (?:only|alone|tops|at (?:the )?(?:very )?most|and no more|and nothing more)\b|"
    r"\b(?:alone|sole|solely|exclusively|nobody else|no other|nothing else|no one else|single-handed)\b"
)


def alone(talk: Talk) -> bool:
    """Whether something is said of one and of no other."""
    return _ALONE.search(talk.said.low) is not None


_COPY = frozenset({"copy", "copies", "copied", "compare"})
_START = re.compile(r"\b(?:to|at the|from the|for a) start\b|\bstart(?:s|ed|ing)? (?:at|from|with)\b")


_UNLESS = re.compile(
    r"\b(?:when|whenever|as long as|so long as|unless|until|till|provided) (?:it|that|the \w+|he|"
    r"she) (?:[\w']+ ){0,3}"
    r"(?:hang|hung|crash|reboot|freez|lock|fail|die)\w*"
)
"""``when it did not hang``: figures are spoken of, not the failures between them."""


def tried(talk: Talk) -> list[str]:
    """Words of soaks, copies, starts and failures in the sentence as it was said, those of a workload left out."""
    text = _UNLESS.sub(" ", _START.sub(" ", talk.text.lower()))
    copying = any("copy" in w for w in talk.said.workloads)
    found = [w for w in words(text) if is_in(w, "trials")]
    found += [w for w in words(talk.said.low) if w in ("stable", "solid", "flawless", "soaked")]
    return [w for w in found if not (copying and w in _COPY)]
