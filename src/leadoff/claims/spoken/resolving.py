"""A sentence with its boards, workloads, bare clocks and ``it`` put in place."""

from __future__ import annotations

import re
from collections.abc import Mapping

import msgspec

from leadoff.claims.spoken.cues import is_cue
from leadoff.claims.spoken.evidence import Evidence, reads
from leadoff.claims.spoken.names import harmless
from leadoff.claims.spoken.pronouns import put_in_place, unknown_it
from leadoff.claims.spoken.reading import Said, forms_of
from leadoff.claims.spoken.scene import Ask, Scene
from leadoff.claims.spoken.values import Num, Want

_SCORE_VERB = re.compile(
    r"(?:\b(?:do|does|did|done|doing|scores?|scored|get|gets|got|reads?|reached|reach|reaches|hit|"
    r"hits|made|makes|make|manages?|"
    r"managed|ran|runs|run|gave|gives|breaks|broke|break|tops|topped|shows?|showed|saw|seen|measured|"
    r"posted|posts|takes|took|"
    r"needs|needed|finished|finishes|with|record of|figure of|score of|reading of|"
    r"said|predicted|forecast|against|than|was|is|"
    r"past|versus|vs|for the|came|comes|back|were|to get|came in|came out|passes?|passed|number of|"
    r"beats|beat|not reach|never reached|drops|dropped|fell|rose|went|goes|me|us|stays|stayed|"
    r"between|record,|record|best|it|,))\s*(?:at |to |me |us |a |an |the |in at |of |from |below |above )*$"
)


def resolve(said: Said, scene: Scene, evidence: Evidence) -> Ask:
    """The sentence against what was said before. ``unclear`` names a word that could mean several things."""
    ask = Ask(said, evidence, scene)
    said.low = re.sub(r" , (?:and )?not (?:the |my )?\{[bgk]\d+\}(?= ,| $)", "", said.low)
    ask.stranger = _stranger(said, scene)
    if unknown_it(ask) and not ask.stranger:
        ask.unclear = "it"
    ask.by_name = bool(said.signs("bk"))
    put_in_place(ask)
    ask.boards = list(dict.fromkeys(said.boards[int(s[1:])] for s in said.signs("b")))
    for sign in said.signs("k"):
        ask.boards += [b for b in said.groups[int(sign[1:])] if b not in ask.boards]
    ask.all_boards = ask.has(
        r"\b(?:any|none|each|every 1|\{n\d+\}|one|some|most|all) of (?:the|these|those|my|our|mine|"
        r"all my)(?: \{n\d+\})? (?:boards?|machines?|systems?)\b|"
        r"\b(?:these|my|those|all|the|\{n\d+\}) (?:\{n\d+\} )?(?:boards|machines|systems)\b(?! of)|"
        r"\b(?:house|nobody|every board|each board|of (?:the lot|all|them all|the bunch)|no board|any board|every "
        r"board|all (?:the |my )?boards|"
        r"overall|in the house|of mine|i have had|i own|ever|on the bench|whole lot|none "
        r"of|all of them|in the book)\b"
    )
    ask.named_boards = bool(ask.boards)
    if not ask.boards:
        ask.boards = _of_entries(said, evidence)
    if not ask.boards and not ask.all_boards and scene.boards:
        ask.boards = list(scene.boards if len(scene.boards) == 1 else scene.boards[:1])
    ask.rigs = [said.rigs[int(s[1:])] for s in said.signs("g")]
    _workloads(ask)
    _bare(ask)
    for i, w in enumerate(said.wants):
        said.wants[i] = evidence.settle(w, ask.scope)
    ask.wants = said.signs("s")
    same_boards = not ask.named_boards or set(ask.boards) <= set(scene.boards)
    ask.same_boards = same_boards
    ask.own_wants = bool(ask.wants) or not same_boards
    if not ask.rigs and same_boards and not ask.all_boards:
        ask.rigs = list(scene.rigs)
    return ask


_STRANGE = (
    r"\b(?:the|my|our|this|that|an?|than|beats?|against|versus|vs|on|of|called|named|old|and) \{u0\}|"
    r"\{u0\}'s|^ \{u0\}|"
    r"\{u0\} (?:is|was|does|did|has|had|runs?|ran|gets?|got|reads?|scored?|hung|never|always)\b"
)


def _stranger(said: Said, scene: Scene) -> str:
    """A board that the book does not have: named here, or just before while this sentence names none."""
    if said.strangers and (said.has(_STRANGE) or said.signs("bwns")):
        return said.strangers[0]
    if m := re.match(_LOWER, said.low):
        words = [w for w in (m[1], m[2]) if w]
        if words and not any(forms_of(w) & harmless() or is_cue(w) for w in words) and said.signs("bwgn"):
            return " ".join(words)
    if scene.stranger and not said.signs("bkr") and re.match(_ON, said.low):
        return scene.stranger
    return ""


