"""Text of a dump as lines of bounded length, so that no pattern meets a line without an end."""

from __future__ import annotations

from functools import lru_cache

MOST_LETTERS = 1000
"""Lines are cut here: dumps, logs and lists of the trade have at most some 200 letters a line (judgement)."""


@lru_cache(maxsize=8)
def lines_of(data: bytes) -> tuple[str, ...]:
    """The lines of a text in Latin-1, each cut at ``MOST_LETTERS``; every byte is one letter."""
    return tuple(line[:MOST_LETTERS] for line in data.decode("latin-1").splitlines())


def text_of(data: bytes) -> str:
    """The same lines as one text."""
    return "\n".join(lines_of(data))


def cut_short(data: bytes) -> int:
    """How many lines were longer than is read; none in a file of bytes."""
    if b"\0" in data:
        return 0
    return sum(1 for line in data.decode("latin-1").splitlines() if len(line) > MOST_LETTERS)
