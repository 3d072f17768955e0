"""Figures said to have been read, and ranges of them."""

from __future__ import annotations

import re

import msgspec

from leadoff.claims.spoken.bounds import REACH, said_trials, span
from leadoff.claims.spoken.counts import every_go
from leadoff.claims.spoken.cues import extremes
from leadoff.claims.spoken.evidence import as_figure, reads
from leadoff.claims.spoken.owners import owner_of
from leadoff.claims.spoken.scene import Ask
from leadoff.claims.spoken.values import Finding, Num, Verdict
from leadoff.claims.values import Trial
from leadoff.record.runs import Direction

V = Verdict
_RANGE = re.compile(
    r"\b(?:between|from|anywhere between|somewhere between)? ?\{(n\d+)\} ?(?:and|to|-|or) ?\{(n\d+)\}"
)


_OF_MORE = re.compile(
    r"\b(?:best|worst|fastest|slowest|quickest|highest|lowest|weakest|poorest|longest|shortest|largest|smallest|strongest|"
    r"second|third|fourth|fifth|top|bottom|least|most|maximum|minimum|floor|ceiling|peak|head|foot|"
    r"yet to|beyond|reach|as (?:good|fast|high|low|bad|slow) as it|after the \{b\d+\}|then the|"
    r"however|everything|outright|of the lot|of these|runner-up|next best)\b|\bevery (?:number|figure|reading)|"
    r"\bonly\b.*\{b\d+\}|\{b\d+\}.*\bonly\b"
)
"""More is said than that a figure was read: it is first or last, or all there is."""


def figures(ask: Ask, spent: frozenset[str]) -> list[Finding]:
    """Figures said to have been read, that no other rule has used."""
    said = ask.said
    open_ = [f for f in ask.figures() if f not in spent]
    if open_ and (extremes(ask.low) or _OF_MORE.search(ask.low)):
        return [Finding(verdict=V.NOT_PLACED, why="an end of all that was read, which this does not look at")]
    found: list[Finding] = []
    for sign in [s for s in open_ if re.search(rf"\{{{s}\}} times\b", ask.low)]:
        # So many times as much, or so often: no reading.
        open_.remove(sign)
        why = f"what is {said.num(sign).text} times as much or was done so often is not clear"
        found.append(Finding(verdict=V.NOT_PLACED, why=why))
    for m in _RANGE.finditer(ask.low):
        if m[1] in open_ and m[2] in open_:
            found.append((_move if _moves(ask, m) else _range)(ask, m[1], m[2]))
            open_ = [f for f in open_ if f not in m.groups()]
    if ask.has(r"\b(?:would(?! not start)|will|could|should|might|expect|hope|guess)\b") and open_:
        return [*found, _imagined(ask, frozenset(open_))]
    for sign in open_:
        found.append(_figure(ask, sign, said.num(sign)))
    return found


def _imagined(ask: Ask, used: frozenset[str]) -> Finding:
    wants, ev = ask.want_list(), ask.evidence
    trials = [t for w in ask.workloads for t in said_trials(ask, w)] if wants and ask.workloads else []
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
    return [t for w in workloads for t in said_trials(ask, w)], named, every


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
    rig = re.match(r"\{n\d+\} (?:\w+ )?(?:on|with|under|using) (?:the |its )?\{(g\d+)\}", low[at:])
    if rig and len(set(ask.rigs)) > 1:
        held_rig = ask.said.rigs[int(rig[1][1:])]
        return [t for t in every if t.rig == held_rig and ev.as_said(t, ask.want_list())]
    spots = sorted(ask.said.at(f) for f in ask.figures())
    wants = [(ask.said.at(s), ask.said.want(s)) for s in ask.wants]
    clash = any(a.names & b.names and a.tests != b.tests for _, a in wants for _, b in wants)
    if len(spots) < 2 or not clash:
        return None
    after = re.match(r"\{n\d+\} (?:\w+ )?(?:(?:at|with|on|without|under) )?(?:the )?\{(s\d+)\}", low[at:])
    last = max((p for p in spots if p < at), default=-1)
    mine = [ask.said.want(after[1])] if after else [w for p, w in wants if last < p < at]
    rivals = [w for _, w in wants if any(w.names & v.names and w.tests != v.tests for _, v in wants)]
    if len(rivals) == len(spots) and all(p < spots[0] for p, _ in wants) and not after:
        # "0 waits against 1: 58.1 against 61.4": the figures in the order of the states.
        mine = [rivals[spots.index(at)], *(w for _, w in wants if w not in rivals)]
    if not mine:
        return None
    mine += [w for p, w in wants if w not in rivals and w not in mine and p > max(spots)]
    held = [*mine, *ask.base(mine)]
    return [t for t in every if ev.as_said(t, held) and (not ask.rigs or t.rig in ask.rigs)]


