"""A list of how runs came out: ``five goes, four figures and one hang``; ``twice, once with it and once without``."""

from __future__ import annotations

import itertools
import re
from collections.abc import Sequence

import msgspec

from leadoff.claims.rows import constant
from leadoff.claims.search.runs_scene import Claimed, Scene
from leadoff.claims.search.runs_select import Asked, asked, select
from leadoff.claims.search.runs_words import counts, row
from leadoff.claims.search.trials_scope import Mentions, boards_of, carried
from leadoff.claims.search.trials_words import Word
from leadoff.claims.spoken.values import Num
from leadoff.claims.values import Trial

_REACH = int(constant("tally_reach"))
"""So many words after its number a thing that is counted may stand."""
_CUTS = frozenset({",", "and", "but", "of which", "whereas", "while", "plus"})
_ONE = {"one": 1, "1": 1, "single": 1, "once": 1, "twice": 2, "thrice": 3}
_REST = re.compile(
    r"others?|rest|remain(?:ing|der)|third|fifth|ninth|twelfth|(?:four|six|seven|eigh|ten|eleven|thirteen)th"
)
_THEM = frozenset({"of them", "of those", "of these"})
_TIMES = frozenset({"times", "time", "once", "twice", "thrice"})
_POINTS = frozenset({"that", "this", "each", "every", "which", "no", "not", "the"})


class _Item(msgspec.Struct, frozen=True, kw_only=True):
    """``k`` runs that are as ``asked``; ``rest``: those not counted before; ``without``: those that lack what was
    named last; ``total``: all that are spoken of. ``k`` is ``None`` where a thing is only listed."""

    k: int | None
    asked: Asked
    total: bool = False
    rest: bool = False
    all: bool = False
    without: bool = False


def tally(words: Sequence[Word], scene: Scene) -> tuple[Claimed, bool] | None:
    """The verdict on a list of counted runs, and whether each way to take it comes to the same; ``None`` where it is
    no such list."""
    chunks = _chunks(words)
    items: list[_Item] = []
    frame: list[Asked] = []
    for chunk in chunks:
        item = _item(chunk, scene, first=not items)
        if item is None:
            return None
        if (
            item.k is None
            and not (item.rest or item.all or item.without)
            and not (items and _lists(item, chunk))
        ):
            frame.append(item.asked)
        else:
            items.append(item)
    if items and items[0].total and any(_alike(items[0].asked, i.asked) for i in items[1:]):
        items[0] = msgspec.structs.replace(items[0], total=False)
    if not items or not _of_this_kind(items, chunks):
        return None
    pools = _pools(items, frame, scene)
    if not pools:
        return None
    found = [_held(items, pool) for pool in pools]
    ok = {f.ok for f in found}
    return found[0], len(ok) == 1


def _alike(a: Asked, b: Asked) -> bool:
    """Whether two clauses name things of one kind: each counts its own."""
    return bool(
        (a.boards and b.boards) or (a.works and b.works) or (a.whens and b.whens) or (a.wants and b.wants)
    )


def _chunks(words: Sequence[Word]) -> list[list[Word]]:
    out: list[list[Word]] = [[]]
    for w in words:
        if w.text in _CUTS:
            out.append([])
        else:
            out[-1].append(w)
    return [c for c in out if c]


