"""An answer to a question after the first or the last: a board alone, its claim is in the question."""

from __future__ import annotations

import re

import msgspec

from leadoff.claims.rows import constant
from leadoff.claims.search.scores_asked import framed_question
from leadoff.claims.search.scores_figures import agreed
from leadoff.claims.search.scores_place import Here, boards_of, places
from leadoff.claims.search.scores_ranks import of_place, rank_of
from leadoff.claims.search.scores_words import classes, hears, hears_raw, strange, supposed, words
from leadoff.claims.search.talk import Reading, Talk

SHORT = int(constant("answer_own_words"))
"""An answer says so few words of its own beside the board."""
_ASKED = re.compile(r"\b(?:which|who|whose|what)\b|^(?:and |so |the )*\w+est\b")


def answers(talk: Talk) -> Reading | None:
    """What the book says to the board that answers a question before; ``None`` where it is no such answer."""
    said = talk.said
    boards = boards_of(said)
    if len(boards) != 1 or not talk.before or said.signs("kwgsrdfonu") or said.gone or said.seals:
        return None
    asked = framed_question(talk)
    if (
        (boards_of(asked) and not asked.signs("k"))
        or asked.signs("snrdfou")
        or not _ASKED.search(asked.low.strip())
    ):
        return None
    if any(w in classes()["denials"] for w in words(said.low)) or len(strange(talk)) > SHORT:
        return None
    if (
        hears(talk, "compares", "causes", "trials", "seals", "alone")
        or hears_raw(talk, "reported")
        or supposed(talk)
    ):
        return None
    question = msgspec.structs.replace(talk, said=asked, before=talk.before[:-1])
    rank = rank_of(question)
    if rank is None or rank_of(talk) is not None:
        return None
    if any(w in classes()["denials"] for w in words(asked.low)):
        return None
    workloads = tuple(dict.fromkeys(asked.workloads))
    here = Here(boards=boards, workloads=workloads, rigs=tuple(dict.fromkeys(asked.rigs)))
    found = [x for p in places(question, here, ()) for x in of_place(question, rank, p, (), among=True)]
    return agreed(talk, found, exact=False) if found else None
