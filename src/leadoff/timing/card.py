"""The timing part of the card: patterns with their two answers, and the cacheable range."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from functools import lru_cache

import msgspec

from leadoff.record.errors import LeadoffError
from leadoff.record.quantity import Quantity, undefined, unknown
from leadoff.timing.belief import Belief, Trial, learn
from leadoff.timing.cacheable import cacheable
from leadoff.timing.pattern import Pattern
from leadoff.timing.verdict import PatternVerdict, patterns, writes

Row = tuple[float, str, bool, float, float | None, int, str]


class CardAsk(msgspec.Struct, frozen=True, kw_only=True):
    """What is known for the card; ``None`` is not known.

    ``trials``: (bus MHz, pattern, held, SRAM ns, tag ns, banks, entry) of runs on this board.
    ``tag_modes``: (policy, tag bits, dirty bits) the chipset class offers.
    """

    board_class: str
    bus_mhz: Fraction | None = None
    sram_ns: float | None = None
    tag_ns: float | None = None
    banks: int | None = None
    l2_kb: int | None = None
    l2_type: str = ""
    tag_bits: int | None = None
    l2_policy: str | None = None
    line_bytes: int | None = None
    expressible: tuple[str, ...] = ()
    tag_modes: tuple[tuple[str, int, int], ...] = ()
    chipset_limit_mb: int | None = None
    limit_by_tag: Mapping[str, int] = {}
    trials: tuple[Row, ...] = ()


class TimingCard(msgspec.Struct, frozen=True, kw_only=True):
    """Patterns (reads, then writes), the cacheable range, and what was assumed or left out."""

    patterns: tuple[PatternVerdict, ...]
    cacheable_mb: Quantity
    notes: tuple[str, ...] = ()


def family_of(board_class: str) -> str | None:
    """The bus family of a board class: ``386``, ``486`` or ``64bit``; ``None`` where the cache is not ours."""
    word = board_class.lower()
    if "386" in word or "286" in word:
        return "386"
    if "486" in word or "socket3" in word or "socket2" in word:
        return "486"
    if any(w in word for w in ("socket4", "socket5", "socket7", "super7", "586", "64bit")):
        return "64bit"
    return None


def timing_card(ask: CardAsk) -> TimingCard:
    """Everything the static budget can say; what cannot be said is said so in ``notes``."""
    notes: list[str] = []
    return TimingCard(
        patterns=_patterns(ask, notes), cacheable_mb=_cacheable(ask), notes=tuple(dict.fromkeys(notes))
    )


def _patterns(ask: CardAsk, notes: list[str]) -> tuple[PatternVerdict, ...]:
    family = family_of(ask.board_class)
    if family is None:
        notes.append(f"no asynchronous cache on the board to time in class {ask.board_class}")
        return ()
    if ask.l2_kb == 0:
        notes.append("no second-level cache is fitted")
        return ()
    if "burst" in ask.l2_type:
        notes.append("burst cache: its pattern is 3-1-1-1 by the part, not by the static budget")
        return ()
    if ask.bus_mhz is None or ask.sram_ns is None:
        lacking = [w for w, v in (("bus clock", ask.bus_mhz), ("cache chip grade", ask.sram_ns)) if v is None]
        notes.append(f"no patterns without {' and '.join(lacking)}")
        return ()
    if ask.banks is None:
        notes.append("number of cache banks not known: one bank assumed, two are faster")
    if ask.tag_ns is None:
        notes.append("grade of the tag chip not known: taken like the data chips")
    belief = _learnt(ask, family)
    try:
        reads = patterns(
            bus_family=family,
            clock_mhz=ask.bus_mhz,
            sram_ns=ask.sram_ns,
            tag_ns=ask.tag_ns,
            banks=ask.banks or 1,
            expressible=tuple(Pattern.parse(p) for p in ask.expressible) or None,
            belief=belief,
        )
        write = writes(
            bus_family=family,
            clock_mhz=ask.bus_mhz,
            sram_ns=ask.sram_ns,
            tag_ns=ask.tag_ns,
            belief=belief,
        )
    except LeadoffError as error:
        notes.append(error.problems[0].text)
        return ()
    return (*reads, *write)


def _learnt(ask: CardAsk, family: str) -> Belief | None:
    """What the board's own runs teach; ``None`` when there are none."""
    return _taught(family, ask.sram_ns, ask.trials) if ask.trials else None


@lru_cache(maxsize=16)
def _taught(family: str, sram_ns: float | None, trials: tuple[Row, ...]) -> Belief:
    """Kept: a ladder asks for the same runs at every clock, and a page asks again after every entry."""
    return learn(
        Trial(
            bus_family=family,
            clock_mhz=clock,
            pattern=pattern,
            held=held,
            sram_ns=ns,
            tag_ns=tag_ns,
            banks=banks,
            same_chips=ns == sram_ns,
            ref=ref,
        )
        for clock, pattern, held, ns, tag_ns, banks, ref in trials
    )


def _cacheable(ask: CardAsk) -> Quantity:
    if family_of(ask.board_class) is None:
        return unknown("MB", "the second-level cache is on the processor: its range is the part's own")
    if ask.l2_kb is None:
        return unknown("MB", "size of the second-level cache not known")
    if ask.l2_kb == 0:
        return undefined("MB", "no second-level cache is fitted")
    modes = [m for m in ask.tag_modes if ask.l2_policy in (None, m[0])]
    tag_bits, dirty = ask.tag_bits, 0
    if tag_bits is None and modes:
        tag_bits = min(bits for _, bits, _ in modes)
    elif tag_bits is not None and ask.l2_policy == "wb" and modes:
        dirty = max(0, tag_bits - max(bits for _, bits, _ in modes))
    if tag_bits is None:
        if ask.chipset_limit_mb is not None:
            return unknown("MB", f"tag bits not known; the chipset allows at most {ask.chipset_limit_mb} MB")
        return unknown("MB", "tag bits not known")
    limit = ask.limit_by_tag.get(str(tag_bits), ask.chipset_limit_mb)
    line = ask.line_bytes or (32 if family_of(ask.board_class) == "64bit" else 16)
    return cacheable(
        size_kb=ask.l2_kb,
        tag_bits=tag_bits,
        line_bytes=line,
        dirty_bits_from_tag=dirty,
        chipset_limit_mb=limit,
    ).mb
