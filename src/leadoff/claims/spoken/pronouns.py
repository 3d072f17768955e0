"""``it``, ``the other one``, ``both``, ``the first one``: put in place where they can mean one thing only."""

from __future__ import annotations

import re
from collections.abc import Callable

from leadoff.claims.spoken.properties import by_property
from leadoff.claims.spoken.scene import Ask, Scene
from leadoff.claims.spoken.settings_said import put_in, taken_out
from leadoff.claims.spoken.values import Want

_OTHER = re.compile(
    r"\b(?:the|that) other(?: 1| one| board| machine)?\b(?! (?:day|card|way|run|setting|runs))|\bits rival\b"
)
_IT = re.compile(
    r"\b(?:it|its|it's|this board|that board|the board|this machine|that machine|the machine|this 1|that 1|"
    r"this one|that one|she|the thing|the same board)(?:'s)?\b"
)
_BOTH = re.compile(
    r"\b(?:both(?: of them| boards)?|the 2(?: boards| of them)?|they|them|their|these "
    r"2|those 2|neither(?: of them)?)\b"
)
_DUMMY = re.compile(
    r"\bit (?:is|was) (?:all |only |just |because|down to|thanks|due|the \{s|\{s|"
    r"not (?:the|because|down|due))|\bit (?:takes|took|turns out)\b|"
    r"\bit (?:makes|made) (?:no|any|little) (?:difference|odds)\b"
)
_PRESENTS = re.compile(
    r"\b(?:so |now )?it is (?:all |now |just )?(?=(?:the |my )?\{b\d+\}(?: now| next| again| ,| at| $))"
)
"""``it's the Cedar now``: presents a board, and means none spoken of before."""
_EFFECT = re.compile(
    r"\b(?:gave|gives|gained|cost|costs|made|makes|worth|brought|brings|bought|buys|helps?|helped|hurts?|"
    r"difference|did nothing|does nothing|pays?|paid|added|adds|saved|saves|slows?|speeds?|(?:took|"
    r"takes)(?= (?:it|the|its|that)\b)|lift(?:s|ed)|"
    r"raise[sd]?|push(?:es|ed)|shorten(?:s|ed))\b"
)


_ON = re.compile(
    r"\b(?:(?:switch|turn|put)(?:ing|ed|es|s)? (?:it|that|them) (?:back )?(?:on|in)|with (?:it|"
    r"that) (?:back )?(?:on|in)|"
    r"(?:it|that) back (?:on|in)|enabl(?:ing|ed|e|es) (?:it|that)|(?:turn|switch)(?:ing|ed)? (?:it|that) on)(?= |$)"
)
_OFF = re.compile(
    r"\b(?:without (?:it|that|them)|"
    r"(?:switch|turn|tak|leav|shut|knock|throw|pull)(?:ing|ed|s|es|e)? (?:it|that|them) (?:off|out|away)|"
    r"(?:it|that) (?:off|gone|out|disabled)|"
    r"(?:disabl|remov|los|dropp|kill|cutt|ditch)(?:ing|ed|e) (?:it|that|them)|getting rid of (?:it|that|"
    r"them))(?= |$)"
)


