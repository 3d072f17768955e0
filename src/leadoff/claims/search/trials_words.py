"""Words of holding and health in the order they were said, each with the classes it belongs to."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache

import msgspec

from leadoff.claims.rows import constant, table
from leadoff.claims.spoken.ordinary import acting
from leadoff.claims.spoken.reading import forms_of, is_known

_TOKEN = re.compile(r"\{[a-z]\d+\}|\d{1,2}:\d\d|\d+(?:\.\d+)?|[a-z%][\w'/-]*|,")
_LONGEST = int(constant("entry_words"))
"""Words of the longest entry of the data rows."""
_JOINS = frozenset(
    {"and", "but", "while", "whereas", "yet", "though", "although", "however", "because", "since", "plus"}
)
_PRONOUNS = frozenset({"it", "she", "he", "they"})
_ARTICLES = frozenset({"the", "a", "an", "my", "our", "this", "that", "at", "on", "with"})


class Word(msgspec.Struct, frozen=True):
    """A word, several that belong together, or a sign such as ``{b0}``."""

    text: str
    classes: frozenset[str] = frozenset()

    @property
    def sign(self) -> str:
        """The name of the mention it stands for, empty for words."""
        return self.text[1:-1] if self.text.startswith("{") else ""

    def of(self, *names: str) -> bool:
        """Whether it belongs to one of these classes."""
        return any(n in self.classes for n in names)


@lru_cache(maxsize=1)
def _rows() -> dict[tuple[str, ...], frozenset[str]]:
    found: dict[tuple[str, ...], set[str]] = {}
    rows = table("trials")
    for name, words in (*rows["classes"].items(), *rows["small"].items()):
        for word in str(words).split():
            found.setdefault(tuple(word.split("_")), set()).add(name)
    return {k: frozenset(v) for k, v in found.items()}


@lru_cache(maxsize=4096)
def classes_of(word: str) -> frozenset[str]:
    """Classes of a single word in any of its forms."""
    rows = _rows()
    own = rows.get((word,))
    if own is not None:
        return own
    bare = word.removesuffix("'s").strip("'-")
    return frozenset(c for f in sorted(forms_of(bare)) for c in rows.get((f,), ()))


def words_of(low: str) -> list[Word]:
    """Words of a skeleton; those that belong together are one."""
    tokens = _TOKEN.findall(low)
    rows, out, i = _rows(), [], 0
    while i < len(tokens):
        for n in range(min(_LONGEST, len(tokens) - i), 1, -1):
            if (found := rows.get(tuple(tokens[i : i + n]))) is not None:
                out.append(Word(" ".join(tokens[i : i + n]), found))
                i += n
                break
        else:
            text = tokens[i]
            out.append(Word(text, frozenset() if text[0] in "{," else classes_of(text)))
            i += 1
    return [Word(w.text) if _down_the(out, i) else w for i, w in enumerate(out)]


def _down_the(words: Sequence[Word], i: int) -> bool:
    """``went down the corridor``: no crash."""
    near = [w.sign[:1] for w in words[i + 1 : i + 3]]
    return words[i].text.endswith(" down") and "w" in near


def split(words: Sequence[Word]) -> list[list[Word]]:
    """Parts of a sentence. A list of mentions of one kind stays together."""
    parts: list[list[Word]] = [[]]
    for i, w in enumerate(words):
        if (
            w.text == "but"
            and any(x.of("all", "deny") for x in words[max(0, i - 5) : i])
            and _names(words, i)
        ):
            parts[-1].append(Word("but", frozenset({"except"})))
        elif w.text == "," or w.text in _JOINS:
            if _lists(words, i) or (w.text == "since" and _dated(words, i)):
                parts[-1] += [w] if w.text == "since" else []
                continue
            parts.append([])
        else:
            parts[-1].append(w)
    return [p for p in parts if p]


def _dated(words: Sequence[Word], i: int) -> bool:
    """Whether a date comes next: ``since May`` gives no reason."""
    right = next((w for w in words[i + 1 :] if w.text not in _ARTICLES), Word(""))
    return right.sign[:1] == "d"


def _names(words: Sequence[Word], i: int) -> bool:
    """Whether a board or a number comes next: ``all but the one``."""
    right = next((w for w in words[i + 1 :] if w.text not in _ARTICLES), Word(""))
    return (right.sign[:1] in ("b", "k", "n", "w") and bool(right.sign)) or right.text in ("one", "1")


def _lists(words: Sequence[Word], i: int) -> bool:
    """Whether a comma or ``and`` stands between two mentions of one kind."""
    left = next((w for w in reversed(words[:i]) if w.text not in _ARTICLES and w.text != ","), None)
    at = next((k for k in range(i + 1, len(words)) if words[k].text not in (*_ARTICLES, "and", ",")), None)
    right = words[at] if at is not None else None
    if at is not None and at + 1 < len(words) and words[at + 1].text in _PRONOUNS:
        # ``with CAS 2 it is stable, with CAS 3 it is not``: another clause.
        return False
    return bool(left and right and left.sign and right.sign and left.sign[0] == right.sign[0] in "bgksd")


def unknown(words: Sequence[Word], known: frozenset[str]) -> list[str]:
    """Words that belong to no class and that nobody here knows."""
    out = []
    for i, w in enumerate(words):
        if w.classes or w.sign or w.text == "," or w.text[0].isdigit() or " " in w.text:
            continue
        bare = w.text.removesuffix("'s").strip("'-")
        counted = bare.endswith("s") and any(x.sign[:1] == "n" for x in words[max(0, i - 2) : i])
        acts = acting().search(" ".join(x.text for x in words[max(0, i - 1) : i + 2])) is not None
        if bare and not (forms_of(bare) & known if counted or acts else is_known(bare, known)):
            out.append(bare)
    return out