def _item(words: Sequence[Word], scene: Scene, *, first: bool) -> _Item | None:
    """One clause; ``None`` where its numbers are no counts of runs."""
    a = asked(words, scene.said, scene.talk.evidence)
    numbers = [(i, w) for i, w in enumerate(words) if w.sign[:1] == "n" and w.sign not in a.names.read]
    if any(not _counts(scene.said.num(w.sign)) for _, w in numbers):
        return None
    whole = [w for i, w in numbers if i and any(x.text == "of" for x in words[max(0, i - 2) : i])]
    own = [(i, w) for i, w in numbers if w not in whole]
    if len(own) > 1 or len(whole) > 1 or any(w.of("board") and w.text not in _THEM for w in words):
        return None
    if any(i and words[i - 1].text in _SCORES for i, _ in own):
        return None
    if whole and a.kind and a.boards:
        return None
    k: int | None = None
    at = -1
    if own:
        at, k = own[0][0], round(scene.said.num(own[0][1].sign).value)
    else:
        for i, w in enumerate(words):
            free = not (i and words[i - 1].text in _POINTS)
            if w.text in _ONE and (free or (words[i - 1].text == "the" and not first)):
                at, k = i, _ONE[w.text]
                break
            if w.text in ("the once", *_MERGED):
                at, k = i, 1
                break
    rest = any(_REST.fullmatch(w.text) for w in words)
    every = any(w.text in ("all", "both", "each", "every") for w in words)
    without = (
        any(w.text == "without" for w in words) and not a.wants and not a.kind and not _figures(words, -1)
    )
    denied = any(w.of("deny") for w in words) and not without and not a.kind
    if denied and k is None:
        k = 0
    if words[0].of("deny") and k is None and a.kind not in ("", "read", "unread"):
        k = 0
    kind = a.kind or ("read" if _figures(words, at) else "")
    if kind == "read" and any(
        w.text.endswith(" through") and x.text == "the" for w, x in itertools.pairwise(words)
    ):
        kind = ""
    a = msgspec.structs.replace(a, kind=kind, readings=0)
    noun = any(w.of("entry", "outing") or w.text in _GOES or w.text in _TIMES for w in words) or (
        bool(own) and scene.said.num(own[0][1].sign).kind in ("goes", "factor")
    )
    counted = at >= 0 and any(w.sign[:1] == "w" for w in words[at + 1 : at + 3])
    if k is None and every and (kind or not a.empty):
        return _Item(k=None, asked=a, all=True)
    total = k is not None and first and not kind and (noun or counted or bool(whole))
    if k is not None and a.empty and not (total or rest or without):
        return None
    return _Item(k=k, asked=a, total=total, rest=rest, all=every, without=without)


_GOES = frozenset(
    {"attempts", "attempt", "goes", "go", "tries", "try", "passes", "pass", "outing", "outings"}
)


_SCORES = frozenset({"from", "to", "at", "by", "than", "over", "under", "between", "above", "below"})
"""A number after one of these is no count of runs."""
_MERGED = ("one hang", "1 hang", "single hang")


def _counts(n: Num) -> bool:
    """Whether a number may count runs: ``nine times`` is one as well."""
    return counts(n) or (n.kind == "factor" and n.value == round(n.value) and n.value > 1)


def _figures(words: Sequence[Word], at: int) -> bool:
    """``four results``: runs that left a figure."""
    near = words[at + 1 : at + 1 + _REACH] if at >= 0 else words
    return any(w.of("figure", "reading") and w.text not in _TIMES and w.text != "entry" for w in near)


def _lists(item: _Item, words: Sequence[Word]) -> bool:
    """``at times three and at times four``: what the runs were, one after another."""
    return bool(item.asked.wants or item.asked.rigs or item.asked.boards) and all(
        w.sign or w.text in ("s", "of", "at", "with", "on", "in", "the", "then", "to", "from", "first")
        for w in words
    )


def _of_this_kind(items: Sequence[_Item], chunks: Sequence[Sequence[Word]]) -> bool:
    """Whether runs are counted at all: two counts, one of them of runs or of what came of them."""
    if any(
        w.of("soak", "copy", "judge", "fpu") or w.sign[:1] in ("f", "d", "o", "r") for c in chunks for w in c
    ):
        return False
    if any(w.text in row("doubts") for c in chunks for w in c):
        return False
    if len(items) == 1:
        a = items[0].asked
        if len(chunks) == 1 and a.kind and items[0].k is not None and not items[0].all:
            return True
        return (
            items[0].total
            and bool(a.works)
            and (bool(a.boards) or bool(a.rigs))
            and len(chunks[0]) <= 2 * _REACH
        )
    told = any(i.total for i in items) or any(i.asked.kind for i in items)
    each = all(i.k is not None and i.asked.works for i in items)
    return each or (told and any(i.k is not None for i in items))


