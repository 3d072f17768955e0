"""Figures said to have been read, ranges, and bounds: ``nobody gets below 17``, ``only the one breaks 100``."""

from __future__ import annotations

import re

import msgspec

from leadoff.claims.spoken.evidence import as_figure, reads
from leadoff.claims.spoken.scene import Ask
from leadoff.claims.spoken.values import Finding, Num, Verdict
from leadoff.claims.values import Trial
from leadoff.record.runs import Direction

V = Verdict
_RANGE = re.compile(
    r"\b(?:between|from|anywhere between|somewhere between)? ?\{(n\d+)\} ?(?:and|to|-|or) ?\{(n\d+)\}"
)
_REACH = (
    r"(?:reach(?:e[sd])?|reached|breaks?|broke|broken|tops?|topped|exceeds?|exceeded|"
    r"passes|passed|beats?|beat|gets? to|got to|"
    r"gets? (?:past|over|above|beyond)|got (?:past|over|above|beyond)|goes (?:past|"
    r"over|above|beyond)|makes?|made|manages?|"
    r"managed|hits?|hit|clears?|cleared|does|did|do|cracks?|cracked|over|above|beyond|"
    r"past|more than|comes? near|came near|"
    r"gets?|got|scored?|saw|sees|seen)"
)
_BELOW = (
    r"(?:below|under|less than|beneath|(?:gets?|got|goes|went|comes?|came|drops?|dropped|"
    r"falls?|fell|dips?|dipped|sinks|sank)"
    r" (?:below|under|beneath)|stays? (?:below|under)|stayed (?:below|under))"
)
_NONE = r"\b(?:no|none|nobody|nothing|neither|never|not)\b"


def bounds(ask: Ask) -> list[Finding]:
    """Sentences over several runs or boards with one figure to pass."""
    said = ask.said
    figures = ask.figures()
    if len(figures) != 1 or not ask.workloads:
        return []
    n, low = said.num(figures[0]), ask.low
    if m := re.search(r"\b(faster|quicker|slower) than \{n", low):
        lower = ask.evidence.ledger.workloads[ask.workloads[0]].direction is Direction.LOWER
        below = lower == (m[1] != "slower")
        over = not below
    else:
        below = re.search(_BELOW, low) is not None or n.mod == "under"
        over = re.search(rf"\b{_REACH}\b", low) is not None or n.mod == "over"
    only = re.search(r"\bonly (?:the )?(?:\{b\d+\}|\{k\d+\})|\{b\d+\} (?:is|was) the only\b|\balone\b", low)
    none = re.search(_NONE, low)
    every = re.search(r"\b(?:all|every|each|both|always|everything)\b", low) is not None
    stays = re.search(r"\b(?:stays?|stayed|always|kept|keeps)\b", low) is not None
    if not (below or over):
        return []
    found: list[Finding] = []
    for w in ask.workloads:
        if only is not None and ask.boards:
            found.append(_only(ask, w, n, below))
        elif none is not None:
            found.append(_none(ask, w, n, below))
        elif every and (len(ask.scope) > 1 or stays):
            found.append(_every(ask, w, n, below, stays))
        elif (
            n.mod in ("over", "under")
            or below
            or re.search(r"\b(?:breaks?|broke|tops?|topped|exceed|pass|clear|crack|past|beyond)", low)
        ) and not ask.has(r"\bfaster|slower|quicker\b"):
            found.append(_some(ask, w, n, below))
    return [
        msgspec.structs.replace(f, used=frozenset({figures[0], *ask.wants, *said.signs("gr")})) for f in found
    ]


def _trials(ask: Ask, w: str, boards: list[str] | None = None) -> list[Trial]:
    ev = ask.evidence
    scope = set(boards if boards is not None else ask.scope)
    return [
        t
        for t in ev.ledger.of(w)
        if t.board in scope and ev.as_said(t, ask.want_list()) and (not ask.rigs or t.rig in ask.rigs)
    ]


