"""Figures of a sentence as what they ask of a score: to be it, to be past it, or to lie between two."""

from __future__ import annotations

import re
from collections.abc import Sequence

import msgspec

from leadoff.claims.rows import constant
from leadoff.claims.search.scores_words import classes, is_in, words
from leadoff.claims.search.talk import Talk
from leadoff.claims.spoken.evidence import as_figure
from leadoff.claims.spoken.reading import Said
from leadoff.claims.spoken.values import Num

_BETWEEN = re.compile(
    r"(?P<lead>\b(?:between|from|anywhere|somewhere|anything|range[sd]?|spans?|spanned|covers?|covered)\b[^{},]*)?"
    r"\{(?P<a>n\d+)\}(?: (?:frames|fps|seconds|lines|s))? ?(?P<join>and|to|till|until|through|up to|or|-) "
    r"?(?:about |maybe )?\{(?P<b>n\d+)\}"
)
_AFTER = re.compile(
    r"^ ?(?:frames? |fps |seconds? |lines? )?(?:or|and) (?P<way>more|less|better|above|below|up|over|under|"
    r"fewer|higher|lower|beyond|upwards|faster|slower)\b"
)
_MORE = frozenset({"more", "above", "up", "over", "higher", "beyond", "upwards"})
_ISH = re.compile(r"^ ?-? ?(?:ish|odd)\b")
_ONLY = re.compile(r"\b(?:but|other than|except|besides|apart from)\b[^{}]*$")
_REACH = re.compile(
    r"\b(?:gets? to|got to|getting to|reach(?:es|ed)?|hits?|touch(?:es|ed)?|attain(?:s|ed)?|sees?|saw|"
    r"makes? it to) "
    r"(?:about |the )?$"
)
_NEEDS = re.compile(r"\b(?:needs?|needed|takes?|took|wants?|asks? for) (?:as much as |even |a |the )*$")
"""``neither needs half a minute``: not so long and not longer."""
_INCLUSIVE = re.compile(r"\b(?:least|most|no (?:more|less|fewer)|minimum|maximum|or (?:more|less|better))\b")
"""The figure itself is within the bound."""
NEAR = int(constant("bound_reach"))
"""So many words before a figure may say on which side of it a score lies."""
_LOOSE = constant("end_about")
_JUST = constant("end_just_over")
ISH_SHARE = constant("ish_share")
"""What "-ish" allows of a figure; people round so at most to its second digit."""


class Asked(msgspec.Struct, frozen=True, kw_only=True):
    """One figure: ``way`` is ``is``, ``above``, ``below`` or ``between`` (then ``hi``). ``tight``: both ends were
    read (``from 9.0 to 9.6``); ``others`` may be in its place (``28.6 or 28.7``); ``denied``: no score is so, or with
    ``only`` none but these."""

    way: str
    num: Num
    hi: Num | None = None
    tight: bool = False
    others: tuple[Num, ...] = ()
    denied: bool = False
    only: bool = False
    signs: tuple[str, ...] = ()

    def holds_loosely(self, value: float) -> bool:
        """Whether a score lies between two ends that may be rounded."""
        hi = self.hi or self.num
        ends = (0.5 * 10.0**-n.places + 1e-9 for n in (self.num, hi))
        return lowest(self.num) - next(ends) <= value <= highest(hi) + next(ends)

    def holds(self, value: float) -> bool:
        """Whether one score is as asked, a denial left out."""
        n = self.num
        edge = -1e-9 if _INCLUSIVE.search(n.text) else 1e-9
        if self.way == "above":
            return value > n.value + edge
        if self.way == "below":
            return value < n.value - edge
        if self.hi is not None:
            return lowest(n) - 1e-9 <= value <= highest(self.hi) + 1e-9
        if self.way == "reach":
            return value >= n.value - (0.5 * 10.0**-n.places if n.places else 0.0) - 1e-9
        return any(as_figure(value, x) for x in (n, *self.others))


def lowest(n: Num) -> float:
    """The least that a lower end allows."""
    return n.value * (1.0 - _LOOSE) if n.mod in ("about", "nearly") else n.value - step(n) / 2


def highest(n: Num) -> float:
    """The most that an upper end allows."""
    if n.mod == "just":
        return n.value * (1.0 + _JUST)
    return n.value * (1.0 + _LOOSE) if n.mod == "about" else n.value + step(n) / 2