def _pools(items: Sequence[_Item], frame: Sequence[Asked], scene: Scene) -> list[tuple[Trial, ...]]:
    """Runs that are counted, in each way they may be taken."""
    ev = scene.talk.evidence
    over = list(frame)
    head, later = items[0], [i.asked for i in items[1:]]
    if head.total or not (head.asked.boards and any(a.boards for a in later)):
        over.append(_shared(head.asked, later))
    boards = tuple(b for a in over for b in a.boards)
    works = tuple(w for a in over for w in a.works)
    wants = tuple(w for a in over for w in a.wants)
    rigs = tuple(g for a in over for g in a.rigs)
    named = Mentions(boards=boards, wants=wants)
    anybody = any(a.boards for a in later) or (not boards and not scene.told)
    found = [boards] if boards else boards_of(Mentions(), scene.told, several=False, evidence=ev)
    if not boards and not found:
        if not anybody and any(x.boards for x in scene.told):
            return []
        found = [tuple(ev.ledger.boards)]
    if len(found) != 1:
        return []
    if not works and not any(a.works for a in later):
        works = next((tuple(s.workloads) for s in reversed(scene.talk.before[-2:]) if s.workloads), ())
    pool = select(scene.every, Asked(boards=found[0], works=works, wants=wants, rigs=rigs))
    more = [w for w in carried(named, found[0], scene.told) if not any(a.wants for a in later)]
    if not more or boards:
        return [pool] if pool else []
    settled = [ev.settle(w, found[0]) for w in more]
    narrow = tuple(t for t in pool if ev.as_said(t, settled))
    if scene.told[-1].wants:
        return [narrow] if narrow else []
    return [x for x in (narrow, pool) if x]


def _shared(a: Asked, later: Sequence[Asked]) -> Asked:
    """What the first clause names, as far as no later one names another of its kind."""
    return msgspec.structs.replace(
        a,
        boards=() if any(x.boards for x in later) else a.boards,
        works=() if any(x.works for x in later) else a.works,
        wants=() if any(x.wants for x in later) else a.wants,
        rigs=() if any(x.rigs for x in later) else a.rigs,
    )


def _held(items: Sequence[_Item], pool: tuple[Trial, ...]) -> Claimed:
    """Each count held against the runs."""
    left = list(pool)
    last: tuple[Trial, ...] = pool
    ok, listed, named = True, 0, 0
    told: list[str] = []
    for item in items:
        if item.total:
            found = pool
            ok = ok and item.k == len(pool)
        elif item.rest:
            found = tuple(left)
            ok = ok and bool(left) and (item.k is None or item.k == len(left) or item.k == 1 == len(left))
            ok = ok and len(select(found, item.asked)) == len(found)
        elif item.without:
            found = tuple(t for t in pool if t not in last)
            ok = ok and (item.k is None or item.k == len(found))
        else:
            among = last if item.k is None and item.asked.boards and not item.all else pool
            found = select(among, item.asked)
            ok = ok and (len(found) == len(pool) if item.all and item.k is None else True)
            ok = ok and (bool(found) if item.k is None else item.k == len(found))
            listed += len(found) if item.k is None and not item.all and not item.asked.boards else 0
        if item.k is None and item.asked.boards and not item.all:
            told.append(f"of those {len(found)}: {', '.join(t.number for t in found[:12]) or 'none'}")
            named += len(found)
            ok = ok and named <= len(last) and bool(found)
            continue
        ok, named = ok and named in (0, len(last)), 0
        if not item.total:
            left = [t for t in left if t not in found]
        last = found
        told.append(f"{len(found)}: {', '.join(t.number for t in found[:12]) or 'none'}")
    ok = ok and named in (0, len(last))
    if listed:
        ok = ok and listed == len(pool)
    return Claimed(ok=ok, why=f"{len(pool)} runs; " + "; ".join(told), runs=pool)
