"""What every row of the catalogue has in common: an id, and an origin for each value it holds."""

# Modules of row types have no "from __future__ import annotations": msgspec would then evaluate several hundred
# texts at each start (10 ms of 40).
import re
from collections.abc import Mapping
from fractions import Fraction
from typing import Annotated, Any

import msgspec

from leadoff.catalogue.origin import Certainty, Origin

# Ranges that catch a slipped decimal point or a wrong unit; they are not limits of any part.
Volts = Annotated[float, msgspec.Meta(ge=0.5, le=30)]
Headroom = Annotated[float, msgspec.Meta(ge=0.05, le=60)]  # drop-outs and inputs of regulators
Amps = Annotated[float, msgspec.Meta(ge=0.0001, le=60)]
Watts = Annotated[float, msgspec.Meta(ge=0.001, le=600)]
Celsius = Annotated[float, msgspec.Meta(ge=-65, le=250)]
Nanoseconds = Annotated[float, msgspec.Meta(ge=0, le=100_000)]
Kilobytes = Annotated[int, msgspec.Meta(ge=0, le=65_536)]
Megabytes = Annotated[int, msgspec.Meta(ge=1, le=65_536)]
Count = Annotated[int, msgspec.Meta(ge=0, le=2**31)]
Pattern = Annotated[str, msgspec.Meta(pattern=r"^[0-9]{1,2}(-[0-9]){1,3}$")]

# Identity and bookkeeping: said of the row, not values that need an origin of their own.
NOT_VALUES = frozenset(
    {"id", "name", "names", "markings", "note", "origin", "overrides", "own", "file", "typed"}
)


class Row(msgspec.Struct, frozen=True, kw_only=True):
    """One row. A value that is not known is absent (``None`` or empty), never a guess.

    ``own`` marks a row that the user brought, ``file`` the file it stands in and ``typed`` the row exactly
    as it was typed, as JSON.
    """

    id: str
    origin: Origin
    overrides: Mapping[str, Origin] = {}
    note: str = ""
    own: bool = False
    file: str = ""
    typed: str = ""

    def holds(self, key: str) -> bool:
        """Whether the row has a value under this key."""
        return getattr(self, key, None) not in (None, "", (), {})

    def origin_of(self, key: str) -> Origin | None:
        """Origin of one value; ``None`` when the row does not hold it."""
        return self.overrides.get(key, self.origin) if self.holds(key) else None

    def certainty(self, key: str) -> str:
        """Certainty word of one value, ``"unknown"`` when the row does not hold it."""
        found = self.origin_of(key)
        return found.certainty.value if found else "unknown"

    def source(self, key: str) -> str:
        """Citation of one value for people, empty when there is none."""
        found = self.origin_of(key)
        return ", ".join(x for x in (found.text, found.where) if x) if found else ""

    def values(self) -> dict[str, tuple[Any, Origin]]:
        """Every value the row holds, with its origin."""
        keys = [k for k in self.__struct_fields__ if k not in NOT_VALUES and self.holds(k)]
        return {k: (getattr(self, k), self.overrides.get(k, self.origin)) for k in keys}

    @property
    def weakest(self) -> Certainty:
        """The least certain origin in the row, for a mark that rests on several of its values."""
        order = list(Certainty)
        return max(
            (o.certainty for _, o in self.values().values()), key=order.index, default=self.origin.certainty
        )


# No exponents: nobody types a ratio so, and a large one would fill the memory with digits.
FRACTION = re.compile(r"\d{1,9}(\.\d{1,12}|/\d{1,9})?")


def to_fraction(value: Any) -> Fraction:
    """Exact fraction of ``7/2``, ``"100/3"``, ``"x4"``, ``3.5`` or ``2``; ``ValueError`` when not above zero.

    Floats are read as the decimal that was typed (1.75 is 7/4), not as the binary number behind it.
    """
    if isinstance(value, bool) or not isinstance(value, int | float | str | Fraction):
        raise ValueError(f"{value!r} is not a number or a fraction")
    text = str(value).lower().replace(" ", "").replace(",", ".").strip("x")
    if not FRACTION.fullmatch(text):
        raise ValueError(f"{value!r} is not a number or a fraction")
    try:
        found = Fraction(text)
    except ZeroDivisionError:
        raise ValueError(f"{value!r} is not a number or a fraction") from None
    if found <= 0:
        raise ValueError(f"{value!r} is not above zero")
    return found


def dec_hook(kind: type, value: Any) -> Any:
    """For msgspec: fractions come as text, number, or numerator and denominator."""
    if kind is Fraction:
        if not isinstance(value, list | tuple):
            return to_fraction(value)
        whole = all(isinstance(v, int) and not isinstance(v, bool) for v in value)
        if len(value) != 2 or not whole or value[1] == 0:
            raise ValueError(f"{value!r} is not a number or a fraction")
        return to_fraction(Fraction(*value))
    raise NotImplementedError(kind)


def enc_hook(value: Any) -> Any:
    """For msgspec: fractions go as numerator and denominator, which is quick to read back."""
    if isinstance(value, Fraction):
        return (value.numerator, value.denominator)
    raise NotImplementedError(type(value))
