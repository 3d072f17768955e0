"""Workloads that a board can run or cannot, and the coprocessor it lacks for them."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from leadoff.claims.rows import constant
from leadoff.claims.search.trials_book import mentioned
from leadoff.claims.search.trials_heard import Part
from leadoff.claims.search.trials_scope import boards_of
from leadoff.claims.search.trials_tests import Held
from leadoff.claims.search.trials_words import Word
from leadoff.claims.spoken.evidence import Evidence
from leadoff.claims.spoken.reading import Said
from leadoff.claims.spoken.values import Verdict

V = Verdict


def undefined(
    said: Said, parts: list[Part], before: list[tuple[Said, list[Part]]], evidence: Evidence
) -> tuple[list[Held], tuple[str, ...]] | None:
    """The verdict on each board of which it is said that a workload does or does not run there; ``None`` for other
    sentences, and where its parts speak both ways."""
    works = {said.workloads[int(s[1:])] for s in said.signs("w")}
    parts = [p for p in parts if not p.asked]
    words = [w for p in parts for w in p.words]
    fpu = any(w.of("fpu") for w in words)
    through = any(p.has("through") for p in parts)
    if not works and (fpu or through or any(w.of("unable") for w in words)):
        works = {s.workloads[int(x[1:])] for s, _ in before[-2:] for x in s.signs("w")}
    if not works and fpu:
        works = {
            w
            for w in evidence.ledger.workloads
            if any(evidence.undefined(w, b) for b in evidence.ledger.boards)
        }
    if len(works) != 1 or said.signs("sgrdf"):
        return None
    workload = works.pop()
    lacks = fpu or any(p.has("fpu") for _, ps in before[-2:] for p in ps)
    if lacks and any(_fitted(p) for p in parts):
        who = boards_of(
            mentioned(said, parts, evidence),
            [mentioned(s, p, evidence) for s, p in before],
            several=False,
            evidence=evidence,
        )
        bare = [b for b in (who[0] if len(who) == 1 else ()) if evidence.undefined(workload, b)]
        why = f"{', '.join(bare)}: {workload} was never run with one fitted"
        return ([Held(verdict=V.UNTESTED, why=why)], tuple(bare)) if bare else None
    ways = {
        w
        for i, p in enumerate(parts)
        if (w := _way(p, fpu=any(x.has("fpu") for x in parts[:i]), carried=through and not said.signs("w")))
        is not None
    }
    counted = _counted(parts, evidence)
    if len(ways) != 1:
        return None
    unable = ways == {False}
    if any(p.signs("n") for p in parts if _way(p, fpu=fpu) is not None) and not counted:
        return None
    boards = tuple(evidence.ledger.boards)
    ran = {t.board for t in evidence.ledger.of(workload)}
    gone = {b: t for b in boards if (t := evidence.undefined(workload, b))}
    if not gone and not fpu and not any(w.of("unable") for w in words):
        return None
    if counted:
        if counted == "all":
            counted = str(len(boards))
        hits = set(gone) if unable else ran
        named = set(mentioned(said, parts, evidence).boards)
        if counted == "except":
            named = set(boards) - named
            counted = "only"
        ok = hits == named if counted == "only" else len(hits) == int(counted)
        why = (
            f"{workload} ran on {', '.join(sorted(ran)) or 'none'}, cannot run on {', '.join(gone) or 'none'}"
        )
        return [Held(verdict=V.SUPPORTED if ok else V.CONTRADICTED, why=why)], tuple(sorted(named))
    told = [mentioned(s, p, evidence) for s, p in before]
    found = boards_of(mentioned(said, parts, evidence), told, several=False, evidence=evidence)
    if len(found) != 1 or (ways == {True} and not all(b in gone for b in found[0])):
        return None
    figure = not fpu and not any(w.of("unable", "able") for w in words)
    verdicts = []
    for board in found[0]:
        if ways == {True}:
            why = f"run {gone[board][0].number}: {gone[board][0].run.place}"
            verdicts.append(Held(verdict=V.CONTRADICTED, why=why, refs=tuple(t.number for t in gone[board])))
        elif board in ran:
            runs = [t.number for t in evidence.ledger.of(workload) if t.board == board]
            why = f"{workload} ran there: {', '.join(runs[:6])}"
            verdicts.append(Held(verdict=V.CONTRADICTED, why=why, refs=tuple(runs[:6])))
        elif board in gone:
            why = f"run {gone[board][0].number}: {gone[board][0].run.place}"
            verdicts.append(Held(verdict=V.SUPPORTED, why=why, refs=tuple(t.number for t in gone[board])))
        else:
            why = f"{workload} was never tried on {board}"
            verdicts.append(Held(verdict=V.SUPPORTED if figure else V.UNTESTED, why=why))
    return verdicts, found[0]


def _way(p: Part, *, fpu: bool, carried: bool = False) -> bool | None:
    """Whether a part says that it runs (``True``) or does not; ``None`` where it says nothing of that. ``fpu``: a
    coprocessor was spoken of before: ``and the other has none``."""
    if (
        fpu
        and p.signs("bk")
        and len(p.words) <= _SHORT
        and any(w.text in ("none", "lacks", "without", "not") for w in p.words)
    ):
        return False
    own, able = p.has("fpu"), _able(p)
    speaks = own or (bool(p.signs("w")) and (able or p.has("figure"))) or p.has("unable") or _bare(p)
    speaks = speaks or (carried and p.has("through"))
    if not speaks or (own and not p.has("deny", "unable") and not able):
        return None
    # No difficulty is two turns; trouble by itself says nothing of what can run.
    eased = p.has("deny")
    spoken = [w for i, w in enumerate(p.words) if not _lack(p.words, i)] if p.signs("w") else p.words
    turns = sum(w.of("deny", "unable") or (eased and w.of("bad") and not w.of("fail")) for w in spoken)
    turns += len(spoken) < len(p.words) and turns == 0
    turns -= sum(a.of("deny") and b.of("unable") and a.text == "not" for a, b in _pairs(p.words))
    return turns % 2 == 0


def _lack(words: Sequence[Word], i: int) -> bool:
    """``without a coprocessor``: why it cannot."""
    near = words[i + 1 : i + 4]
    return words[i].text in ("without", "lacking", "lacks", "for lack of", "for want of") and any(
        x.of("fpu") for x in near
    )


def _fitted(p: Part) -> bool:
    """``with one plugged in``: a part that is not there."""
    return any(
        a.text in ("with", "put", "plug", "stick", "fit", "add", "give")
        and (b.text in ("one", "a", "it") or b.sign[:1] == "n")
        for a, b in _pairs(p.words)
    ) and any(w.text in _IN for w in p.words)


_IN = frozenset({"in", "plugged", "fitted", "installed", "added", "aboard"})
_THEM = ("of them", "of these", "of those")
_SHORT = int(constant("unable_words"))


def _able(p: Part) -> bool:
    """``did the ray trace``, ``the ray trace ran``; ``in the corridor I do not see it`` says nothing of that."""
    for i, w in enumerate(p.words):
        if w.of("able"):
            near = [
                x
                for x in p.words[i + 1 : i + 7]
                if x.text
                not in ("the", "a", "any", "it", "even", "not", "to", "be", "asked", "for", "put", "through")
            ]
            if any(x.sign[:1] == "w" for x in near[:2]) or (near and near[0].of("able")):
                return True
            if w.text in _RUNS and any(x.sign[:1] == "w" for x in p.words[max(0, i - 4) : i]):
                return True
    return False


_RUNS = frozenset({"run", "runs", "ran", "manage", "managed", "finish", "handle", "done", "running"})


def _bare(p: Part) -> bool:
    """``so no ray trace``."""
    small = ("so", "hence", "no", "thus", "therefore", "means", "simple", "the", "then")
    return p.has("deny") and bool(p.signs("w")) and all(w.sign or w.text in small for w in p.words)


def _pairs(words: Sequence[Word]) -> list[tuple[Word, Word]]:
    return list(itertools.pairwise(words))


def _counted(parts: Sequence[Part], evidence: Evidence) -> str:
    """On how many boards, or ``only`` those that are named; empty where it counts none."""
    every = len(evidence.ledger.boards)
    for p in parts:
        if p.has("except") and p.signs("bk"):
            return "except"
        if p.has("only") and p.signs("bk"):
            return "only"
        if not p.has("board"):
            continue
        if (
            p.has("all")
            and not any(x.has("except") for x in parts)
            and not (p.ints or p.counts)
            and any(w.text in _THEM or w.of("board") for w in p.words)
        ):
            return "all"
        if p.has("only") or any(
            w.text in ("one", "single") and i and p.words[i - 1].text == "the" for i, w in enumerate(p.words)
        ):
            return "only"
        if any(a.text in ("one", "1", "single") and b.of("board") for a, b in _pairs(p.words)):
            return "only" if any(x.signs("b") for x in parts) else "1"
        for n in p.counts:
            if n.of == every:
                return f"{n.value:.0f}"
        ints = [n for n, _ in p.ints]
        if len(ints) == 2 and any(n.value == every for n in ints):
            return f"{min(n.value for n in ints):.0f}"
        if len(ints) == 1:
            return f"{ints[0].value:.0f}"
    return ""
