"""The relation a sentence claims, its denial, and how large it says the difference is."""

from __future__ import annotations

import re

from leadoff.claims.spoken.cues import BETTER, CAUSE, HIGH, LOW, NOT, TIE, WORSE
from leadoff.claims.spoken.scene import Ask
from leadoff.claims.spoken.values import Finding, Num, Verdict, weakest
from leadoff.record.runs import Direction

_MOVES = (
    r"\b(?:took|takes?|taking|brings?|brought|lifts?|lifted|pushe[sd]|push|moved|moves|pulls?|"
    r"pulled|sends?|sent|got|gets)\b"
)
EXTREME = re.compile(
    r"\b(?:(?:even )?(?:in|at|on|with) (?:its |the )?|(?<=\}'s )|"
    r"(?<=\}'s own ))(?:very )?(?P<which>slowest|worst|best|fastest|quickest)\b"
    r"|\b(?:even )?the (?:very )?(?P<own>slowest|worst|best|fastest|quickest)(?= \{b\d+\} (?:settings?|"
    r"states?|runs?|scores?|results?|figures?|readings?|times?)\b)"
)
V = Verdict
SIZES = ("pct", "part", "factor", "difference")


def relation_of(ask: Ask) -> tuple[str | None, bool]:
    """The relation as said of the first thing, and whether it is denied."""
    low = EXTREME.sub(" ", ask.low)
    if re.search(
        r"\b(?:nobody|no board|none)\b[^,]*\b(?:as (?:fast|quick|good) as|match(?:es)?|close to|near|keeps? up)\b",
        low,
    ):
        return "worse", False
    if m := re.search(r"\bnot (?:\w+ ){0,2}?as (fast|quick|good|slow)\b", low):
        return ("better" if m[1] == "slow" else "worse"), False
    none = re.search(r"\b(?:no|not any|not a|never a) (?:\w+ )?(?:difference|gap|margin|distance)\b", low)
    if none is None and re.search(
        r"\bthe difference between them is\b|\b(?:gap|difference|margin|distance) (?:between|from \{b|"
        r"from the \{b)|"
        r"\bbetween (?:both |the )?\{[bk]\d+\}[^{]*(?:\{b\d+\} )?(?:lie|lies|lay|stand) \{n|"
        r"\{n\d+\} (?:between them|apart)",
        low,
    ):
        side = re.search(rf"(?:{BETTER[2:-2]}|wins?)\b", re.sub(r"\bmore\b|\bover\b", " ", low))
        return ("better" if side and re.search(r"\bwins?\b|\bahead\b", low) else "differs"), False
    timed = all(ask.evidence.ledger.workloads[w].direction is Direction.LOWER for w in ask.workloads)
    if (
        ask.workloads
        and timed
        and (m := re.search(r"\b(?:needs?|needed|takes?|took)\b.*\b(less|fewer|more)\b", low))
    ):
        return ("worse" if m[1] == "more" else "better"), re.search(rf"{NOT}", low) is not None
    if parts := [n for s in ask.said.signs("n") if (n := ask.said.num(s)).kind == "part"]:
        less = parts[0].value < 100.0
        gone = re.search(r"\btime\b", low) is not None or (bool(ask.workloads) and timed)
        return ("better" if less == gone else "worse"), False
    if re.search(TIE, low) or re.search(r"(?<!\} )\bas (?:fast|quick|good|slow) (?:[\w']+ ){0,4}?as\b", low):
        level = re.search(
            r"\b(?:not|never|no longer) (?:a |the |quite |at all )?(?:ties?|tied|level|same|equals?|"
            r"identical|match)",
            low,
        )
        return ("differs", False) if level else ("tie", False)
    way = _way(low, lower=bool(ask.workloads) and timed)
    factors = [n for s in ask.said.signs("n") if (n := ask.said.num(s)).kind == "factor"]
    if way is None and factors:
        denied = re.search(rf"{NOT}(?: \w+){{0,2}} \{{n\d+\}}", low) is not None
        slow = re.search(r"\{n\d+\} (?:as (?:long|slow)|longer)\b", low) is not None
        return ("better" if (factors[0].value >= 1.0) != slow else "worse"), denied
    if way is not None:
        return way[0], _denied(low[: way[1]])
    if (moved := _from_to(ask)) is not None:
        return moved, False
    if re.search(rf"\bnot (?:\w+ ){{0,2}}?(?:{CAUSE[2:]})", low):
        return "differs", True
    makes = re.search(r"\b(?:makes?|made|means|meant|amounts? to|comes? to|accounts? for)\b", low)
    if (makes and ask.wants and sizes_of(ask)[0]) or re.search(r"\bdifferen(?:ce|t)\b", low):
        return "differs", False
    return None, False


