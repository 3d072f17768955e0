"""Ratio straps: what a processor reads on its ratio pins, and which of them the board wires."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

import msgspec


class StrapTable(msgspec.Struct, frozen=True, kw_only=True):
    """Strap codes of a core design. ``pins`` are named from the high bit to the low one, as codes are.

    ``codes`` maps a code such as ``"11"`` to a ratio; ``open_level`` is what an unwired pin reads.
    """

    pins: tuple[str, ...]
    codes: Mapping[str, Fraction]
    open_level: str = "1"
    source: str = ""

    def codes_of(self, ratio: Fraction) -> tuple[str, ...]:
        """Every code that gives the ratio."""
        return tuple(sorted(code for code, value in self.codes.items() if value == ratio))

    def reachable(self, wired: Sequence[str] | None) -> dict[str, Fraction]:
        """Codes and ratios that a board can set that wires these pins (``None``: not known, all)."""
        if wired is None:
            return dict(self.codes)
        have = {w.upper() for w in wired}
        return {
            code: ratio
            for code, ratio in self.codes.items()
            if all(pin in have or bit == self.open_level for pin, bit in zip(self.pins, code, strict=True))
        }

    def missing(self, ratio: Fraction, wired: Sequence[str] | None) -> tuple[str, ...]:
        """The pins a board would have to wire to set the ratio, of the code that lacks fewest."""
        if wired is None:
            return ()
        have = {w.upper() for w in wired}
        lacks = [
            tuple(
                pin
                for pin, bit in zip(self.pins, code, strict=True)
                if bit != self.open_level and pin not in have
            )
            for code in self.codes_of(ratio)
        ]
        return min(lacks, key=len, default=())


def translate(sheet_ratio: Fraction, sheet: StrapTable, part: StrapTable) -> Fraction | None:
    """What a part makes of the straps for which the sheet, written for another part, names a ratio.

    The same open pins are 1.5 on the first parts of a socket and 3.5 on later ones. A pin that only the part
    has reads as open. ``None`` when the two share no pin, or the part does not define the code.
    """
    if not set(sheet.pins) & set(part.pins):
        return None
    made = {part.codes.get(_as_read(code, sheet, part)) for code in sheet.codes_of(sheet_ratio)}
    made.discard(None)
    return made.pop() if len(made) == 1 else None


def undefined_straps(sheet_ratio: Fraction, sheet: StrapTable, part: StrapTable) -> bool:
    """Whether the sheet knows the straps of the ratio and the part, which reads them, defines no ratio there."""
    codes = sheet.codes_of(sheet_ratio)
    shared = bool(set(sheet.pins) & set(part.pins))
    return shared and bool(codes) and all(_as_read(code, sheet, part) not in part.codes for code in codes)


def _as_read(code: str, sheet: StrapTable, part: StrapTable) -> str:
    bits = dict(zip(sheet.pins, code, strict=True))
    return "".join(bits.get(pin, part.open_level) for pin in part.pins)