def _figure(ask: Ask, sign: str, n: Num) -> Finding:
    pool, named, every = _pool(ask)
    if (own := _own_pool(ask, sign)) is not None:
        pool = own
    board, work, rig = owner_of(ask, sign)
    elsewhere = any(reads(t, n) for t in pool)
    pool = [
        t for t in pool if board in (None, t.board) and work in (None, t.workload) and rig in (None, t.rig)
    ]
    used = frozenset({sign, *ask.wants, *ask.said.signs("gr")})
    boards = tuple(ask.boards)
    denied = re.search(r"\b(?:not|never)\b(?: \w+){0,3} ?$", ask.low[: ask.said.at(sign)]) is not None
    hits = [t for t in pool if reads(t, n)]
    if len(ask.said.runs) > 1 and len(ask.figures()) == 1 and {t.number for t in hits} < set(ask.said.runs):
        hits = []
    goes = [
        x for x in said_goes(ask) if ask.said.num(x).value in (len(hits), *(len(t.readings) for t in hits))
    ]
    full = [x for x in every_go(ask) if any(len(t.readings) == ask.said.num(x).value for t in hits)]
    hits = [t for t in hits if not full or all(as_figure(r.value, n) for r in t.readings)]
    used |= frozenset([*goes, *full])
    if denied:
        hits = [t for t in pool if reads(t, n) or (n.mod == "" and _reaches(ask, t, n))]
        ok = not hits and bool(pool)
        text = span(pool, pool[0].workload or "") if pool else "no run in that state"
        verdict = V.SUPPORTED if ok else V.CONTRADICTED if pool else V.UNTESTED
        return Finding(
            verdict=verdict, why=text, refs=_numbers(hits or pool), boards=boards, used=used, true=text
        )
    if hits and not (boards or ask.all_boards or ask.said.runs):
        owners = {t.board for t in hits}
        if len(owners) > 1 or n.mod in ("over", "under"):
            why = f"{n.text} could be said of several boards: {', '.join(sorted(owners))}"
            return Finding(verdict=V.NOT_PLACED, why=why, used=used)
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
    if (named or elsewhere) and pool:
        text = "; ".join(f"run {t.number} ({t.board}) reads {_read(t)}" for t in pool[:4])
        return Finding(
            verdict=V.CONTRADICTED, why=text, refs=_numbers(pool), boards=boards, used=used, true=text
        )
    if named:
        text = f"{', '.join(boards) or 'no board'}: no run in such a state"
        return Finding(verdict=V.UNTESTED, why=text, boards=boards, used=used, true=text)
    if boards and not every and ask.workloads:
        text = f"{', '.join(boards)}: {ask.workloads[0]} was never run there"
        return Finding(verdict=V.UNTESTED, why=text, boards=boards, used=used, true=text)
    text = f"no run reads {n.value:g}" + (
        f"; {span(every, ask.workloads[0])}" if every and ask.workloads else ""
    )
    return Finding(verdict=V.NOT_FOUND, why=text, refs=(), boards=boards, used=used, true=text)


