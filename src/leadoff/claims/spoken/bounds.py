"""Figures that runs pass or stay below: ``nobody gets below 17``, ``it never went over 68``."""

from __future__ import annotations

import re

import msgspec

from leadoff.claims.spoken.evidence import reads
from leadoff.claims.spoken.scene import Ask
from leadoff.claims.spoken.values import Finding, Num, Verdict
from leadoff.claims.values import Trial
from leadoff.record.runs import Direction

V = Verdict
REACH = (
    r"(?:reach(?:e[sd])?|reached|breaks?|broke|broken|tops?|topped|exceeds?|exceeded|"
    r"passes|passed|beats?|beat|gets? to|got to|"
    r"gets? (?:past|over|above|beyond)|got (?:past|over|above|beyond)|goes (?:past|"
    r"over|above|beyond)|makes?|made|manages?|"
    r"managed|hits?|hit|clears?|cleared|does|did|do|cracks?|cracked|over|above|beyond|"
    r"past|more than|comes? near|came near|"
    r"gets?|got|scored?|saw|sees|seen|longer than|as much as|as long as)"
)
BELOW = (
    r"(?:below|under|less than|beneath|(?:gets?|got|goes|went|comes?|came|drops?|dropped|"
    r"falls?|fell|dips?|dipped|sinks|sank)"
    r" (?:below|under|beneath)|stays? (?:below|under)|stayed (?:below|under))"
)
_BEYOND = (
    r"\b(?:past|beyond|above|over|exceed(?:s|ed)?|more than|tops?|topped|below|under|less than|better than|"
    r"faster|quicker|slower)\b"
)
_NONE = r"\b(?:no|none|nobody|nothing|neither|never|not)\b"


THAT = (
    r"\b(?:beats?|match(?:es|ed)?|tops?|topped|reach(?:es|ed)?|betters?|exceed(?:s|ed)?|near|close to|"
    r"than|of|as|past|equals?) "
    r"(?:that|this)\b|\{n\d+\} (?:that|this)\b|\bthat far\b"
)
"""A score that was just spoken of as what another is held against."""


def passing(ask: Ask, sign: str | None) -> tuple[Num, bool] | None:
    """The figure to pass, and whether the way is down; ``None`` where nothing is said to pass it."""
    if sign is None or not ask.workloads:
        return None
    n, low = ask.said.num(sign), ask.low
    if m := re.search(r"\b(faster|quicker|slower) than \{n", low):
        lower = ask.evidence.ledger.workloads[ask.workloads[0]].direction is Direction.LOWER
        below = lower == (m[1] != "slower")
        return n, below
    if n.mod == "" and (m := re.search(r"\b(longer|shorter|more|less|higher|lower) than \{n", low)):
        return n, m[1] in ("shorter", "less", "lower")
    below = re.search(BELOW, low) is not None or n.mod == "under"
    over = re.search(rf"\b{REACH}\b", low) is not None or n.mod == "over"
    return (n, below) if below or over else None


_OF_ALL = (
    r"\b(?:faster|slower|quicker|however|whatever|whichever|yet to|out of|beyond (?:it|him|her|them|the|my|"
    r"this|that)|"
    r"(?:tops?|topped|max\w*|peaks?|peaked|bottom\w*)(?: out)?(?= \{n| at\b| out\b))\b"
)
"""Speaks of another board, or of every reading, which one that is past the figure does not bear out."""


def bounds(ask: Ask) -> list[Finding]:
    """Sentences over several runs or boards with one figure to pass."""
    if (ask.has(THAT) and ask.scene.figures) or ask.has(r"\b(?:than|as) (?:the |my )?\{b\d+\}"):
        return []
    figures = ask.figures()
    bound = passing(ask, figures[0]) if len(figures) == 1 else None
    if bound is None:
        return []
    said, low = ask.said, ask.low
    n, below = bound
    only = re.search(
        r"\bonly (?:the )?(?:\{b\d+\}|\{k\d+\})|\{b\d+\} (?:is|was) the only\b|\balone\b|"
        r"\bthe only (?:board|machine|one|1)\b.* (?:is|was) (?:the |my )?\{b\d+\}",
        low,
    )
    none = _none_before(ask, figures[0])
    every = re.search(r"\b(?:all|every|each|both|always|everything)\b", low) is not None
    stays = re.search(r"\b(?:stays?|stayed|always|kept|keeps)\b", low) is not None
    found: list[Finding] = []
    for w in ask.workloads:
        if only is not None and ask.boards:
            found.append(_only(ask, w, n, below))
        elif none:
            found.append(_none(ask, w, n, below))
        elif every and (len(ask.scope) > 1 or stays):
            found.append(_every(ask, w, n, below, stays))
        elif (
            n.mod in ("over", "under")
            or below
            or re.search(r"\b(?:breaks?|broke|tops?|topped|exceed|pass|clear|crack|past|beyond)", low)
        ) and not ask.has(_OF_ALL):
            found.append(_some(ask, w, n, below))
    return [
        msgspec.structs.replace(f, used=frozenset({figures[0], *ask.wants, *said.signs("gr")})) for f in found
    ]


