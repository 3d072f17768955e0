"""Workloads that are said not to run on a board."""

from __future__ import annotations

from collections.abc import Sequence

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
    """A workload that is said not to run there, or for want of a coprocessor: the verdict on each board it
    is said of; ``None`` for other sentences."""
    workloads = {said.workloads[int(s[1:])] for s in said.signs("w")}
    words = [w for p in parts for w in p.words]
    unable = _unable(words)
    if not workloads and unable and any(w.of("fpu") for w in words):
        workloads = {s.workloads[int(x[1:])] for s, _ in before[-1:] for x in s.signs("w")}
    if len(workloads) != 1 or not unable or said.signs("ns"):
        return None
    workload = workloads.pop()
    told = [mentioned(s, p, evidence) for s, p in before]
    found = boards_of(mentioned(said, parts, evidence), told, several=False, evidence=evidence)
    if len(found) != 1:
        return None
    verdicts = []
    for board in found[0]:
        ran = [t.number for t in evidence.ledger.of(workload) if t.board == board]
        gone = evidence.undefined(workload, board)
        if ran:
            why = f"{workload} ran there: {', '.join(ran[:6])}"
            verdicts.append(Held(verdict=V.CONTRADICTED, why=why, refs=tuple(ran[:6])))
        elif gone:
            why = f"run {gone[0].number}: {gone[0].run.place}"
            verdicts.append(Held(verdict=V.SUPPORTED, why=why, refs=tuple(t.number for t in gone)))
        else:
            verdicts.append(Held(verdict=V.UNTESTED, why=f"{workload} was never tried on {board}"))
    return verdicts, found[0]


def _unable(words: Sequence[Word]) -> bool:
    """``can not run``, ``refuses to``, ``no coprocessor``."""
    for i, w in enumerate(words):
        near = words[i + 1 : i + 5]
        if w.of("deny") and any(x.of("fpu") for x in near):
            return True
        if w.text == "can" and any(x.of("deny") for x in near[:2]):
            return True
        if (
            w.of("deny")
            and i
            and words[i - 1].text in ("does", "do", "will", "did", "would")
            and any(x.of("able") for x in near[:3])
        ):
            return True
        if w.text in ("refuses", "refused", "unable", "lacks", "impossible"):
            return True
    return False
