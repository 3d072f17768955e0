"""What a speaker takes back while speaking: ``eleven... no, twelve`` claims twelve, ``I used to say ten, but`` "
"nothing."""

from __future__ import annotations

import math
import re
from functools import lru_cache

import msgspec

from leadoff.claims.rows import table
from leadoff.claims.spoken.spelled import digits

_UNIT = (
    r"(?:\s*(?:%|per ?cent|times\b|frames?\b|fps\b|lines?\b|seconds?\b|mb/s|megabytes?(?: (?:a|per) "
    r"second)?\b|hours?\b|mhz\b))?"
)
_WORD = (
    r"(?:zero|one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|thirteen|fourteen|fifteen|sixteen|seventeen|"
    r"eighteen|nineteen|twenty|thirty|forty|fifty|sixty|seventy|eighty|ninety|hundred|thousand|half|quarters?|thirds?|fifths?)"
)
_NUMBER = rf"(?:\d[\d.,]*\d|\d|{_WORD}(?:(?:[ -]| and (?:a )?| point )(?:{_WORD}|oh))*)"
_SIZE = re.compile(
    rf"\b(?:an? )?(?P<n>{_NUMBER})(?![\w-])(?P<u>{_UNIT})(?: and (?:something|some|a bit|change))?", re.I
)
_EMPHASIS = re.compile(r"(?:not|never|none|nothing|nobody|neither|no)\b", re.I)
"""``no, not once`` says again what was said."""
_PEOPLE = re.compile(
    r"(?:\s+(?:people|you|them|him|her|it|so|that|everybody|everyone|(?:my|your|his) \w+))*\s*", re.I
)


class Kept(msgspec.Struct, frozen=True):
    """``claim`` is what stands; ``before`` what was taken back, which still says whereof the speaker speaks."""

    claim: str
    before: str = ""


@lru_cache(maxsize=1)
def _forms() -> tuple[tuple[re.Pattern[str], ...], re.Pattern[str], re.Pattern[str]]:
    rows = table("taken_back")

    def whole(form: str) -> str:
        for name in ("stall", "pause", "who", "once", "thought", "hoped", "gap"):
            form = form.replace(f"<{name}>", str(rows[name]))
        return form

    instead = tuple(re.compile(whole(f), re.I) for f in rows["instead"])
    return instead, re.compile(whole(str(rows["believed"])), re.I), re.compile(str(rows["lead"]), re.I)


def kept(sentence: str) -> Kept:
    """A sentence without what it takes back."""
    text = sentence.replace("’", "'")
    without = _without_beliefs(text)
    instead, _, _ = _forms()
    for form in instead:
        for m in form.finditer(without):
            said, claim = without[: m.start()].strip(" ,;:"), without[m.end() :].strip()
            lone = len(said.split()) < 2 and not _SIZE.fullmatch(said)
            if claim and not lone and not said.endswith("?") and not _EMPHASIS.match(claim):
                return _joined(said, claim)
    return Kept(sentence if without == text else without)


def _without_beliefs(text: str) -> str:
    """Without a belief of earlier days: ``I used to say ten, but``, ``and I would have said three``."""
    _, believed, _ = _forms()
    for m in believed.finditer(text):
        start, end = m.span()
        after = re.match(r"\s*[,;:.…—-]*\s*(?:but|until|till|and yet|and|yet|only)\b[\s,]*", text[end:], re.I)
        left = re.search(
            r"(?:^|[.;:,…—]|\s[-–]|\b(?:and|but|though|although))\s*(?:and |but |though |although )?$",
            text[:start],
        )
        if left is None:
            continue
        if not left[0].strip() and not left.start() and re.fullmatch(r"[\s.!…]*", text[end:]):
            return ""
        if after is not None and (m["wish"] or not after[0].strip(" ,;:").lower().endswith("and")):
            claim, said = text[end + after.end() :], text[: left.start()]
            if (
                said
                and left[0].startswith(",")
                and m["verb"]
                and _PEOPLE.fullmatch(text[m.end("verb") : end])
            ):
                return f"{said}... no, {claim}"  # what was said before was the belief
            return f"{said}, {claim}" if said else claim
        if left.start() and re.fullmatch(r"[\s.!…]*|[\s,;].*\bif you\b.*", text[end:]):
            return f"{text[: left.start()].rstrip(' ,;:')}."
    return text


def _apart(one: str, two: str) -> float:
    """How far two numbers are from each other, as a ratio; words that make no number are far from all."""
    values = [re.search(r"\d+(?:\.\d+)?", digits(x.lower())) for x in (one, two)]
    found = [max(float(v[0]), 0.01) for v in values if v is not None]
    return abs(math.log(found[0] / found[1])) if len(found) == 2 else math.inf


def _joined(said: str, claim: str) -> Kept:
    """A number that takes the place of a number, with the words that stood around that one; else what stands "
    "alone."""
    _, _, lead = _forms()
    start = lead.match(claim)
    at = start.end() if start else 0
    new = _SIZE.match(claim, at)
    old = min(_SIZE.finditer(said), key=lambda m: _apart(m["n"], new["n"]), default=None) if new else None
    if (
        new is None
        or old is None
        or (new["u"].strip() and old["u"].strip() and new["u"].strip() != old["u"].strip())
    ):
        return Kept(claim, said)
    rest = claim[new.end() :]
    if not re.match(r"\s*(?:[,;:.…—!]|$)", rest):
        return Kept(claim, said)
    unit = new["u"] or old["u"]
    return Kept(f"{said[: old.start()]}{claim[new.start() : new.start('u')]}{unit}{said[old.end() :]}{rest}")
