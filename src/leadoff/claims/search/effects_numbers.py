"""A bare number that is a clock or the value of a setting that was spoken of."""

from __future__ import annotations

import re

from leadoff.claims.rows import constant
from leadoff.claims.spoken.evidence import Evidence, as_figure
from leadoff.claims.spoken.settings import near_clock
from leadoff.claims.spoken.values import Num, Want
from leadoff.claims.values import number_of

SMALL = ("ratio", "cas", "dram_read_ws", "dram_write_ws", "l2_read_ws", "l2_write_ws", "vlb_ws", "rcd", "rp")
"""Settings whose values are small numbers."""
_COUNTS = re.compile(
    r" (?!times|is|was|has|does|waits|gives|gets|brings|buys|makes|runs|costs|saves|wins|loses|adds|beats|reads|"
    r"frames|lines|seconds)"
    r"[a-z]{3,}s\b"
)
"""``Two roads``: a number of things, and no value of a setting."""
_FIRST_OF = re.compile(
    r" (?:to|over|instead|rather|against|versus|vs|gives?|gave|gets?|got|buys?|brings?|does|is|was) "
)
"""``Three to four``, ``Three gets you nothing``: a value of the setting that was spoken of."""


_PUT_FOR = "instead of|rather than|in place of|over|not|against|versus|vs"
_FROM = re.compile(
    r"\b(?:from|going|between) \{(n\d+)\} (?:up |down |back |straight )*(?:to|and) $|"
    rf"\{{(n\d+)\}} (?:{_PUT_FOR}) $"
)
_TO = re.compile(rf" (?:up |down |back |straight )*(?P<by>to|and|{_PUT_FOR}) (?:only )?\{{(?P<other>n\d+)\}}")


def beside(left: str, after: str) -> str:
    """The sign of the number that this one was moved from or to, or is put in place of."""
    if m := _FROM.search(left):
        return m[1] or m[2]
    m = _TO.match(after)
    led = re.search(r"\b(?:from|going|between|with|of|at) $", left) is not None
    return m["other"] if m is not None and (led or m["by"] not in ("to", "and")) else ""


def _only_one(num: Num, partner: Num | None, had: dict[str, set[float | None]]) -> str:
    """The one setting that had both of two values."""
    if partner is None or partner.kind != "bare":
        return ""
    both = [d for d, values in had.items() if num.value in values and partner.value in values]
    return both[0] if len(both) == 1 else ""


def as_setting(
    num: Num,
    left: str,
    after: str,
    own: list[str],
    values: tuple[str, ...],
    scope: set[str],
    ev: Evidence,
    partner: Num | None = None,
) -> Want | None:
    """A bare number that is a clock or the value of a setting just spoken of; ``partner``: the other of two."""
    if (
        num.kind != "bare"
        or num.mod
        or num.text.startswith("the ")
        or re.search(r"\b(?:those|these|the|all|both|my) $", left)
    ):
        return None
    if re.match(r" (?:\{[kbr]|boards|machines|cards|runs|states|systems|of them)", after):
        return None
    states = [t for t in ev.ledger.trials if t.board in scope]
    small = [d for d in (*own, *values) if d in SMALL]
    if num.value <= constant("small_setting"):
        if _COUNTS.match(after):
            return None
        if partner is not None and not (set(small) & set(own)):
            had = {d: {number_of(t.settings.get(d)) for t in states} for d in SMALL}
            if one := _only_one(num, partner, had):
                return Want(num.text, ((one, "is", f"{num.value:g}"),))
        if num.places and not small and re.search(r"\b(?:at|on|to|with) $", left):
            had = {d: {number_of(t.settings.get(d)) for t in states} for d in SMALL}
            ones = [d for d, values_had in had.items() if num.value in values_had]
            if len(ones) == 1 and not any(as_figure(r.value, num) for t in states for r in t.readings):
                return Want(num.text, ((ones[0], "is", f"{num.value:g}"),))
        had = {d: {number_of(t.settings.get(d)) for t in states} for d in small}
        for d in dict.fromkeys(small):
            if num.value in had[d] and (
                d in own
                or num.text.startswith("over ")
                or re.search(r"\b(?:at|on|with|to|from|than|over|of) $", left)
                or (not left.strip() and _FIRST_OF.match(after))
            ):
                return Want(num.text, ((d, "is", f"{num.value:g}"),))
        return None
    clocks = [number_of(t.settings.get("bus_mhz")) for t in states] + [t.core_mhz for t in states]
    said = f"{num.value:g}"
    if not any(near_clock(c, said) for c in clocks):
        # A clock that was never run is one only where it is said to be.
        put = re.search(r"\b(?:at|on|to|from|set to|running|bus) (?:the |a |an )?$", left) is not None
        score = any(as_figure(r.value, num) for t in states for r in t.readings)
        clock = put and num.value >= constant("slowest_clock_mhz") and not num.places and not score
        return Want(num.text, (("clock", "clock", said),)) if clock else None
    read_ = any(as_figure(r.value, num) for t in states for r in t.readings)
    placed = (
        re.search(
            r"\b(?:at|on|from|to|set|bus|running|than|over|(?:(?:i|we|you|he|she) (?:then |now |"
            r"next )?g[ai]ve|get|gets|getting) (?:it|that|her|the \{b\d+\})|had|was) "
            r"(?:the |a |an |its )?$",
            left,
        )
        is not None
    )
    if read_ and (num.places or not placed):
        return None
    if re.match(r" (?:fps|frames|lines|seconds|mb|in the \{w)", after) and read_:
        return None
    return Want(num.text, (("clock", "clock", said),))