def step(n: Num) -> float:
    """The last printed digit, of which an end counts by half."""
    return 10.0**-n.places


def asked_in(said: Said, figures: Sequence[str]) -> list[Asked]:
    """What every figure asks."""
    out: list[Asked] = []
    done: set[str] = set()
    if (ends := _up_to(said, figures)) is not None:
        return [ends]
    for m in _BETWEEN.finditer(said.low):
        a, b = m["a"], m["b"]
        lead = m["lead"] or ""
        if m["join"] == "or" and a in figures and b in figures:
            but = _ONLY.search(_clause(said, m.start())) is not None
            denied = _denied(said, m.start())
            out.append(
                Asked(way="is", num=said.num(a), others=(said.num(b),), denied=denied, only=but, signs=(a, b))
            )
            done |= {a, b}
            continue
        if a in figures and b in figures and (m["join"] != "and" or "between" in lead or "where" in lead):
            one, two = sorted((said.num(a), said.num(b)), key=lambda n: n.value)
            tight = m["join"] not in ("and", "or") and "between" not in lead and "where" not in lead
            out.append(
                Asked(
                    way="between", num=one, hi=two, tight=tight, denied=_denied(said, m.start()), signs=(a, b)
                )
            )
            done |= {a, b}
    for sign in figures:
        if sign not in done:
            out.append(_one(said, sign))
    return out


_FROM = re.compile(
    r"\b(?:from|between|anywhere|range[sd]?|spans?|starts?|"
    r"begins?) (?:[a-z]+ )*\{(?P<a>n\d+)\}(?P<gap>(?:[^{}]|\{[bw]\d+\})*)\{(?P<b>n\d+)\}"
)
_BEGINS = re.compile(
    r"\b(?:begins?|starts?|opens?|started|began) (?:at|with|from) \{(?P<a>n\d+)\}[^{}]*\b"
    r"(?:ends?|ended|stops?|stopped|finish\w*|closes?|tops out) (?:at|with|on) \{(?P<b>n\d+)\}"
)
_UP_TO = re.compile(r"\b(?:up|all the way|right|on) to\b|^to\b|\bto $")


def _up_to(said: Said, figures: Sequence[str]) -> Asked | None:
    """``from 48.9 with nothing fitted up to 67.3``: both ends, whatever stands between them."""
    m = _BEGINS.search(said.low)
    if m is not None and list(figures) == [m["a"], m["b"]]:
        lo, hi = sorted((said.num(m["a"]), said.num(m["b"])), key=lambda n: n.value)
        return Asked(way="between", num=lo, hi=hi, tight=True, signs=(m["a"], m["b"]))
    m = _FROM.search(said.low)
    if m is None or list(figures) != [m["a"], m["b"]] or re.search(r" , | and ", m["gap"]):
        return None
    lo, hi = said.num(m["a"]), said.num(m["b"])
    if not _UP_TO.search(hi.text) and not _UP_TO.search(m["gap"]):
        return None
    hi = msgspec.structs.replace(hi, mod="" if hi.mod == "under" else hi.mod)
    if lo.mod or lo.value >= hi.value:
        return None
    return Asked(way="between", num=lo, hi=hi, tight=True, signs=(m["a"], m["b"]))


def _one(said: Said, sign: str) -> Asked:
    n = said.num(sign)
    at = said.at(sign)
    tail = said.low[at + len(sign) + 2 :]
    if n.hi is not None:
        hi = msgspec.structs.replace(n, value=n.hi, hi=None)
        return Asked(way="between", num=n, hi=hi, denied=_denied(said, at), signs=(sign,))
    if _ISH.search(tail) and not n.mod:
        n = msgspec.structs.replace(n, tol=max(ISH_SHARE * n.value, 0.5 * step(n)))
    way = {"over": "above", "under": "below"}.get(n.mod, "is")
    denied = _denied(said, at)
    if way == "is" and (m := _AFTER.search(tail)):
        way = "above" if m["way"] in _MORE else "below"
    if way == "is" and n.mod in ("", "about", "nearly"):
        near = _near(said, at)
        if any(
            w in ("under", "below", "beneath", "inside", "within")
            or (is_in(w, "below") and (denied or not _FALLS.match(w)))
            for w in near
        ):
            way = "below"
        elif any(is_in(w, "above") and (w not in _WEAK or denied) for w in near):
            way = "above"
    if way == "is" and denied and n.unit == "s" and _NEEDS.search(said.low[:at]):
        way = "above"
        n = msgspec.structs.replace(n, text=f"at least {n.text}")
    if way == "is" and n.unit != "s" and _REACH.search(said.low[:at]):
        way = "reach"
    only = _ONLY.search(_clause(said, at)) is not None
    # "No more than 5", "at least 20": the denial is part of the bound.
    inside = any(w in ("no", "not") for w in words(n.text))
    if way in ("above", "below", "reach") and not denied and len(said.signs("n")) == 1:
        denied = _DENIED_AFTER.search(tail) is not None
    return Asked(way=way, num=n, denied=denied and not inside, only=only, signs=(sign,))


