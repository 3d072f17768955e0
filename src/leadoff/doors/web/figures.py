"""Pages that need no board: volts, heat and cells worked out, and what may stand in for a part."""

from __future__ import annotations

from collections.abc import Mapping

from leadoff.loop.desk import Desk
from leadoff.record.results import Result

Given = Mapping[str, str]

FIGURES = {"words": 'a topic and its figures, such as "heat in 5.25 out 3.45 amps 0.93"'}
PART = {"words": 'the part you have, and for which, such as "64-byte for 128-byte clock module"'}


def electric(desk: Desk, given: Given) -> Result:
    """One topic worked out, or all topics with an example each."""
    from leadoff.loop.reckoning import electric, listed

    text = given.get("words") or ""
    return electric(desk.session(), text) if text.strip() else listed(desk.session())


def substitute(desk: Desk, given: Given) -> Result:
    """What fits in place of a part, or the kinds of part that have a table."""
    from leadoff.loop.substituting import listed, substitute

    text = given.get("words") or ""
    return substitute(desk.session(), text) if text.strip() else listed(desk.session())