_FAINT = ("gave", "give", "gives", "brought", "bring", "brings", "worth")
"""Words that say better only where nothing else says which way it went."""


def _way(low: str, *, lower: bool) -> tuple[str, int] | None:
    """Better or worse and where it is said. Up and down are said of the figure: where the lower figure is the better
    one, down is better."""
    worse, better = re.search(WORSE, low), re.search(BETTER, low)
    fewer = re.search(LOW, low)
    raw = fewer or re.search(HIGH, low)
    if raw is not None and worse is None and (better is None or better[0] in _FAINT):
        return ("better" if (raw is fewer) == lower else "worse"), raw.start()
    if worse and better:
        first = better.start() < worse.start() and better[0] not in _FAINT
        if first and not re.search(r"\bbeaten by\b", low):
            worse = None
    found = worse or better
    return None if found is None else ("worse" if worse else "better", found.start())


def _denied(before: str) -> bool:
    """Whether a relation is denied by what stands before it: close by, in its own part, or by its subject."""
    before = before.rstrip()
    near = re.search(rf"{NOT}(?: \w+){{0,2}} ?$", before)
    own = re.search(r"\b(?:not|never)\b", before.rpartition(" , ")[2])
    return bool(near or own or re.search(r"\b(?:neither|nor|no board|nobody|none of)\b", before))


def _from_to(ask: Ask) -> str | None:
    """``took it from 17.4 to 24.9``: better or worse by what is better in the workload."""
    moves = rf"{_MOVES}|\bfrom (?:the )?\{{[sg]|\{{s\d+\}} to \{{s"
    m = re.search(rf"(?:{moves}).* (?:from|,) \{{(n\d+)\}} (?:\w+ )?to \{{(n\d+)\}}", ask.low)
    if m is None or len(ask.workloads) != 1 or any(ask.said.num(s).kind != "value" for s in m.groups()):
        return None
    up = ask.evidence.ledger.workloads[ask.workloads[0]].direction is Direction.HIGHER
    return "better" if (ask.said.num(m[2]).value > ask.said.num(m[1]).value) == up else "worse"


def deny(f: Finding) -> Finding:
    """The opposite claim's verdict: a difference that is not shown supports that there is none to be claimed."""
    turned = {V.SUPPORTED: V.CONTRADICTED, V.CONTRADICTED: V.SUPPORTED, V.WITHIN_NOISE: V.SUPPORTED}
    return Finding(
        verdict=turned.get(f.verdict, f.verdict),
        why=f.why,
        refs=f.refs,
        boards=f.boards,
        true=f.true,
        used=f.used,
    )


def sizes_of(ask: Ask) -> tuple[list[Num], frozenset[str]]:
    signs = [n for n in ask.said.signs("n") if ask.said.num(n).kind in SIZES]
    return [ask.said.num(n) for n in signs], frozenset(signs)


def finish(ask: Ask, found: list[Finding], flipped: bool, used: frozenset[str]) -> list[Finding]:
    if not found:
        return []
    whole = weakest([deny(f) for f in found] if flipped else found)
    unread = {f"?{u}" for u in used if u.startswith("n") and ask.said.num(u).kind == "value"}
    return [
        Finding(
            verdict=whole.verdict,
            why=whole.why,
            refs=whole.refs,
            boards=whole.boards,
            true=whole.true,
            used=used | unread | whole.used | frozenset(ask.wants) | frozenset(ask.said.signs("gr")),
        )
    ]


def no_figure(ask: Ask, board: str, workload: str) -> Finding:
    return Finding(
        verdict=V.NOT_FOUND,
        why=f"no run of {board} in {workload} reads that",
        boards=(board,),
        true=f"the book has no such figure of {board} in {workload}",
    )
