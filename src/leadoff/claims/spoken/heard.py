"""What the next sentence may refer to: boards, the state, the change that was spoken of."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

from leadoff.claims.spoken.pronouns import owned
from leadoff.claims.spoken.scene import CLOCKS, Act, Ask, Scene, family_names
from leadoff.claims.spoken.values import Want
from leadoff.claims.values import Oddity


def _acting(ask: Ask) -> Act | None:
    """The change that ``it`` may mean next: one setting, or what was gone to and what was left."""
    wants = list(dict.fromkeys(ask.said.want(s) for s in ask.wants))
    if not wants:
        return None
    low, said = ask.low, ask.said
    to = left = None
    if m := re.search(r"\bfrom \{(s\d+)\}.{0,30}? to (?:at )?\{(s\d+)\}", low):
        to, left = said.want(m[2]), said.want(m[1])
    elif m := re.search(
        r"\{(s\d+)\}[^{]{0,12}\b(?:instead of|rather than|in place of)\b[^{]{0,12}\{(s\d+)\}", low
    ):
        to, left = said.want(m[1]), said.want(m[2])
    elif m := re.search(
        r"\b(?:then|now|after that|afterwards|this time)\b[^{]*(?:\{[bwg]\d+\}[^{]*)*\{(s\d+)\}", low
    ):
        to = said.want(m[1])
        mine = family_names(to.names)
        others = [w for w in wants if w.tests != to.tests]
        left = next((w for w in others if w.names & to.names), None) or next(
            (w for w in others if family_names(w.names) & mine), None
        )
    else:
        pairs = [
            (a, b)
            for n, a in enumerate(wants)
            for b in wants[n + 1 :]
            if a.names & b.names and a.tests != b.tests
        ]
        if len(pairs) == 1:
            to, left = pairs[0]
        else:
            to = _changed(ask, wants)
    if to is None:
        return None
    order = tuple(w for w in wants if w in (to, left))
    return Act(to, left, tuple(w for w in wants if w not in (to, left)), order)


def _rig_swap(ask: Ask, old: Scene) -> tuple[str, ...]:
    """The rig that came and the one that went: in one sentence, or ``now the PCI card`` after another was named."""
    rigs = list(dict.fromkeys(ask.said.rigs[int(s[1:])] for s in ask.said.signs("g")))
    if len(rigs) == 2:
        return tuple(rigs[::-1]) if re.search(r"\bfrom (?:the )?\{g|\bout\b", ask.low) else tuple(rigs)
    gone = [r for r in old.rigs if r not in rigs]
    return (
        (rigs[0], gone[0]) if len(rigs) == 1 and len(gone) == 1 and set(ask.boards) <= set(old.boards) else ()
    )


def _changed(ask: Ask, wants: list[Want]) -> Want | None:
    """The one setting that is spoken of as changed: not a given one, else the one that is on, off or gone."""
    acting = [w for w in wants if not _given(ask, w)]
    if len(acting) > 1:
        acting = [w for w in acting if re.search(r"\b(?:off|on|without|no|out)\b", w.text)]
    return acting[0] if len(acting) == 1 else None


def _given(ask: Ask, want: Want) -> bool:
    """Of several settings one that only says where the change was made: ``at 40``, ``on a 33 bus``."""
    signs = list(dict.fromkeys(ask.wants))
    if len(signs) < 2:
        return False
    rest = [w for s in signs if (w := ask.said.want(s)) != want]
    if not want.bare and any(w.bare for w in rest):
        return True
    if want.names <= CLOCKS and any(not w.names & CLOCKS for w in rest):
        return True
    sign = next(s for s in signs if ask.said.want(s) == want)
    return (
        bool(want.names & CLOCKS)
        and re.search(rf"\b(?:at|on|running at) (?:an? |the )?\{{{sign}\}}", ask.low) is not None
    )


_NEXT = r"^(?:and |so )?(?:then|next|now|after that|afterwards|second|later|this time|against)\b|\bagainst\b"


def _from_before(act: Act, old: Scene) -> Act:
    """``Then 75 by 3``: the state spoken of before is what was left."""
    left = [w for w in old.wants if w.names & act.target.names and w.tests != act.target.tests]
    base = tuple(
        w for w in old.wants if w not in left and not w.names & {n for b in act.base for n in b.names}
    )
    return (
        Act(act.target, left[0], (*act.base, *base), order=(left[0], act.target)) if len(left) == 1 else act
    )


def _group(ask: Ask) -> tuple[str, ...]:
    """A kind of boards that was spoken of, and no single one."""
    kinds = ask.said.signs("k")
    return ask.said.groups[int(kinds[0][1:])] if kinds and not ask.said.signs("b") else ()


def _level(ask: Ask) -> tuple[str, ...]:
    """Boards named on one level, ``the one and the other``: then ``it`` is neither of them."""
    m = re.search(r"\{b\d+\}(?:(?:,| ,)? (?:and |or )?(?:the |my )?\{b\d+\})+", ask.low)
    return tuple(dict.fromkeys(ask.said.boards[int(n)] for n in re.findall(r"\{b(\d+)\}", m[0]))) if m else ()


def _held(wants_of: Mapping[str, tuple[Want, ...]], boards: tuple[str, ...]) -> dict[str, tuple[Want, ...]]:
    """What was said of the states of boards that are still spoken of."""
    return {b: ws for b, ws in wants_of.items() if b in boards}


def _sided(ask: Ask) -> dict[str, tuple[Want, ...]]:
    """What was said of each board's state: after its name, or of both."""
    boards = [(ask.said.at(s), ask.said.boards[int(s[1:])]) for s in ask.said.signs("b")]
    if len({b for _, b in boards}) < 2 or ask.has(r"\b(?:both|each|all)\b"):
        return {b: tuple(ask.said.want(s) for s in ask.wants) for b in ask.boards}
    own = [ask.said.want(s) for s in ask.wants]
    out: dict[str, tuple[Want, ...]] = {b: tuple(ask.base(own)) for b in ask.boards}
    for s in ask.wants:
        before = [b for at, b in boards if at < ask.said.at(s)]
        for b in before[-1:] or list(out):
            out[b] = (*out[b], ask.said.want(s))
    return out


