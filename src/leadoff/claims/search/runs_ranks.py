"""The first and the last run, who had most of them, as many as another, and how long a stretch they fill."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from datetime import date

import msgspec

from leadoff.claims.search.runs_scene import Claimed, Scene, halves, pool_of
from leadoff.claims.search.runs_select import Asked, asked, select
from leadoff.claims.search.runs_words import amount, says
from leadoff.claims.search.trials_scope import Mentions, boards_of
from leadoff.claims.search.trials_words import Word
from leadoff.claims.values import Trial


def end(words: Sequence[Word], low: str, scene: Scene, *, at_first: bool) -> Claimed | None:
    """The first or last run: its date, board, workload or state."""
    head, tail = halves(words, scene)
    if tail.empty:
        whole = asked(words, scene.said, scene.talk.evidence)
        head, tail = Asked(), whole
    if tail.empty:
        return None
    pool, clear = pool_of(head if not head.empty else Asked(boards=tail.boards), low, scene)
    if tail.boards and not head.boards and not says("back").search(low):
        pool = scene.every
    subject = sorted(select(pool, head), key=lambda t: t.observed.when)
    if not subject:
        return None
    one = subject[0 if at_first else -1]
    ok = bool(select((one,), tail))
    edge = "first" if at_first else "last"
    why = f"{edge} run {one.number} ({one.board}, {one.workload}) on {one.observed.when[:10]}"
    return Claimed(ok=ok, why=why, runs=(one,), clear=clear)


def ranked(words: Sequence[Word], low: str, whole: Asked, scene: Scene) -> Claimed | None:
    """Who had most runs, or fewest."""
    subject = whole.boards or tuple(dict.fromkeys(t.board for t in scene.last or ()))
    if not subject:
        choices = boards_of(Mentions(), scene.told, several=False, evidence=scene.talk.evidence)
        subject = choices[0] if len(choices) == 1 else ()
    if len(subject) != 1 and not (len(subject) > 1 and says("fewer").search(low) is not None):
        return None
    among = select(scene.every, msgspec.structs.replace(whole, boards=(), names=Mentions(wants=whole.wants)))
    per = Counter(t.board for t in among)
    counts_ = {b: per[b] for b in scene.talk.evidence.ledger.boards}
    tied = {counts_.pop(b) for b in subject}
    mine = max(tied)
    level_ = len(tied) == 1
    ok = (
        all(mine > n for n in counts_.values())
        if says("more").search(low)
        else all(mine < n for n in counts_.values())
    )
    q = amount(words, scene.said, whole.names.read)
    if q is not None and q.k is not None:
        ok = ok and q.fits(mine)
    ok = ok and level_
    why = f"{subject[0]}: {mine} runs, the others {', '.join(f'{b} {n}' for b, n in counts_.items())}"
    return Claimed(ok=ok, why=why, runs=tuple(t for t in among if t.board in subject))


def ranked_works(low: str, whole: Asked, scene: Scene) -> Claimed | None:
    """Which workload was run most, or least."""
    among = select(scene.every, msgspec.structs.replace(whole, works=(), names=Mentions()))
    per = Counter(t.workload for t in among)
    mine = per[whole.works[0]]
    others = [n for w, n in per.items() if w != whole.works[0]]
    ok = all(mine > n for n in others) if says("more").search(low) else all(mine < n for n in others)
    why = ", ".join(f"{w}: {n} runs" for w, n in per.most_common())
    return Claimed(ok=ok, why=why, runs=select(among, Asked(works=whole.works)))


def level(low: str, whole: Asked, scene: Scene) -> Claimed | None:
    """``as many runs as the Birch``."""
    owner = boards_of(Mentions(), scene.told, several=False, evidence=scene.talk.evidence)
    two = whole.boards if len(whole.boards) == 2 else (*owner[0], *whole.boards) if len(owner) == 1 else ()
    if len(two) != 2:
        return None
    among = select(scene.every, msgspec.structs.replace(whole, boards=two, names=Mentions()))
    a, b = (sum(t.board == x for t in among) for x in two)
    denied = re.search(r"\b(?:not|never|nowhere near)\b", low) is not None
    if m := says("more_than").search(low):
        ok = a < b if m[0].startswith(("fewer", "less")) else a > b
        return Claimed(ok=ok, why=f"{two[0]} {a} runs, {two[1]} {b}", runs=among, clear=not denied)
    return Claimed(
        ok=(a == b) != denied, why=f"{two[0]} {a} runs, {two[1]} {b}", runs=among, clear=not denied
    )


def spanned(said_days: tuple[float, float], pool: tuple[Trial, ...]) -> Claimed | None:
    """``a year and a day lay between the first run and the last``."""
    if len(pool) < 2:
        return None
    whens = sorted(t.observed.when for t in pool)
    found = float(begun_days(whens[0], whens[-1]))
    value, slack = said_days
    why = f"{found:g} days from {whens[0][:10]} to {whens[-1][:10]}"
    return Claimed(ok=abs(found - value) <= slack, why=why, runs=pool)


def begun_days(first: str, last: str) -> int:
    """Days between two times."""
    return (date.fromisoformat(last[:10]) - date.fromisoformat(first[:10])).days
