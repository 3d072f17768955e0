"""Readings of one state one after the other, each as often as it came: 9.1, 9.1 and 9.0; 214 twice and 213 once."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence

from leadoff.claims.rows import constant
from leadoff.claims.search.scores_bounds import asked_in
from leadoff.claims.search.scores_figures import agreed, readings_of
from leadoff.claims.search.scores_only import only_figures
from leadoff.claims.search.scores_place import Place, boards_of, clocks_said, places, shared_out
from leadoff.claims.search.scores_repeats import repeats_in
from leadoff.claims.search.scores_unknown import SCORES
from leadoff.claims.search.talk import Reading, Talk
from leadoff.claims.spoken.evidence import as_figure
from leadoff.claims.spoken.reading import Said
from leadoff.claims.spoken.values import Finding, Num, Verdict, Want
from leadoff.claims.standings import Cell

V = Verdict
_TOGETHER = constant("listed_spread")
_ADVERBS = {"once": 1, "twice": 2, "thrice": 3}
_SO_OFTEN = re.compile(
    r"^(?: (?:frames|fps|seconds|lines|s|a second|per second))? ?(?:,? ?(?:and )?(?:(?P<w>once|twice|"
    r"thrice|both times)\b(?! (?:as|the|that))|"
    r"\{(?P<n>n\d+)\}(?= (?:times|of|and)\b| ,| ?$)|(?:on|in|for|from) (?:the |its |all |my "
    r")?(?:other |first |last |next |remaining |following |second )*"
    r"(?:\{(?P<m>n\d+)\}|(?P<both>both|two))(?! (?:waits|mhz|bus)\b)))"
)
"""What stands behind a figure and says how often it came: ``twice``, ``three times``, ``on the other two``."""
_BEFORE = re.compile(
    r"(?:(?P<w>once|twice|thrice)|\{(?P<n>n\d+)\}(?: times?)?)(?: (?:at|it|was|said|read|a|the|in|"
    r"came|showed|to|with|out))*,? $"
)
_HOW = re.compile(
    r"\b(?:go|goes|run|runs|pass|passes|time|times|attempt|attempts|try|tries|reading|readings)\b"
)


def listed(talk: Talk) -> Reading | None:
    """What the book says to several readings of one state; ``None`` where it is no such list."""
    said, ev = talk.said, talk.evidence
    if not only_figures(talk) or len(set(boards_of(said))) > 1 or len(set(said.workloads)) > 1:
        return None
    sure, _ = clocks_said(said, ev, boards_of(said))
    again = repeats_in(talk)
    adverbs = [s for s in again if said.num(s).text in ("twice", "thrice")]
    signs = [s for s in said.signs("n") if s not in sure and (s in adverbs or s not in again)]
    often = _often(said, [s for s in signs if s in adverbs or said.num(s).kind in SCORES])
    counts = {c for _, c in often.values() if c} | set(again)
    part = _part_of(said, again)
    counts |= set(part[2])
    figures = [s for s in signs if s in often and s not in counts]
    again = {s: n for s, n in again.items() if s not in adverbs}
    rest = [s for s in signs if s not in counts and s not in figures]
    if (
        rest
        or len(figures) < (1 if part[1] else 2)
        or any(a.way != "is" or a.denied or a.others for a in asked_in(said, figures))
    ):
        return None
    nums = [said.num(s) for s in figures]
    if any(n.mod not in ("", "about") for n in nums) or not _near(nums):
        return None
    heres = shared_out(talk, sure, 1)
    if heres is None or _several_states(heres[0].wants):
        return None
    each = [(said.num(s), part[0] if part[1] and len(figures) == 1 else often[s][0]) for s in figures]
    found = [
        (p, f)
        for p in places(talk, heres[0], nums)
        if (f := _judged(talk, p, each, max((*again.values(), part[1])), whole=bool(part[1]))) is not None
    ]
    return agreed(talk, found, exact=True) if found else None


_GOES = r"(?:readings|runs|passes|tries|goes|attempts|times|occasions)"
_PART_OF = re.compile(
    rf"\{{(?P<k>n\d+)\}}(?: {_GOES})? (?:out )?of (?:the |its |my |all "
    rf")*\{{(?P<m>n\d+)\}}(?: {_GOES})?(?= |$)"
)


def _part_of(said: Said, again: Mapping[str, int]) -> tuple[int, int, tuple[str, ...]]:
    """``two passes out of three``: how often, of how many, and the signs that say so; zeros where it is not said."""
    for s in said.signs("n"):
        n = said.num(s)
        if (
            n.kind == "count"
            and n.of
            and re.match(rf" {_GOES}\b| ,| ?$", said.low[said.at(s) + len(s) + 2 :])
        ):
            return int(n.value), int(n.of), (s,)
    m = _PART_OF.search(said.low)
    if m is None or not (m["k"] in again or _whole(said.num(m["k"]))) or not _whole(said.num(m["m"])):
        return 0, 0, ()
    return int(said.num(m["k"]).value), int(said.num(m["m"]).value), (m["k"], m["m"])


def _often(said: Said, signs: Sequence[str]) -> dict[str, tuple[int, str]]:
    """How often each figure came, with the sign of the number that says it."""
    out: dict[str, tuple[int, str]] = {}
    taken: set[str] = set()
    for s in signs:
        if s in taken:
            continue
        tail = said.low[said.at(s) + len(s) + 2 :]
        m = _SO_OFTEN.match(tail)
        sign = m and (m["n"] or m["m"])
        if sign and (sign not in signs or not _whole(said.num(sign))):
            m, sign = None, None
        if m is None and (b := _BEFORE.search(said.low[: said.at(s)])):
            sign = b["n"]
            if sign in taken or (sign and sign not in signs) or (sign and not _whole(said.num(sign))):
                b, sign = None, None
            count = (
                1 if b is None else _ADVERBS[b["w"]] if b["w"] else int(said.num(sign).value) if sign else 1
            )
        else:
            count = 1 if m is None else _count(said, m.groupdict(), sign)
        if sign:
            taken.add(sign)
            out.pop(sign, None)
        out[s] = (count, sign or "")
    return {s: x for s, x in out.items() if s not in taken}


def _count(said: Said, m: Mapping[str, str | None], sign: str | None) -> int:
    if sign:
        return int(said.num(sign).value)
    return _ADVERBS.get(m.get("w") or "", 2)


def _whole(n: Num) -> bool:
    return not n.places and not n.unit and not n.mod and 1 <= n.value <= constant("times_most")


def _near(nums: Sequence[Num]) -> bool:
    """Whether they are near enough to be readings of one state."""
    values = [n.value for n in nums]
    return max(values) <= min(values) * (1.0 + _TOGETHER)


def _several_states(wants: Sequence[Want]) -> bool:
    seen = Counter(name for w in wants for name in w.names)
    return any(k > 1 for k in seen.values())


def _judged(
    talk: Talk, place: Place, each: Sequence[tuple[Num, int]], total: int, *, whole: bool
) -> Finding | None:
    ev, w = talk.evidence, place.workload
    cells = place.cells(ev)
    if w is None or not cells:
        return None
    hit = [c for c in cells if _fits(c, each, total, whole=whole)]
    text = readings_of(w, cells)
    refs = tuple(dict.fromkeys(r for c in hit or cells for r in c.mean.runs))
    boards = tuple(dict.fromkeys(c.board for c in hit or cells))
    if not hit and not place.stated and len(cells) > 1:
        return None
    verdict = V.SUPPORTED if hit else V.CONTRADICTED
    return Finding(verdict=verdict, why=text, refs=refs, boards=boards, true=text)


def _fits(c: Cell, each: Sequence[tuple[Num, int]], total: int, *, whole: bool) -> bool:
    """Whether one run of the state, or all of them together, has every figure as often as it was said. ``whole``: of
    exactly ``total`` readings."""
    for trials in (*((t,) for t in c.trials), c.trials):
        left = [r.value for t in trials for r in t.readings]
        if total > len(left) or (whole and total != len(left)):
            continue
        good = True
        for n, often in each:
            hits = [v for v in left if as_figure(v, n)][:often]
            good = good and len(hits) == often
            for v in hits:
                left.remove(v)
        if good:
            return True
    return False
