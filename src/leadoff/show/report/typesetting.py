"""The typesetter, found late: it is an extra, and everything but paper and PNG works without it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

PLATE = b"""#set page(width: 1920pt, height: 1080pt, margin: 0pt, fill: none)
#image("plate.svg", width: 1920pt, height: 1080pt, alt: "plate")
"""


def there() -> bool:
    """Whether the typesetter is installed."""
    from importlib.util import find_spec

    return find_spec("typst") is not None


def pdf(files: Mapping[str, bytes], made_at: str) -> bytes:
    """A tagged PDF/UA-1 of ``main.typ``, dated ``made_at``: the same input gives the same bytes."""
    when = int(datetime.fromisoformat(made_at.replace("Z", "+00:00")).timestamp())
    return _bytes(files, format="pdf", pdf_standards=["ua-1"], timestamp=when)


def png(svg: str) -> bytes:
    """A picture of 1920 x 1080 as PNG, clear where the picture has no ground."""
    return _bytes({"main.typ": PLATE, "plate.svg": svg.encode()}, format="png", ppi=72.0)


def _bytes(files: Mapping[str, bytes], **how: Any) -> bytes:
    import typst

    made = typst.compile(dict(files), **how)
    if not isinstance(made, bytes):
        raise TypeError("the typesetter gave several pages where one was asked for")
    return made
