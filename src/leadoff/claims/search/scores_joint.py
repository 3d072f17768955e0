"""Several places and figures in one sentence: the first is so much, the next one needs so much."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

import msgspec

from leadoff.claims.rows import constant
from leadoff.claims.search.scores_frame import names_in
from leadoff.claims.search.talk import Reading, Talk, said_of
from leadoff.claims.spoken.values import Verdict, weakest

V = Verdict
_WEAK = r"\s*(?:[;:]|\s[-–—]+\s|—)\s*|,?\s+(?:but|while|whereas|where|whilst)\s+|,\s+(?:and|with)\s+"
_CUTS = tuple(re.compile(p, re.I) for p in (_WEAK, rf"{_WEAK}|\s*,\s*", rf"{_WEAK}|\s*,\s*|\s+and\s+"))
MOST = int(constant("parts_most"))


def joint(talk: Talk, one: Callable[[Talk], Reading | None]) -> Reading | None:
    """The weakest of several claims, each read by ``one``; ``None`` unless all of them are understood."""
    for cut in _CUTS:
        pieces = [p for p in cut.split(talk.text.rstrip(" .!")) if re.search(r"\w", p)]
        if 2 <= len(pieces) <= MOST and (r := _each(talk, pieces, one)) is not None:
            return r
    return None


def _each(talk: Talk, pieces: Sequence[str], one: Callable[[Talk], Reading | None]) -> Reading | None:
    names = names_in(talk.evidence)
    before = talk.before
    found: list[Reading] = []
    for piece in pieces:
        said = said_of(piece, talk.evidence, names)
        if not said.signs("bn"):
            before = (*before, said)
            if said.signs("srdfou") or said.strangers:
                return None
            continue
        r = one(msgspec.structs.replace(talk, text=piece, said=said, before=before))
        before = (*before, said)
        if r is None or not r.sure:
            return None
        found.append(r)
    if len(found) < 2:
        return None
    return Reading(finding=weakest([r.finding for r in found]), sure=True)
