"""Sentences of a text, and a sentence in plain form: one spelling for each thing that is said in several."""

from __future__ import annotations

import re
from functools import lru_cache

import msgspec

from leadoff.claims.rows import table
from leadoff.claims.spoken.amounts import amounts, typed
from leadoff.claims.spoken.denials import is_answer
from leadoff.claims.spoken.spelled import digits
from leadoff.claims.spoken.typos import corrected

_END = re.compile(r"(?<=[.!?;])(?<!\.\.)[\"')\]]*\s+(?=\S)|(?<=\.\.)\s+(?=[A-Z])|\n+")
_CLAUSE = re.compile(
    r",?\s+(?:but|while|whereas|although|though)\s+|,\s+and\s+(?=(?:at|with|without|none|nobody|no board|"
    r"only(?! one| just| \d)|neither)\s)|\s+-\s+|\s*--\s*|"
    r"\s*[–—]\s*",
    re.I,
)
_EXCEPT = re.compile(
    r"\b((?:all|none|nobody|nothing|everything|everyone|everybody|anything|every board|every 1|no board)"
    r"(?: of (?:them|mine|my boards|the boards))?),? but\b",
    re.I,
)
_FIRST_NOT = re.compile(r"\W*not (?:[\w.-]+ ){1,5}?but (.+)", re.I | re.S)
_ONE_ONLY = re.compile(
    r"\b(?:gave|gives|made|brought|caused?|blame|responsible|because|fastest|quickest|slowest|best|worst|record)\b",
    re.I,
)
"""``Not the one but the other gave it``: said of what can be one thing only."""
_BUT = re.compile(
    r"\bnot ((?!only\b|just\b)(?:[\w.-]+ ){1,6}?)but (?=(?:to|the|because|due|by|from|at|with|of|on|a|an|\d)\b)",
    re.I,
)
"""``not due to the bus but to the read wait``."""
_VERBS = (
    "is are was were be do does did has have had can could will would should may might must runs ran gets got reads "
    "beats holds makes made gives gave takes took who what which why how when where"
)
_FRAGMENT = re.compile(
    rf"(?:(?!\b(?:{_VERBS.replace(' ', '|')}|\w+n't|(?:it|that|this|what|who|he|she|there|here|how|where)'s)\b)"
    r"[\w.'’ ,x-])+\?",
    re.I,
)
"""A question without a verb."""
_SHORT = ("vs.", "approx.", "ca.", "no.", "e.g.", "i.e.")
_CONTRACTED = (
    ("won't", "will not"),
    ("can't", "can not"),
    ("cannot", "can not"),
    ("n't", " not"),
    ("'ve", " have"),
    ("'ll", " will"),
    ("'re", " are"),
    ("i'm", "i am"),
    ("it's", "it is"),
    ("that's", "that is"),
    ("there's", "there is"),
)
_SAME = (
    (r"[‘’ʼ]", "'"),
    (r"[“”]", '"'),
    (r"×", "x"),
    (r"\bwrite[ -]?back\b", "write-back"),
    (r"\bwrite[ -]?(?:through|thru)\b", "write-through"),
    (r"\bcopy[ -]?compares?\b", "copy-compare"),
    (r"\bwait[ -]?states?\b", "waits"),
    (r"\bwaitstates?\b", "waits"),
    (r"(?<!\bno, )(?<!\bno )\bwait\b(?! for| a (?:minute|moment|second|sec|bit)\b|,? no\b)", "waits"),
    (r"\bmegahertz\b|\bmegacycles?\b|\bmegs? of clock\b", "mhz"),
    (r"\bmegabytes?\b|\bmegs\b|\bmbytes?\b", "mb"),
    (r"\bprec?ent\b|\bpercnt\b|\bpct\b", "%"),
    (r"\bper cent\b|\bpercent\b|\bprocent\b", "%"),
    (r"\bpercentage points?\b", "%"),
    (r"\bno one\b", "nobody"),
    (r"\bsecond[ -]level cache\b|\blevel 2 cache\b|\bl2[ -]cache\b", "l2"),
    (r"\bsecond[ -]level\b(?= (?:pattern|timing|setting|size))", "l2"),
    (r"\bfirst[ -]level cache\b|\blevel 1 cache\b|\bl1[ -]cache\b", "l1"),
    (r"\bcas[ -]?latency\b|\bcl(?=\s?\d)", "cas"),
    (r"\bcas(\d)", r"cas \1"),
    (r"\bslot[ -]?1\b|\bslot one\b", "slot-1"),
    (r"\b(socket|slot)[ -]?(\d+)\b", r"\1-\2"),
    (r"\bsocket[ -]?(seven|five|three)\b", r"socket-\1"),
    (r"\bi486|\b486dx?\d?\b", "486"),
    (r"\bframe rate\b", "frames"),
    (r"(?<=\d)(?=(?:fps|mhz|mb|kb|k|ns|s|h|ws)\b)", " "),
    (r"(?<=\d),(?=\d{1,2}\b(?!,\d))", "."),
)