def _passes(t: Trial, n: Num, below: bool) -> bool:
    return any(r.value < n.value if below else r.value >= n.value - 1e-9 for r in t.readings)


def _finding(ok: bool, hits: list[Trial], all_: list[Trial], w: str, text: str) -> Finding:
    return Finding(
        verdict=V.SUPPORTED if ok else V.CONTRADICTED,
        why=text,
        refs=tuple(t.number for t in (hits or all_))[:12],
        boards=tuple(dict.fromkeys(t.board for t in (hits or all_))),
        true=text,
    )


def _span(trials: list[Trial], w: str) -> str:
    values = [r.value for t in trials for r in t.readings]
    return f"{w}: these runs read {min(values):g} to {max(values):g}"


def _none_there(ask: Ask, w: str) -> Finding:
    names = ", ".join(ask.boards) or "no board"
    return Finding(
        verdict=V.UNTESTED, why=f"{names}: no run of {w} in such a state", boards=tuple(ask.boards)
    )


def _none(ask: Ask, w: str, n: Num, below: bool) -> Finding:
    trials = _trials(ask, w)
    if not trials:
        return _none_there(ask, w)
    if ask.has(r"\b(?:beats?|beat|better)\b"):
        below = ask.evidence.ledger.workloads[w].direction is Direction.LOWER
    strict = not ask.has(
        r"\b(?:reach(?:e[sd])?|hits?|manages?|managed|makes?|made|gets? to|got to|does|did|do|sees?|saw|touch)\b"
    ) or ask.has(
        r"\b(?:above|over|past|beyond|more than|better|faster|quicker|slower|below|under|less than)\b"
    )
    same = msgspec.structs.replace(n, mod="")
    hits = [t for t in trials if _passes(t, n, below) and not (strict and reads(t, same))]
    return _finding(not hits, hits, trials, w, _span(trials, w))


def _only(ask: Ask, w: str, n: Num, below: bool) -> Finding:
    members = ask.boards
    everyone = _trials(ask, w, list(ask.evidence.ledger.boards))
    hits = {t.board for t in everyone if _passes(t, n, below)}
    mine = [t for t in everyone if t.board in members]
    if not mine:
        return _none_there(ask, w)
    text = f"{w}: {'below' if below else 'at or above'} {n.value:g} are {', '.join(sorted(hits)) or 'none'}"
    return _finding(hits == set(members), [], everyone, w, text)


def _every(ask: Ask, w: str, n: Num, below: bool, stays: bool) -> Finding:
    by_board = {b: _trials(ask, w, [b]) for b in ask.scope}
    missing = [b for b, ts in by_board.items() if not ts]
    if missing:
        return Finding(
            verdict=V.UNTESTED, why=f"{w} has no run on {', '.join(missing)}", boards=tuple(missing)
        )
    trials = [t for ts in by_board.values() for t in ts]
    if stays:
        ok = all((r.value < n.value) if below else (r.value >= n.value) for t in trials for r in t.readings)
    else:
        ok = all(any(_passes(t, n, below) for t in ts) for ts in by_board.values())
    return _finding(ok, [], trials, w, _span(trials, w))


def _some(ask: Ask, w: str, n: Num, below: bool) -> Finding:
    trials = _trials(ask, w)
    if not trials:
        return _none_there(ask, w)
    hits = [t for t in trials if _passes(t, n, below)]
    return _finding(bool(hits), hits, trials, w, _span(trials, w))


def figures(ask: Ask, spent: frozenset[str]) -> list[Finding]:
    """Figures said to have been read, that no other rule has used."""
    said = ask.said
    open_ = [f for f in ask.figures() if f not in spent]
    found: list[Finding] = []
    for m in _RANGE.finditer(ask.low):
        if m[1] in open_ and m[2] in open_:
            found.append(_range(ask, m[1], m[2]))
            open_ = [f for f in open_ if f not in m.groups()]
    if ask.has(r"\b(?:would|will|could|should|might|expect|hope|guess)\b") and open_:
        return [*found, _imagined(ask, frozenset(open_))]
    for sign in open_:
        found.append(_figure(ask, sign, said.num(sign)))
    return found


