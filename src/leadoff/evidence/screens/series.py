"""A row of pictures of one monitor: which of them show another screen, with cursor and blinking text left aside."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

import msgspec

from leadoff.evidence.screens.values import Screen

SAME_SHARE = 0.02
"""Two readings that differ in fewer of their inked cells are the same screen, a counter running (judgement)."""


class Shown(NamedTuple):
    """A distinct screen, when it was first and last seen (as the caller counts: seconds, file names)."""

    screen: Screen
    first: str
    last: str
    pictures: int


def distinct(readings: Iterable[tuple[str, Screen]]) -> list[Shown]:
    """Screens in order; neighbours that show the same are one, with blinking cells filled in from either.

    A screen that is a later part of the one before (more lines printed below) counts as the same one grown, and
    the fuller reading is kept.
    """
    shown: list[Shown] = []
    for place, screen in readings:
        if shown and (merged := _same(shown[-1].screen, screen)) is not None:
            last = shown[-1]
            shown[-1] = Shown(merged, last.first, place, last.pictures + 1)
        else:
            shown.append(Shown(screen, place, place, 1))
    return shown


def _same(before: Screen, after: Screen) -> Screen | None:
    if len(before.lines) != len(after.lines) or len(before.lines[0]) != len(after.lines[0]):
        return None
    both = ink = gone = come = 0
    blinking: list[tuple[int, int]] = []
    lines: list[str] = []
    sure: list[tuple[float, ...]] = []
    for r, (a, b) in enumerate(zip(before.lines, after.lines, strict=True)):
        row: list[str] = []
        chances: list[float] = []
        for c, (x, y) in enumerate(zip(a, b, strict=True)):
            p, q = before.certainty[r][c], after.certainty[r][c]
            ink += x != " " or y != " "
            if x == y:
                both += x != " "
                row.append(x)
                chances.append(max(p, q))
                continue
            gone += y == " "
            come += x == " "
            if " " in (x, y):
                blinking.append((r, c))
                row.append(y if x == " " else x)
                chances.append(q if x == " " else p)
            else:
                row.append(y)
                chances.append(min(p, q))
                both -= 1
        lines.append("".join(row))
        sure.append(tuple(chances))
    if not ink:
        return after
    changed = ink - both
    few = changed <= max(2, SAME_SHARE * ink)
    grown = not gone and come and both >= 0.5 * (ink - come) and changed == come
    one_line = len({r for r, _ in blinking}) == 1 and both > 0
    blinks = bool(blinking) and changed == len(blinking) and (len(blinking) <= max(8, 0.1 * ink) or one_line)
    if grown and not few and not blinks:
        return after
    if not few and not blinks:
        return None
    whole = tuple(sorted({*before.blinking, *blinking}))
    return msgspec.structs.replace(after, lines=tuple(lines), certainty=tuple(sure), blinking=whole)