class Plain(msgspec.Struct, frozen=True):
    """A sentence as it was written, and in plain form in lower case with numbers as digits."""

    text: str
    low: str


def sentences(text: str) -> tuple[str, ...]:
    """The sentences of a text. A full stop inside a number or after a known short form ends none."""
    out: list[str] = []
    for piece in _END.split(text):
        if (out and out[-1].lower().endswith(_SHORT)) or (
            out and out[-1].endswith("?") and is_answer(piece.strip())
        ):
            out[-1] = f"{out[-1]} {piece.strip()}"
        elif out and _FRAGMENT.fullmatch(out[-1]):
            # "Copy rate? The Elm does 201." names in its first part what the second is about.
            out[-1] = f"{out[-1]} {piece.strip()}"
        elif piece.strip():
            out.append(piece.strip())
    return tuple(out)


_DENIED = re.compile(r"n't\b|n’t\b|\b(?:not|never|nope|nah|hardly|cannot|misread|wrong)\b", re.I)
_VERB = (
    r"(?:is|was|are|were|has|had|did|does|do|went|took|takes|holds?|held|ended|comes?|came|gave|gives|"
    r"got|gets|changed|"
    r"missed|reads?|ran|runs|only|made|makes|stays?|stayed|kept|keeps|beats?|wins?|won|lost|loses|fell|"
    r"needs?|needed)"
)
_CORRECTED = re.compile(
    rf"[,;:]\s+(?=(?:and |so )?(?:it|that|this|they|she|he|both|all|"
    rf"the [a-z0-9-]+(?: [a-z0-9-]+){{0,3}}?)(?:'s|’s| {_VERB})\b)",
    re.I,
)


def clauses(sentence: str) -> tuple[str, ...]:
    """Parts that claim something of their own: joined by ``but``, ``while`` and the like."""
    return tuple(
        p for p in (c.strip() for c in _CLAUSE.split(_put_right(_EXCEPT.sub(r"\1 except", sentence)))) if p
    )


def _put_right(sentence: str) -> str:
    """``not A but B`` as ``not A, it is B``, so that it stays one part."""

    def made(m: re.Match[str]) -> str:
        lead = re.match(r"(due|owed|thanks|down|because) (to|of)\b", m[1])
        after = sentence[m.end() :]
        again = f"{lead[1]} " if lead and after.startswith(lead[2]) else ""
        return f"not {m[1].strip()}, it is {again}"

    if (m := _FIRST_NOT.match(sentence)) and _ONE_ONLY.search(sentence):
        return m[1]
    return _BUT.sub(made, re.sub(r"\banything but (?=[a-z-]+\b)(?!the\b|my\b|a\b)", "not ", sentence))


def corrected_parts(part: str) -> tuple[str, ...]:
    """A denial and what is put in its place: ``it was not done at 33, the bus was at 40``; else the part alone."""
    at = next((m for m in _CORRECTED.finditer(part) if _DENIED.search(part[: m.start()])), None)
    return (part,) if at is None else (part[: at.start()], part[at.end() :])


def plain(sentence: str) -> Plain:
    """The plain form of one sentence."""
    return Plain(text=sentence.strip(), low=_phrased(spelled(sentence)).strip(" ,"))


def spelled(sentence: str) -> str:
    """A sentence in lower case with one spelling for each word and numbers as digits, its wording as it was said."""
    low = f" {sentence.strip().lower()} "
    for form, same in _SAME[:3]:
        low = re.sub(form, same, low)
    low = typed(low)
    for form_, same in _shorthand():
        low = form_.sub(same, low)
    for said, whole in _CONTRACTED:
        low = low.replace(said, whole)
    for form, same in _SAME[3:]:
        low = re.sub(form, same, low)
    low = re.sub(r"[\"(){}!?;]|:(?!\d)|\.(?=\s)|(?<!\d),|,(?!\d)", " , ", low)
    low = amounts(digits(" ".join(low.split())))
    return corrected(low.strip(" ,"))


@lru_cache(maxsize=1)
def _shorthand() -> tuple[tuple[re.Pattern[str], str], ...]:
    return tuple((re.compile(said), same) for said, same in table("shorthand")["rows"])


@lru_cache(maxsize=1)
def _phrases() -> tuple[tuple[re.Pattern[str], str], ...]:
    return tuple((re.compile(said), same) for rows in table("phrases").values() for said, same in rows)


def _phrased(low: str) -> str:
    """One wording for what is said in many ways (``phrases.toml``)."""
    for said, same in _phrases():
        low, times = said.subn(same, low)
        if times:
            low = " ".join(low.split())
    return low