def _imagined(ask: Ask, used: frozenset[str]) -> Finding:
    wants, ev = ask.want_list(), ask.evidence
    trials = [t for w in ask.workloads for t in _trials(ask, w)] if wants and ask.workloads else []
    if trials and ask.boards:
        found = [_figure(ask, s, ask.said.num(s)) for s in sorted(used)]
        return msgspec.structs.replace(found[0], used=used | frozenset(ask.wants))
    sealed = [
        s
        for s in ev.ledger.sealed
        if s.board in ask.boards and s.workload in ask.workloads and not s.answered_by
    ]
    text = "no run in that state yet" + (
        f"; forecast {sealed[0].number} says {sealed[0].lo:.4g} to {sealed[0].hi:.4g}" if sealed else ""
    )
    verdict = V.UNTESTED if ask.boards else V.NOT_PLACED
    return Finding(
        verdict=verdict,
        why=text,
        refs=tuple(s.number for s in sealed),
        boards=tuple(ask.boards),
        used=used | frozenset(ask.wants),
        true=text,
    )


def _pool(ask: Ask) -> tuple[list[Trial], bool, list[Trial]]:
    """Runs as said; whether a state was named; all runs of these boards in the workload."""
    ev = ask.evidence
    runs = [ev.by_number[r] for r in ask.said.runs if r in ev.by_number]
    workloads = ask.workloads or list(ev.ledger.workloads)
    every = [t for w in workloads for t in ev.ledger.of(w) if t.board in ask.scope]
    if runs:
        return [t for t in runs if t.readings], True, every
    named = bool(ask.want_list()) or bool(ask.rigs)
    return [t for w in workloads for t in _trials(ask, w)], named, every


def _own_pool(ask: Ask, sign: str) -> list[Trial] | None:
    """Of several figures each in a state of its own: ``with it 24, without 25.5``, ``24 instead of 27``."""
    ev, low = ask.evidence, ask.low
    at = ask.said.at(sign)
    every = [
        t for w in ask.workloads or list(ev.ledger.workloads) for t in ev.ledger.of(w) if t.board in ask.scope
    ]
    before = r"\b(?:instead of|up from|down from|from|used to be|was|rather than|and not) $"
    if re.search(before, low[:at]) and not ask.wants:
        return every
    spots = sorted(ask.said.at(f) for f in ask.figures())
    wants = [(ask.said.at(s), ask.said.want(s)) for s in ask.wants]
    clash = any(a.names & b.names and a.tests != b.tests for _, a in wants for _, b in wants)
    if len(spots) < 2 or not clash:
        return None
    last = max((p for p in spots if p < at), default=-1)
    mine = [w for p, w in wants if last < p < at]
    if not mine:
        return None
    held = [*mine, *ask.base(mine)]
    return [t for t in every if ev.as_said(t, held) and (not ask.rigs or t.rig in ask.rigs)]


