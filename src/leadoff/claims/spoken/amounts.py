"""Quantities and settings in one spelling each, whatever the words: ``forty-odd percent`` is ``40~49 %``.

``A~B`` is a number somewhere from A to B; :mod:`figures` reads it as one number with two ends.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import lru_cache

from leadoff.claims.rows import limit, table

_UNIT = r"(?:%|frames?|fps|lines?|mb ?/ ?s|seconds?|s)(?![\w-])"
_PARTS = (
    "half",
    "third",
    "quarter",
    "fifth",
    "sixth",
    "seventh",
    "eighth",
    "ninth",
    "tenth",
    "twelfth",
    "twentieth",
)
_PART = rf"(?:{'|'.join((*_PARTS, 'hundredth'))})"
_TRIED = r"(?:starts?|boots?|cop(?:y|ies)|copy-compares?|compares?|times|tries|attempts|passes|runs)\b"
_MACROS = {"<n>": r"\d+(?:\.\d+)?", "<u>": _UNIT, "<part>": _PART, "<tried>": _TRIED}
_AFTER = ("units", "numbers", "approx", "factors", "fractions", "counts", "times", "settings", "cards")

Rows = tuple[tuple[re.Pattern[str], str], ...]


@lru_cache(maxsize=16)
def _rows(part: str) -> Rows:
    out = []
    for form, words in table("amounts")[part]:
        for macro, meant in _MACROS.items():
            form = form.replace(macro, meant)
        out.append((re.compile(form), words))
    return tuple(out)


def typed(low: str) -> str:
    """A sentence in lower case as it was typed, with one spelling for signs, units and names of classes."""
    for form, words in _rows("typed"):
        low = form.sub(words, low)
    return low


def amounts(low: str) -> str:
    """A plain sentence with numbers in digits, with one spelling for each quantity and setting."""
    for part in _AFTER:
        for form, words in _rows(part):
            low = form.sub(words, low)
        for form, made in _MADE.get(part, ()):
            low = form.sub(made, low)
        low = " ".join(low.split())
    return low


def _odd(m: re.Match[str]) -> str:
    """``40-odd`` is 41 to 49, ``9-odd`` 9 to 9.9: up to the next round number of its kind."""
    n = int(m[1])
    step = next((s for s in (1000, 100, 10) if n % s == 0 and n), 1)
    return f"{n}~{n + step - 1 if step > 1 else f'{n}.9'}"


_PLACE = {
    "low": (0, 3),
    "lower": (0, 3),
    "mid": (3, 7),
    "middle": (3, 7),
    "high": (7, 9),
    "upper": (6, 9),
    "": (0, 9),
}
"""Where in its ten a number lies: people part a decade into thirds."""


def _decade(m: re.Match[str]) -> str:
    lo, hi = _PLACE[(m["place"] or "").strip(" -")]
    tens = int(m["tens"]) if m["tens"] else _TENS[m["word"]]
    return f"{tens + lo}~{tens + hi}.9"


def _eights(m: re.Match[str]) -> str:
    """``the high eights``: 8.7 to 8.9."""
    lo, hi = _PLACE[(m["place"] or "").strip(" -")]
    n = _ONES[m["word"]]
    return f"{n}.{lo}~{n}.{hi}"


_TENS = {
    **{"twenties": 20, "thirties": 30, "forties": 40, "fifties": 50, "sixties": 60},
    **{"seventies": 70, "eighties": 80, "nineties": 90},
}
_ONES = {"fives": 5, "sixes": 6, "sevens": 7, "eights": 8, "nines": 9}
_WHERE = r"(?P<place>low|lower|mid|middle|high|upper)[ -]"


def _plus(m: re.Match[str]) -> str:
    """``2 seconds and a half`` is 2.5 seconds."""
    return f"{float(m['n']) + _SHARE[m['share']]:g} {m['u']}"


_SHARE = {"tenth": 0.1, "half": 0.5, "quarter": 0.25, "0.75": 0.75}


def _mixed(m: re.Match[str]) -> str:
    return f"{float(m['n']) + _SHARE[m['share']]:g}"


def _seconds(m: re.Match[str]) -> str:
    minutes = 1 if m["m"] in ("a", "one") else int(m["m"])
    return f"{60 * minutes + int(m['s'])} seconds"


def _but(m: re.Match[str]) -> str:
    """``all but 1 of the 5`` is 4 of 5."""
    left = 1 if m["n"] == "one" else int(m["n"])
    return f"{int(m['of']) - left} of {m['of']}" if left < int(m["of"]) else m[0]


def _half_of(m: re.Match[str]) -> str:
    return f"{int(m['of']) // 2} of {m['of']}" if int(m["of"]) % 2 == 0 else m[0]


def _or(m: re.Match[str]) -> str:
    """Two figures that stand near each other are the ends of one."""
    lo, hi = sorted((m["a"], m["b"]), key=float)
    near = float(hi) <= _NEAR * float(lo)
    return f"{lo}~{hi} {m['u']}" if near else m[0]


_NEAR = 1.5
"""``8 or 9 seconds`` is one figure; ends further apart than this are two choices."""

_STEP = re.compile(
    r"(?P<head>(?<![\w.~/-])(?P<a>\d+(?:\.\d+)?)(?P<mid>(?: (?!and\b)[a-z/,]+){0,5}? (?:to|before|"
    r"became|becomes|into|then|"
    r"against|now|after|from|before ,)(?: [a-z/]+){0,3} (?P<b>\d+(?:\.\d+)?)(?: [a-z/]+){0,3}?)) ?, "
    r"(?:(?:and|so|that is|that was|that makes|which is|which was|which makes|makes|or|i mean|in "
    r"other words|call it|call that|"
    r"let us say|say|we are talking|well|to be exact|hence|altogether|all told) )*"
    rf"(?P<d>(?:(?:a|an|just|only|about|nearly|over|under|around|roughly|almost|good|exactly|more|less|than|some) )*"
    rf"(?P<n>\d+(?:\.\d+)?) (?:{_UNIT}))(?: (?:gone|saved|won|gained|lost))?(?= ,| ?$)"
)
_LEAST_OF = limit("step_most")
"""A figure below this share of both ends named before it is the step between them."""


def _step(m: re.Match[str]) -> str:
    """``from 61.4 to 58.1, so call it 3 seconds``: the difference of the two."""
    a, b, d = float(m["a"]), float(m["b"]), float(m["n"])
    near = a != b and d < _LEAST_OF * min(a, b) and max(a, b) < min(a, b) / _LEAST_OF
    return f"{m['head']} , a difference of {m['d']}" if near and "%" not in m["d"] else m[0]


_Made = tuple[tuple[re.Pattern[str], Callable[[re.Match[str]], str]], ...]


def _thousandth(m: re.Match[str]) -> str:
    """A rate in kilobytes as one in megabytes."""
    return f"{float(m[1]) / 1000:.6g} mb/s"


_MADE: dict[str, _Made] = {
    "units": (
        (
            re.compile(
                r"(?<![\d.~])\b(\d+(?:\.\d+)?) ?(?:kb|kbytes?|kilobytes?|k) ?(?:/ ?s|per second|a second)\b"
            ),
            _thousandth,
        ),
    ),
    "numbers": (
        (
            re.compile(
                rf"(?P<n>\d+) (?P<u>{_UNIT}|hours|minutes) and (?:a )?(?P<share>half|quarter|"
                rf"tenth)\b(?! of| more| less| faster)"
            ),
            _plus,
        ),
        (re.compile(r"\b(?P<n>\d+) and (?P<share>0\.75)\b"), _mixed),
        (re.compile(r"(?<![\d.])\b(\d+) (?:odd|something|some)\b(?= ?(?:%|[a-z,]|$))"), _odd),
        (
            re.compile(
                rf"\b(?:in )?(?:the )?(?:{_WHERE})?(?:(?P<word>{'|'.join(_TENS)})|(?P<tens>[1-9]0)s)\b"
            ),
            _decade,
        ),
        (re.compile(rf"\b(?:in )?(?:the )?{_WHERE}(?P<word>{'|'.join(_ONES)})\b"), _eights),
    ),
    "approx": (
        (
            re.compile(
                rf"(?<![\w.~])(?P<a>\d+(?:\.\d+)?)(?: ?{_UNIT})?(?: or| , maybe| , perhaps) "
                rf"(?P<b>\d+(?:\.\d+)?) ?(?P<u>{_UNIT})"
            ),
            _or,
        ),
    ),
    "counts": (
        (
            re.compile(r"\ball but (?P<n>one|\d+) (?:out )?of (?:the |its |my |those |all )?(?P<of>\d+)\b"),
            _but,
        ),
        (re.compile(rf"\bhalf (?:of )?(?:the |its |my )?(?P<of>\d+)(?= (?:cold |warm )?{_TRIED})"), _half_of),
    ),
    "cards": ((_STEP, _step),),
    "times": (
        (
            re.compile(r"\b(?P<m>a|one|\d{1,2}) minutes?(?: ,)?(?: and)? (?P<s>\d{1,2}) seconds?\b"),
            _seconds,
        ),
        (re.compile(r"\b(?P<m>a|one) minute(?: and)? (?P<s>\d{1,2})\b(?! ?(?:\.|%|in\b|into\b))"), _seconds),
    ),
}
"""Rows whose words are worked out."""
