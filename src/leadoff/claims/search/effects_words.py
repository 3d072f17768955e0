"""Words of a sentence by their classes (``effects.toml``), wherever they stand."""

from __future__ import annotations

import re
from functools import lru_cache

import msgspec

from leadoff.claims.rows import table

_NO_DENIAL = re.compile(
    r"\b(?:not even|nothing more than|no more than|not more than|no less than|not only|not just|not merely|no doubt|"
    r"no question|(?:and )?nothing but|(?<=, )(?:every|each) (?:single )?(?:time|day|evening)(?= ?$)|hands off|"
    r"(?:and )?no (?:more|less|fewer) than that|"
    r"(?<=\} , )(?:and |but )?(?:no|nothing|not any|not a \w+) (?:more|less|fewer)(?= ?$| ,)|"
    r"(?:and )?not an? "
    r"(?:frame|second|line|point|bit) (?:more|less)|ever (?:did|does|do|got|gets|managed|manages|made|makes|had|"
    r"has|reached|"
    r"reaches|saw|scored|read|ran|was)|not bad|no wonder|nothing else|and nothing else|not least|no problem|no "
    r"joke|no stress|no kidding|"
    r"no surprise|at least|at (?:the )?(?:very )?most|ever so|"
    r"at (?:its|their|his|her) (?:very )?(?:best|quickest|fastest)|"
    r"(?:with |on |in |from )?(?:its|their|his|her|the|each|own|my)? ?(?:very )?best (?:sheet|run|setting|state|"
    r"evening|day|figure|score|effort|time|one)s?|"
    r"(?:than |to |of |beside |next to )the best (?:that )?(?:the |my )?\{b\d+\}|"
    r"(?:every|each) (?:(?:last|single) )?(?:bit|frame|scrap|inch|ounce|one) of (?:that|this|it|the gain|the loss)|"
    r"(?:with |and )?(?:everything|all|anything) else(?: was| left| kept| being| stayed)?"
    r"(?: alone| the same| equal| as it was| untouched| unchanged)?|"
    r"(?:all )?the rest(?: (?:was|is|stayed|left|kept|being))? (?:as it (?:was|is)|the same|alone|untouched|"
    r"unchanged|equal))\b"
)
"""Words that look like a denial, or like a word on all boards, and are none; blanked before classes are sought."""


class Hit(msgspec.Struct, frozen=True, kw_only=True):
    """Some words of one class, and where they stand in the skeleton."""

    kind: str
    start: int
    end: int
    text: str


@lru_cache(maxsize=1)
def _classes() -> dict[str, re.Pattern[str]]:
    out = {}
    for kind, words in table("effects")["words"].items():
        forms = sorted((w.replace("_", " ") for w in words.split()), key=lambda f: (-f.count(" "), -len(f)))
        out[kind] = re.compile(rf"(?<![\w{{-])(?:{'|'.join(forms)})(?![\w}}-])")
    return out


@lru_cache(maxsize=512)
def hits_in(low: str) -> tuple[Hit, ...]:
    """All classed words of a skeleton in their order; what lies inside a longer hit of several words is left out."""
    low = _NO_DENIAL.sub(lambda m: "~" * len(m[0]), low)
    found = [
        Hit(kind=kind, start=m.start(), end=m.end(), text=m[0])
        for kind, form in _classes().items()
        for m in form.finditer(low)
    ]
    longer = [h for h in found if " " in h.text]
    kept = [
        h
        for h in found
        if not any(o.start <= h.start and h.end <= o.end and len(o.text) > len(h.text) for o in longer)
    ]
    return tuple(sorted(kept, key=lambda h: (h.start, h.end)))


@lru_cache(maxsize=16)
def moves(kind: str) -> re.Pattern[str]:
    """What was done to a setting: more, less, quick, slow; acts, out, in; kept."""
    forms = (w.replace("_", " ") for w in str(table("effects")["moves"][kind]).split())
    return re.compile(rf"(?<![\w{{-])(?:{'|'.join(forms)})(?![\w}}-])")


@lru_cache(maxsize=1)
def class_words() -> frozenset[str]:
    """Every plain word that stands in one of the classes, with the endings that their patterns allow."""
    out: set[str] = set()
    tables = table("effects")
    for words in (*tables["words"].values(), *tables["moves"].values()):
        for word in re.split(r"[\s_]+", words):
            stem, _, ends = word.partition("(?:")
            out.add(stem)
            out |= {f"{stem}{e}" for e in re.findall(r"[a-z]+", ends)}
    return frozenset(out)