def _figure(ask: Ask, sign: str, n: Num) -> Finding:
    pool, named, every = _pool(ask)
    if (own := _own_pool(ask, sign)) is not None:
        pool = own
    used = frozenset({sign, *ask.wants, *ask.said.signs("gr")})
    boards = tuple(ask.boards)
    denied = re.search(r"\b(?:not|never)\b(?: \w+){0,3} ?$", ask.low[: ask.said.at(sign)]) is not None
    hits = [t for t in pool if reads(t, n)]
    goes = [x for x in said_goes(ask) if ask.said.num(x).value == len(hits)]
    used |= frozenset(goes)
    if denied:
        hits = [t for t in pool if reads(t, n) or (n.mod == "" and _reaches(ask, t, n))]
        ok = not hits and bool(pool)
        text = _span(pool, pool[0].workload or "") if pool else "no run in that state"
        verdict = V.SUPPORTED if ok else V.CONTRADICTED if pool else V.UNTESTED
        return Finding(
            verdict=verdict, why=text, refs=_numbers(hits or pool), boards=boards, used=used, true=text
        )
    if hits:
        who = "; ".join(dict.fromkeys(f"run {t.number} ({t.board}) reads {_read(t)}" for t in hits[:4]))
        return Finding(
            verdict=V.SUPPORTED,
            why=who,
            refs=_numbers(hits),
            boards=boards or tuple(dict.fromkeys(t.board for t in hits)),
            used=used,
            true=who,
        )
    if named and pool:
        text = "; ".join(f"run {t.number} ({t.board}) reads {_read(t)}" for t in pool[:4])
        return Finding(
            verdict=V.CONTRADICTED, why=text, refs=_numbers(pool), boards=boards, used=used, true=text
        )
    if named and not _tried(ask):
        text = f"{', '.join(boards) or 'no board'}: no run in such a state"
        return Finding(verdict=V.UNTESTED, why=text, boards=boards, used=used, true=text)
    if boards and not every and ask.workloads:
        text = f"{', '.join(boards)}: {ask.workloads[0]} was never run there"
        return Finding(verdict=V.UNTESTED, why=text, boards=boards, used=used, true=text)
    text = f"no run reads {n.value:g}" + (
        f"; {_span(every, ask.workloads[0])}" if every and ask.workloads else ""
    )
    return Finding(verdict=V.NOT_FOUND, why=text, refs=(), boards=boards, used=used, true=text)


def said_goes(ask: Ask) -> list[str]:
    """``two sessions``: how many runs are said to have read a figure."""
    return [x for x in ask.said.signs("n") if ask.said.num(x).kind == "goes"]


def _tried(ask: Ask) -> bool:
    """Whether the state was run at all but failed: then the figure is contradicted by its failing."""
    return False


def _reaches(ask: Ask, t: Trial, n: Num) -> bool:
    w = ask.evidence.ledger.workloads[t.workload or ""]
    if not ask.has(rf"\b{_REACH}\b"):
        return False
    return any(
        r.value >= n.value if w.direction is Direction.HIGHER else r.value <= n.value for r in t.readings
    )


def _range(ask: Ask, lo: str, hi: str) -> Finding:
    a, b = sorted((ask.said.num(lo).value, ask.said.num(hi).value))
    pool, named, every = _pool(ask)
    if not ask.workloads:
        fits = {t.workload for t in pool if all(a <= r.value <= b for r in t.readings)}
        pool = [t for t in pool if t.workload in fits] if len(fits) == 1 else []
    used = frozenset({lo, hi, *ask.wants, *ask.said.signs("gr")})
    edge = 0.5 * 10.0 ** -max(ask.said.num(lo).places, ask.said.num(hi).places)
    inside = [t for t in pool if all(a - edge <= r.value <= b + edge for r in t.readings)]
    ok = bool(inside) and (not named or len(inside) == len(pool))
    text = (
        "; ".join(f"run {t.number} ({t.board}) reads {_read(t)}" for t in (inside or pool)[:4])
        or "no such run"
    )
    if (
        ok
        and not named
        and len({t.key for t in pool}) > 1
        and len(inside) < len(pool)
        and not ask.has(r"\b(?:scored|read|got|did|was)\b")
    ):
        # "does between 17 and 29" of a board in many states speaks of all of them.
        ok = False
    verdict = (
        V.SUPPORTED
        if ok
        else V.CONTRADICTED
        if pool and (named or inside or len(every) == len(pool))
        else V.UNTESTED
    )
    if not ok and not named and not inside:
        verdict = V.NOT_FOUND if pool else V.UNTESTED
    return Finding(
        verdict=verdict,
        why=text,
        refs=_numbers(inside or pool),
        boards=tuple(ask.boards),
        used=used,
        true=text,
    )


def _read(t: Trial) -> str:
    return " ".join(r.text for r in t.readings)


def _numbers(trials: list[Trial]) -> tuple[str, ...]:
    return tuple(t.number for t in trials)[:12]


def some_figure(values: list[float], n: Num) -> bool:
    """Whether any of these is the figure."""
    return any(as_figure(v, n) for v in values)
