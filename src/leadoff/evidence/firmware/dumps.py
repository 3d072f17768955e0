"""Bad dumps: a blank or half-read chip, a line that does not move, a size that no chip has."""

from __future__ import annotations

from itertools import combinations

import msgspec

SMALLEST, LARGEST = 1 << 11, 1 << 21
"""2 KiB to 2 MiB: chips of the era (common practice, no source)."""


class DumpFault(msgspec.Struct, frozen=True, kw_only=True):
    """What is wrong with a dump: a stable code, and words with what to do."""

    code: str
    text: str


def dump_faults(data: bytes) -> tuple[DumpFault, ...]:
    """Everything that shows; a blank chip says nothing else."""
    if len(set(data)) == 1:
        return (
            DumpFault(
                code="blank",
                text=f"every byte is {data[0]:02X}h: an empty chip, or the reader made no contact with it",
            ),
        )
    out = [
        _size(data),
        _translated(data),
        _half(data),
        _repeated(data),
        *_data_lines(data),
        *_address_lines(data),
    ]
    return tuple(f for f in out if f is not None)


def is_chip_size(count: int) -> bool:
    """Whether a memory chip of the era has this many bytes."""
    return SMALLEST <= count <= LARGEST and count & (count - 1) == 0


def _size(data: bytes) -> DumpFault | None:
    n = len(data)
    if is_chip_size(n) or data[:2] == b"\x55\xaa":
        return None
    below = 1 << (n.bit_length() - 1)
    near, word = (2 * below, "short of") if 2 * below - n < n - below else (below, "more than")
    return DumpFault(
        code="size",
        text=f"{n} bytes, {abs(n - near)} {word} {_kib(near)}: no chip has this size, so offsets from the end may "
        "be wrong",
    )


def _translated(data: bytes) -> DumpFault | None:
    """A transfer in text mode puts 0Dh before every 0Ah; in 64 KiB of code some stand alone."""
    feeds = data.count(b"\n")
    if is_chip_size(len(data)) or feeds < 32 or data.count(b"\r\n") != feeds:
        return None
    return DumpFault(
        code="text_mode", text=f"all {feeds} bytes 0Ah follow a 0Dh: copied as text; copy it again as binary"
    )


def _half(data: bytes) -> DumpFault | None:
    for start, which in ((0, "even"), (1, "odd")):
        column = data[start::2]
        if len(set(column)) == 1:
            return DumpFault(
                code="one_of_pair",
                text=f"every {which} byte is {column[0]:02X}h: one chip of a pair was not read",
            )
    return None


def _repeated(data: bytes) -> DumpFault | None:
    """The highest address lines repeat what is below."""
    n = len(data)
    if n & (n - 1):
        return None
    size = n
    while size > 1024 and data[: size // 2] == data[size // 2 : size]:
        size //= 2
    if size == n:
        return None
    return DumpFault(
        code="repeated",
        text=f"the same {_kib(size)} stand {n // size} times: a {_kib(size)} chip read as {_kib(n)}, or an upper "
        "address line that did not move",
    )


def _data_lines(data: bytes) -> list[DumpFault]:
    """Bit columns that never change, and two that always agree."""
    values = set(data)
    high, low = 0xFF, 0
    for v in values:
        high &= v
        low |= v
    out = [
        DumpFault(
            code="data_line",
            text=f"bit {bit} is {word} in every byte: data line D{bit} did not move while reading",
        )
        for bit in range(8)
        for word, stuck in (("1", high >> bit & 1), ("0", not low >> bit & 1))
        if stuck
    ]
    moving = [b for b in range(8) if not high >> b & 1 and low >> b & 1]
    out += [
        DumpFault(
            code="data_short",
            text=f"bits {a} and {b} agree in every byte: data lines D{a} and D{b} touch",
        )
        for a, b in combinations(moving, 2)
        if all((v >> a & 1) == (v >> b & 1) for v in values)
    ]
    return out


def _address_lines(data: bytes) -> list[DumpFault]:
    """An address line below the top that changes nothing."""
    n = len(data)
    if n & (n - 1) or n < 4096:
        return []
    out = []
    for line in range(n.bit_length() - 2):  # the top line is the repeated half
        step = 1 << line
        if all(data[k : k + step] == data[k + step : k + 2 * step] for k in range(0, n, 2 * step)):
            out.append(
                DumpFault(
                    code="address_line",
                    text=f"blocks of {step} bytes repeat throughout: address line A{line} did not move",
                )
            )
    return out


def _kib(count: int) -> str:
    return f"{count // 1024} KiB" if count % 1024 == 0 else f"{count} bytes"
