"""What was never run, and what cannot run: sentences that the absence of runs bears out."""

from __future__ import annotations

from collections.abc import Callable

from leadoff.claims.spoken.scene import Ask
from leadoff.claims.spoken.values import Finding, Verdict

V = Verdict
UNRUN = (
    r"\b(?:never|not|nobody|no)\b(?: \w+| \{b\d+\}){0,3}? (?:been )?(?:run|ran|tried|tested|measured)\b|"
    r"\b(?:untested|untried|yet to (?:run|try|test))\b"
)
UNABLE = (
    r"\b(?:can|does|do|did|will|would|could) not (?:even )?(?:be )?(?:run|done|do|finish|manage)\b|"
    r"\bcan not do\b|\bunable to run\b|\brefuses to run\b"
)


MANAGE = (
    r"\b(?:finish(?:es|ed)?|completes?|completed|runs?|can do|does|do|"
    r"manages?|gets? through|copes? with|handles?)\b"
)


def _managed(ask: Ask, workload: str, found: Callable[[Verdict, str, list[str]], Finding]) -> Finding:
    """``all of them finish the ray trace``."""
    ev = ask.evidence
    ran = {b: [t.number for t in ev.ledger.of(workload) if t.board == b] for b in ask.boards}
    gone = [t for b in ask.boards for t in ev.undefined(workload, b)]
    refs = [r for rs in ran.values() for r in rs[:1]]
    if ask.has(r"\bno board\b"):
        return found(
            V.CONTRADICTED if refs else V.SUPPORTED, f"{workload} ran: {', '.join(refs) or 'nowhere'}", refs
        )
    if gone:
        return found(
            V.CONTRADICTED, f"run {gone[0].number} ({gone[0].board}): {gone[0].run.place}", [gone[0].number]
        )
    never = [b for b, rs in ran.items() if not rs]
    if never:
        return found(V.UNTESTED, f"{workload} was never run on {', '.join(never)}", [])
    return found(V.SUPPORTED, f"{workload} ran on every one of them", refs)


_MAYBE = r"\b(?:would|could|might|will|should|ought to|bound to|going to)\b"


def never_there(ask: Ask) -> list[Finding]:
    """Whatever is said of a state that no run was made in, or of what might be: untested."""
    wants = [ask.said.want(s) for s in ask.wants if not ask.said.want(s).bare]
    if not ask.boards:
        return []
    names = ", ".join(ask.boards)
    if wants and not ask.evidence.trials(ask.boards, ask.want_list()):
        why = f"{names}: no run in such a state"
    elif ask.has(_MAYBE) and (ask.said.signs("wg") or wants):
        why = f"{names}: what would be has not been tried"
    else:
        return []
    used = frozenset(ask.said.signs("nsgr"))
    return [Finding(verdict=V.UNTESTED, why=why, boards=tuple(ask.boards), used=used, true=why)]


def unrun(ask: Ask) -> Finding | None:
    """``never ran it at 50``, ``cannot run the ray trace``; ``None`` for other sentences."""
    if ask.figures():
        return None
    if not ask.boards and ask.all_boards:
        ask.boards = list(ask.evidence.ledger.boards)
    if not ask.boards:
        return None
    ev = ask.evidence
    workloads = [ask.said.workloads[int(s[1:])] for s in ask.said.signs("w")]
    if not workloads and ask.has(UNABLE):
        workloads = ask.workloads[:1]
    used = frozenset({*ask.said.signs("sgr")})

    def found(verdict: Verdict, why: str, refs: list[str]) -> Finding:
        return Finding(
            verdict=verdict, why=why, refs=tuple(refs), boards=tuple(ask.boards), used=used, true=why
        )

    if workloads and ask.has(UNABLE):
        ran = [t.number for b in ask.boards for t in ev.ledger.of(workloads[0]) if t.board == b]
        gone = [t for b in ask.boards for t in ev.undefined(workloads[0], b)]
        if ran:
            return found(V.CONTRADICTED, f"{workloads[0]} ran there: {', '.join(ran[:6])}", ran[:6])
        if gone:
            why = f"run {gone[0].number}: {gone[0].run.place}"
            return found(V.SUPPORTED, why, [t.number for t in gone])
        return found(V.UNTESTED, f"{workloads[0]} was never tried there", [])
    wants = ask.want_list()
    if (
        not wants
        and len(workloads) == 1
        and ask.has(MANAGE)
        and ask.has(
            r"\b(?:every|each|all|both|"
            r"no board|no machine)\b|\bno \{k"
        )
    ):
        return _managed(ask, workloads[0], found)
    if not ask.has(UNRUN) or not (wants or workloads or ask.rigs):
        return None
    trials = [
        t
        for t in ev.trials(ask.boards, wants)
        if (not workloads or t.workload in workloads) and (not ask.rigs or t.rig in ask.rigs)
    ]
    if trials:
        return found(V.CONTRADICTED, f"run {trials[0].number} is such a run", [t.number for t in trials[:6]])
    return found(V.SUPPORTED, f"{', '.join(ask.boards)}: no such run in the book", [])
