"""Where pages lie: virtual to physical, since it moves misses as much as size does."""

from __future__ import annotations

from enum import StrEnum
from typing import Any

import msgspec

from leadoff.memory.geometry import power_of_two
from leadoff.record.errors import LeadoffError

PAGE_BYTES = 4096
PAGE_SHIFT = 12


class PlacementKind(StrEnum):
    """``identity``: as in the trace (real mode, extenders without paging). ``random``: any free page.
    ``coloured``: a random page whose low page bits are kept, ``colours`` of them."""

    IDENTITY = "identity"
    RANDOM = "random"
    COLOURED = "coloured"


class Placement(msgspec.Struct, frozen=True, kw_only=True):
    """A drawing of pages, the same for the same ``seed``. ``ram_kb``: memory there is, at least what is used."""

    kind: PlacementKind = PlacementKind.IDENTITY
    seed: int = 1
    ram_kb: int = 16384
    colours: int = 16

    def __post_init__(self) -> None:
        try:
            msgspec.structs.force_setattr(self, "kind", PlacementKind(self.kind))
        except ValueError:
            raise LeadoffError.one(
                "placement",
                f"{self.kind!r} is no way of placing pages",
                where="placement",
                do="identity, random or coloured",
            ) from None
        if self.ram_kb < 64 or self.ram_kb > 2 * 1024 * 1024 or not power_of_two(self.colours):
            raise LeadoffError.one(
                "placement",
                f"{self.ram_kb} KB of memory in {self.colours} colours: 64 KB to 2 GB and a power of two are needed",
                where="placement",
                do="16384 KB and 16 colours are usual",
            )

    def table(self, top: int) -> Any:
        """Physical page of each virtual page up to address ``top``, as an array of 32-bit page numbers."""
        import numpy as np

        used = (int(top) >> PAGE_SHIFT) + 1
        if self.kind is PlacementKind.IDENTITY:
            return np.arange(used, dtype=np.uint32)
        pages = max(self.ram_kb // 4, used)
        draw = np.random.default_rng(self.seed)
        if self.kind is PlacementKind.RANDOM:
            return draw.permutation(pages)[:used].astype(np.uint32)
        pages += -pages % self.colours
        table = np.empty(used, dtype=np.uint32)
        for colour in range(self.colours):
            mine = np.arange(colour, used, self.colours)
            free = draw.permutation(pages // self.colours)[: mine.size]
            table[mine] = free * self.colours + colour
        return table