def put_in_place(ask: Ask) -> None:
    said, scene = ask.said, ask.scene

    def put(board: str) -> str:
        said.boards.append(board)
        return f"{{b{len(said.boards) - 1}}}"

    said.low = _owned(said.low, scene, put)
    said.low = _PRESENTS.sub(" ", said.low)
    low = by_property(said, ask.evidence, said.low, put)
    low = _by_place(low, scene, put)
    low = _state_by_place(low, ask)
    if (m := _ON.search(low)) and (back := _done(ask)) is not None:
        said.wants.append(back)
        low = f"{low[: m.start()]}{{s{len(said.wants) - 1}}}{low[m.end() :]}"
    if m := _OFF.search(low):
        here = [s for s in said.signs("s") if said.at(s) < m.start() and _undone(said.want(s))]
        own = said.want(here[0]) if len(here) == 1 else None
        spoken = [w for w in scene.wants if _undone(w)]
        last = scene.act.target if scene.act and _undone(scene.act.target) else None
        last = last or (spoken[0] if len(spoken) == 1 else None)
        gone = _undone(own or last)
        if gone is not None:
            said.wants.append(gone)
            low = f"{low[: m.start()]}{{s{len(said.wants) - 1}}}{low[m.end() :]}"
            both = re.search(r"\b(?:than|against|versus|vs|or|compared)\b", low) is not None
            if own and not both and not m[0].startswith(("without", "it", "that")):
                low = low.replace(f"{{{here[0]}}}", "setting")
    if m := re.search(r"\b(?:the|my|that) other (?:\{k(\d+)\}|\{b(\d+)\})", low):
        members = said.groups[int(m[1])] if m[1] else (said.boards[int(m[2])],)
        free = [b for b in members if b not in scene.boards]
        if len(free) == 1:
            low = f"{low[: m.start()]}the {put(free[0])}{low[m.end() :]}"
        else:
            ask.unclear = "the other one"
    if _OTHER.search(low) and not ask.unclear:
        others = [b for b in scene.boards[1:2]] if len(scene.boards) == 2 else []
        here = [said.boards[int(s[1:])] for s in said.signs("b")]
        if len(scene.boards) == 2 and here:
            others = [b for b in scene.boards if b not in here]
        if len(others) == 1:
            low = _OTHER.sub(lambda _: put(others[0]), low, count=1)
        else:
            ask.unclear = "the other one"
    if _BOTH.search(low) and len(scene.boards) == 2 and not said.signs("b") and not said.signs("k"):
        first, second = scene.boards
        low = _BOTH.sub(
            lambda m: (
                f"{m[0].split()[0] if m[0].startswith(('neither', 'both')) else ''} {put(first)} {put(second)}"
            ),
            low,
            count=1,
        )
    m = _IT.search(low)
    if (
        m
        and scene.effects
        and _EFFECT.search(low, m.start())
        and not re.search(r"\{g\d|(?<!\bat )(?<!\bon )(?<!\bat the )\{s\d", low)
        and m[0].startswith(("it", "that"))
    ):
        count = len(said.wants)
        said.wants += scene.effects
        signs = [f"{{s{count + i}}}" for i in range(len(scene.effects))]
        put_in = signs[0] if len(signs) == 1 else f"{signs[0]} than {' at '.join(signs[1:])}"
        low = f"{low[: m.start()]}{put_in}{low[m.end() :]}"
        m = None
    if m and not _DUMMY.search(low):
        before = re.search(r"\{[bk]\d+\}", low[: m.start()])
        after = re.findall(r"\{b(\d+)\}", low[m.end() :])
        if before is None and scene.boards:
            free = [b for b in scene.boards[:1] if b not in {said.boards[int(a)] for a in after}]
            if len(scene.boards) == 2 and not free:
                free = [b for b in scene.boards if b not in {said.boards[int(a)] for a in after}]
            if free and not (after and re.search(r"\bit (?:makes|made|is|was|gave) (?:no|any|a) ", low)):
                low = low[: m.start()] + put(free[0]) + low[m.end() :]
    low = _that_card(ask, low)
    low = _IT.sub(" ", low)
    said.low = f" {' '.join(low.split())} "


_OWNED = re.compile(r"\b(mine|yours|his|hers|ours|theirs)(?:'s| is| was) (?:the |a |my |your )?\{(b\d+)\}")


def owned(ask: Ask) -> dict[str, str]:
    """Whose each board is said to be: ``yours is the Birch, mine's the Cedar``."""
    return {m[1]: ask.said.boards[int(m[2][1:])] for m in _OWNED.finditer(ask.low)}


def _owned(low: str, scene: Scene, put: Callable[[str], str]) -> str:
    for whose, board in scene.owned.items():
        if re.search(rf"\b{whose}\b", low) and not _OWNED.search(low):
            low = re.sub(rf"\b{whose}\b(?! (?:card|run|soak|forecast|guess))", put(board), low, count=1)
    return low


