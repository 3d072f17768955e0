"""Runs as things that are counted and dated: how many, when, the first and the last, who had most, what never ran."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import date

import msgspec

from leadoff.claims.search.runs_scene import Claimed, Scene, halves, pool_of
from leadoff.claims.search.runs_select import Asked, asked, begun, select
from leadoff.claims.search.runs_words import Amount, amount, counts, days, row, says, verb_at
from leadoff.claims.search.scores_frame import framed
from leadoff.claims.search.talk import Reading, Talk
from leadoff.claims.search.trials_book import heard_in, known_words, mentioned
from leadoff.claims.search.trials_claims import supposed
from leadoff.claims.search.trials_heard import Part
from leadoff.claims.search.trials_scope import Mentions, boards_of
from leadoff.claims.search.trials_words import Word, split, unknown, words_of
from leadoff.claims.spoken.reading import Said
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
    every = tuple(t for t in ev.ledger.trials if t.workload is not None)
    if (
        said.strangers
        or said.gone
        or said.seals
        or said.oddities
        or not every
        or not _of_runs(talk, said, parts)
    ):
        return None
    told = [mentioned(*heard_in(s.plain.text, ev), ev) for s in talk.before]
    scene = Scene(talk=talk, said=said, every=every, told=told)
    if any(w.of("except") for p in parts for w in p.words) and not any(
        w.of("board") for p in parts for w in p.words
    ):
        return None
    found = [c for words in split(words_of(said.low)) if (c := _claim(words, scene)) is not None]
    if not found:
        return None
    shown = [c for c in found if not c.ok] or found
    loose = [w for p in parts for w in unknown(p.words, known_words(ev))]
    left = set(said.signs("bkwgsnd")) - scene.read
    if any(s[0] == "n" for s in left):
        return None
    sure = not left and not loose and all(c.clear for c in found) and not supposed(parts)
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


def _of_runs(talk: Talk, said: Said, parts: Sequence[Part]) -> bool:
    """Whether it counts or dates runs, and says nothing that others judge."""
    if says("unable").search(said.low):
        return False
    counted = any(n.of != n.value for p in parts for n in p.counts)
    if counted or any(p.hours or p.clocks or p.states or _tests(p) for p in parts):
        return False
    if any(i.kind in _EVENTS_SAID for p in parts for i in p.outcomes):
        return bool(said.signs("d") or says("noun").search(said.low))
    if said.signs("d") and _asked_when(talk):
        return True
    if any(i.kind in ("repair", "fixed", "anymore") for p in parts for i in p.health):
        return False
    if any(w.of("judge") and not w.of("extent") for p in parts for w in p.words):
        return False
    if any(not counts(n := said.num(s)) and n.kind not in ("part", "pct") for s in said.signs("n")):
        return False
    counted = bool(said.signs("n")) or says("many").search(said.low) is not None
    ends = says("first").search(said.low) or says("last").search(said.low)
    tells = bool(counted or ends or said.signs("d"))
    named = says("noun").search(said.low) or says("done").search(said.low)
    return bool(says("has").search(said.low) or (named and tells))


_EVENTS_SAID = ("hang", "reboot", "crash", "dark")


def _tests(p: Part) -> bool:
    """Whether it speaks of soaks, copies or starts."""
    return any(t != "start" or not any(w.of("dark") for w in p.words) for t in p.topics) and not says(
        "has"
    ).search(" ".join(w.text for w in p.words))


def _claim(words: Sequence[Word], scene: Scene) -> Claimed | None:
    """What one clause claims, ``None`` where it claims nothing of this kind."""
    low = f" {' '.join(w.text for w in words)} "
    whole = asked(words, scene.said, scene.talk.evidence)
    first, last = says("first").search(low), says("last").search(low)
    if (span := says("span").search(low)) is not None and not says("noun").search(low[span.end() :]):
        claim = _spanned(days(span, scene.said), pool_of(whole, low, scene)[0])
    elif bool(first) != bool(last):
        claim = _end(words, low, scene, at_first=bool(first))
    elif scene.last is not None and len(scene.last) == 1 and says("same").match(low):
        claim = Claimed(
            ok=bool(select(scene.last, whole)), why=f"run {scene.last[0].number}", runs=scene.last
        )
    elif says("more").search(low) or says("fewer").search(low):
        claim = _ranked(words, low, whole, scene)
    else:
        claim = _counted(words, low, whole, scene)
    if claim is None and whole.whens:
        claim = _when(whole, low, scene)
    if claim is None and scene.last and verb_at(words) is None and not whole.empty and not whole.whens:
        claim = _among(words, scene)
    if claim is not None:
        scene.read |= {w.sign for w in words if w.sign}
        scene.last = claim.runs
    return claim


def _asked_when(talk: Talk) -> bool:
    """Whether the sentence before asked when."""
    asks = talk.before[-1] if talk.before else None
    return (
        asks is not None
        and asks.plain.text.rstrip().endswith("?")
        and says("asks_when").search(asks.low) is not None
    )


def _when(whole: Asked, low: str, scene: Scene) -> Claimed | None:
    """When a thing happened that is named here, or was asked after just before."""
    talk, subject = scene.talk, msgspec.structs.replace(whole, whens=())
    pool = scene.every
    if scene.last is not None and subject.empty:
        pool = scene.last
    elif subject.kind not in _EVENTS:
        if not _asked_when(talk) or not subject.empty:
            return None
        said, _ = heard_in(talk.before[-1].plain.text, talk.evidence)
        question = asked(words_of(said.low), said, talk.evidence)
        pool = select(pool, question)
        if question.kind not in _EVENTS:
            return None
    else:
        pool = select(pool_of(whole, low, scene)[0], subject)
    if not pool:
        return None
    why = "; ".join(f"run {t.number} ({t.board}): {t.run.place}, {t.observed.when[:10]}" for t in pool[:4])
    return Claimed(ok=bool(select(pool, Asked(whens=whole.whens))), why=why, runs=pool)


_EVENTS = ("hang", "reboot", "no start", "failed")


def _among(words: Sequence[Word], scene: Scene) -> Claimed:
    """``the hang and the ray trace``: a list of what the runs just spoken of are."""
    last = scene.last or ()
    ev = scene.talk.evidence
    each = [asked([w], scene.said, ev) for w in words]
    ok = all(select(last, a) for a in each if not a.empty)
    return Claimed(ok=ok, why=f"runs{_listed(last)}", runs=last, clear=ok)


def _counted(words: Sequence[Word], low: str, whole: Asked, scene: Scene) -> Claimed | None:
    q = amount(words, scene.said, whole.names.read)
    if q is None and not whole.whens:
        return None
    pool, clear = pool_of(whole, low, scene, there=says("there").search(low) is not None)
    if q is None:
        return _dated(words, whole, pool, scene, clear=clear)
    if q.unit in ("board", "workload"):
        return _spread(q, words, whole, pool, scene, clear=clear)
    if q.word in ("all", "share"):
        head, tail = halves(words, scene)
        subject = select(pool, head)
        return _share(q, subject, select(subject, tail), clear=clear)
    if q.word == "none" and whole.empty and not says("noun").search(low):
        return None
    found = select(pool, whole)
    if q.of is not None:
        head = msgspec.structs.replace(whole, whens=(), kind="")
        clear = clear and q.of in (len(pool), len(scene.every), len(select(pool, head)))
    if q.each:
        per = Counter(t.board for t in found)
        ok = bool(per) and all(
            q.fits(per[b]) for b in (whole.boards or tuple(scene.talk.evidence.ledger.boards))
        )
        return Claimed(
            ok=ok, why=", ".join(f"{b}: {n}" for b, n in sorted(per.items())), runs=found, clear=clear
        )
    n = sum(len(t.readings) for t in found) if q.unit == "reading" else len(found)
    noun = "readings" if q.unit == "reading" else "runs"
    return Claimed(ok=q.fits(n), why=f"{n} {noun}{_listed(found)}", runs=found, clear=clear)


def _listed(found: Sequence[Trial]) -> str:
    named = ", ".join(t.number for t in found[:12])
    return f": {named}" if named else ""


def _spread(
    q: Amount, words: Sequence[Word], whole: Asked, pool: tuple[Trial, ...], scene: Scene, *, clear: bool
) -> Claimed:
    """On how many boards, or in how many workloads."""
    ledger = scene.talk.evidence.ledger
    if any(w.of("except") for w in words):
        left_out, whole = set(whole.boards), msgspec.structs.replace(whole, boards=())
    else:
        left_out = set()
    found = select(
        pool if q.unit == "workload" else scene.every,
        msgspec.structs.replace(whole, kind=whole.kind or _ends(words)),
    )
    units = {t.board if q.unit == "board" else t.workload for t in found}
    if left_out and q.unit == "board" and q.word in ("all", "none"):
        rest = set(ledger.boards) - left_out
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
    if not says("bench").search(f" {' '.join(w.text for w in words)} "):
        return None
    subject = select(pool, msgspec.structs.replace(whole, whens=()))
    if not subject:
        return None
    hits = select(subject, Asked(whens=whole.whens))
    span = begun(subject, whole.whens) if any(w.to for w in whole.whens) else bool(hits)
    why = f"runs from {subject[0].observed.when[:10]} to {subject[-1].observed.when[:10]}"
    return Claimed(
        ok=span and (len(hits) == len(subject) or not any(w.to for w in whole.whens)),
        why=why,
        runs=subject,
        clear=clear,
    )


def _end(words: Sequence[Word], low: str, scene: Scene, *, at_first: bool) -> Claimed | None:
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


def _ranked(words: Sequence[Word], low: str, whole: Asked, scene: Scene) -> Claimed | None:
    """Who had most runs, or fewest."""
    subject = whole.boards or tuple(dict.fromkeys(t.board for t in scene.last or ()))
    if not subject:
        choices = boards_of(Mentions(), scene.told, several=False, evidence=scene.talk.evidence)
        subject = choices[0] if len(choices) == 1 else ()
    if len(subject) != 1:
        return None
    among = select(scene.every, msgspec.structs.replace(whole, names=Mentions(wants=whole.wants)))
    per = Counter(t.board for t in among)
    counts_ = {b: per[b] for b in scene.talk.evidence.ledger.boards}
    mine = counts_.pop(subject[0])
    ok = (
        all(mine > n for n in counts_.values())
        if says("more").search(low)
        else all(mine < n for n in counts_.values())
    )
    q = amount(words, scene.said, whole.names.read)
    if q is not None and q.k is not None:
        ok = ok and q.fits(mine)
    why = f"{subject[0]}: {mine} runs, the others {', '.join(f'{b} {n}' for b, n in counts_.items())}"
    return Claimed(ok=ok, why=why, runs=tuple(t for t in among if t.board == subject[0]))


def _spanned(said_days: tuple[float, float], pool: tuple[Trial, ...]) -> Claimed | None:
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
