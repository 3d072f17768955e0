"""Which of two states a sentence on a change that was told speaks of."""

from __future__ import annotations

import re
from functools import lru_cache

from leadoff.claims.rows import table
from leadoff.claims.search.effects_mentions import Heard
from leadoff.claims.search.effects_pairs import Duo
from leadoff.claims.search.effects_told import DESIGNATES, Change, amount, clocks, way_of
from leadoff.claims.spoken.settings_said import taken_out

_OLD = re.compile(
    r"\bthe first (?:time|go|run|pass|round|try)(?: (?:round|through))?\b|\b(?:the|its|my) (?:old|"
    r"former|original|previous|first|earlier)(?: (?:one|setting|value|way|state|timing))?\b"
    r"|\b(?:before(?: (?:that|this))?|previously|beforehand|until then|formerly|earlier on)(?= (?:,|it|"
    r"this|that|the)\b)"
)
_THAN = re.compile(
    r"\b(?:than|as|over|against|versus|vs|beside|below|above|behind|(?:up|down) from|compared (?:to|"
    r"with)|next to|relative to)(?: (?:the|my|its|that|what))? $"
)
_NOUN = (
    r"(?:one|setting|settings|timing|timings|value|latency|clock|speed|number|figure|multiplier|bus|"
    r"of (?:the|those|these) two|of them|way)"
)


@lru_cache(maxsize=1)
def _named_by() -> re.Pattern[str]:
    kinds = (
        str(table("effects")["moves"][k]).replace("_", " ").split() for k in ("more", "less", "quick", "slow")
    )
    words = "|".join(
        w for ws in kinds for w in ws if re.fullmatch(r"[a-z]+(?:er|est)?", w) and w not in ("up", "down")
    )
    return re.compile(rf"\b(?:the|its|my|that) (?P<how>{words})(?: of the two)? {_NOUN}\b")


_STATE = re.compile(
    r"\b(?:being|having it|leaving it|keeping it|with it|when(?: it is)?|if(?: it is)?|while(?: it is)?|"
    r"the) (?:switched |turned )?(?P<which>on|off|in|out)\b"
)


def spoken_of(h: Heard, d: Duo, c: Change, new: int) -> int:
    """Which of two states a sentence on a told change speaks of: 1 the first, -1 the second, 0 where that is open.
    ``new``: which is the new one, 2 where that is not told."""
    for text, ref in _names_side(h):
        for dim in sorted(c.dims & d.differ):
            sign = way_of(text, dim) * (amount(d.one, dim) - amount(d.two, dim))
            one_clock = len(c.dims & d.differ & clocks()) < 2
            if sign and (one_clock or ("bus" in text and dim == "bus_mhz")):
                side = 1 if sign > 0 else -1
                return -side if ref else side
    toggles = sorted(c.dims & d.differ & taken_out().keys())
    if toggles and (m := _STATE.search(h.low)):
        more = amount(d.one, toggles[0]) > amount(d.two, toggles[0])
        side = 1 if more == (m["which"] in ("on", "in")) else -1
        return -side if _THAN.search(h.low[: m.start()]) else side
    if new == 2:
        return 0
    old = _OLD.search(h.low)
    if old is not None and not _THAN.search(h.low[: old.start()]):
        return -new
    return new


def _names_side(h: Heard) -> list[tuple[str, bool]]:
    """``the slower bus``, ``the tighter one``: words that name a side, and whether the other is held against it."""
    out = [
        (n.want.text, n.at, _THAN.search(h.low[: n.at]) is not None)
        for n in h.of("want")
        if not n.valued and n.want is not None and DESIGNATES.match(n.want.text)
    ]
    out += [
        (m[0], m.start(), _THAN.search(h.low[: m.start()]) is not None) for m in _named_by().finditer(h.low)
    ]
    return [(text, ref) for text, _, ref in sorted(out, key=lambda x: (x[2], x[1]))]


def designated(h: Heard) -> bool:
    """Whether a sentence speaks of one of two states by what it is."""
    return any(not ref for _, ref in _names_side(h))