def _that_card(ask: Ask, low: str) -> str:
    """``that card``, ``the other card``: the rig just spoken of."""
    said, rigs = ask.said, list(dict.fromkeys(ask.scene.rigs))
    m = re.search(r"\b(?:that|this|the same|said) card\b", low)
    if m is None or len(rigs) != 1:
        return low
    said.rigs.append(rigs[0])
    return f"{low[: m.start()]}the {{g{len(said.rigs) - 1}}}{low[m.end() :]}"


def _done(ask: Ask) -> Want | None:
    """What was spoken of last, put back: the cache on, write-back on, the wait state in."""
    spoken = [
        w
        for w in (*(ask.said.want(s) for s in ask.said.signs("s")), *ask.scene.wants)
        if w.names <= taken_out().keys()
    ]
    if len({w.names for w in spoken}) != 1:
        return None
    names = sorted(spoken[0].names)
    return Want(f"{spoken[0].text} put back", tuple((n, *put_in(n)) for n in names))


def _undone(target: Want | None) -> Want | None:
    """The opposite of the setting just spoken of: no wait state, the cache off, write-through."""
    if target is None:
        return None
    off = taken_out()
    names = [n for n in target.names if n in off]
    if len(names) != len(target.names):
        return None
    return Want(f"without {target.text}", tuple((n, "is", off[n]) for n in names))


def _by_place(low: str, scene: Scene, put: Callable[[str], str]) -> str:
    """``the first one``, ``the second one`` of two that were named together."""
    if len(scene.order) != 2:
        return low
    things = (
        "time|run|reading|level|half|session|day|go|soak|evening|copy|thing|place|start|boot|state|setting"
    )
    for n, word in enumerate(("first", "second")):
        form = rf"\bthe {word}(?: 1| one| board)?\b(?! (?:{things}))"
        if re.search(form, low):
            low = re.sub(form, f"the {put(scene.order[n])}", low)
    return low


_PLURAL = (
    r"\b(?:forecasts|predictions|seals|soaks|repairs|fixes|symptoms|runs|copies|starts|boards|machines|"
    r"cards|scores|"
    r"readings)\b.*\b(?:they|them|their)\b|"
    r"\b(?:forecast|soak|run|record|tool)\b.*\b(?:it|its)\b"
)
"""A pronoun that means what the sentence itself has named."""


def _state_by_place(low: str, ask: Ask) -> str:
    """``the second one`` of two states that were named one after the other."""
    act = ask.scene.act
    if len(ask.scene.order) == 2 or act is None or len(act.order) != 2 or ask.said.signs("s"):
        return low
    for n, word in enumerate(("first", "second")):
        form = rf"(?:\bthe |^ ?){word}(?: 1| one| setting| state| set-up)\b"
        if re.search(form, low):
            ask.said.wants.append(act.order[n])
            low = re.sub(form, f" {{s{len(ask.said.wants) - 1}}} ", low, count=1)
    return low


def unknown_it(ask: Ask) -> bool:
    """A sentence whose subject is ``it`` while nothing was spoken of that it could be."""
    said, scene = ask.said, ask.scene
    if (
        len(scene.level) > 1
        and not said.signs("bkrufo")
        and re.match(r"^ ?(?:in the \{w\d+\} )?(?:it|its|(?:this|that) (?:one|1|board|machine))\b", said.low)
    ):
        return _DUMMY.search(said.plain.low) is None and not _EFFECT.search(said.low)
    if scene.boards or scene.oddity or scene.runs or said.signs("bkrufo"):
        return False
    if re.search(_PLURAL, said.plain.low) or said.has(r"\b(?:every|each|no|any) (?:board|machine)\b"):
        return False
    m = re.search(
        r"\b(?:it|its|they|them|their|she|he|both of them|that one|this one|the other one)\b", said.plain.low
    )
    return m is not None and _DUMMY.search(said.plain.low) is None