_LOWER = (
    r"^ (?:the |my |our |a )?([a-z]{4,})(?: ([a-z]{4,}))? "
    r"(?:does|did|do|takes|took|needs|needed|runs|ran|reads|read|gets|got|scores?|scored|hits?|beats?|"
    r"vs|versus|against|"
    r"\{w\d+\} in|is (?:faster|slower|quicker|stable))\b"
)
_ON = (
    r"^ (?:and |but |so |then |still |well |\w+ , )?(?:in the \{w\d+\} )?(?:it|its|she|he|this|that|"
    r"the (?:board|machine|thing))\b"
)


def _of_entries(said: Said, evidence: Evidence) -> list[str]:
    """Boards of the runs, forecasts and symptoms that were named by their numbers."""
    ledger = evidence.ledger
    found = [evidence.by_number[r].board for r in said.runs if r in evidence.by_number]
    found += [s.board for s in ledger.sealed if s.number in said.seals]
    found += [ledger.oddities[n].board for n in said.oddities]
    return list(dict.fromkeys(found))


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
        right = said.low[said.at(sign) + len(sign) + 2 :]
        held = None if re.match(r" of\b", right) else _value_of_setting(ask, n, said.low[: said.at(sign)])
        if held is not None:
            said.wants.append(held)
            said.low = said.low.replace(f"{{{sign}}}", f"{{s{len(said.wants) - 1}}}")
            continue
        left = said.low[: said.at(sign)]
        if n.mod in ("over", "under") and n.text.startswith(
            ("over ", "above ", "below ", "under ", "up to ")
        ):
            left = f"{left}{n.text.rpartition(' ')[0]} "
        ranged = (
            re.search(
                r"\b(?:between|anywhere|somewhere|sits?|sat|reads?|scores?|scored|varies|varied|wanders|"
                r"wandered|swings?|hovers?|stays?|stayed|lands?|landed|comes? in|came in|is|gets|got|does|did)"
                r"(?: \w+){0,2}?(?: from| between)? (?:\{n\d+\} (?:and|to|or|-) )?$",
                left,
            )
            is not None
            and re.search(r"\b(?:at|bus|from \{s\d+\} to) $", left) is None
            and (
                re.match(r" (?:and|to|or|-) \{n\d+\}", right) is not None
                or re.search(r"\{n\d+\} (?:and|to|or|-) $", left) is not None
                or "between" in left[-14:]
            )
        )
        clock = _clock(n)
        is_clock = any(settle_one(clock, s) for s in states)
        is_score = any(reads(t, n) for t in readings)
        beside = re.match(r" (?:frames )?in (?:the )?\{w\d+\}", right) is not None and not left.endswith(
            " at "
        )
        scored = beside or _SCORE_VERB.search(left.rstrip() + " ") is not None
        place = re.search(
            r"\b(?:at|on|for|from|to|over|than at|bus|or|and|up to|past|beyond|with|between|versus|vs|"
            r"against|than) $",
            left,
        )
        after_clock = re.search(
            r"\b(?:at|from) \{s\d+\} (?:to|or|and|than|than at|against|versus|rather than|instead of) $", left
        )
        near_at = re.search(r"\b(?:at|running|run at|set to|clocked at) $", left)
        whole = n.places == 0 or n.value in (66.6, 66.7, 33.3, 83.3, 37.5, 66.67, 33.33, 83.33)
        before_scene = re.search(r"\b(?:at) (?:(?:about|around) )?$", left)
        paired = re.search(r"\{(n\d+)\} (?:to|and|or|-) $", left)
        follows = re.match(r" (?:up |down )?to \{(n\d+)\}", right) if left.endswith("from ") else None
        if follows and not is_score and said.num(follows[1]).kind == "bare":
            # "From 41 to 40": one kind of thing, whether the board had it or not.
            is_clock = any(settle_one(_clock(said.num(follows[1])), s) for s in states)
        if paired and said.num(paired[1]).kind == "value" and is_score:
            ranged = True
        ranged = ranged and not (whole and is_clock and not is_score and n.value >= 14)
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
        if _as_ratio(n, left, states):
            said.wants.append(Want(n.text, (("ratio", "is", f"{n.value:g}"),)))
            said.low = said.low.replace(f"{{{sign}}}", f"{{s{len(said.wants) - 1}}}")
        elif (
            take
            or (whole and n.value >= 14 and _to_clock(said, right))
            or (whole and is_clock and re.match(r" on (?:the |my )?\{b", right) and not left.strip())
        ):
            said.wants.append(clock)
            said.low = said.low.replace(f"{{{sign}}}", f"{{s{len(said.wants) - 1}}}")
        elif _of_something_else(right) or not (ask.workloads or scored or n.places or n.mod or ranged):
            said.nums[int(sign[1:])] = msgspec.structs.replace(n, kind="loose")
        else:
            said.nums[int(sign[1:])] = msgspec.structs.replace(n, kind="value")


