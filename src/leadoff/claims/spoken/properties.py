"""Boards named by what they have: ``the one with the VLB card``, ``my slowest board``."""

from __future__ import annotations

import re
from collections.abc import Callable

from leadoff.claims.grade import undefined
from leadoff.claims.spoken.evidence import Evidence
from leadoff.claims.spoken.reading import Said
from leadoff.record.runs import Direction

_ONE = r"\b(?:the|my|that) (?:(?:one|1|board|machine|box|system)|\{k(?P<kind>\d+)\})"
_RIG = re.compile(
    rf"{_ONE} (?:with|using|behind|on|that has|that uses) (?:the |its |an? )?\{{(?P<rig>g\d+)\}}"
)
_LACKS = re.compile(
    rf"{_ONE} (?:without|that has no|that lacks|with no) (?:an? |the |its )?(?P<thing>[a-z]{{5,}})"
)
_UNABLE = re.compile(
    rf"{_ONE} (?:that|which) (?:can not|could not|does not|did not|will not|"
    rf"refuses to) (?:even )?(?:run|do|finish|manage) "
    r"(?:the )?\{(?P<work>w\d+)\}"
)
_STATE = re.compile(rf"{_ONE} (?:with|that has|holding|carrying) (?:the |its |an? )?\{{(?P<want>s\d+)\}}")
_RANKED = re.compile(r"\bmy (?P<rank>slowest|fastest|quickest) (?:board|machine|box|system|one|1)\b")


def by_property(said: Said, ev: Evidence, low: str, put: Callable[[str], str]) -> str:
    """The skeleton with each such name replaced by the one board that it fits; others stay."""
    for form in (_RIG, _LACKS, _UNABLE, _STATE, _RANKED):
        for m in reversed(list(form.finditer(low))):
            boards = _fitting(said, ev, m)
            if len(boards) == 1:
                keep = f" {{{m['want']}}}" if form is _STATE else ""
                low = f"{low[: m.start()]}the {put(boards[0])}{keep}{low[m.end() :]}"
    return low


def _fitting(said: Said, ev: Evidence, m: re.Match[str]) -> list[str]:
    part = m.groupdict()
    among = said.groups[int(part["kind"])] if part.get("kind") else tuple(ev.ledger.boards)
    trials = [t for t in ev.ledger.trials if t.board in among]
    if part.get("rig"):
        rig = said.rigs[int(part["rig"][1:])]
        found = {t.board for t in trials if t.rig == rig}
    elif part.get("thing"):
        found = {t.board for t in trials if undefined(t) and f"no {part['thing']}" in t.run.place}
    elif part.get("work"):
        found = {b for b in among if ev.undefined(said.workloads[int(part["work"][1:])], b)}
    elif part.get("want"):
        want = said.want(part["want"])
        found = {t.board for t in trials if not want.bare and ev.as_said(t, [want])}
    else:
        found = _ranked(ev, slow=part.get("rank") == "slowest")
    return sorted(found)


def _ranked(ev: Evidence, *, slow: bool) -> set[str]:
    """The board that is last, or first, in every workload that it ran."""
    ends: set[str] = set()
    for name, work in ev.ledger.workloads.items():
        best: dict[str, float] = {}
        up = work.direction is Direction.HIGHER
        for c in ev.field(name).cells:
            v = c.mean.value if up else -c.mean.value
            best[c.board] = max(best.get(c.board, v), v)
        if len(best) == len(ev.ledger.boards):
            ends.add((min if slow else max)(best, key=lambda b: best[b]))
    return ends
