"""Runs as things that are counted and dated: how many, when, the first and the last, who had most, what never ran."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import msgspec

from leadoff.claims.search.runs_alone import alone
from leadoff.claims.search.runs_kind import lists_runs, of_more_than_runs, of_runs
from leadoff.claims.search.runs_ranks import end, level, ranked, ranked_works, spanned
from leadoff.claims.search.runs_scene import Claimed, Scene, halves, pool_of
from leadoff.claims.search.runs_select import Asked, asked, begun, select
from leadoff.claims.search.runs_tally import tally
from leadoff.claims.search.runs_unnoted import unnoted
from leadoff.claims.search.runs_when import asked_many, when
from leadoff.claims.search.runs_words import Amount, amount, counts, days, own_words, row, says, verb_at
from leadoff.claims.search.scores_frame import framed
from leadoff.claims.search.talk import Reading, Talk
from leadoff.claims.search.trials_book import heard_in, known_words, mentioned
from leadoff.claims.search.trials_claims import supposed
from leadoff.claims.search.trials_words import Word, split, unknown, words_of
from leadoff.claims.spoken.values import Finding, Verdict
from leadoff.claims.values import Trial

V = Verdict


def runs(talk: Talk) -> Reading | None:
    """The reading of a sentence of this kind; ``None`` where it is none."""
    if talk.asks:
        return None
    talk = framed(talk)
    ev = talk.evidence
    said, parts = heard_in(talk.text, ev)
    counts_runs = of_runs(talk, said, parts)
    every = tuple(t for t in ev.ledger.trials if t.workload is not None)
    if (
        said.strangers
        or said.gone
        or said.seals
        or said.oddities
        or not every
        or not (counts_runs or lists_runs(said, parts))
    ):
        return None
    told = [mentioned(*heard_in(s.plain.text, ev), ev) for s in talk.before]
    question = asked_many(talk)
    clauses = _rejoined(split(words_of(said.low)))
    scene = Scene(talk=talk, said=said, every=every, told=told, head=clauses[0][0])
    if question is not None and not question.empty:
        scene.last = select(every, question)
    words = [w for p in parts for w in p.words]
    left_out = any(w.of("except") for w in words) and not says("nothing_but").search(said.low)
    if left_out and not any(w.of("board") or w.text.startswith("workload") for w in words):
        return None
    listed = tally(words_of(said.low), scene) if lists_runs(said, parts) else None
    if listed is None and not counts_runs:
        return None
    found = (
        [msgspec.structs.replace(listed[0], clear=listed[1])]
        if listed is not None
        else [c for words in clauses if (c := _claim(words, scene)) is not None]
    )
    if not found:
        return None
    if listed is not None:
        scene.read |= set(said.signs("bkwgsnd"))
    shown = [c for c in found if not c.ok] or found
    known = known_words(ev) | own_words()
    loose = [w for p in parts if len(p.words) > 1 for w in unknown(p.words, known)]
    again = {
        s
        for s in said.signs("w")
        if said.workloads[int(s[1:])] in {said.workloads[int(r[1:])] for r in scene.read if r[0] == "w"}
    }
    left = set(said.signs("bkwgsnd")) - scene.read - again
    if any(s[0] == "n" for s in left):
        return None
    sure = not left and not loose and all(c.clear for c in found) and not supposed(parts)
    sure = sure and (listed is not None or not of_more_than_runs(said, parts))
    why = "; ".join(dict.fromkeys(c.why for c in shown))
    boards = tuple(dict.fromkeys(t.board for c in shown for t in c.runs))
    finding = Finding(
        verdict=V.SUPPORTED if shown is found and all(c.ok for c in found) else V.CONTRADICTED,
        why=why,
        refs=tuple(dict.fromkeys(t.number for c in shown for t in c.runs))[:12],
        boards=boards if len(boards) < len(ev.ledger.boards) else (),
        true=why,
    )
    return Reading(finding=finding, sure=sure)


def _rejoined(clauses: list[list[Word]]) -> list[list[Word]]:
    """``, the Larch excepted`` with the clause that it is taken from."""
    out: list[list[Word]] = []
    for words in clauses:
        left = any(w.of("except") for w in words) and all(
            w.of("except") or w.sign[:1] in ("b", "w") or w.text == "the" for w in words
        )
        if left and out:
            out[-1] += words
        else:
            out.append(words)
    return out


_CLOSES = ("ends", "ended", "closes", "closed", "stops", "stopped")


def _claim(words: Sequence[Word], scene: Scene) -> Claimed | None:
    """What one clause claims, ``None`` where it claims nothing of this kind."""
    low = f" {' '.join(w.text for w in words)} "
    whole = asked(words, scene.said, scene.talk.evidence)
    first, last = says("first").search(low), says("last").search(low)
    if words[0].text in _CLOSES and not first:
        last, scene.last = says("ends").search(low), None
    if (claim := unnoted(words, low, whole, pool_of(whole, low, scene)[0], scene)) is not None:
        pass
    elif (span := says("span").search(low)) is not None and not says("noun").search(low[span.end() :]):
        claim = spanned(days(span, scene.said), pool_of(whole, low, scene)[0])
    elif says("turn").search(low) is not None and len(whole.boards) == 1 and whole.whens:
        mine = sorted(select(scene.every, Asked(boards=whole.boards)), key=lambda t: t.observed.when)[:1]
        why = "; ".join(f"run {t.number} on {t.observed.when[:10]}" for t in mine)
        then = tuple(msgspec.structs.replace(w, relation="on") if not w.to else w for w in whole.whens)
        claim = Claimed(ok=bool(select(mine, Asked(whens=then))), why=why, runs=tuple(mine))
    elif bool(first) != bool(last):
        claim = end(words, low, scene, at_first=bool(first))
    elif scene.last is not None and len(scene.last) == 1 and says("same").match(low):
        claim = Claimed(
            ok=bool(select(scene.last, whole)), why=f"run {scene.last[0].number}", runs=scene.last
        )
    elif (
        says("as_many").search(low)
        and len(whole.works) == 1
        and any(w.text.startswith("workload") for w in words)
    ):
        claim = ranked_works(" the most runs ", whole, scene)
    elif says("as_many").search(low) or (len(whole.boards) == 2 and says("more_than").search(low)):
        claim = level(low, whole, scene)
    elif says("more").search(low) or says("fewer").search(low):
        works = any(w.text.startswith("workload") for w in words) and len(whole.works) == 1
        claim = ranked_works(low, whole, scene) if works else ranked(words, low, whole, scene)
    else:
        claim = _counted(words, low, whole, scene)
    if claim is None and whole.whens and not (whole.whens[0].relation != "on" and verb_at(words) is None):
        claim = when(whole, low, scene)
    if claim is None and scene.last and words[0].text in row("verbs") and not whole.empty:
        # ``and was made on the 386``, of what was spoken of last.
        rest = [t for t in scene.last if t not in select(scene.last, whole)]
        claim = Claimed(ok=not rest, why=f"runs{_listed(scene.last)}", runs=scene.last)
    if claim is None and scene.last and verb_at(words) is None and not whole.empty and not whole.whens:
        claim = _among(words, scene)
    if claim is None and (whole.boards or whole.wants):
        scene.untold, scene.open = whole, {w.sign for w in words if w.sign}
    if claim is not None:
        scene.read |= {w.sign for w in words if w.sign}
        scene.last = claim.runs
    return claim


def _among(words: Sequence[Word], scene: Scene) -> Claimed:
    """``the hang and the ray trace``: a list of what the runs just spoken of are."""
    last = scene.last or ()
    ev = scene.talk.evidence
    each = [asked([w], scene.said, ev) for w in words]
    ok = all(select(last, a) for a in each if not a.empty)
    return Claimed(ok=ok, why=f"runs{_listed(last)}", runs=last, clear=ok)


def _counted(words: Sequence[Word], low: str, whole: Asked, scene: Scene) -> Claimed | None:
    if (lone := alone(low, whole, scene)) is not None:
        return lone
    q = amount(words, scene.said, whole.names.read, first=scene.last is not None or words[0] is scene.head)
    if q is None and not whole.whens:
        return None
    if q is not None and _unread(q, words, whole, scene):
        return None
    pool, clear = pool_of(whole, low, scene, there=says("there").search(low) is not None)
    if q is None:
        return _dated(words, whole, pool, scene, clear=clear)
    if q.unit in ("board", "workload"):
        return _spread(q, words, whole, pool, scene, clear=clear)
    if q.word in ("all", "share"):
        head, tail = halves(words, scene)
        if tail.empty:
            return None
        subject = select(pool, head)
        return _share(q, subject, select(subject, tail), clear=clear)
    if q.word == "none" and whole.empty and says("tried").search(low) and scene.untold is not None:
        # ``how it would do with CAS 2: that was never tried``
        whole, pool, clear = scene.untold, scene.every, True
        scene.read |= scene.open
    if q.word == "none" and whole.empty and not says("noun").search(low):
        return None
    if q.word == "none" and scene.last and whole.boards and not (whole.works or whole.kind or whole.whens):
        # ``and the 386 has none`` of what was counted.
        pool = scene.last
    if q.word == "none":
        # Nothing since then: that day is not counted.
        later = tuple(
            msgspec.structs.replace(w, relation="after") if w.relation == "since" else w for w in whole.whens
        )
        whole = msgspec.structs.replace(whole, whens=later)
    found = select(pool, whole)
    if q.of is not None:
        head = msgspec.structs.replace(whole, whens=(), kind="", works=())
        clear = clear and q.of in (len(pool), len(scene.every), len(select(pool, head)))
    if q.each:
        per = Counter(t.board for t in found)
        ok = bool(per) and all(q.fits(per[b]) for b in (whole.boards or _boards(scene)))
        return Claimed(
            ok=ok, why=", ".join(f"{b}: {n}" for b, n in sorted(per.items())), runs=found, clear=clear
        )
    n = sum(len(t.readings) for t in found) if q.unit == "reading" else len(found)
    noun = "readings" if q.unit == "reading" else "runs"
    if n == 0 and q.k and not (whole.boards or whole.works):
        clear = False
    return Claimed(ok=q.fits(n), why=f"{n} {noun}{_listed(found)}", runs=found, clear=clear)


def _unread(q: Amount, words: Sequence[Word], whole: Asked, scene: Scene) -> bool:
    """Whether more is counted in a clause than was read: ``twice on three of the boards``."""
    left = [
        w
        for i, w in enumerate(words)
        if w.sign[:1] == "n"
        and w.sign not in q.read | whole.names.read
        and counts(n := scene.said.num(w.sign))
        and n.value not in (q.k, q.of)
        and not (i and words[i - 1].text in ("of them", "of these", "of those"))
    ]
    often = q.unit == "board" and any(w.text in ("once", "twice", "thrice") for w in words)
    return bool(left) or often


def _boards(scene: Scene) -> tuple[str, ...]:
    """Boards that ``each`` goes over: those spoken of last, else all."""
    last = tuple(dict.fromkeys(t.board for t in scene.last or ()))
    return last or tuple(scene.talk.evidence.ledger.boards)


def _listed(found: Sequence[Trial]) -> str:
    named = ", ".join(t.number for t in found[:12])
    return f": {named}" if named else ""


def _spread(
    q: Amount, words: Sequence[Word], whole: Asked, pool: tuple[Trial, ...], scene: Scene, *, clear: bool
) -> Claimed:
    """On how many boards, or in how many workloads."""
    ledger = scene.talk.evidence.ledger
    left_out: set[str] = set()
    if any(w.of("except") for w in words):
        if q.unit == "board":
            left_out, whole = set(whole.boards), msgspec.structs.replace(whole, boards=())
        else:
            left_out, whole = set(whole.works), msgspec.structs.replace(whole, works=())
    found = select(
        pool if q.unit == "workload" else scene.every,
        msgspec.structs.replace(whole, kind=whole.kind or _ends(words)),
    )
    units = {t.board if q.unit == "board" else t.workload for t in found}
    if left_out and q.word in ("all", "none"):
        rest = set(ledger.boards if q.unit == "board" else ledger.workloads) - left_out
        ok = units == (rest if q.word == "all" else left_out)
        return Claimed(
            ok=ok, why=f"so on {', '.join(sorted(str(u) for u in units))}", runs=found, clear=clear
        )
    of = len(ledger.boards if q.unit == "board" else ledger.workloads)
    every = q.word == "all" or any(w.text in ("every", "all", "each") for w in words)
    ok = (
        len(units) == of and q.of in (None, of)
        if q.word == "all"
        else q.fits(len(units)) and (not every or q.k == of)
    )
    if q.word == "none":
        ok = not units
    return Claimed(
        ok=ok,
        why=f"{len(units)} of {of}: {', '.join(sorted(str(u) for u in units))}",
        runs=found,
        clear=clear,
    )


def _ends(words: Sequence[Word]) -> str:
    """``finished on four of them``, ``all of them run it``: with a reading; ``was run`` may have failed."""
    for i, w in enumerate(words):
        if w.text in row("finishes"):
            return "read"
        if (
            w.text in ("run", "runs", "ran")
            and i
            and words[i - 1].text not in ("was", "were", "been", "is", "a", "the")
        ):
            return "read"
    return ""


def _share(q: Amount, subject: tuple[Trial, ...], hits: tuple[Trial, ...], *, clear: bool) -> Claimed | None:
    """``every run ended with a reading``, ``more than half of them were made in the corridor``."""
    if not subject:
        return None
    n, of = len(hits), len(subject)
    if q.word == "all":
        ok = n == of and q.of in (None, of)
    elif q.mod in ("over", "under"):
        ok = n > q.share * of if q.mod == "over" else n < q.share * of
    else:
        ok = abs(n - q.share * of) <= max(1.0, 0.05 * of)
    others = [t for t in subject if t not in hits]
    return Claimed(
        ok=ok, why=f"{n} of {of} runs", runs=(hits if ok else tuple(others)) or subject, clear=clear
    )


def _dated(
    words: Sequence[Word], whole: Asked, pool: tuple[Trial, ...], scene: Scene, *, clear: bool
) -> Claimed | None:
    """``it was on the bench from June to August``: every run of it lies there."""
    low = f" {' '.join(w.text for w in words)} "
    if not says("bench").search(low):
        return None
    subject = select(pool, msgspec.structs.replace(whole, whens=()))
    if not subject:
        return None
    hits = select(subject, Asked(whens=whole.whens))
    span = begun(subject, whole.whens) if any(w.to for w in whole.whens) else bool(hits)
    why = f"runs from {subject[0].observed.when[:10]} to {subject[-1].observed.when[:10]}"
    if says("finished").search(low) and any(
        w.relation in ("until", "before", "since", "after") for w in whole.whens
    ):
        return Claimed(ok=len(hits) == len(subject), why=why, runs=subject, clear=clear)
    return Claimed(
        ok=span and (len(hits) == len(subject) or not any(w.to for w in whole.whens)),
        why=why,
        runs=subject,
        clear=clear,
    )
