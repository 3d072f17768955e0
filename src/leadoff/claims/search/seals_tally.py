"""How many forecasts are said to have held, against those that were sealed before their run and then tried."""

from __future__ import annotations

import re
from collections.abc import Sequence

import msgspec

from leadoff.claims.search.seals_words import Outcome, outcomes, timing
from leadoff.claims.spoken.evidence import Evidence
from leadoff.claims.spoken.reading import Said
from leadoff.claims.values import Sealed

_EVERY = re.compile(r"\b(?:every|each|all|both|always|everything|whatever|without exception|no exception)\b")
_NONE = re.compile(
    r"\b(?:none|neither|nobody|(?:not|never|yet to) (?:even )?(?:seal\w* |made? |had? |see |seen )?(?:a single|"
    r"single|one|1|a|any)|"
    r"no (?:\w+ ){0,2}?(?:forecast|prediction|seal|envelope|prophecy)s?)\b|\b(?:not|never) (?:even )?\{n\d+\}"
)
"""None of them: what comes after it is denied of all."""
_MOST = re.compile(r"\bmost\b(?! (?:of the time))")
_LEFT_OUT = re.compile(
    r"\b(?:leav\w+ out|left out|ignor\w+|apart from|except\w*|excluding|exclud\w+|without|"
    r"forget\w*|aside|bar|barring|discount\w*|not counting|setting aside|skip\w*|discard\w*|drop\w*|minus|strike)\b"
)
_OF = re.compile(r"\{(n\d+)\} (?:\w+ ){0,2}?(?:of|out of|in|from) (?:the |these |those |my |all )*\{(n\d+)\}")
_OF_WHOLE = re.compile(
    r"\b(?:of|out of|from|among) (?:the |these |those |my |all |honest |other |remaining )*\{(n\d+)\}"
)
_NOUNED = re.compile(r"\{(n\d+)\} (?:\w+ ){0,2}?(?:forecasts|predictions|seals|envelopes|prophecies|bands)\b")
_ONE = re.compile(
    r"(?:\b(?:only|just|exactly|and|but|bar)|,) (?:the )?(?:one|1|a single)(?: of (?:them|these|those))?(?= )"
    r"(?! (?:that|which|who|never|nobody|sealed))"
)
_ALL_BUT = re.compile(r"\ball (?:but|except|bar|save) (?:for )?(one|two|three|1|2|3)\b", re.I)
_WORTH = {"one": 1, "two": 2, "three": 3, "1": 1, "2": 2, "3": 3}
_LATE = re.compile(r"\bseal\w* (?:\w+ ){0,2}(?:after|late)\b")


_SEALED = re.compile(
    r"\b(?:seal\w*|shut|closed|signed|written|wrote|made|dated|put|set|stamped|older|younger)\b"
)
_CAME_OUT = ("held", "missed", "worse", "better")


class Tally(msgspec.Struct, frozen=True, kw_only=True):
    """``fits``: whether all of what was counted is so; ``clear``: whether every number of it was understood."""

    fits: bool
    clear: bool
    pool: tuple[Sealed, ...]
    inside: tuple[Sealed, ...]


def held(s: Sealed, ev: Evidence) -> bool:
    """Whether every run that answered it came out inside its band."""
    means = [mean(ev, r) for r in s.answered_by]
    return bool(means) and all(s.lo <= m <= s.hi for m in means)


def mean(ev: Evidence, run: str) -> float:
    """The mean of a run's readings."""
    found = [r.value for r in ev.by_number[run].readings]
    return sum(found) / len(found)


