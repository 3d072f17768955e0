"""How far the book goes: the highest bus a board ever had, all the memory it ever had, what every run had set."""

from __future__ import annotations

import re
from collections.abc import Sequence

import msgspec

from leadoff.claims.search.scores_place import board_choices, boards_of, clocks_said, own_wants, shared_out
from leadoff.claims.search.scores_words import OUTDONE, alone, excepts, hears, hears_raw, tried
from leadoff.claims.search.talk import Reading, Talk
from leadoff.claims.spoken.evidence import Evidence
from leadoff.claims.spoken.settings import near_clock
from leadoff.claims.spoken.values import Finding, Verdict, Want
from leadoff.claims.values import Trial, number_of

V = Verdict
_PAST = re.compile(
    r"\b(?:past|beyond|above|over|higher than|more than|north of|further than|up to|as (?:high|"
    r"far) as)(?: the| a| about)?"
    r"(?: bus(?: of| at)?)? ?\{[sn]\d+\}|\{[sn]\d+\}[^{}]{0,12} (?:or (?:more|higher|above)|and (?:up|above))\b"
)
_UNDER = re.compile(
    r"\b(?:below|under|lower than|less than|south of|slower than)(?: the| a| about)?(?: bus(?: of|"
    r" at)?)? ?\{[sn]\d+\}|"
    r"\{[sn]\d+\}[^{}]{0,12} (?:or (?:less|lower|below)|and (?:down|below))\b"
)
_NEVER = re.compile(r"\b(?:never|not|nobody|nothing|no run|none|without)\b")
_MOST = re.compile(r"\b(?:highest|maximum|max|most|top|ceiling|limit|as (?:high|far) as)\b")
_LEAST = re.compile(r"\b(?:lowest|minimum|least|slowest bus|floor)\b")
_ALL = re.compile(
    r"\b(?:always|all the|every run|every single run|all (?:of )?(?:its|the|my|these|those) runs|"
    r"only ever|ever had|ever saw|"
    r"ever (?:ran|run|got|carried|held)|throughout|in each run|the whole time|(?:never|"
    r"not) (?:\w+ ){0,3}(?:anything|something) "
    r"(?:but|other than|else)|without exception)\b"
)
_TRIED = re.compile(
    r"\b(?:pushed?|pushing|went|go|gone|going|tried|try|ran|run|runs|running|set|clocked?|had|has|have|"
    r"saw|seen|took|taken|take|"
    r"dared?|ventured?|used|been|driven|drove|turned|put|fed|given|gave|sat|carried|fitted|came|is|was)\b"
)


class Extent(msgspec.Struct, frozen=True, kw_only=True):
    """What is claimed of every run of a board in one setting: ``most`` (none beyond), ``least``, ``top`` and
    ``bottom`` (reached and none beyond), ``all`` (never another)."""

    way: str
    want: Want


def extents(talk: Talk) -> Reading | None:
    """What the book says to how far a setting was ever taken; ``None`` where no such thing is said."""
    said, ev = talk.said, talk.evidence
    if talk.asks or said.strangers or said.gone or said.seals or said.dates or said.runs:
        return None
    if (
        tried(talk)
        or hears(talk, "compares", "causes", "seals")
        or hears_raw(talk, "causes", "seals", "supposes")
    ):
        return None
    if (
        alone(talk)
        or (excepts(talk) and not re.search(r"anything (?:but|other)", said.low))
        or OUTDONE.search(said.low)
    ):
        return None
    if said.signs("wg") or any(said.num(s).kind not in ("bare", "difference") for s in said.signs("n")):
        return None
    sure, may = clocks_said(said, ev, boards_of(said))
    sure = {**sure, **_of_setting(talk)}
    heres = shared_out(talk, {**may, **sure}, 1)
    wants = heres[0].wants if heres else ()
    if len(wants) != 1 or len(wants[0].tests) != 1 or (not own_wants(said) and not sure and not may):
        return None
    way = _way(talk)
    if way is None:
        return None
    found = []
    for boards in board_choices(talk, heres[0]) if heres else ():
        want = ev.settle(wants[0], boards)
        if (f := _judged(ev, boards, Extent(way=way, want=want))) is not None:
            found.append(f)
    if not found or len({f.verdict for f in found}) > 1:
        return None
    return Reading(finding=found[0], sure=True)


def _of_setting(talk: Talk) -> dict[str, Want]:
    """The one bare number beside the one setting that is named without a value: ``the bus was never past 75``."""
    said = talk.said
    bare = [w for w in said.wants if w.bare]
    signs = said.signs("n")
    if len(bare) != 1 or len(bare[0].names) != 1 or len(signs) != 1 or own_wants(said):
        return {}
    n, name = said.num(signs[0]), next(iter(bare[0].names))
    if n.kind != "bare" or n.mod in ("about", "nearly", "just"):
        return {}
    name = "bus_mhz" if name == "clock" else name
    return {signs[0]: Want(f"{bare[0].text} {n.text}", ((name, "is", f"{n.value:g}"),))}


def _way(talk: Talk) -> str | None:
    low = talk.said.low
    never = _NEVER.search(low) is not None
    mods = {talk.said.num(s).mod for s in talk.said.signs("n")}
    past = _PAST.search(low) is not None or "over" in mods
    under = _UNDER.search(low) is not None or "under" in mods
    if _ALL.search(low) and not past and not under:
        return "all"
    if past:
        return "most" if never and _TRIED.search(low) else None
    if under:
        return "least" if never and _TRIED.search(low) else None
    if never or not re.search(r"\b(?:ever|tried|went|pushed|took|taken|dared|run|runs|book)\b", low):
        return None
    if _MOST.search(low):
        return "top"
    return "bottom" if _LEAST.search(low) else None


def _judged(ev: Evidence, boards: Sequence[str], e: Extent) -> Finding | None:
    name, _, said = e.want.tests[0]
    runs = [t for t in ev.ledger.trials if t.board in (boards or ev.ledger.boards) and t.workload is not None]
    known = [(v, t) for t in runs if (v := _value(t, name)) is not None]
    if not known:
        return None
    limit = number_of(said)
    if limit is None:
        return None
    same = [t for v, t in known if _same(v, name, said)]
    above = [t for v, t in known if v > limit and not _same(v, name, said)]
    below = [t for v, t in known if v < limit and not _same(v, name, said)]
    against = {"most": above, "top": above, "least": below, "bottom": below, "all": [*above, *below]}[e.way]
    short = e.way in ("top", "bottom", "all") and not same
    open_ = e.way == "all" and len(known) < len(runs)
    verdict = V.CONTRADICTED if against or short else V.UNTESTED if open_ else V.SUPPORTED
    lo, hi = min(v for v, _ in known), max(v for v, _ in known)
    shown = against[0] if against else None
    text = f"{', '.join(boards) or 'the book'}: {name} from {lo:g} to {hi:g} in {len(known)} runs"
    text += f"; run {shown.number} is one against it" if shown else ""
    refs = tuple(t.number for t in (against or same)[:6])
    return Finding(verdict=verdict, why=text, refs=refs, boards=tuple(boards), true=text)


def _value(t: Trial, name: str) -> float | None:
    return t.core_mhz if name == "core_mhz" else number_of(t.settings.get(name))


def _same(value: float, name: str, said: str) -> bool:
    return near_clock(value, said) if name in ("bus_mhz", "core_mhz") else abs(value - float(said)) < 1e-6
