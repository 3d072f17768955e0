"""The figure of a board that nobody gets past: ``nothing sorts in less than the 4.1 of that one``."""

from __future__ import annotations

import re

from leadoff.claims.search.scores_place import Here, fits_unit, workload_choices
from leadoff.claims.search.scores_unknown import SCORES
from leadoff.claims.search.scores_words import hears, hears_raw, strange, tried
from leadoff.claims.search.talk import Reading, Talk
from leadoff.claims.spoken.evidence import as_figure, reads
from leadoff.claims.spoken.values import Finding, Verdict
from leadoff.record.runs import Direction

V = Verdict
_THE = r"(?:the |my |that |this |its )?"
_UNIT = r"(?: (?:frames|fps|seconds|lines|s))?"
_OWNED = re.compile(
    rf"\{{(?P<b1>b\d+)\}}'s (?:\w+ ){{0,2}}?\{{(?P<n1>n\d+)\}}|"
    rf"\{{(?P<n2>n\d+)\}}{_UNIT} (?:of|from|by|on) {_THE}\{{(?P<b2>b\d+)\}}|"
    rf"\{{(?P<n3>n\d+)\}}{_UNIT} (?:that |which )?{_THE}\{{(?P<b3>b\d+)\}} (?:has|had|got|gets|made|"
    rf"makes|reads?|did|does|shows?|"
    rf"showed|set|needs?|needed|takes?|took|put|puts|holds?|gives?|gave|reached|reaches)\b"
)
_NOBODY = re.compile(
    r"\b(?:nobody|no one|none|nothing|not one|no (?:other )?(?:board|machine|box|run|reading|figure|"
    r"score|state|one|rival)|"
    r"never|yet to|still to be|waits? to be|un(?:beaten|matched|touched|challenged|surpassed|equalled|rivalled))\b"
)
_SIDES = (
    (
        "below",
        r"below|under|beneath|less than|lower than|fewer than|shorter than|undercuts?|undercutting|"
        r"sooner than|inside of",
    ),
    ("above", r"above|over|more than|higher than|exceed\w*|tops?|topped|greater than|north of|longer than"),
    (
        "better",
        r"past|beyond|beats?|beaten|better\w*|faster than|quicker than|swifter than|surpass\w*|"
        r"outd(?:oes|one|id|o)|improved? (?:on|upon)|"
        r"broken|unbeaten|unsurpassed|overtak\w+|knocked off",
    ),
    ("worse", r"slower than|worse than"),
    (
        "level",
        r"near|close to|match\w*|touch\w*|reach\w*|equall?\w*|unmatched|untouched|unequalled|"
        r"unrivalled|rivall?\w*|up to",
    ),
)
_BY_MOD = {"under": "below", "over": "above"}
_SIDE = re.compile("|".join(rf"(?P<{name}>\b(?:{form})\b)" for name, form in _SIDES))


def unbeaten(talk: Talk) -> Reading | None:
    """What the book says to a board's figure that is said to be the last; ``None`` where no such thing is said."""
    said, ev = talk.said, talk.evidence
    owned = list(_OWNED.finditer(said.low))
    if len(owned) != 1 or talk.asks or said.signs("kgsrdfou") or said.gone or said.seals:
        return None
    if (
        len(said.signs("b")) != 1
        or len(said.signs("n")) != 1
        or tried(talk)
        or hears(talk, "record", "causes")
    ):
        return None
    if hears_raw(talk, "causes", "seals", "reported", "supposes"):
        return None
    m = owned[0]
    board = said.boards[0]
    n = said.num(next(x for x in (m["n1"], m["n2"], m["n3"]) if x))
    around = f"{said.low[: m.start()]} . {said.low[m.end() :]}"
    sides = {x.lastgroup or "" for x in _SIDE.finditer(around)}
    sides |= {_BY_MOD[n.mod]} if n.mod in _BY_MOD else set()
    if (
        len(sides) != 1
        or len(_NOBODY.findall(around)) != 1
        or n.kind not in SCORES
        or re.search(r"\bnot\b", around)
    ):
        return None
    works = workload_choices(talk, Here(workloads=tuple(dict.fromkeys(said.workloads))), [n])
    if len(works) != 1 or not fits_unit(ev, works[0], n):
        return None
    side = sides.pop()
    higher = ev.ledger.workloads[works[0]].direction is Direction.HIGHER
    up = {"above": True, "below": False, "better": higher, "worse": not higher, "level": higher}[side]
    own = [c for c in ev.cells(works[0], [board]) if reads(c, n)]
    others = [
        (r.value, t)
        for c in ev.cells(works[0], [b for b in ev.ledger.boards if b != board or side != "level"])
        for t in c.trials
        for r in t.readings
    ]
    past = [t for v, t in others if not as_figure(v, n) and (v > n.value if up else v < n.value)]
    if side == "level":
        past += [t for v, t in others if as_figure(v, n)]
    if not ev.cells(works[0], [board]):
        return None
    verdict = V.SUPPORTED if own and not past else V.CONTRADICTED
    shown = past[:1] or [t for c in own for t in c.trials]
    text = f"{works[0]}: " + "; ".join(
        f"run {t.number} ({t.board}) reads {' '.join(r.text for r in t.readings)}" for t in shown
    )
    refs = tuple(t.number for t in shown)
    finding = Finding(verdict=verdict, why=text, refs=refs, boards=(board,), true=text)
    return Reading(finding=finding, sure=not strange(talk))
