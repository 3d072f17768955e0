"""Two chips that hold one image: even bytes in one, odd bytes in the other."""

from __future__ import annotations

from collections.abc import Sequence

from leadoff.evidence.facts import Source
from leadoff.evidence.firmware.dumps import is_chip_size
from leadoff.evidence.firmware.image import date, far_jump


def half_of(data: bytes) -> str | None:
    """``even`` or ``odd`` where the end of an image looks like one half of a pair.

    The jump EA at F000:FFF0 falls into the even chip; of the date MM/DD/YY at F000:FFF5 the characters M, /, D
    and Y fall into the odd chip and M, D, / and Y into the even one.
    """
    if not is_chip_size(len(data)) or date(data) is not None:
        return None
    even = data[-5:-1]
    odd = data[-6:-2]
    if data[-8] == 0xEA and even[0:2].isdigit() and even[2:3] in (b"/", b"-") and even[3:4].isdigit():
        return "even"
    if odd[0:1].isdigit() and odd[1:2] in (b"/", b"-") and odd[2:4].isdigit():
        return "odd"
    return None


def interleave(even: bytes, odd: bytes) -> bytes:
    """Bytes of two chips in the order of the bus."""
    out = bytearray(len(even) + len(odd))
    out[0::2] = even
    out[1::2] = odd
    return bytes(out)


def joined(sources: Sequence[Source]) -> list[Source]:
    """The same sources with every pair put together; two halves that fit each other make one image.

    A half is found by its end; where dates are missing, two chips of one size are a pair when put together they
    jump into their own upper segment and neither does alone.
    """
    left = list(sources)
    out: list[Source] = []
    while left:
        one = left.pop(0)
        mate = next((s for s in left if _fit(one.data, s.data)), None)
        if mate is None:
            out.append(one)
            continue
        left.remove(mate)
        even, odd = (one, mate) if _in_order(one.data, mate.data) else (mate, one)
        data = interleave(even.data, odd.data)
        out.append(Source.of(f"{even.name} + {odd.name}", data, (even.name, odd.name)))
    return out


def _fit(a: bytes, b: bytes) -> bool:
    if len(a) != len(b) or not is_chip_size(len(a)):
        return False
    halves = {half_of(a), half_of(b)}
    if halves == {"even", "odd"}:
        return True
    if halves != {None} or _whole(a) or _whole(b):
        return False
    return _jumps(interleave(a, b)) != _jumps(interleave(b, a))


def _in_order(a: bytes, b: bytes) -> bool:
    if half_of(a) == "even" or half_of(b) == "odd":
        return True
    if half_of(a) == "odd" or half_of(b) == "even":
        return False
    return _jumps(interleave(a, b))


def _whole(data: bytes) -> bool:
    return _jumps(data) or date(data) is not None


def _jumps(data: bytes) -> bool:
    """A jump into the upper segment, which is where firmware begins (common practice, no source)."""
    to = far_jump(data)
    return to is not None and to[0] in (0xF000, 0xE000)
