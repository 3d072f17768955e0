"""How much memory a cache can hold lines of."""

from __future__ import annotations

from typing import Literal

import msgspec

from leadoff.record.errors import LeadoffError
from leadoff.record.quantity import Quantity, computed, undefined

LimitedBy = Literal["tag", "chipset", "tag depth"]


class Cacheable(msgspec.Struct, frozen=True, kw_only=True):
    """The range in MB (2^20 bytes), what limits it, and how many tag entries the cache needs."""

    mb: Quantity
    limited_by: LimitedBy
    entries_needed: int


def cacheable(
    *,
    size_kb: int,
    tag_bits: int,
    line_bytes: int,
    ways: int = 1,
    dirty_bits_from_tag: int = 0,
    tag_entries: int | None = None,
    chipset_limit_mb: float | None = None,
) -> Cacheable:
    """Lowest memory that is cached: size / ways x 2^(tag bits - dirty bits taken from the tag).

    ``tag_bits`` counts all bits of the tag chip's word, ``dirty_bits_from_tag`` those of them that hold the
    dirty mark. ``tag_entries`` is the tag chip's depth: a chip with fewer entries than lines cannot serve
    this cache size at all, and the range is then undefined. The chipset's own limit comes last.
    Good for 8 KB to 4 MB, 1 to 16 bits. Source: Intel386 DX Hardware Reference Manual 231732, figure 7-3,
    for the arithmetic; the rows of the test for the rest.
    """
    _check(size_kb, tag_bits, line_bytes, ways, dirty_bits_from_tag)
    entries = size_kb * 1024 // line_bytes // ways
    if tag_entries is not None and tag_entries < entries:
        need = f"{size_kb} KB of {line_bytes}-byte lines needs {entries} tag entries"
        why = f"{need}, the tag chip has {tag_entries}"
        return Cacheable(mb=undefined("MB", why), limited_by="tag depth", entries_needed=entries)
    by_tag = size_kb / 1024 / ways * 2 ** (tag_bits - dirty_bits_from_tag)
    if chipset_limit_mb is not None and chipset_limit_mb < by_tag:
        return Cacheable(mb=computed(chipset_limit_mb, "MB"), limited_by="chipset", entries_needed=entries)
    return Cacheable(mb=computed(by_tag, "MB"), limited_by="tag", entries_needed=entries)


def _check(size_kb: int, tag_bits: int, line_bytes: int, ways: int, dirty: int) -> None:
    if not 8 <= size_kb <= 4096 or ways not in (1, 2, 4, 8) or line_bytes not in (4, 8, 16, 32, 64):
        raise LeadoffError.one(
            "cache-shape-out-of-range",
            f"{size_kb} KB, {ways} ways, {line_bytes}-byte lines is no cache on a board of this age",
            where="size_kb, ways, line_bytes",
            do="8 to 4096 KB; 1, 2, 4 or 8 ways; lines of 4 to 64 bytes",
        )
    if not 1 <= tag_bits <= 16 or not 0 <= dirty < tag_bits:
        raise LeadoffError.one(
            "tag-bits-out-of-range",
            f"{tag_bits} tag bits of which {dirty} hold the dirty mark leaves no address bits to compare",
            where="tag_bits",
            do="1 to 16 bits, fewer of them for the dirty mark",
        )