def tally(said: Said, low: str, boards: Sequence[str], ev: Evidence) -> Tally | None:
    """A count over forecasts; ``None`` where none is said."""
    works = {said.workloads[int(s[1:])] for s in said.signs("w")}
    pool = [
        s
        for s in ev.ledger.sealed
        if s.answered_by and (not boards or s.board in boards) and (not works or s.workload in works)
    ]
    if not pool:
        return None
    inside = [s for s in pool if held(s, ev)]
    cut, clear = _left_in(low)
    found = outcomes(cut)
    if any(o.kind == "untried" for o in found) or _LATE.search(cut):
        clear = False
    spent: set[str] = set()
    checks: list[bool] = []
    if (none := _NONE.search(cut)) and (
        o := next((x for x in found if x.kind in _CAME_OUT and x.at >= none.start()), None)
    ):
        spent |= {s for s in said.signs("n") if said.num(s).value in (0, 1, len(pool))}
        checks.append(len(inside) == (0 if o.kind == "held" else len(pool)))
    if (but := _ALL_BUT.search(said.plain.text)) and (o := _near(found, 0, None)) is not None:
        spent |= {s for s in said.signs("n") if said.num(s).value == _WORTH[but[1].lower()]}
        checks.append(_count(o, pool, inside) == len(pool) - _WORTH[but[1].lower()])
    for m in _OF.finditer(cut):
        part, whole = said.num(m[1]), said.num(m[2])
        spent |= {m[1], m[2]}
        o = _near(found, m.end(), m.start())
        clear = clear and o is not None
        checks.append(whole.value == len(pool) and part.value == _count(o, pool, inside))
    for m in (*_OF_WHOLE.finditer(cut), *_NOUNED.finditer(cut)):
        if m[1] not in spent:
            spent.add(m[1])
            checks.append(
                said.num(m[1]).value
                in (len(pool), *([_count(o, pool, inside)] if (o := _near(found, m.end(), None)) else []))
            )
    for sign in re.findall(r"\{(n\d+)\}", cut):
        if sign in spent:
            continue
        n = said.num(sign)
        at = cut.find(f"{{{sign}}}")
        o = _near(found, at, at)
        if n.places or n.unit not in ("", "x") or o is None:
            clear = False
            continue
        spent.add(sign)
        if n.kind in ("count", "all") and n.of is not None:
            checks.append(n.of == len(pool))
        checks.append(n.value == _count(o, pool, inside))
    for m in () if but or none else _ONE.finditer(cut):
        o = _near(found, m.end(), None)
        if o is not None:
            checks.append(_count(o, pool, inside) == 1)
    if (
        not checks
        and not found
        and (when := timing(cut))
        and _SEALED.search(cut)
        and (_EVERY.search(cut) or none)
    ):
        # When all of them were sealed: those that came too late count here.
        all_ = [
            s
            for s in ev.ledger.sealed
            if (not boards or s.board in boards) and (not works or s.workload in works)
        ]
        run = [s for s in all_ if s.answered_by or s.late_for]
        late = [s for s in run if not s.answered_by]
        so = late if when == "late" else [s for s in run if s not in late]
        fits = not so if none else len(so) == len(run)
        return Tally(fits=fits, clear=True, pool=tuple(run), inside=tuple(so))
    if not checks and found:
        o = next((x for x in found if x.held is not None), None)
        if o is None:
            return None
        if _EVERY.search(cut):
            checks.append(_count(msgspec.structs.replace(o, denied=False), pool, inside) == len(pool))
            clear = clear and not o.denied
        elif _MOST.search(cut):
            checks.append(2 * _count(o, pool, inside) > len(pool))
    if not checks:
        return None
    return Tally(fits=all(checks), clear=clear, pool=tuple(pool), inside=tuple(inside))


def _left_in(low: str) -> tuple[str, bool]:
    """The sentence without the part that names what is not counted."""
    parts = low.split(" , ")
    kept = [p for p in parts if not _LEFT_OUT.search(p)]
    if len(kept) == len(parts):
        return low, True
    return f" {' , '.join(kept)} ", True


def _near(found: Sequence[Outcome], after: int, before: int | None) -> Outcome | None:
    """The outcome that a number goes with: the next one that says how it came out, else the last before it."""
    said = [o for o in found if o.held is not None]
    later = next((o for o in said if o.at >= after), None)
    return later or (said[-1] if said and before is not None else None)


def _count(o: Outcome | None, pool: Sequence[Sealed], inside: Sequence[Sealed]) -> int:
    if o is None or o.held is not False:
        return len(inside)
    return len(pool) - len(inside)
