"""One line of the safety card: a topic, a verdict, the value against its limit, and the reason."""

from __future__ import annotations

import msgspec

from leadoff.record.marks import Level, Mark
from leadoff.record.quantity import Quantity


class Line(msgspec.Struct, frozen=True, kw_only=True):
    """A verdict on one topic. It warns and never forbids.

    ``over_pct`` is how far the value lies above its limit (volts: above the part's nominal); ``power_pct``
    what that does to the part's heat. ``certainty`` is how the limit is known; a red that rests on a value
    from memory says so in ``why``.
    """

    topic: str
    verdict: Level
    why: str
    value: Quantity | None = None
    limit: Quantity | None = None
    over_pct: float | None = None
    power_pct: float | None = None
    caution: str = ""
    certainty: str = ""

    def mark(self) -> Mark:
        """The line as a mark beside a result."""
        text = f"{self.why}. {self.caution}" if self.caution else self.why
        return Mark(level=self.verdict, code=self.topic, text=text)


def rests_on(certainty: str) -> str:
    """Words for a limit that was not read in a publication."""
    return {
        "memory": " (this limit is from memory of the data sheet: check the part's own)",
        "judgement": " (this limit is a judgement, not a published one)",
        "practice": " (common practice, no source)",
        "declared": " (by the user's own row)",
    }.get(certainty, "")
