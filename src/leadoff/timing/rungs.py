"""Which clocks and chip grades a ladder of cache patterns is drawn for, from ``ladder.toml``."""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from importlib.resources import files

import msgspec

from leadoff.timing.delays import Certainty


class LadderFamily(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Bus clocks that boards of a family usually have, and the fastest cache chips that were fitted to them."""

    id: str
    usual_mhz: tuple[str, ...]
    least_sram_ns: float
    source: str
    certainty: Certainty

    @property
    def clocks(self) -> frozenset[Fraction]:
        """The clocks, exact."""
        return frozenset(Fraction(c) for c in self.usual_mhz)


class Likely(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """From which chance on a pattern is called likely to hold."""

    chance: float
    source: str
    certainty: Certainty


class LadderRows(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """All of it."""

    likely: Likely
    family: tuple[LadderFamily, ...]

    def of(self, family: str) -> LadderFamily:
        """The row of a bus family that :func:`leadoff.timing.card.family_of` gives."""
        return next(f for f in self.family if f.id == family)


@lru_cache(maxsize=1)
def ladder_rows() -> LadderRows:
    """The rows, read once."""
    data = files("leadoff.catalogue").joinpath("data", "ladder.toml").read_bytes()
    return msgspec.toml.decode(data, type=LadderRows)