def said_goes(ask: Ask) -> list[str]:
    """``two sessions``: how many runs are said to have read a figure."""
    return [x for x in ask.said.signs("n") if ask.said.num(x).kind == "goes"]


def _reaches(ask: Ask, t: Trial, n: Num) -> bool:
    w = ask.evidence.ledger.workloads[t.workload or ""]
    if not ask.has(rf"\b{REACH}\b"):
        return False
    return any(
        r.value >= n.value if w.direction is Direction.HIGHER else r.value <= n.value for r in t.readings
    )


def _range(ask: Ask, lo: str, hi: str) -> Finding:
    a, b = sorted((ask.said.num(lo).value, ask.said.num(hi).value))
    if ask.has(r"\b(?:range[sd]?|stretch(?:es|ed)?|spans?|spanned|covers?|covered|whatever|however)\b"):
        return Finding(verdict=V.NOT_PLACED, why="both ends of what was read, which this does not look at")
    pool, named, every = _pool(ask)
    if not ask.workloads:
        fits = {t.workload for t in pool if all(a <= r.value <= b for r in t.readings)}
        pool = [t for t in pool if t.workload in fits] if len(fits) == 1 else []
    used = frozenset({lo, hi, *ask.wants, *ask.said.signs("gr")})
    edge = 0.5 * 10.0 ** -max(ask.said.num(lo).places, ask.said.num(hi).places)
    if not named and pool and ask.has(r"\b(?:all told|in all|overall|altogether|all in all)\b"):
        values = [r.value for t in pool for r in t.readings]
        ok = abs(min(values) - a) <= edge + 1e-9 and abs(max(values) - b) <= edge + 1e-9
        text = span(pool, pool[0].workload or "")
        verdict = V.SUPPORTED if ok else V.CONTRADICTED
        return Finding(
            verdict=verdict, why=text, refs=_numbers(pool), boards=tuple(ask.boards), used=used, true=text
        )
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


_ENDS = (
    r"\bbetween (?:the )?(?:slowest|lowest|worst|fastest|highest|"
    r"best) (?:\w+ )?and (?:the )?(?:slowest|lowest|worst|fastest|highest|best)\b"
)


def _gap(ask: Ask) -> list[Finding]:
    """``the gap between the best and the second best is 4.8 seconds``: the best of the two first boards."""
    form = (
        r"\bbetween (?:the )?(?:best|fastest|quickest|first|winner) and (?:the )?(?:second|next|"
        r"runner)\b|\bahead of (?:the )?(?:second|next)\b"
    )
    nums = [s for s in ask.said.signs("n") if ask.said.num(s).kind in ("value", "difference")]
    if not re.search(form, ask.said.plain.low) or len(nums) != 1 or len(ask.workloads) != 1:
        return []
    ev, w = ask.evidence, ask.workloads[0]
    best = [ev.best(cells) for b in ev.ledger.boards if (cells := ev.cells(w, [b]))]
    if len(best) < 2 or len({c.rig for c in best}) > 1:
        return []
    up = ev.ledger.workloads[w].direction is Direction.HIGHER
    one, two, *_ = sorted((c.mean.value for c in best), reverse=up)
    n = ask.said.num(nums[0])
    ok = as_figure(abs(one - two), msgspec.structs.replace(n, mod=n.mod or "about"))
    text = f"{w}: {one:.4g} and {two:.4g}"
    used = frozenset({*ask.said.signs("nswgr"), "second", "next"})
    verdict = V.SUPPORTED if ok else V.CONTRADICTED
    refs = tuple(r for c in best for r in c.mean.runs)
    return [
        Finding(
            verdict=verdict, why=text, refs=refs, boards=tuple(c.board for c in best), used=used, true=text
        )
    ]


