"""Old bodies lifted to today's shape when read. The bytes in the book are never rewritten."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import msgspec

Step = Callable[[dict[str, Any]], dict[str, Any]]


class Upcasters:
    """Pure functions (kind, v) -> v + 1, applied in turn when an entry is read.

    ``step`` gets the decoded body of version ``v`` and returns that of ``v + 1``; the key ``v`` is set here.
    """

    def __init__(self) -> None:
        self._steps: dict[tuple[str, int], Step] = {}
        self._newest: dict[str, int] = {}

    def add(self, kind: str, v: int, step: Step) -> None:
        """Register the step from ``v`` to ``v + 1``; raises ValueError if that step is already known."""
        if (kind, v) in self._steps:
            raise ValueError(f"two upcasters for {kind} version {v}")
        self._steps[kind, v] = step
        self._newest[kind] = max(self._newest.get(kind, 1), v + 1)

    def newest(self, kind: str) -> int:
        """The version this program writes and understands."""
        return self._newest.get(kind, 1)

    def lift(self, kind: str, v: int, body: bytes) -> tuple[int, bytes]:
        """Return (version, body) at the newest known version; bodies of newer versions come back
        untouched.
        """
        newest = self._newest.get(kind, 1)
        if v >= newest:
            return v, body
        value: dict[str, Any] = msgspec.json.decode(body)
        while v < newest and (step := self._steps.get((kind, v))) is not None:
            v += 1
            value = step(value) | {"v": v}
        return v, msgspec.json.encode(value)


UPCASTERS = Upcasters()
"""The program's own steps; the loop registers them at import."""
