"""Differences between two states, boards, display cards or evenings, and their causes, found by search."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from copy import copy
from functools import lru_cache

import msgspec

from leadoff.claims.pairs import pair
from leadoff.claims.rows import constant
from leadoff.claims.search.effects_against import against
from leadoff.claims.search.effects_causes import by_cause
from leadoff.claims.search.effects_claim import NOT_BETWEEN, Claim, claim_of, cues_of
from leadoff.claims.search.effects_listed import listed
from leadoff.claims.search.effects_margin import no_wider
from leadoff.claims.search.effects_mentions import Heard, Need, heard
from leadoff.claims.search.effects_pairs import Duo, Scene, duos, fits, scene_of
from leadoff.claims.search.effects_side import designated, spoken_of
from leadoff.claims.search.effects_told import Change, based, change_told, only_the_difference, realised
from leadoff.claims.search.effects_turns import moved, taken, turns_of, undecided
from leadoff.claims.search.effects_unrun import failed_there, never_run
from leadoff.claims.search.effects_words import class_words
from leadoff.claims.search.scores_frame import framed
from leadoff.claims.search.talk import Reading, Talk
from leadoff.claims.spoken.dates import on_date
from leadoff.claims.spoken.evidence import Evidence, reads
from leadoff.claims.spoken.names import everyday, harmless, remarks
from leadoff.claims.spoken.relation import deny
from leadoff.claims.spoken.resolving import unit_kind
from leadoff.claims.spoken.values import Finding, Num, Verdict, weakest
from leadoff.claims.spoken.weigh import Weighed, judge, weigh
from leadoff.claims.standings import Cell
from leadoff.claims.values import Trial
from leadoff.record.runs import Direction

V = Verdict
MARGIN = constant("pair_margin")
"""Pairs whose score is within this of the best are as likely."""
LEAST = constant("pair_least")
"""A best pair that scores less than this leaves too much of what was said unaccounted for."""
DIFFERENCE = constant("difference_most")
"""A figure below this share of both readings is no reading of them."""
_TURN = constant("order_told")
"""Subject and reference are told apart where one order outweighs the other by this."""
_PLAIN = constant("order_plain")
"""An order outweighed by this is plain enough to hold a claim against its speaker."""
_CERTAIN = constant("order_certain")
"""The same where the size that was said is right: then the order may have been misheard."""
_TESTS = r"(?:tests?|bench\w*|scores?|games?|demos?|runs?|figures?|numbers?)"
"""What an unknown word stands before where it is the name of a workload."""
_MANY = int(constant("pairs_most"))
"""More pairs than this as likely as the best mean that nothing was singled out."""


def effects(talk: Talk) -> Reading | None:
    """The likeliest reading of a sentence of this kind; ``None`` where it is none."""
    talk = framed(talk)
    said = heard(talk)
    h = said[0]
    if _elsewhere(h, talk.evidence.by_number, only_the_difference(talk)) or _asked(talk.text):
        return None
    scene = scene_of(said, talk.evidence)
    if gone := taken(said):
        scene = msgspec.structs.replace(scene, wants=(*gone, *scene.wants))
    if (versus := against(h, scene)) is not None:
        return Reading(finding=versus, sure=not _unknown(h))
    claim = claim_of(h, said[1:], changed=change_told(said) is not None)
    if claim is None or (claim.way == "differs" and claim.caused is None and not claim.sizes):
        beside = listed(h, scene)
        if beside is not None:
            maybe = any(x.kind == "maybe" for x in h.hits)
            return Reading(finding=beside, sure=not maybe and not _unknown(h))
    if claim is None:
        return None
    if not scene.boards and not scene.rigs and not scene.runs:
        return None
    loads = tuple(dict.fromkeys(n.name for n in h.of("workload")))
    if len(loads) < 2 or claim.sizes or h.of("figure") or not _ONE_AND_OTHER.search(h.low):
        return _in_scene(scene, said, claim, talk)
    each = [_in_scene(msgspec.structs.replace(scene, workloads=(w,)), said, claim, talk) for w in loads]
    found = [r for r in each if r is not None]
    if len(found) < len(each):
        return None
    return Reading(finding=weakest([r.finding for r in found]), sure=all(r.sure for r in found))


_ONE_AND_OTHER = re.compile(r"\{w\d+\}[^{}]{0,12}\b(?:and|or|nor|as well as)\b[^{}]{0,20}\{w\d+\}")
"""The same is said of two workloads: ``neither in the one nor in the other``."""


def _in_scene(scene: Scene, said: list[Heard], claim: Claim, talk: Talk) -> Reading | None:
    """The likeliest reading of a claim among the states of a scene."""
    h = said[0]
    cues = cues_of(h, said[1:])
    if not cues.cross and not claim.sizes and not claim.caused and failed_there(scene, h):
        return None
    if missing := never_run(scene, h, cues):
        return Reading(finding=missing, sure=claim.clear and not undecided(said))
    found = duos(scene, cues)
    change = None if cues.cross else change_told(said)
    did = [
        d
        for d in found
        if change and realised(change, d, scene.ev) and based(change, d, scene.wants, scene.ev)
    ]
    if change is not None and did:
        found = did
    elif not found or found[0].score < LEAST:
        return None
    else:
        change = None
    if claim.told and any(n.num is not None and not _small(n.num, found[0]) for n in h.of("figure")):
        return None  # a reading, if a wrong one
    top = [d for d in found if d.score >= found[0].score - MARGIN]
    if len(top) > _MANY:
        return None
    judged = [(d, f) for d in top for f in _judged(d, claim, said, scene, change)]
    figures = [n.num for n in scene.figures if n.num is not None]
    settled = _settled(judged, found[0], claim, talk, h, figures)
    if settled is not None and undecided(said) and claim.way not in ("tie", "differs"):
        return msgspec.structs.replace(settled, sure=False)
    return settled


def _settled(
    judged: Sequence[tuple[Duo, Finding]],
    best: Duo,
    claim: Claim,
    talk: Talk,
    h: Heard,
    figures: Sequence[Num],
) -> Reading | None:
    if not judged:
        return None
    judged = _like_for_like(judged, figures)
    verdicts = {f.verdict for _, f in judged}
    first = next(f for d, f in judged if d is best) if any(d is best for d, _ in judged) else judged[0][1]
    open_ = verdicts <= {V.NOT_COMPARABLE, V.UNTESTED}  # whatever was claimed of the two sides
    hedged = any(x.kind == "maybe" for x in h.hits)
    sure = (claim.clear or (open_ and not hedged)) and len(verdicts) == 1
    exact = bool(claim.sizes) and any(n.kind in ("pct", "factor", "part", "difference") for n in claim.sizes)
    exact = exact or any(_of_neither(n.num, best) for n in h.of("figure"))
    if not sure and exact and claim.clear:
        right = [f for _, f in judged if f.verdict is V.SUPPORTED]
        held = {id(d) for d, f in judged if f.verdict is V.SUPPORTED}
        torn = any(id(d) in held and f.verdict is not V.SUPPORTED for d, f in judged)
        right = right if (len(held) == 1 or id(judged[0][0]) in held) and not torn else []
        told = {V.SUPPORTED, V.CONTRADICTED, V.WITHIN_NOISE}
        told |= {V.UNTESTED} if first.verdict is V.SUPPORTED else set()
        if right and verdicts <= told:
            first, sure = right[0], True
    if first.verdict is V.CONTRADICTED and claim.sizes and any(not _of_sides(n, best) for n in figures):
        sure = False  # the figures said before are those of another pair
    if not open_ and (not _figures_stand(h, best, talk.evidence) or _UNREAD.search(h.low)):
        sure = False
    turns = first.verdict in (V.SUPPORTED, V.CONTRADICTED) or any(x.kind == "not" for x in h.hits)
    if turns and _unknown(h) and not _harmless(h, claim, first):
        sure = False
    return Reading(finding=first, sure=sure)


_UNREAD = re.compile(
    r"\b(?:hal(?:f|ves?|ved|ving)|quarters?|fifths?|(?<!to the )(?<!to a )(?<!to within a )tenths?|"
    r"hundredths?|twice|thrice|doubl\w+|tripl\w+|trebl\w+|quadrupl\w+|"
    r"dozens?|scores? of|fold)\b(?! (?:way|hours?|an hour|past|day|time))"
)
"""Words of a size that no number was made of."""


def _small(n: Num, d: Duo) -> bool:
    """Whether a figure is too small for a reading of these two, and may be the difference."""
    return n.value < DIFFERENCE * min(d.one.mean.value, d.two.mean.value)


def _of_neither(n: Num | None, d: Duo) -> bool:
    """A figure with a unit that is no reading of either side: a difference."""
    return n is not None and n.kind == "value" and n.unit != "" and not _of_sides(n, d)


def _of_sides(n: Num, d: Duo) -> bool:
    return reads(d.one, n) or reads(d.two, n)


def _like_for_like(
    judged: Sequence[tuple[Duo, Finding]], figures: Sequence[Num]
) -> Sequence[tuple[Duo, Finding]]:
    """Without the pairs that tell nothing, where one at least as likely does, with as many of the
    figures that were said: that one was meant."""
    tells = [(d, f) for d, f in judged if f.verdict is not V.UNTESTED]
    if not tells or len(tells) == len(judged):
        return judged
    silent = [d for d, f in judged if f.verdict is V.UNTESTED]
    likely = max(d.score for d, _ in tells) >= max(d.score for d in silent)
    return (
        tells
        if likely and min(_read_by(d, figures) for d, _ in tells) >= max(_read_by(d, figures) for d in silent)
        else judged
    )


def _read_by(d: Duo, figures: Sequence[Num]) -> int:
    """How many of the figures said are readings of a pair."""
    return sum(any(reads(c, n) for c in (d.one, d.two)) for n in figures)


def _harmless(h: Heard, claim: Claim, found: Finding) -> bool:
    """Whether one unknown word may be passed over: it names no workload, and the claim stands in plain words. What
    is supported needs every word."""
    words = _left(h)
    if len(words) != 1 or re.search(rf"\b{re.escape(words[0])}\S* {_TESTS}\b", h.low):
        return False
    return found.verdict is not V.SUPPORTED and claim.way not in ("up", "down")


def _judged(d: Duo, claim: Claim, said: list[Heard], scene: Scene, change: Change | None) -> list[Finding]:
    """The findings on a pair: one where the order of its sides is plain, else one for each order."""
    ev, h = scene.ev, said[0]
    lean = _order(d, claim, said, ev)
    if change is not None and (side := _told_side(d, change, h, ev)):
        lean = side * _CERTAIN
    orders = [(d.one, d.two), (d.two, d.one)]
    if lean < -_TURN:
        orders = orders[1:]
    elif lean > _TURN:
        orders = orders[:1]
    if claim.way in ("tie", "differs"):
        orders = orders[:1]
    if change is not None and claim.way == "differs" and claim.sizes and designated(h):
        claim = msgspec.structs.replace(claim, way="better")  # worth so much
    found = [_finding(a, b, d, claim, scene, h) for a, b in orders]
    if len(found) == 1 and found[0].verdict is V.CONTRADICTED and claim.way not in ("tie", "differs"):
        a, b = orders[0]
        turned = _finding(b, a, d, claim, scene, h)
        if (
            turned.verdict is V.SUPPORTED
            and not _both_told(h)
            and abs(lean) < (_CERTAIN if claim.sizes else _PLAIN)
        ):
            found.append(turned)  # the sides may have been taken the wrong way round
    return found


def _told_side(d: Duo, change: Change, h: Heard, ev: Evidence) -> int:
    """The side that is spoken of after a change was told, unless this sentence names values of its own."""
    new = realised(change, d, ev)
    for n in h.of("want"):
        hold = fits(n, d.one, ev) - fits(n, d.two, ev)
        if n.valued and hold and (n.role == "ref" or hold != new):
            return 0
    if any(n.role == "ref" for n in h.of("rig")):
        return 0
    return spoken_of(h, d, change, new)


def _order(d: Duo, claim: Claim, said: list[Heard], ev: Evidence) -> float:
    """Above nothing where the first side is the one that is spoken of, below where it is the second."""

    def met(n: Need) -> int:
        return _meets(n, d.one, ev) - _meets(n, d.two, ev)

    lean = sum(t.weight * met(t.need) for t in turns_of(said, claim, lambda n: met(n) != 0))
    return lean + (moved(said, d.one.trials[0], d.two.trials[0], d.differ) if d.within else 0.0)


def _both_told(h: Heard) -> bool:
    """Two boards by their names, the one held against the other: which is which is plain."""
    boards = h.of("board")
    refs = {n.name for n in boards if n.role == "ref"}
    return len({n.name for n in boards}) == 2 and len(refs) == 1 and len(boards) == 2


def _meets(need: Need, c: Cell, ev: Evidence) -> int:
    match need.kind:
        case "board":
            return int(c.board == need.name)
        case "rig":
            return int(c.rig == need.name)
        case "run":
            return int(any(t.number == need.name for t in c.trials))
        case "date":
            return int(any(on_date(t.observed.when, need.name) for t in c.trials))
        case "figure":
            return int(need.num is not None and reads(c, need.num))
        case _:
            return int(fits(need, c, ev) and need.owner in ("", c.board))


def _finding(a: Cell, b: Cell, d: Duo, claim: Claim, scene: Scene, h: Heard) -> Finding:
    ev = scene.ev
    up = ev.ledger.workloads[d.workload].direction is Direction.HIGHER
    way = claim.way
    if way in ("up", "down"):
        way = "better" if (way == "up") == up else "worse"
    weighed = _weighed(a, b, d.workload, ev)
    sizes = [*claim.sizes, *_loose(h, weighed, unit_kind(ev.ledger.workloads[d.workload].unit))]
    found = no_wider(judge(weighed, ev, way, sizes), weighed, h)
    if claim.denied:
        found = deny(found)
    return by_cause(found, a, b, d, claim, h, scene)


def _weighed(a: Cell, b: Cell, workload: str, ev: Evidence) -> Weighed:
    """One state with two display cards is like for like but for the card; all else goes over the bridges."""
    if a.board == b.board and a.trials[0].key == b.trials[0].key and a.rig != b.rig:
        field = ev.field(workload)
        return Weighed(
            first=a, second=b, workload=workload, pair=pair(b.mean, a.mean, field.workload, field.house)
        )
    return weigh(ev, a, b, workload)


def _loose(h: Heard, of: Weighed, unit: str) -> list[Num]:
    """Figures with a unit that are no reading of either side are said of the difference."""
    figures = [n.num for n in h.of("figure") if n.num is not None]
    return [
        msgspec.structs.replace(n, kind="difference")
        for n in figures
        if n.kind == "value"
        and unit_kind(n.unit) == unit
        and (
            n.value < DIFFERENCE * min(of.first.mean.value, of.second.mean.value)
            or not (reads(of.first, n) or reads(of.second, n))
        )
    ]


def _elsewhere(h: Heard, known: Mapping[str, Trial], differs: bool) -> bool:
    """Whether a sentence is of another kind, or names what the book does not have (``known``: its runs;
    ``differs``: its figures are no readings)."""
    said = h.said
    if any(r not in known for r in said.runs) or len({known[r].workload for r in said.runs}) > 1:
        return True
    if said.strangers or said.gone or said.seals or said.oddities:
        return True
    if any(n.kind in ("hours", "count", "goes", "beeps", "all", "either") for _, n in h.nums):
        return True
    if len({n.name for n in h.of("board")}) > 2:
        return True
    if len({n.name for n in h.of("board")}) == 2 and re.search(r"\bthan (?:it|that|this)\b", h.low):
        return True  # two boards against a third
    if re.search(r"\{n\d+\}[ -]way\b", h.low):
        return True  # half way
    if re.search(r"\bnever\b.*\b(?:past|beyond|above|over) (?:the )?\{s\d+\}", h.low):
        return True  # a bound on a setting
    if re.search(r"\b(?:as|like) (?:the |my )?\{b\d+\} (?:does|did|do)\b", h.low):
        return True  # the same claim of two boards
    if not differs and any(n.num is not None and n.num.mod in ("over", "under") for n in h.of("figure")):
        return True  # a bound on a figure
    if re.search(r"\bthan \{n\d+\}", h.low) and any(n.role == "ref" for n in h.of("figure")):
        return True
    return any(x.kind == "elsewhere" for x in h.hits)


def _asked(text: str) -> bool:
    """A question; one that only asks for a nod (``..., or?``, ``..., wouldn't you say?``) is a statement."""
    if re.search(r"\?\s+\S", text):
        return True
    return text.rstrip().endswith("?") and re.search(r",[^,]{1,24}\?\s*$", text) is None


@lru_cache(maxsize=1)
def _known() -> frozenset[str]:
    return harmless() | remarks() | everyday() | class_words()


def _unknown(h: Heard) -> bool:
    """Whether a word is not known, so that it could turn the claim."""
    return bool(_left(h))


def _left(h: Heard) -> list[str]:
    """Words that are not known; what would not go between two things may be anything."""
    said = copy(h.said)
    said.low = NOT_BETWEEN.sub(" between ", said.low)
    return said.leftovers(_known())


def _figures_stand(h: Heard, d: Duo, ev: Evidence) -> bool:
    """Whether each figure of the sentence is a reading of a side, and of the side that is as said beside it."""
    for n in h.of("figure"):
        if n.num is None:
            continue
        hits = [c for c in (d.one, d.two) if reads(c, n.num)]
        if not hits and (n.num.kind == "bare" or len(h.of("figure")) > 1):
            return False
    figures, wants = h.of("figure"), [n for n in h.of("want") if n.valued]
    if len(figures) == 1 and len({n.want for n in wants}) == 1 and (num := figures[0].num) is not None:
        both = [c for c in (d.one, d.two) if reads(c, num)]
        return not both or any(fits(wants[0], c, ev) for c in both) or wants[0].role == "ref"
    return True
