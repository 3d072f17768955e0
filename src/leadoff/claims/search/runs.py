"""Runs as things that are counted and dated: how many, when, the first and the last, who had most, what never ran."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence

import msgspec

from leadoff.claims.search.runs_ranks import end, level, ranked, ranked_works, spanned
from leadoff.claims.search.runs_scene import Claimed, Scene, halves, pool_of
from leadoff.claims.search.runs_select import Asked, asked, begun, select
from leadoff.claims.search.runs_unnoted import unnoted
from leadoff.claims.search.runs_when import asked_many, asked_when, when
from leadoff.claims.search.runs_words import Amount, amount, counts, days, own_words, row, says, verb_at
from leadoff.claims.search.scores_frame import framed
from leadoff.claims.search.talk import Reading, Talk
from leadoff.claims.search.trials_book import heard_in, known_words, mentioned
from leadoff.claims.search.trials_claims import supposed
from leadoff.claims.search.trials_heard import Part
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
    question = asked_many(talk)
    clauses = _rejoined(split(words_of(said.low)))
    scene = Scene(talk=talk, said=said, every=every, told=told, head=clauses[0][0])
    if question is not None and not question.empty:
        scene.last = select(every, question)
    words = [w for p in parts for w in p.words]
    left_out = any(w.of("except") for w in words) and not says("nothing_but").search(said.low)
    if left_out and not any(w.of("board") or w.text.startswith("workload") for w in words):
        return None
    found = [c for words in clauses if (c := _claim(words, scene)) is not None]
    if not found:
        return None
    shown = [c for c in found if not c.ok] or found
    known = known_words(ev) | own_words()
    loose = [w for p in parts if len(p.words) > 1 for w in unknown(p.words, known)]
    left = set(said.signs("bkwgsnd")) - scene.read
    if any(s[0] == "n" for s in left):
        return None
    sure = not left and not loose and all(c.clear for c in found) and not supposed(parts)
    sure = sure and not _of_more_than_runs(said, parts)
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


def _of_more_than_runs(said: Said, parts: Sequence[Part]) -> bool:
    """Whether runs are said to have come through, which a run alone does not show; or it is denied that the first or
    the last was before or after a day."""
    if said.signs("w") and any(p.has("through") for p in parts):
        return True
    ends = re.search(r"\b(?:first|last)\b", said.low) and re.search(
        r"\b(?:before|after|until|till)\b", said.low
    )
    return bool(ends) and any(p.has("deny") for p in parts)


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


def _of_runs(talk: Talk, said: Said, parts: Sequence[Part]) -> bool:
    """Whether it counts or dates runs, and says nothing that others judge."""
    if any(w.of("fpu") for p in parts for w in p.words):
        return False
    if says("unnoted").search(said.low) and (said.runs or says("noun").search(said.low)):
        return True
    if said.runs and says("noted").search(said.low) and says("settings").search(said.low):
        return True
    if says("unable").search(said.low) or says("bounded").search(said.low):
        return False
    if all(says(x).search(said.low) for x in ("span", "first", "last")):
        return True
    if (said.signs("d") or says("span").search(said.low)) and says("book").search(said.low):
        return True
    if asked_many(talk) is not None and not any(p.topics or p.states for p in parts):
        return bool(said.signs("n") or says("many").search(said.low))
    counted = any(n.of != n.value for p in parts for n in p.counts) and not says("noun").search(said.low)
    if counted or any(p.hours or p.clocks or p.states or _tests(p) for p in parts):
        return False
    if any(i.kind in _EVENTS_SAID for p in parts for i in p.outcomes):
        return bool(said.signs("d") or says("noun").search(said.low))
    if said.signs("d") and asked_when(talk):
        return True
    if any(i.kind in ("repair", "fixed", "anymore") for p in parts for i in p.health):
        return False
    if any(w.of("judge") and not w.of("extent") for p in parts for w in p.words):
        return False
    if any(not counts(n := said.num(s)) and n.kind not in ("part", "pct", "count") for s in said.signs("n")):
        return False
    counted = bool(said.signs("n")) or says("many").search(said.low) is not None
    ends = says("first").search(said.low) or says("last").search(said.low)
    compared = any(says(x).search(said.low) for x in ("more", "fewer", "as_many", "more_than"))
    tells = bool(counted or compared or ends or said.signs("d"))
    named = any(says(x).search(said.low) for x in ("noun", "done"))
    dated = bool(said.signs("d")) and re.search(r"\b(?:did|took|had)\b", said.low) is not None
    return says("has").search(said.low) is not None or (tells and (named or dated))


_CLOSES = ("ends", "ended", "closes", "closed", "stops", "stopped")
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
    if words[0].text in _CLOSES and not first:
        last, scene.last = says("ends").search(low), None
    if (claim := unnoted(words, low, whole, pool_of(whole, low, scene)[0], scene)) is not None:
        pass
    elif (span := says("span").search(low)) is not None and not says("noun").search(low[span.end() :]):
        claim = spanned(days(span, scene.said), pool_of(whole, low, scene)[0])
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
    if (lone := _housed(low, whole, scene) or _exclusive(low, whole, scene)) is not None:
        return lone
    q = amount(words, scene.said, whole.names.read, first=scene.last is not None or words[0] is scene.head)
    if q is None and not whole.whens:
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
    if q.word == "none" and whole.empty and not says("noun").search(low):
        return None
    if q.word == "none":
        # Nothing since then: that day is not counted.
        later = tuple(
            msgspec.structs.replace(w, relation="after") if w.relation == "since" else w for w in whole.whens
        )
        whole = msgspec.structs.replace(whole, whens=later)
    found = select(pool, whole)
    if q.of is not None:
        head = msgspec.structs.replace(whole, whens=(), kind="")
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


def _boards(scene: Scene) -> tuple[str, ...]:
    """Boards that ``each`` goes over: those spoken of last, else all."""
    last = tuple(dict.fromkeys(t.board for t in scene.last or ()))
    return last or tuple(scene.talk.evidence.ledger.boards)


def _housed(low: str, whole: Asked, scene: Scene) -> Claimed | None:
    """``the VLB card was in the Alder only``: on which boards a card ran."""
    if len(whole.rigs) != 1 or not whole.boards or not says("housed").search(low) or whole.works:
        return None
    found = select(scene.every, Asked(rigs=whole.rigs))
    ran = {t.board for t in found}
    only = says("only").search(low) is not None
    denied = re.search(r"\b(?:not|never)\b", low) is not None
    ok = ran == set(whole.boards) if only else set(whole.boards) <= ran
    if denied:
        ok = not set(whole.boards) & ran
    return Claimed(ok=ok, why=f"so on {', '.join(sorted(ran))}", runs=found, clear=not (only and denied))


def _exclusive(low: str, whole: Asked, scene: Scene) -> Claimed | None:
    """``in January I ran nothing but the Elm``: that no other board was run then."""
    if not whole.boards or not (whole.whens or whole.works) or not says("nothing_but").search(low):
        return None
    found = select(scene.every, msgspec.structs.replace(whole, boards=()))
    ran = {t.board for t in found}
    return Claimed(
        ok=ran == set(whole.boards), why=f"then ran {', '.join(sorted(ran)) or 'none'}", runs=found
    )


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
