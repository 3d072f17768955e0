"""Numbers that say how often a figure came, and no score."""

from __future__ import annotations

import re
from collections.abc import Sequence

from leadoff.claims.rows import constant
from leadoff.claims.search.talk import Talk
from leadoff.claims.spoken.evidence import as_figure, reads
from leadoff.claims.spoken.values import Num
from leadoff.claims.standings import Cell

_TIMES = (
    r"(?:times|readings?|runs|passes|goes|tries|attempts|measurements|figures|numbers|results|rounds|sessions|"
    r"shots|timings|"
    r"of (?:them|my|its|the|those) (?:readings|runs|passes|figures|numbers)|identical \w+)"
)
_OFTEN = re.compile(
    rf"^ ?(?:\{{w\d+\}} )?{_TIMES}\b(?! (?:as|faster|slower|the|that|more|less|what|of|out|longer|quicker|"
    rf"in \{{n)\b)"
)
_AGAIN = re.compile(
    r"^ ?(?:times? )?(?:(?:the|exactly|in|a) )*(?:same|over|running|row|identical|alike|straight|on the trot)\b"
)
_SO_MUCH = re.compile(r"^ (?:as|the|that|what|its|his|my|this|over the|faster|quicker|longer|slower|\{[bw])")
"""``twice the score`` is a factor."""
_ALL_OF = re.compile(r"^ ?(?:runs|times|passes|goes|tries)?(?= ,| ?$)")
_MOST_TIMES = constant("times_most")
_MEAN = re.compile(r"\b(?:means?|averag\w*)\b")


def repeats_in(talk: Talk) -> dict[str, int]:
    """Numbers that say how often a figure came: ``three times the same``, ``all three readings``."""
    out: dict[str, int] = {}
    for sign in talk.said.signs("n"):
        n = talk.said.num(sign)
        tail = talk.said.low[talk.said.at(sign) + len(sign) + 2 :]
        if n.mod or n.unit or n.value != int(n.value):
            continue
        few = n.value <= _MOST_TIMES and n.kind in ("bare", "count", "all", "goes")
        whole = n.kind == "count" and n.of == n.value and _ALL_OF.match(tail)
        again = n.kind in ("factor", "bare", "count", "all") and n.value <= _MOST_TIMES and _AGAIN.match(tail)
        often = n.text in ("twice", "thrice") and not _SO_MUCH.match(tail)
        if often or n.kind == "goes" or whole or again or (few and _OFTEN.match(tail)):
            out[sign] = int(n.value)
    return out


def came_so_often(talk: Talk, cells: Sequence[Cell], figures: Sequence[Num], often: int) -> bool:
    """Whether one of these states has so many readings, and each figure so often where no mean is spoken of."""
    mean = _MEAN.search(f"{talk.said.low} {talk.text.lower()}") is not None
    for c in cells:
        values = [r.value for t in c.trials for r in t.readings]
        need = 1 if mean or len(figures) > 1 else often
        if len(values) >= often and all(
            reads(c, n) and (mean or sum(as_figure(v, n) for v in values) >= need) for n in figures
        ):
            return True
    return False
