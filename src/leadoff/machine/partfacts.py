"""What the machine has to know of the processor that is fitted or held over the socket."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

import msgspec

from leadoff.machine.straps import StrapTable


class Processor(msgspec.Struct, frozen=True, kw_only=True):
    """A processor as far as clocks and supply go. ``None`` is not known.

    ``l2_clock``: core clock fraction at which a cache on the part runs, ``None`` without one.
    """

    id: str
    core: str = ""
    locked: Fraction | None = None
    ratios: tuple[Fraction, ...] = ()
    straps: StrapTable | None = None
    v_typ: float | None = None
    v_min: float | None = None
    v_max: float | None = None
    v_abs: float | None = None
    amps: float | None = None
    watts: float | None = None
    rated_mhz: Fraction | None = None
    rated_bus_mhz: Fraction | None = None
    case_max_c: float | None = None
    l2_clock: Fraction | None = None
    l2_rated_mhz: Fraction | None = None
    l2_kb: int | None = None
    l1_kb: float | None = None
    fpu: bool | None = None
    certainty: Mapping[str, str] = {}
    ambiguous: tuple[str, ...] = ()

    def makes(self, ratio: Fraction) -> bool | None:
        """Whether the part can be strapped to a ratio; ``None`` when nothing is known of its ratios."""
        if self.locked is not None:
            return ratio == self.locked
        known = set(self.ratios) or (set(self.straps.codes.values()) if self.straps else set())
        return ratio in known if known else None