_DENIED_AFTER = re.compile(
    r"^(?:(?!\b(?:but|and|while|although|though|because|so|which|who|or)\b)(?:[^{}]|"
    r"\{[wbkg]\d+\}))*\b(?:never|nobody|no one|none|nothing|nowhere|not(?! (?:only|just|even|bad|too))|"
    r"no (?:board|machine|box|run|one|reading|state|setting))\b(?! (?:but|except|other|more|less|fewer|"
    r"special|fancy|short))"
)
"""``under 17 seconds it was never done``."""
_FALLS = re.compile(r"(?:drop|dip|fall|fell|sink|sank)")
"""Words of a way down, which tell where it ends unless denied."""
_WEAK = frozenset(
    [
        "hit",
        "hits",
        "reach",
        "reaches",
        "reached",
        "make",
        "makes",
        "made",
        "get",
        "gets",
        "got",
        "manage",
        "managed",
        "manages",
        "see",
        "saw",
        "seen",
        "more",
        "touch",
        "touches",
        "top",
        "touched",
        "attain",
        "attains",
        "attained",
        "least",
        "greater",
    ]
)
"""Words that speak of the figure itself, unless denied."""


def _clause(said: Said, at: int) -> str:
    return re.split(r" , | and (?!a half)", said.low[:at])[-1]


_PASSES = re.compile(
    r"(?<=[a-z}] )(?:over|in|on|of|for) (?:the |all |all of the |these |those |its )*\{n\d+\}|"
    r"(?:\b(?:the|a|an|one|every|each|both|all|these|those|my|its|last|first|second|third|next|other|final|same|single|either)|"
    r"\{[nw]\d+\}(?:'s)?) (?:\w+ )?pass(?:es)?\b|^ over \{n\d+\}"
)
"""``both passes``, ``over three passes``: how often it was read, and no bound."""


def _near(said: Said, at: int) -> list[str]:
    clause = re.sub(r"\{[a-z]\d+\}", " ", _PASSES.sub(" ", _clause(said, at)))
    return words(clause)[-NEAR:]


_NOT_ONLY = re.compile(r"\bnot (?:only|just|even(?! (?:the |my )?\{b))\b")


def _denied(said: Said, at: int) -> bool:
    denials = classes()["denials"]
    heard = [w for w in words(re.sub(r"\blies? $", "", _clause(said, at))) if w in denials]
    return bool(heard) and _NOT_ONLY.search(_clause(said, at)) is None


_NO = re.compile(
    r"\bno (?:board|machine|box|system|run|reading|state|setting|one|figure|score|single|other|\{k)"
)


_SETTINGS = re.compile(
    r"\b(?:both|all)(?: of)?(?: the| its)?(?: memory| cache)? (?:wait|timing|latenc|delay|cache)\w*|"
    r"(?:\bwait\w*(?: states?)?|\bone|\bzero|\bnone|\{s\d+\}) (?:on|for|in|at) (?:each|both|either|all)"
    r"(?: of (?:them|the two)| counts| sides)?\b"
)


def over_all(talk: Talk) -> bool:
    """Whether every score is spoken of. Both waits, both timings are settings of one state."""
    heard = (*words(_SETTINGS.sub(" ", talk.said.low)), *words(_SETTINGS.sub(" ", talk.text.lower())))
    if re.search(r"\b(?:my|the|our|these|those) \{n\d+\} (?:boards|machines)\b", talk.said.low):
        return True
    return any(w in classes()["each"] for w in heard) or _NO.search(talk.said.low) is not None
