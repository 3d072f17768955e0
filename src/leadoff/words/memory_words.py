"""Memory modules and cache chips in trade shorthand."""

from __future__ import annotations

import re
from fractions import Fraction

import msgspec

from leadoff.record.board import MemoryFit
from leadoff.record.errors import LeadoffError
from leadoff.words.numbers import number
from leadoff.words.tokens import normalise
from leadoff.words.units import quantity

EMPTY = "empty"
_COUNT_SIZE = re.compile(
    r"(?:(\d{1,2})\s*x\s*)?(\d{1,4}(?:[.,]\d{1,4})?)\s*(kb|k|mb|m|meg)?(?=\s|$)(?!\s*[munp]?s(?:\s|$))",
    re.A | re.I,
)
_TYPE_NS = re.compile(r"(fpm|edo|sdram)(?:\s*-?\s*(\d{1,3}(?:[.,]\d)?)(?:\s*(\w*s))?)?(?=\s|$)", re.A | re.I)
_NS = re.compile(r"(\d{1,3}(?:[.,]\d)?)\s*([munp]?s)?(?=\s|$)", re.A | re.I)
_CL = re.compile(r"(?:cl|cas)\s*(\d)(?=\s|$)", re.A | re.I)
_COUNTED = re.compile(r"(\d{1,2})x(\d+(?:\.\d+)?)", re.A)


def memory_text(text: str) -> str:
    """Canonical words of what is in one memory site.

    ``<count>x<MB of one module>[ <type>[<ns>]][ <ns>][ cl<n>]``, type fpm, edo or sdram, what is not known
    left out: ``4x8 fpm60``, ``1x128 sdram8 cl3``, ``4x0.25 70``, ``1x16 edo``, or ``empty`` (typed ``-``,
    ``empty`` or ``none``). Raises LeadoffError ``not_memory`` or of the figure at fault.
    """
    typed = " ".join(normalise(text).split())
    if typed.lower() in ("-", EMPTY, "none"):
        return EMPTY
    canonical, end = memory_prefix(typed)
    if canonical is None or end < len(typed):
        raise LeadoffError.one(
            "not_memory",
            f"{typed[end:].strip() or typed!r} is not understood as memory",
            where=typed,
            do="such as 4x8 fpm60, 128 sdram cl3 8ns, or - for an empty site",
        )
    return canonical


def memory_prefix(plain: str) -> tuple[str | None, int]:
    """Canonical words of the modules that ``plain`` starts with and where they end; None when it does not."""
    sized = _COUNT_SIZE.match(plain)
    if sized is None:
        return None, 0
    count = int(sized[1] or 1)
    size = (
        quantity(f"{sized[2]} {'KB' if (sized[3] or 'm').lower().startswith('k') else 'MB'}", "memory").exact
        / 1024
    )
    if not 1 <= count <= 16 or not Fraction(1, 16) <= size <= 2048:
        raise LeadoffError.one(
            "not_memory", f"{sized[0]} cannot be memory modules", where=sized[0], do="such as 4x8"
        )
    kind = ns = cas = ""
    end = sized.end()
    while True:
        start = end + len(plain[end:]) - len(plain[end:].lstrip())
        if not kind and (found := _TYPE_NS.match(plain, start)):
            kind, ns = found[1].lower(), _ns_text(found[2], found[3]) or ns
        elif not cas and (found := _CL.match(plain, start)):
            cas = found[1]
        elif not ns and (found := _NS.match(plain, start)):
            ns = _ns_text(found[1], found[2])
        else:
            return " ".join(filter(None, (f"{count}x{_decimal(size)}", kind + ns, cas and f"cl{cas}"))), end
        end = found.end()


def _ns_text(figure: str | None, unit: str | None) -> str:
    if not figure:
        return ""
    return _decimal(quantity(f"{figure} {unit or 'ns'}", "access").exact)


def _decimal(value: Fraction) -> str:
    return f"{float(value):g}"


def memory_fit(text: str, site: str = "") -> MemoryFit:
    """The fields of canonical or typed memory words. ``mb`` is one module; ``mb * count`` the site's total.

    An empty site has ``count`` 0 and ``mb`` 0. Raises as ``memory_text``.
    """
    canonical = memory_text(text)
    if canonical == EMPTY:
        return MemoryFit(site=site, mb=0.0, count=0, text=text)
    counted, *rest = canonical.split()
    found = _COUNTED.fullmatch(counted)
    if found is None:
        raise ValueError(f"canonical memory {canonical!r} does not read back")
    kind: str | None = None
    ns: float | None = None
    cas: int | None = None
    for word in rest:
        if word.startswith("cl"):
            cas = int(word[2:])
            continue
        letters = word.rstrip("0123456789.")
        kind = letters or kind
        ns = float(number(word[len(letters) :]).value) if word != letters else ns
    return MemoryFit(site=site, mb=float(found[2]), type=kind, ns=ns, cas=cas, count=int(found[1]), text=text)


class CacheChips(msgspec.Struct, frozen=True, kw_only=True):
    """Data chips of a cache: ``8x32k8-15`` is eight of 32 K by 8 bits at 15 ns, 256 KB."""

    chips: int
    kb: int
    ns: str


CACHE_CHIPS = re.compile(
    r"(\d{1,2})\s*x\s*(\d{1,4})\s*k\s*x?\s*(4|8|9|16|18|32|36)(?:\s*-\s*(\d{1,2}(?:[.,]\d)?)\s*(?:ns)?)?(?=[\s,;]|$)",
    re.A | re.I,
)
TAG_CHIP = re.compile(
    r"(?:(\d)\s*x\s*)?(\d{1,4})\s*k\s*x?\s*(1|4|8|9|16)(?:\s*-\s*(\d{1,2}(?:[.,]\d)?)\s*(?:ns)?)?(?=[\s,;]|$)",
    re.A | re.I,
)
_DATA_BITS = {9: 8, 18: 16, 36: 32}


def cache_chips(found: re.Match[str]) -> CacheChips:
    """A match of CACHE_CHIPS as counts; bits beyond a whole byte are parity and hold no data.

    Raises LeadoffError ``not_a_cache`` when the size is no power of two between 8 and 4096 KB.
    """
    count, depth, width = int(found[1]), int(found[2]), int(found[3])
    kb = Fraction(count * depth * _DATA_BITS.get(width, width), 8)
    if kb.denominator != 1 or not 8 <= kb <= 4096 or kb.numerator & (kb.numerator - 1):
        raise LeadoffError.one(
            "not_a_cache",
            f"{found[0]} makes {float(kb):g} KB, which is no size of a cache",
            where=found[0],
            do="count the data chips only, without the tag",
        )
    return CacheChips(chips=count, kb=int(kb), ns=_ns_text(found[4], "ns"))
