"""What keeps a finding from standing: things the book lacks, words nobody reads, days and figures that do not fit."""

from __future__ import annotations

import re
from collections.abc import Sequence

import msgspec

from leadoff.claims.spoken.cues import CAUSE, COMPARES
from leadoff.claims.spoken.dates import on_date
from leadoff.claims.spoken.evidence import Evidence, reads
from leadoff.claims.spoken.holding import CRASH, HANG, SOAK, STABLE
from leadoff.claims.spoken.names import everyday, harmless, remarks
from leadoff.claims.spoken.ordinary import is_ordinary
from leadoff.claims.spoken.scene import Ask
from leadoff.claims.spoken.values import Finding, Num, Verdict
from leadoff.claims.values import Trial

V = Verdict
_HOLDS = f"{STABLE}|{HANG}|{CRASH}|{SOAK}"


_MORE_OF = re.compile(r"\b(?:more|less|fewer|higher|lower|better|worse) ([a-z]{3,}) than\b")
_MEASURED = frozenset(
    [
        "frames",
        "fps",
        "lines",
        "seconds",
        "time",
        "times",
        "score",
        "scores",
        "figure",
        "figures",
        "number",
        "numbers",
        "speed",
        "rate",
        "rates",
        "result",
        "results",
        "reading",
        "readings",
        "points",
        "megabytes",
        "half",
        "twice",
        "often",
        "bits",
        "bytes",
        "performance",
        "throughput",
        "value",
        "values",
        "percent",
        "copies",
        "starts",
    ]
)
"""What is counted or timed; more of anything else is nothing that this book could answer."""


def unmeasured(ask: Ask) -> Finding | None:
    """``draws more power than the others``."""
    m = _MORE_OF.search(ask.low)
    if m is None or m[1] in _MEASURED:
        return None
    return Finding(verdict=V.NOT_PLACED, why=f"{m[1]} is nothing that is measured")


def points(ask: Ask, found: Finding, evidence: Evidence) -> bool:
    """Whether what is said can only mean one board: it rests on runs of one, or on entries that were numbered."""
    boards = {evidence.by_number[r].board for r in found.refs if r in evidence.by_number}
    return len(boards) <= 1 and not any(ask.said.num(f).mod in ("over", "under") for f in ask.figures())


VAGUE = re.compile(
    r"\bwithout (?:the |its |no |any )?\{[sgb]\d+\}|\bnot only\b|"
    r"\bthe (?:slow|fast|quick|tight|loose|wide|narrow|long|short|high|low|big|small)(?:er)? (?:one|"
    r"setting|timing|way)\b|"
    r"\b(?:often|usually|mostly|rarely|frequently|sometimes|seldom|occasionally|generally|normally|typically)\b"
)
"""What no rule reads, though it changes what is said."""


def _apart(runs: list[Trial], n: Num) -> bool:
    """Whether two of these runs differ by this much."""
    means = [sum(r.value for r in t.readings) / len(t.readings) for t in runs if t.readings]
    slack = max(0.12 * n.value, 0.05)
    return any(abs(abs(a - b) - n.value) <= slack for i, a in enumerate(means) for b in means[i + 1 :])


def misread(ask: Ask, found: Finding, evidence: Evidence) -> Finding | None:
    """A comparison that holds, with a figure beside it that none of its runs reads."""
    runs = [evidence.by_number[r] for r in found.refs if r in evidence.by_number]
    beside = [ask.said.num(u[1:]) for u in sorted(found.used) if u.startswith("?")]
    bad = [n.text for n in beside if not any(reads(t, n) for t in runs) and not _apart(runs, n)]
    if not bad:
        return None
    why = f"{found.why}; no run of these reads {', '.join(bad)}"
    return msgspec.structs.replace(
        found, verdict=V.CONTRADICTED, why=why, true=f"what the book holds on it: {found.why}"
    )


_WHICHEVER = re.compile(
    r"\b(?:whichever|whatever|no matter (?:which|what|the)|regardless of|irrespective of) (?:the |its |you set|"
    r"\w+ )*?(?:multiplier|ratio|bus|cas|settings?|state|card|clock|jumpers?|wait|waits|write-back)\b",
    re.I,
)


def whichever(ask: Ask, found: Finding, evidence: Evidence) -> Finding | None:
    """Said of every setting: a figure must be that of every run; a comparison of the best is not of all."""
    if not _WHICHEVER.search(ask.said.plain.text) or ask.has(r"\b(?:never|nobody|no board|none|always)\b"):
        return None
    nums = [ask.said.num(f) for f in ask.figures()]
    runs = [t for w in ask.workloads for t in evidence.ledger.of(w) if t.board in ask.boards and t.readings]
    other = [t for t in runs if not any(reads(t, n) for n in nums)]
    verdict = V.CONTRADICTED if nums and other else V.SUPPORTED if nums and runs else V.NOT_PLACED
    if verdict is V.SUPPORTED:
        return None
    why = f"{found.why}; " + (
        f"run {other[0].number} does not read that" if nums and other else "whether so in every state"
    )
    return msgspec.structs.replace(
        found, verdict=verdict, why=why, true=f"what the book holds on it: {found.why}"
    )


