"""What was spoken of just before, and a sentence with its ``it`` and ``the other one`` put in place."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace

from leadoff.claims.spoken.evidence import Evidence, reads
from leadoff.claims.spoken.reading import Said
from leadoff.claims.spoken.values import Num, Want
from leadoff.claims.values import Oddity

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
    r"not (?:the|because|down|due))|\bit (?:takes|took|turns out)\b"
)
_EFFECT = re.compile(
    r"\b(?:gave|gives|gained|cost|costs|made|makes|worth|brought|brings|bought|buys|helps?|helped|hurts?|"
    r"difference|did nothing|does nothing|pays?|paid|added|adds|saved|saves|slows?|speeds?)\b"
)
_SCORE_VERB = re.compile(
    r"(?:\b(?:do|does|did|done|doing|scores?|scored|get|gets|got|reads?|reached|reach|reaches|hit|hits|made|makes|make|manages?|"
    r"managed|ran|runs|run|gave|gives|breaks|broke|break|tops|topped|shows?|showed|saw|seen|measured|posted|posts|takes|took|"
    r"needs|needed|finished|finishes|with|record of|figure of|score of|reading of|"
    r"said|predicted|forecast|against|than|was|is|"
    r"past|versus|vs|for the|came|comes|back|were|to get|came in|came out|passes?|passed|number of|"
    r"beats|beat|not reach|never reached|drops|dropped|fell|rose|went|goes|me|us|stays|stayed|"
    r"between|record,|record|best|it|,))\s*(?:at |to |me |us |a |an |the |in at |of |from |below |above )*$"
)


@dataclass
class Scene:
    """The last boards (the subject first), workload, state, setting, rig, runs, symptom."""

    boards: tuple[str, ...] = ()
    workload: str | None = None
    wants: tuple[Want, ...] = ()
    effect: Want | None = None
    effects: tuple[Want, ...] = ()
    rigs: tuple[str, ...] = ()
    runs: tuple[str, ...] = ()
    oddity: Oddity | None = None
    forecast: bool = False
    figures: tuple[Num, ...] = ()
    spoken: bool = False


@dataclass
class Ask:
    """A sentence to be judged: mentions in place, boards resolved, bare numbers as clocks or scores."""

    said: Said
    evidence: Evidence
    scene: Scene
    boards: list[str] = field(default_factory=list)
    wants: list[str] = field(default_factory=list)
    own_wants: bool = True
    workloads: list[str] = field(default_factory=list)
    rigs: list[str] = field(default_factory=list)
    named_boards: bool = True
    all_boards: bool = False
    unclear: str = ""

    @property
    def low(self) -> str:
        return self.said.low

    @property
    def scope(self) -> list[str]:
        """Boards that are meant; every board where none was named."""
        return self.boards or list(self.evidence.ledger.boards)

    @property
    def workloads_named(self) -> bool:
        return bool(self.said.signs("w"))

    def want_list(self) -> list[Want]:
        return [self.said.want(s) for s in self.wants] or list(self.scene.wants if not self.own_wants else ())

    def has(self, pattern: str) -> bool:
        return self.said.has(pattern)

    def figures(self) -> list[str]:
        """Signs of numbers that are scores."""
        return [n for n in self.said.signs("n") if self.said.num(n).kind == "value"]


def resolve(said: Said, scene: Scene, evidence: Evidence) -> Ask:
    """The sentence against what was said before. ``unclear`` names a word that could mean several things."""
    ask = Ask(said, evidence, scene)
    _pronouns(ask)
    ask.boards = list(dict.fromkeys(said.boards[int(s[1:])] for s in said.signs("b")))
    for sign in said.signs("k"):
        ask.boards += [b for b in said.groups[int(sign[1:])] if b not in ask.boards]
    ask.all_boards = ask.has(
        r"\b(?:house|nobody|of (?:the lot|all|them all|the bunch)|no board|any board|every "
        r"board|all (?:the |my )?boards|"
        r"overall|in the house|of mine|i have had|i own|ever|on the bench|whole lot|none "
        r"of|all of them|in the book)\b"
    )
    ask.named_boards = bool(ask.boards)
    if not ask.boards and not ask.all_boards and scene.boards:
        ask.boards = list(scene.boards if len(scene.boards) == 1 else scene.boards[:1])
    if not ask.boards and said.runs:
        found = [evidence.by_number[r].board for r in said.runs if r in evidence.by_number]
        ask.boards = list(dict.fromkeys(found))
    ask.rigs = [said.rigs[int(s[1:])] for s in said.signs("g")]
    _workloads(ask)
    _bare(ask)
    for i, w in enumerate(said.wants):
        said.wants[i] = evidence.settle(w, ask.scope)
    ask.wants = said.signs("s")
    same_boards = not ask.named_boards or set(ask.boards) <= set(scene.boards)
    ask.own_wants = bool(ask.wants) or not same_boards
    if not ask.rigs and same_boards and not ask.all_boards:
        ask.rigs = list(scene.rigs)
    return ask


def _pronouns(ask: Ask) -> None:
    said, scene = ask.said, ask.scene

    def put(board: str) -> str:
        said.boards.append(board)
        return f"{{b{len(said.boards) - 1}}}"

    low = said.low
    if _OTHER.search(low):
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
        and _EFFECT.search(low)
        and not re.search(r"\{s\d", low)
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
    low = _IT.sub(" ", low)
    said.low = f" {' '.join(low.split())} "


def _workloads(ask: Ask) -> None:
    said, ledger = ask.said, ask.evidence.ledger
    named = [said.workloads[int(s[1:])] for s in said.signs("w")]
    if not named:
        units = {said.num(n).unit for n in said.signs("n")} - {"", "%", "h"}
        if ask.has(r"\bframes?\b|\bfps\b"):
            units.add("frames")
        by_unit = [w.name for w in ledger.workloads.values() if unit_kind(w.unit) in units]
        if len(by_unit) == 1:
            named = by_unit
        elif by_unit and ask.scene.workload in by_unit:
            named = [str(ask.scene.workload)]
        elif by_unit:
            fits = [w for w in by_unit if any(_read_there(ask, w, said.num(n)) for n in said.signs("n"))]
            named = fits if len(fits) == 1 else []
    if not named and said.runs:
        found = [ask.evidence.by_number[r].workload for r in said.runs if r in ask.evidence.by_number]
        named = [w for w in dict.fromkeys(found) if w is not None]
    if not named and ask.scene.workload is not None:
        named = [ask.scene.workload]
    if not named:
        plain = [
            n for n in (said.num(s) for s in said.signs("n")) if n.kind in ("bare", "value") and n.places
        ]
        fits = [
            w
            for w in ledger.workloads
            if plain and all(any(reads(t, n) for t in ledger.of(w) if t.board in ask.scope) for n in plain)
        ]
        named = fits if len(fits) == 1 else []
    ask.workloads = list(dict.fromkeys(named))


def _read_there(ask: Ask, workload: str, n: Num) -> bool:
    return n.kind == "value" and any(
        reads(t, n) for t in ask.evidence.ledger.of(workload) if t.board in ask.scope
    )


def unit_kind(unit: str) -> str:
    """Frames, lines, MB/s or s, whatever the spelling."""
    low = unit.lower().replace(" ", "")
    if low.startswith(("fps", "frame")):
        return "frames"
    if low.startswith("line"):
        return "lines"
    if low in ("mb/s", "mbyte/s", "mbytes/s"):
        return "MB/s"
    return "s" if low in ("s", "sec", "seconds") else unit


def _bare(ask: Ask) -> None:
    """Numbers without a unit: a clock after ``at`` or ``from`` that the board can have, else a score."""
    said, ev = ask.said, ask.evidence
    scope = set(ask.scope)
    states = [(t.settings, t.core_mhz) for t in ev.ledger.trials if t.board in scope]
    readings = [
        t
        for t in ev.ledger.trials
        if t.board in scope and t.readings and (not ask.workloads or t.workload in ask.workloads)
    ]
    for sign in said.signs("n"):
        n = said.num(sign)
        if n.kind != "bare":
            continue
        left = said.low[: said.at(sign)]
        right = said.low[said.at(sign) + len(sign) + 2 :]
        ranged = re.search(r"\bbetween (?:\{n\d+\} and )?$", left) is not None
        clock = Want(n.text, (("clock", "clock", f"{n.value:g}"),))
        is_clock = any(settle_one(clock, s) for s in states)
        is_score = any(reads(t, n) for t in readings)
        scored = _SCORE_VERB.search(left.rstrip() + " ") is not None
        place = re.search(
            r"\b(?:at|on|from|to|over|than at|bus|or|and|up to|past|beyond|with|between|versus|vs|against|than) $",
            left,
        )
        after_clock = re.search(
            r"\b(?:at|from) \{s\d+\} (?:to|or|and|than|than at|against|versus|rather than|instead of) $", left
        )
        near_at = re.search(r"\b(?:at|running|run at|set to|clocked at) $", left)
        whole = n.places == 0 or n.value in (66.6, 66.7, 33.3, 83.3, 37.5, 66.67, 33.33, 83.33)
        before_scene = re.search(r"\b(?:at) (?:(?:about|around) )?$", left)
        take = (
            whole
            and not ranged
            and n.value >= 14
            and (
                ((near_at is not None or before_scene is not None) and (is_clock or not is_score))
                or (place is not None and is_clock and not (scored and is_score))
                or (after_clock is not None)
                or (
                    place is not None
                    and is_clock
                    and re.match(r" (?:to|or|and) \{n\d+\}", right) is not None
                    and not is_score
                )
            )
        )
        if take:
            said.wants.append(clock)
            said.low = said.low.replace(f"{{{sign}}}", f"{{s{len(said.wants) - 1}}}")
        else:
            said.nums[int(sign[1:])] = Num("value", n.value, n.unit, n.mod, n.places, n.of, n.text, n.spoken)


def settle_one(want: Want, state: tuple[object, float | None]) -> bool:
    """Whether a bare clock is the bus or the core clock of this state."""
    from leadoff.claims.spoken.settings import meets

    settings, core = state
    return meets(want, settings, core)  # type: ignore[arg-type]


def _acting(ask: Ask) -> tuple[Want, ...]:
    """Settings that ``it`` may mean next: one, or what was gone to and what was left, then what held for both."""
    m = re.search(r"\bfrom \{(s\d+)\}.{0,30}? to (?:at )?\{(s\d+)\}", ask.low)
    wants = list(dict.fromkeys(ask.said.want(s) for s in ask.wants))
    if m:
        to, left = ask.said.want(m[2]), ask.said.want(m[1])
        return (to, left, *(w for w in wants if w not in (to, left)))
    return tuple(wants) if len(wants) == 1 else ()


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
    wants = tuple(said.want(s) for s in ask.wants)
    return replace(
        old,
        boards=boards,
        workload=ask.workloads[0] if len(ask.workloads) == 1 else (None if ask.workloads else old.workload),
        wants=wants or (() if moved else old.wants),
        effect=wants[0] if len(wants) == 1 else (old.effect if not wants else None),
        effects=_acting(ask) or (old.effects if not moved else ()),
        rigs=tuple(said.rigs[int(s[1:])] for s in said.signs("g")) or (() if moved else old.rigs),
        runs=tuple(said.runs) or old.runs,
        oddity=oddity or old.oddity,
        forecast=ask.has(r"\b(?:forecast|predict|sealed)") or old.forecast,
        figures=tuple(said.num(n) for n in ask.figures()) or old.figures,
        spoken=True,
    )