def _none_before(ask: Ask, figure: str) -> bool:
    """Whether what is said of the figure is denied: before it in its own part, or by the subject of the sentence."""
    own = ask.low[: ask.said.at(figure)].rpartition(" , ")[2]
    after = r"\b(?:nobody|none|nothing|no board)\b[^,]* (?:that|this|it)\b"
    return any(re.search(form, part) for form, part in ((_NONE, own), (after, ask.low))) or (
        re.match(r" (?:and |so |but )?(?:nobody|none|no board|nothing|neither)\b", ask.low) is not None
    )


def said_trials(ask: Ask, w: str, boards: list[str] | None = None) -> list[Trial]:
    ev = ask.evidence
    scope = set(boards if boards is not None else ask.scope)
    return [
        t
        for t in ev.ledger.of(w)
        if t.board in scope and ev.as_said(t, ask.want_list()) and (not ask.rigs or t.rig in ask.rigs)
    ]


def passes(t: Trial, n: Num, below: bool) -> bool:
    return any(r.value < n.value if below else r.value >= n.value - 1e-9 for r in t.readings)


def _finding(ok: bool, hits: list[Trial], all_: list[Trial], w: str, text: str) -> Finding:
    return Finding(
        verdict=V.SUPPORTED if ok else V.CONTRADICTED,
        why=text,
        refs=tuple(t.number for t in (hits or all_))[:12],
        boards=tuple(dict.fromkeys(t.board for t in (hits or all_))),
        true=text,
    )


def span(trials: list[Trial], w: str) -> str:
    values = [r.value for t in trials for r in t.readings]
    return f"{w}: these runs read {min(values):g} to {max(values):g}"


def _none_there(ask: Ask, w: str) -> Finding:
    names = ", ".join(ask.boards) or "no board"
    return Finding(
        verdict=V.UNTESTED, why=f"{names}: no run of {w} in such a state", boards=tuple(ask.boards)
    )


def _none(ask: Ask, w: str, n: Num, below: bool) -> Finding:
    everyone = list(ask.evidence.ledger.boards) if ask.has(r"\b(?:no board|nobody)\b") else None
    if everyone and ask.has(r"\bno board else\b"):
        everyone = [b for b in everyone if b not in (ask.boards or ask.scene.boards)]
    trials = said_trials(ask, w, everyone)
    if not trials:
        return _none_there(ask, w)
    if ask.has(r"\b(?:beats?|beat|better)\b"):
        below = ask.evidence.ledger.workloads[w].direction is Direction.LOWER
    strict = not ask.has(
        r"\b(?:reach(?:e[sd])?|hits?|manages?|managed|makes?|made|gets? to|got to|does|did|do|sees?|saw|touch)\b"
    ) or ask.has(
        r"\b(?:above|over|past|beyond|more than|better|faster|quicker|slower|below|under|less than)\b"
    )
    same = msgspec.structs.replace(n, mod="", spoken=False)
    hits = [t for t in trials if passes(t, n, below) and not (strict and reads(t, same))]
    return _finding(not hits, hits, trials, w, span(trials, w))


def _only(ask: Ask, w: str, n: Num, below: bool) -> Finding:
    members = ask.boards
    everyone = said_trials(ask, w, list(ask.evidence.ledger.boards))
    hits = {t.board for t in everyone if passes(t, n, below)}
    mine = [t for t in everyone if t.board in members]
    if not mine:
        return _none_there(ask, w)
    text = f"{w}: {'below' if below else 'at or above'} {n.value:g} are {', '.join(sorted(hits)) or 'none'}"
    return _finding(hits == set(members), [], everyone, w, text)


def _every(ask: Ask, w: str, n: Num, below: bool, stays: bool) -> Finding:
    by_board = {b: said_trials(ask, w, [b]) for b in ask.scope}
    missing = [b for b, ts in by_board.items() if not ts]
    if missing:
        return Finding(
            verdict=V.UNTESTED, why=f"{w} has no run on {', '.join(missing)}", boards=tuple(missing)
        )
    trials = [t for ts in by_board.values() for t in ts]
    if stays:
        ok = all((r.value < n.value) if below else (r.value >= n.value) for t in trials for r in t.readings)
    else:
        ok = all(any(passes(t, n, below) for t in ts) for ts in by_board.values())
    return _finding(ok, [], trials, w, span(trials, w))


def _some(ask: Ask, w: str, n: Num, below: bool) -> Finding:
    trials = said_trials(ask, w)
    if not trials:
        return _none_there(ask, w)
    beyond = ask.has(_BEYOND)
    hits = [t for t in trials if passes(t, n, below)]
    if beyond:
        # What is past a figure is not the figure itself.
        hits = [
            t for t in hits if any(r.value != n.value and (r.value < n.value) == below for r in t.readings)
        ]
    return _finding(bool(hits), hits, trials, w, span(trials, w))
