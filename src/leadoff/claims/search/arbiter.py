"""Which of two readings counts: the one by rules of speech, or the one by search over the book.

A sentence is held against its speaker only when no likely reading of it holds, and called supported only when no
likely reading fails. A difference that may be the other way round bears nobody out; what names nothing, and is no
answer, is supported only by a search that is sure of it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

import msgspec

from leadoff.claims.search.effects import effects
from leadoff.claims.search.effects_words import hits_in
from leadoff.claims.search.parts import parts
from leadoff.claims.search.runs import runs
from leadoff.claims.search.scores import scores
from leadoff.claims.search.seals import seals
from leadoff.claims.search.talk import Reading, Talk
from leadoff.claims.search.trials import SINGLE, trials
from leadoff.claims.spoken.guards import not_understood
from leadoff.claims.spoken.values import Finding, Verdict

V = Verdict
SEARCHES: tuple[Callable[[Talk], Reading | None], ...] = (effects, scores, trials, seals, runs)
"""Differences and their causes; single figures, ranges, ranks; soaks, copies, starts, failures, symptoms, counts;
sealed forecasts; runs counted and dated. Each says ``None`` where a sentence is not of its kind."""


def settled(talk: Talk, by_rules: Finding) -> Finding:
    """The finding that counts."""
    if by_rules.absent:
        return by_rules
    if by_rules.verdict is V.SUPPORTED and (hedges := talk.said.hedges()):
        by_rules = not_understood(by_rules, hedges)
    by_search = [(search, r) for search in SEARCHES if (r := search(talk)) is not None]
    found = [r for _, r in by_search]
    sure = [r.finding for r in found if r.sure]
    failed = any(s is trials and r.sure and r.finding.verdict is V.CONTRADICTED for s, r in by_search)
    if not sure and (several := parts(talk, agreed)) is not None and several.sure:
        sure = [several.finding]
    if not sure and by_rules.verdict is V.SUPPORTED and SINGLE.search(talk.text):
        why = f"whether there is no other was not looked at: {by_rules.why}"
        return msgspec.structs.replace(by_rules, verdict=V.NOT_PLACED, why=why, true=by_rules.why)
    if not sure:
        answers = bool(talk.before) and talk.before[-1].plain.text.rstrip().endswith("?")
        if by_rules.verdict is V.SUPPORTED and not answers and not talk.said.signs("bkwgsnrfo"):
            why = f"nothing is named in it, and what it means may be another thing than this: {by_rules.why}"
            return msgspec.structs.replace(by_rules, verdict=V.NOT_PLACED, why=why, true=by_rules.why)
        if by_rules.verdict is V.SUPPORTED and any(x.kind == "cause" for x in hits_in(talk.said.low)):
            why = f"whether it is the cause was not looked at: {by_rules.why}"
            return msgspec.structs.replace(by_rules, verdict=V.NOT_PLACED, why=why, true=by_rules.why)
        if by_rules.verdict is V.SUPPORTED and any(
            s is effects and r.finding.verdict is V.CONTRADICTED for s, r in by_search
        ):
            return _two_ways(by_rules)
        return _leaning([r.finding for r in found], by_rules)
    if len({f.verdict for f in sure}) > 1:
        # A number that one reading has explained is no figure that the book lacks.
        sure = [f for f in sure if f.verdict is not V.NOT_FOUND] or sure
    if failed and {f.verdict for f in sure} == {V.UNTESTED, V.CONTRADICTED}:
        # A state that was never measured for it failed.
        sure = [f for f in sure if f.verdict is V.CONTRADICTED]
    held = [r.finding for s, r in by_search if s is trials and r.sure and r.finding.verdict is V.SUPPORTED]
    if held and {f.verdict for f in sure} == {V.SUPPORTED, V.NOT_COMPARABLE}:
        # That it cannot be run is what is said, and no comparison.
        return held[0]
    weaker = [r.finding for s, r in by_search if s is effects and r.sure and r.finding.verdict in _NO_LEAD]
    figures = [r.finding for s, r in by_search if s is scores and r.sure and r.finding.verdict is V.SUPPORTED]
    if weaker and len(figures) + len(weaker) == len(sure):
        # The figures are right, but what is said of them is not borne out.
        return weaker[0]
    if len({f.verdict for f in sure}) > 1:
        denied = any(f.verdict is V.CONTRADICTED for f in sure)
        return _two_ways(by_rules) if denied and by_rules.verdict is V.SUPPORTED else by_rules
    scored = all(search in (effects, scores) for search, r in by_search if r.sure)
    scored = scored and not any(r.finding.verdict is V.CONTRADICTED for r in found if not r.sure)
    if scored and by_rules.verdict is V.SUPPORTED and sure[0].verdict is V.CONTRADICTED:
        return _two_ways(by_rules)
    figures_alone = all(search is scores for search, r in by_search if r.sure)
    if (
        figures_alone
        and sure[0].verdict is V.SUPPORTED
        and (by_rules.verdict is V.CONTRADICTED or _held_against(talk))
        and _compares(talk)
    ):
        return _two_ways(sure[0])
    return by_rules if sure[0].verdict is by_rules.verdict else sure[0]


def _compares(talk: Talk) -> bool:
    """Whether something is said to be faster or slower, of which right figures bear nothing out."""
    return any(x.kind in ("better", "worse") for x in hits_in(talk.said.low))


def _held_against(talk: Talk) -> bool:
    """``takes it, 65.9 over 65.8``: one figure held against another."""
    m = _FIGURES.search(talk.said.low)
    return m is not None and bool(m["held"] or talk.said.nums[int(m["second"])].mod == "over")


def agreed(talk: Talk) -> Finding | None:
    """What the sure readings of a sentence agree on."""
    sure = [r.finding for search in SEARCHES if (r := search(talk)) is not None and r.sure]
    return sure[0] if len({f.verdict for f in sure}) == 1 else None


def _leaning(found: Sequence[Finding], by_rules: Finding) -> Finding:
    """No reading is sure. One that holds keeps the rules from speaking against the speaker; one that finds nothing to
    compare, or no difference, outweighs rules that found nothing or the contrary."""
    apart = next((f for f in found if f.verdict is V.NOT_COMPARABLE), None)
    if apart is not None and by_rules.verdict is V.SUPPORTED:
        return apart
    if by_rules.verdict not in _AGAINST or len({f.verdict for f in found}) != 1:
        return by_rules
    one = found[0]
    if one.verdict in (V.NOT_COMPARABLE, V.WITHIN_NOISE):
        return one
    if one.verdict is V.SUPPORTED and by_rules.verdict is V.CONTRADICTED:
        return _two_ways(one)
    return by_rules


def _two_ways(holds: Finding) -> Finding:
    why = f"it may be read in two ways, and one of them holds: {holds.why}"
    return Finding(verdict=V.NOT_PLACED, why=why, refs=holds.refs, boards=holds.boards, true=holds.why)


_FIGURES = re.compile(r"\{n\d+\} (?P<held>against |versus |vs )?\{n(?P<second>\d+)\}")
_NO_LEAD = (V.WITHIN_NOISE, V.NOT_COMPARABLE)
_AGAINST = (V.CONTRADICTED, V.NOT_FOUND, V.NOT_PLACED)
