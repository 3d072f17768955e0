"""Values that pictures of the whole book are drawn from, as plain values."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import msgspec

from leadoff.loop.session import Session
from leadoff.record.errors import LeadoffError

Asked = Mapping[str, str]


def book_drawing(session: Session, picture: str, asked: Asked) -> dict[str, Any]:
    """What one picture of the book shows; ``asked`` has the address's own parameters.

    Raises:
        LeadoffError: a picture nobody draws, or one that the book has nothing for.
    """
    draw = BOOK_PICTURES.get(picture)
    if draw is None:
        raise LeadoffError.one(
            "picture_unknown",
            f'there is no picture "{picture[:40]}" of the book',
            where=picture[:40],
            do=f"one of {', '.join(BOOK_PICTURES)}",
        )
    return draw(session, asked) | {"head": session.head() or ""}


def _standings(session: Session, asked: Asked) -> dict[str, Any]:
    from leadoff.loop.standing import stand

    workload, rig = asked.get("workload") or None, asked.get("rig")
    result = stand(session, workload=workload, least=asked.get("least") or None)
    found: list[dict[str, Any]] = msgspec.json.decode(result.json())["data"]["groups"]
    for group in found:
        if group["rows"] and (rig is None or rig == group["rig"]):
            return group
    raise LeadoffError.one(
        "not_found",
        f"there is nothing to draw: no board stands in the ranking of {workload or 'any workload'}",
        where=workload or "",
        do="log a run, or ask for a lower grade",
    )


BOOK_PICTURES: Mapping[str, Callable[[Session, Asked], dict[str, Any]]] = {"standings": _standings}
