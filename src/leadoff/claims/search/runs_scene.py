"""Where a clause on runs stands: what was spoken of before it, and what its subject is."""

from __future__ import annotations

import re
from collections.abc import Sequence

import msgspec

from leadoff.claims.rows import constant
from leadoff.claims.search.runs_select import Asked, asked
from leadoff.claims.search.runs_words import says, verb_at
from leadoff.claims.search.talk import Talk
from leadoff.claims.search.trials_scope import Mentions, boards_of, carried
from leadoff.claims.search.trials_words import Word
from leadoff.claims.spoken.reading import Said
from leadoff.claims.values import Trial


class Claimed(msgspec.Struct, frozen=True, kw_only=True):
    """A verdict on one clause with the runs it rests on and those the next clause may speak of; ``clear``: it can be
    read in one way."""

    ok: bool
    why: str
    runs: tuple[Trial, ...]
    clear: bool = True


class Scene(msgspec.Struct, kw_only=True):
    """Where a clause stands: every run of the book, the runs that were spoken of last, and what was named before;
    ``head`` is the first word, ``untold`` what
    a clause asked that claims nothing, ``open`` its signs."""

    talk: Talk
    said: Said
    every: tuple[Trial, ...]
    told: list[Mentions]
    head: Word
    last: tuple[Trial, ...] | None = None
    read: set[str] = set()
    untold: Asked | None = None
    open: set[str] = set()


def pool_of(a: Asked, low: str, scene: Scene, *, there: bool = False) -> tuple[tuple[Trial, ...], bool]:
    """Runs that a clause may speak of before it names more, and whether that is the only way to take it."""
    owners = {t.board for t in scene.last or ()}
    if re.search(r"\b(?:its|his|her)\b", low) and not a.boards and len(owners) == 1:
        return tuple(t for t in scene.every if t.board in owners), True
    if (
        says("its").search(low)
        and len(owner := boards_of(Mentions(), scene.told, several=False, evidence=scene.talk.evidence)) == 1
    ):
        return tuple(t for t in scene.every if t.board in owner[0]), True
    if scene.last is not None and (says("back").search(low) or not (a.boards or a.works)):
        return scene.last, True
    if a.boards or says("book").search(low):
        return scene.every, True
    ev = scene.talk.evidence
    if not a.works and (works := _spoken_of(low, scene)):
        return tuple(t for t in scene.every if t.workload == works), True
    choices = boards_of(Mentions(), scene.told, several=says("back").search(low) is not None, evidence=ev)
    if not choices:
        return scene.every, True
    pool = tuple(t for t in scene.every if t.board in choices[0])
    over = carried(Mentions(wants=a.wants), choices[0], scene.told)
    if over and there:
        settled = [ev.settle(w, choices[0]) for w in over]
        pool = tuple(t for t in pool if ev.as_said(t, settled))
    return pool, len(choices) == 1 and (there or not over)


def _spoken_of(low: str, scene: Scene) -> str:
    """The workload that ``it`` stands for: the one thing named just before."""
    before = scene.talk.before[-1] if scene.talk.before else None
    if before is None or before.signs("bk") or len(set(before.workloads)) != 1:
        return ""
    heading = len(before.plain.text.split()) <= _HEADING
    return before.workloads[0] if heading or re.search(r"\b(?:it|its|that|this)\b", low) else ""


_HEADING = int(constant("heading_words"))
"""``Scroll.``: so few words before a sentence say what it is about."""


def halves(words: Sequence[Word], scene: Scene) -> tuple[Asked, Asked]:
    """What a clause says of its subject, and what of it: before and after its verb; without one the dates."""
    ev = scene.talk.evidence
    at = verb_at(words)
    if at is None:
        whole = asked(words, scene.said, ev)
        return msgspec.structs.replace(whole, whens=()), Asked(whens=whole.whens)
    return asked(words[:at], scene.said, ev), asked(words[at:], scene.said, ev)
