"""Calls the judge on a setup and turns what it found into marks."""

from __future__ import annotations

from collections.abc import Iterable

from leadoff.forecast.facts import Setup
from leadoff.loop.session import Session
from leadoff.record.marks import Level, Mark
from leadoff.safety.judge import judge, outside_limit
from leadoff.safety.line import Line


def judged(session: Session, setup: Setup) -> tuple[Line, ...]:
    """Every line of the safety card of a setup."""
    return judge(setup.state, setup.sheet, setup.processor, session.catalogue)


def judged_everywhere(session: Session, setup: Setup) -> tuple[Line, ...]:
    """The same, with every supply the board can give where the one that is set is red for the part."""
    return judge(setup.state, setup.sheet, setup.processor, session.catalogue, all_rails=True)


def warnings(lines: Iterable[Line]) -> list[Mark]:
    """The lines that a person must see beside a result: all reds, and ambers that ask for an act."""
    return [line.mark() for line in lines if line.verdict is Level.RED or _asks(line)]


def _asks(line: Line) -> bool:
    asked = line.topic in ("write_back", "marking", "isa_reach", "vlb_loads")
    return line.verdict is Level.AMBER and (asked or outside_limit(line))


def reds(lines: Iterable[Line]) -> tuple[str, ...]:
    """Short reasons of the red lines."""
    return tuple(f"{line.topic.replace('_', ' ')}: {line.why}" for line in lines if line.verdict is Level.RED)
