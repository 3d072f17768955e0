"""Two ends said together: the lowest is so much and the highest so much."""

from __future__ import annotations

import re

import msgspec

from leadoff.claims.search.scores_frame import names_in
from leadoff.claims.search.scores_ranks import rank_of, ranks
from leadoff.claims.search.talk import Reading, Talk, said_of
from leadoff.claims.spoken.values import weakest

_JOINT = re.compile(r"\s*(?:[,;:]\s*(?:and|but|while|whereas|with)?|\b(?:and|but|while|whereas))\s+")


def ends(talk: Talk) -> Reading | None:
    """What the book says to two ends, each with its figure; ``None`` where not two are said."""
    text = talk.text.rstrip(" .!")
    names = names_in(talk.evidence)
    parts: list[Talk] = []
    before = talk.before
    for piece in _JOINT.split(text):
        if not piece:
            continue
        said = said_of(piece, talk.evidence, names)
        part = msgspec.structs.replace(talk, text=piece, said=said, before=before)
        before = (*before, said)
        if rank_of(part) is None:
            if said.signs("nsrdfou") or said.strangers:
                return None
            continue
        parts.append(part)
    if len(parts) != 2 or any(len(p.said.signs("n")) != 1 for p in parts):
        return None
    found = [r for p in parts if (r := ranks(p)) is not None]
    if len(found) < len(parts):
        return None
    return Reading(finding=weakest([r.finding for r in found]), sure=all(r.sure for r in found))