def _spoken_act(act: Act | None) -> tuple[Want, ...]:
    if act is None:
        return ()
    return (act.target,) if act.other is None else (act.target, act.other, *act.base)


_TOPICS = (
    ("soak", r"\bsoak"),
    ("copy", r"\bcop(?:ies|y-compare)"),
    ("start", r"\b(?:cold|warm) (?:starts?|boots?)\b|\bstarts\b"),
    ("forecast", r"\b(?:forecast|predict|seal)"),
)


def _topic(ask: Ask) -> str:
    """The kind of test that the sentence speaks of."""
    return next((name for name, form in _TOPICS if ask.has(form)), "")


def after(ask: Ask, oddity: Oddity | None) -> Scene:
    """What the next sentence may refer to."""
    old, said = ask.scene, ask.said
    boards = tuple(ask.boards) if ask.named_boards or said.signs("b") else old.boards
    if len(boards) == 1 and old.boards and boards[0] not in old.boards[:1] and len(old.boards) <= 2:
        # The board just named is "it"; the one before it is "the other one".
        boards = (boards[0], old.boards[0])
    elif len(boards) == 1 and len(old.boards) == 2 and boards[0] == old.boards[0]:
        boards = old.boards
    moved = ask.named_boards and set(ask.boards) != set(old.boards)
    known = old.wants_of.get(boards[0], ()) if boards and len(old.wants_of) > 1 else ()
    wants = tuple(said.want(s) for s in ask.wants)
    stated = tuple(w for w in wants if not w.bare)
    act = _acting(ask)
    if act is not None and act.other is None and not moved and re.search(_NEXT, said.plain.low):
        act = _from_before(act, old)
    if act is not None and act.other is not None:
        stated = tuple(w for w in stated if w != act.other)
    order = tuple(dict.fromkeys(said.boards[int(s[1:])] for s in said.signs("b")))
    if not order and len(ask.boards) == 2 and ask.named_boards:
        order = tuple(ask.boards)
    if len(order) == 1 and len(old.boards) == 1 and order[0] not in old.boards:
        order = (old.boards[0], order[0])
    return replace(
        old,
        boards=boards,
        workload=ask.workloads[0] if len(ask.workloads) == 1 else (None if ask.workloads else old.workload),
        wants=(*stated, *ask.base(wants)) if stated else (known if moved else old.wants),
        effect=wants[0] if len(wants) == 1 else (old.effect if not wants else None),
        effects=_spoken_act(act) or (old.effects if not moved else ()),
        group=_group(ask) if said.signs("bk") else old.group,
        level=_level(ask) if said.signs("bk") else old.level,
        act=act or (old.act if not moved else None),
        order=order if len(order) == 2 else (boards if len(boards) == 2 and not old.order else old.order),
        wants_of=_held(old.wants_of, boards) | _sided(ask) if wants else _held(old.wants_of, boards),
        rigs=tuple(said.rigs[int(s[1:])] for s in said.signs("g")) or (() if moved else old.rigs),
        rig_swap=_rig_swap(ask, old) or (() if moved else old.rig_swap),
        runs=tuple(said.runs) or old.runs,
        oddity=oddity or old.oddity,
        forecast=ask.has(r"\b(?:forecast|predict|seal)") or old.forecast,
        figures=tuple(said.num(n) for n in ask.figures()) or old.figures,
        spoken=True,
        owned={**old.owned, **owned(ask)},
        pair=(said.runs[0], *old.pair[:1]) if len(said.runs) == 1 else tuple(said.runs[:2]) or old.pair,
        topic=_topic(ask) or old.topic,
        seals=tuple(said.seals) or (() if ask.by_name or wants else old.seals),
        stranger=ask.stranger if not said.signs("bkr") else "",
    )