def other_day(ask: Ask, found: Finding, evidence: Evidence) -> Finding | None:
    """Right but for the day: no run that it rests on was made then."""
    days = [evidence.by_number[r].observed.when for r in found.refs if r in evidence.by_number]
    missing = [d for d in ask.said.dates if not any(on_date(when, d) for when in days)]
    if not missing or not days:
        return None
    why = f"{found.why}; on {', '.join(dict.fromkeys(d[:10] for d in days))}"
    return msgspec.structs.replace(found, verdict=V.CONTRADICTED, why=why, true=why)


def instead(finding: Finding) -> str:
    """What may be said instead where a rule has no better wording: the entries and what they show."""
    return f"what the book holds on it: {finding.why}" if finding.refs else ""


def inseparable(ask: Ask, found: Finding, evidence: Evidence) -> Finding | None:
    """A cause that the runs cannot tell from another, or that names no setting: never supported."""
    if not ask.has(CAUSE) or (ask.has(_HOLDS) and not ask.has(COMPARES)):
        return None
    names = frozenset(n for sign in ask.wants for n in ask.said.want(sign).names)
    core = (ask.has(r"\bcore\b") or "core_mhz" in names) and not names & {"ratio", "bus_mhz"}
    buses = {evidence.by_number[r].settings.get("bus_mhz") for r in found.refs if r in evidence.by_number}
    if core and len(buses) > 1:
        why = f"{found.why}; the bus clock moved with the core clock, and the runs cannot tell the two apart"
        true = "core and bus clock changed together, and together they gave the difference"
    elif not ask.wants and not ask.said.signs("g") and len(set(ask.rigs)) != 2:
        why = f"{found.why}; what is named as the cause is no setting of these runs"
        true = "the difference is measured; its cause is not named by anything in the book"
    else:
        return None
    return Finding(verdict=V.UNTESTED, why=why, refs=found.refs, boards=found.boards, true=true)


def unplaced(ask: Ask) -> str:
    if not ask.boards:
        return "no board, figure or workload of the book to hold it against"
    return f"{', '.join(ask.boards)}: nothing in it that the book could answer"


def stranger_in(ask: Ask) -> Finding | None:
    """A board, a run or a workload that the book does not have."""
    gone = [*ask.said.gone, *(f"run {r}" for r in ask.said.runs if r not in ask.evidence.by_number)]
    if gone:
        text = f"there is no {gone[0]} in this book"
        return Finding(verdict=V.NOT_FOUND, why=text, true=text, absent=True)
    if ask.stranger:
        text = f"there is no {ask.stranger} in this book"
        return Finding(verdict=V.NOT_FOUND, why=text, boards=tuple(ask.boards), true=text, absent=True)
    m = re.search(
        (
            r"(?:\b(?:in|of|for|at|through|on) (?:the |my |our )?|^ (?:the|my|our) )((?:[a-z-]+ ){0,2}(?:demo|test|"
            r"benchmark|bench|loop|render|game|race))\b"
        ),
        ask.low,
    )
    if m and not ask.said.signs("w") and not set(re.split("[ -]", m[1])) <= harmless():
        text = f"there is no workload called {m[1]} in this book"
        return Finding(verdict=V.NOT_FOUND, why=text, boards=tuple(ask.boards), true=text, absent=True)
    ranked = ask.has(r"\b(?:quickest|fastest|slowest|faster|slower|quicker|record|beats?)\b")
    if (
        not ask.said.signs("w")
        and (ask.figures() or (ranked and re.search(r"\b(?:in|at) the [a-z]{5,}(?: ,| ?$)", ask.low)))
        and (n := re.search(r"\b(?:in|at) (?:the )?([a-z]{4,})(?: ([a-z]{4,}))?(?: |$)", ask.low))
    ):
        words = [w for w in n.groups() if w]
        if words and not any(is_ordinary(w) or w in harmless() | remarks() | everyday() for w in words):
            text = f"there is no workload called {' '.join(words)} in this book"
            return Finding(verdict=V.NOT_FOUND, why=text, boards=tuple(ask.boards), true=text, absent=True)
    return None


def not_understood(whole: Finding, words: Sequence[str]) -> Finding:
    """A claim that the book bears out but for words that nobody here knows: it is not placed."""
    return Finding(
        verdict=Verdict.NOT_PLACED,
        why=f"not understood: {', '.join(words)}",
        refs=whole.refs,
        boards=whole.boards,
        true=f"what the book holds on it: {whole.why}",
    )