def _as_ratio(n: Num, left: str, states: list[tuple[Mapping[str, str | None], float | None]]) -> bool:
    """``drop it to two and a half``: a small number that a setting is put to."""
    if n.unit or n.value > 8 or (2 * n.value) % 1 or not any(s.get("ratio") for s, _ in states):
        return False
    form = (
        r"\b(?:drop|set|put|take|took|pull|turn|push)(?:s|ped|ped|ed)? (?:it |\{b\d+\} |"
        r"them )?(?:back |down |up )?to $"
    )
    return re.search(form, left) is not None


def _to_clock(said: Said, right: str) -> bool:
    """``33 to 40 on the bus``: a number before a clock that it is changed to."""
    m = re.match(r" (?:up |down )?(?:to|or|and|against) (?:at )?\{(s\d+)\}", right)
    return m is not None and said.want(m[1]).names <= {"bus_mhz", "clock", "core_mhz"}


def _clock(n: Num) -> Want:
    return Want(n.text, (("clock", "clock", f"{n.value:g}"),))


def _of_something_else(right: str) -> bool:
    """A number of things that the book knows nothing of: ``40 euros``."""
    m = re.match(r" ([a-z]{3,})\b", right)
    return m is not None and not forms_of(m[1]) & harmless() and not is_cue(m[1])


_OTHER_VALUE = (
    r"\{(s\d+)\} (?:,|to|vs|versus|against|or|and|instead of|rather than|over|than|not|down to|up to) $"
)


_BARE_FROM = re.compile(
    r"\{(s\d+)\}(?: (?:up|down|back))? (?:from (?:\{[sn]\d+\} (?:down |up )?to )?|[^{},]{0,20}(?:\{b\d+\} )?, )$"
)
"""``raising the multiplier from 3 to 3.5``, ``the highest bus we asked of it, 124,``."""


def _value_of_setting(ask: Ask, n: Num, left: str) -> Want | None:
    """``two is quicker than three`` after a setting was named without a value, ``CAS 2 instead of 3``: a value that
    it has had."""
    scene, said = ask.scene, ask.said
    bare = [w for w in (scene.effect, *(scene.act.order if scene.act else ())) if w and w.bare]
    here = [w for w in map(said.want, said.signs("s")) if w.bare and len(w.tests) == 1]
    right = said.low[len(left) :].partition("}")[2]
    listed = right.startswith(" or {n") or re.search(r"\{[ns]\d+\} or $", left) is not None
    if len(here) == 1 and listed:
        bare = here
    if m := re.search(_OTHER_VALUE, left):
        own = said.want(m[1])
        bare = [own] if len(own.tests) == 1 and not own.names & {"bus_mhz", "clock", "core_mhz"} else []
    if m := _BARE_FROM.search(left):
        bare = [w for w in (said.want(m[1]),) if w.bare]
    named = [w for w in map(said.want, said.signs("s")) if len(w.tests) == 1 and w.names <= {"ratio", "cas"}]
    if (
        len(named) == 1
        and re.search(
            (
                r"\b(?:at|with|than at|than with|from|"
                r"against) $"
            ),
            left,
        )
        and not right.startswith(" {")
    ):
        bare = named
    from_it = r"\b(?:it|that) from (?:\{s\d+\} (?:down |up )?to )?$"
    if scene.effect is not None and len(scene.effect.tests) == 1 and re.search(from_it, left):
        bare = [scene.effect]
    names = [name for w in bare for name in w.names]
    if len(set(names)) != 1 or n.places or n.mod:
        return None
    trials = [t for t in ask.evidence.ledger.trials if t.board in ask.scope]
    had = {t.settings.get(names[0]) for t in trials}
    return Want(n.text, ((names[0], "is", f"{n.value:g}"),)) if f"{n.value:g}" in had else None


def settle_one(want: Want, state: tuple[object, float | None]) -> bool:
    """Whether a bare clock is the bus or the core clock of this state."""
    from leadoff.claims.spoken.settings import meets

    settings, core = state
    return meets(want, settings, core)  # type: ignore[arg-type]