def _apart(ask: Ask) -> list[Finding]:
    """``between the slowest and the fastest score of the board lie 18 frames``."""
    nums = [s for s in ask.said.signs("n") if ask.said.num(s).kind in ("value", "difference")]
    if not ask.has(_ENDS) or len(nums) != 1 or len(ask.workloads) != 1:
        return []
    pool = said_trials(ask, ask.workloads[0])
    values = [r.value for t in pool for r in t.readings]
    if not values:
        return []
    n = ask.said.num(nums[0])
    ok = as_figure(max(values) - min(values), msgspec.structs.replace(n, mod=n.mod or "about"))
    text = span(pool, ask.workloads[0])
    used = frozenset({*nums, *ask.wants, *ask.said.signs("gr")})
    verdict = V.SUPPORTED if ok else V.CONTRADICTED
    return [
        Finding(
            verdict=verdict, why=text, refs=_numbers(pool), boards=tuple(ask.boards), used=used, true=text
        )
    ]


def _move(ask: Ask, left: str, to: str) -> Finding:
    """Two figures of one board that were both read, one of them in the state that is named."""
    every = _pool(ask)[2]
    hits = [[t for t in every if reads(t, ask.said.num(s))] for s in (left, to)]
    wants = [w for w in ask.want_list() if "waits" not in w.names]
    used = frozenset({left, to, *ask.wants, *ask.said.signs("gr")})
    named = not wants or any(ask.evidence.as_said(t, wants) for ts in hits for t in ts)
    same = {t.board for t in hits[0]} & {t.board for t in hits[1]}
    text = "; ".join(f"run {t.number} ({t.board}) reads {_read(t)}" for ts in hits for t in ts[:2])
    if all(hits) and named and same:
        verdict = V.SUPPORTED
    else:
        verdict = V.CONTRADICTED if wants and every else V.NOT_FOUND if every else V.UNTESTED
        text = text or "no run reads these"
    refs = _numbers([t for ts in hits for t in ts])
    return Finding(verdict=verdict, why=text, refs=refs, boards=tuple(ask.boards), used=used, true=text)


def _moves(ask: Ask, m: re.Match[str]) -> bool:
    """``from 11.2 to 12.4`` of a score that moved: two figures that were read, and no range."""
    at = ask.low.find(m[0])
    before = ask.low[:at] + m[0][: m[0].find("{")]
    return re.search(r"\bfrom (?:\w+ )?$", before) is not None and not re.search(
        r"\b(?:anywhere|somewhere|rang(?:es?|ed|ing)|var(?:y|ies|ied)|wanders?|swings?|reads?|sits?|"
        r"readings?|is|it's|spans?|"
        r"anything)\b[^{]*$",
        before,
    )


def spread(ask: Ask) -> list[Finding]:
    """A range over every board: its ends where it goes from one to the other, else all that was read is inside."""
    if found := _apart(ask) or _gap(ask):
        return found
    m = _RANGE.search(ask.low)
    if m is None or ask.boards or not ask.all_boards or not {*m.groups()} <= set(ask.figures()):
        return []
    a, b = sorted(ask.said.num(s).value for s in m.groups())
    pool = [t for w in ask.workloads for t in said_trials(ask, w)]
    values = [r.value for t in pool for r in t.readings]
    if not values:
        return []
    ends = ask.has(r"\b(?:from|goes?|spans?|ranges?|stretch(?:es)?)\b") and not ask.has(r"\bbetween\b")
    inside = a - 0.051 <= min(values) and max(values) <= b + 0.051
    if ends:
        low_, high = sorted((ask.said.num(s) for s in m.groups()), key=lambda n: n.value)
        inside = as_figure(min(values), low_) and as_figure(max(values), high)
    ok = inside
    text = span(pool, pool[0].workload or "")
    verdict = V.SUPPORTED if ok else V.CONTRADICTED
    used = frozenset({*m.groups(), *ask.wants, *ask.said.signs("gr")})
    return [Finding(verdict=verdict, why=text, refs=_numbers(pool), used=used, true=text)]


def _read(t: Trial) -> str:
    return " ".join(r.text for r in t.readings)


def _numbers(trials: list[Trial]) -> tuple[str, ...]:
    return tuple(t.number for t in trials)[:12]
