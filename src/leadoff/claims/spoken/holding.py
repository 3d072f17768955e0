"""Stable, flawless, safe, never hung, always starts; soaks, copy-compares and cold starts by their counts."""

from __future__ import annotations

import re

import msgspec

from leadoff.claims.grade import Grade, failed, grade, is_copy, is_soak, is_start, unbacked, undefined
from leadoff.claims.spoken.counts import copies, counted_copies, every_go, said_count, soaked, starts
from leadoff.claims.spoken.holding_words import DENY, about, denied_before, event, turned
from leadoff.claims.spoken.names import harmless
from leadoff.claims.spoken.rates import rate
from leadoff.claims.spoken.scene import Ask
from leadoff.claims.spoken.starting import starting
from leadoff.claims.spoken.tallies import tallies
from leadoff.claims.spoken.unrun import MANAGE, unrun
from leadoff.claims.spoken.values import Finding, Verdict
from leadoff.claims.standings import state_words
from leadoff.claims.values import Trial
from leadoff.record.runs import Outcome

V = Verdict
STABLE = (
    r"\b(?:stable|rock solid|rock-solid|solid|reliable|reliably|flawless|flawlessly|"
    r"perfect|dependable|unstable|unreliable|"
    r"bulletproof|trustworthy|flaky|shaky|trouble-free|bombproof|steady|holds up|proven|"
    r"steady as a rock|(?:is|are|was|were|ran|runs|all|perfectly|squeaky) clean)\b"
)
FLAWLESS = r"\b(?:flawless|flawlessly|perfect|trouble-free|no faults?|nothing wrong)\b"
UN = r"\b(?:unstable|unreliable|flaky|shaky)\b"
SAFE = r"\b(?:safe|unsafe|safely|corrupts?|dangerous|risky|eats data|trust)\b"
HANG = r"\b(?:hung|hangs?|hanging|lock(?:s|ed)? up|froze|freezes?|frozen)\b"
CRASH = (
    r"\b(?:crash(?:es|ed|ing)?|reboot(?:s|ed|ing)?|falls? over|fell over|die[sd]?|"
    r"fail(?:s|ed|ing)?|quits?|gave up(?! \w+ing)|bombs?|bombed|resets? itself)\b"
)
START = (
    r"\b(?:start(?:s|ed|ing)?|boot(?:s|ed|ing)?|post(?:s|ed|ing)?|comes? up|came up|no picture|no video|"
    r"not come up|"
    r"black screen|lights? up|(?:is|was|were|went|goes|plays?|stays?|stayed|stone|completely|"
    r"quite) dead(?! heat| level| even| on| easy| right)|wakes? up|woke up|beeps?|beeped)\b"
)
COPY = r"\bcop(?:y-compares?|ies|y)\b|\bcompares?\b"
SOAK = r"\bsoak(?:s|ed|ing)?\b|\bburn-?in\b|\bovernight\b"


def holding(ask: Ask) -> list[Finding]:
    """Everything that the sentence says of holding."""
    if found := rate(ask) or tallies(ask):
        return [found]
    every = ask.all_boards or ask.has(r"\b(?:no|every) board\b")
    if not ask.boards and every and ask.has(f"{SOAK}|{STABLE}|{HANG}|{CRASH}|{START}|{MANAGE}"):
        ask.boards = list(ask.evidence.ledger.boards)
    if never := unrun(ask):
        return [never]
    out: list[Finding] = []
    counted = said_count(ask) if ask.has(f"{START}|{COPY}") or ask.said.signs("n") else None
    begins, compares = ask.has(START), ask.has(COPY) and not ask.workloads_named
    if counted is not None and begins and not ask.has(COPY):
        out.append(starts(ask, *counted))
    elif counted is not None and (compares or (counted[0].kind in ("count", "all") and _bare_count(ask))):
        out.append(counted_copies(ask, *counted))
    elif (
        ask.has(COPY)
        and (not ask.workloads_named or ask.has(r"\bcopies\b|\bcopy-compares?\b"))
        and ask.has(
            r"\b(?:clean|bad|wrong|corrupt(?:ed)?|good|fail(?:s|ed)?|pass(?:es|ed)?|never|not|without)\b"
        )
    ):
        out.append(copies(ask))
    hours = [s for s in ask.said.signs("n") if ask.said.num(s).kind == "hours"]
    crowned = ask.has(r"\b(?:champion|record|crown|title)\b")
    kept = ask.has(_KEPT) and not ask.workloads_named
    if ask.has(SOAK) or (hours and (kept or crowned) and not ask.figures()):
        out.append(soaked(ask))
    if out:
        return [*out, *_beside(ask, soak=ask.has(SOAK))]
    if ask.workloads_named and ask.boards and not ask.figures() and ask.has(THROUGH) and not ask.has(_OVER):
        return [_got_through(ask)]
    safe = f"{SAFE}|\\b(?:is|was|are) (?:perfectly |quite )?(?:fine|ok|okay|all right)(?= ,| ?$| there| here)"
    policy = any("l1_policy" in ask.said.want(s).names for s in ask.wants)
    if ask.has(safe if policy else SAFE) and (ask.want_list() or ask.has(r"write-back")):
        return [_safe(ask)]
    unbroken = ask.has(r"\bwithout a fault\b") and bool(ask.wants) and not ask.workloads_named
    if (ask.has(STABLE) or unbroken) and not ask.has(r"\bclean record\b|\brecord\b"):
        return [_stable(ask)]
    if ask.has(HANG) or ask.has(CRASH):
        return [_hung(ask)]
    if ask.has(START) and not ask.has(r"\b(?:start screen|started (?:with|from|at \{n|out)|start with)\b"):
        return [starting(ask)]
    return []


def _beside(ask: Ask, *, soak: bool) -> list[Finding]:
    """What is said of holding beside a count or a soak: stable, hung, rebooted."""
    out = []
    if (
        ask.has(STABLE)
        and ask.boards
        and not ask.has(f"{DENY}.*{STABLE}|{STABLE}.*{DENY}" if soak else r"\brecord\b")
    ):
        out.append(_stable(ask))
    if not soak and ask.boards and (ask.has(HANG) or ask.has(r"\breboot(?:s|ed)?\b")):
        out.append(_hung(ask))
    return out


def _bare_count(ask: Ask) -> bool:
    """``57 of 60`` of a board, with nothing said of what was counted, where the sentence counts no forecasts."""
    counted = any(ask.said.num(s).kind in ("count", "all") for s in ask.said.signs("n"))
    named = ask.has(
        r"\b(?:back|came|good|bad|wrong|clean|right|passed|compared?|data|files|corrupt|failed|fine|ok)\b"
    )
    return (
        counted
        and not every_go(ask)
        and (named or not ask.said.leftovers(harmless()))
        and not ask.has(r"\b(?:forecasts?|predict|bands?)")
    )


_KEPT = (
    r"\b(?:ran|runs?|running|held|holds?|stays?|stayed|went|goes|lasts?|lasted|surviv\w+|pass\w*|got|"
    r"gets|came|made it|"
    r"on end|straight|solid|kept|keeps|stood|up|without|through|looped|did|done|do|has|had|fail\w*|"
    r"crash\w*|hung|reboot\w*)\b"
)
_OVER = r"\b(?:ahead of|sooner|faster|quicker|slower|behind|than|before (?:the )?\{b)\b"
THROUGH = (
    r"\b(?:ran|runs|run|got|gets|goes|went|came|comes|finish(?:es|ed)?|complete[sd]?|"
    r"survive[sd]?)\b[^{]{0,20}\{w\d+\}"
    r"[^{]* without a fault\b|\b(?:finish(?:es|ed)?|complete[sd]?|survive[sd]?|passed|"
    r"(?:gets?|got|comes?|came|makes? it|made it|goes|went) (?:right |all the way |"
    r"clean )?through) (?:the )?\{w\d+\}"
)


def _got_through(ask: Ask) -> Finding:
    """A workload that is said to have run to its end in a state."""
    trials = [t for t in ask.evidence.trials(ask.boards, ask.want_list()) if t.workload in ask.workloads]
    bad = [t for t in trials if failed(t) or undefined(t)]
    denied = ask.has(r"\b(?:not|never|did not|could not)\b")
    if not trials:
        return about(ask, V.UNTESTED, f"{', '.join(ask.boards)}: no such run", [])
    verdict = turned(V.CONTRADICTED if bad else V.SUPPORTED, denied)
    return about(
        ask, verdict, "; ".join(event(t) for t in (bad or trials)[:3]), [t.number for t in bad or trials]
    )


def _stand_ins(ask: Ask) -> list[Trial]:
    return ask.evidence.trials(ask.boards, ask.want_list()) if ask.boards else []


def _states(ask: Ask, *, usual: bool = True) -> list[tuple[Trial, Grade]]:
    """States as said with their grades: of several, the usual ones where a clock was named."""
    wants = ask.want_list()
    trials = _stand_ins(ask)
    if ask.said.runs:
        trials = [t for t in trials if t.number in ask.said.runs]
    clocked = any(n in ("bus_mhz", "core_mhz", "ratio") for w in wants for n in w.names)
    if clocked and usual:
        trials = ask.evidence.usual_trials(trials, wants)
    keys = {(t.board, t.hold_key) for t in trials}
    every = ask.evidence.states(t for t in ask.evidence.ledger.trials if (t.board, t.hold_key) in keys)
    return [(ts[0], grade(ts)) for ts in every.values()]


def _stable(ask: Ask) -> Finding:
    if not ask.boards:
        return Finding(verdict=V.NOT_PLACED, why="no board to hold it against")
    denied = denied_before(ask, STABLE) != ask.has(UN)
    states = _states(ask, usual=not denied)
    wants = ask.want_list()
    per_board = [
        _stable_board(ask, b, [(t, g) for t, g in states if t.board == b], bool(wants)) for b in ask.boards
    ]
    order = (V.SUPPORTED, V.UNTESTED, V.CONTRADICTED)
    weakest = max(per_board, key=lambda x: order.index(x[0]))
    if denied and len(per_board) > 1:
        weakest = min(per_board, key=lambda x: order.index(x[0]))
    return about(ask, turned(weakest[0], denied), weakest[1], [r for x in per_board for r in x[2]])


def _stable_board(
    ask: Ask, board: str, states: list[tuple[Trial, Grade]], narrowed: bool
) -> tuple[Verdict, str, list[str]]:
    if not states:
        return V.UNTESTED, f"{board}: no run in such a state", []
    refs = [
        t.number for t in ask.evidence.trials([board]) if any(t.hold_key == s.hold_key for s, _ in states)
    ]
    void = [(t, g) for t, g in states if g.void_by]
    if void:
        t, g = void[0]
        return V.CONTRADICTED, f"{board} ({state_words(t)}): {g.said}", [*g.failures]
    if ask.has(FLAWLESS):
        open_ = [o for o in ask.evidence.ledger.oddities if o.board == board and o.open]
        if open_:
            return (
                V.CONTRADICTED,
                f"{board}: still open: {open_[0].finding}",
                [e[:12] for e in open_[0].entries],
            )
    bare = [(t, g) for t, g in states if not g.soak_hours and "soaked" not in g.name]
    if bare:
        t, g = bare[0]
        return V.UNTESTED, f"{board} ({state_words(t)}): {g.said}", refs
    return V.SUPPORTED, f"{board} ({state_words(states[0][0])}): {states[0][1].said}", refs


def _safe(ask: Ask) -> Finding:
    """Safe and unsafe are about what came back wrong: copy-compares in those states."""
    boards = ask.boards
    if not boards:
        return Finding(verdict=V.NOT_PLACED, why="no board to hold it against")
    unsafe = ask.has(r"\b(?:unsafe|corrupts?|dangerous|risky|eats data)\b") != denied_before(ask, SAFE)
    verdicts = []
    for b in boards:
        trials = [t for t in ask.evidence.trials([b], ask.want_list())]
        copies = [t for t in trials if is_copy(t)]
        flagged = [t for t in trials if "unsafe" in t.run.flags]
        bad = [t for t in copies if t.run.outcome is not Outcome.COPY_CLEAN] + flagged
        if bad:
            verdicts.append((V.CONTRADICTED, f"{b}: {grade(bad).said}", [t.number for t in bad]))
        elif copies:
            verdicts.append((V.SUPPORTED, f"{b}: {grade(copies).said}", [t.number for t in copies]))
        else:
            verdicts.append((V.UNTESTED, f"{b}: no copy-compare in such a state", []))
    verdicts = [(turned(v, unsafe), why, refs) for v, why, refs in verdicts]
    order = (V.SUPPORTED, V.UNTESTED, V.CONTRADICTED)
    weakest = max(verdicts, key=lambda x: order.index(x[0]))
    return about(ask, weakest[0], weakest[1], [r for v in verdicts for r in v[2]])


def _times(ask: Ask, sign: str) -> bool:
    """A number of times: ``hung 3 times``."""
    return ask.has(rf"\{{{sign}\}} times\b") and not ask.said.num(sign).places


def _kind(t: Trial) -> str:
    place = f"{t.run.place} {t.said}".lower()
    if re.search(HANG, place):
        return "hang"
    if re.search(r"reboot|reset", place):
        return "reboot"
    if t.run.outcome in (Outcome.NO_START, Outcome.NO_POWER):
        return "no start"
    return "crash" if failed(t) and not is_start(t) and not is_copy(t) else ""


def _hung(ask: Ask) -> Finding:
    if not ask.boards:
        return (
            Finding(verdict=V.NOT_PLACED, why="no board to hold it against")
            if not ask.all_boards
            else _hung_boards(ask, list(ask.evidence.ledger.boards))
        )
    return _hung_boards(ask, ask.boards)


def _hung_boards(ask: Ask, boards: list[str]) -> Finding:
    hang = ask.has(HANG)
    reboot = ask.has(r"\b(?:reboot|resets? itself)")
    denied = denied_before(ask, HANG if hang else CRASH)
    there = ask.has(r"\b(?:there|like that|that way|that state|so set)\b")
    wants = [] if ask.has(r"\b(?:never|ever)\b") and not ask.wants and not there else ask.want_list()
    workloads = [ask.said.workloads[int(s[1:])] for s in ask.said.signs("w")]
    every = ask.evidence.trials(boards, wants)
    trials = [t for t in every if not workloads or t.workload in workloads or t.workload is None]
    kinds = {"hang"} if hang else {"reboot"} if reboot else {"hang", "reboot", "crash"}
    hits = [t for t in trials if _kind(t) in kinds]
    if hang:
        hits += [
            t
            for t in trials
            if _kind(t) == "crash" and not is_soak(t) and re.search(r"lock|freez|froze", t.run.place)
        ]
    clocks = re.search(r"\b\d{1,2}:\d\d\b", ask.low)
    if clocks and hits and not denied:
        timed = [t for t in hits if clocks[0] in f"{t.run.place} {t.said}"]
        if not timed:
            return about(ask, V.CONTRADICTED, "; ".join(event(t) for t in hits[:3]), [t.number for t in hits])
        hits = timed
    if not denied:
        missing = [b for b in boards if not any(t.board == b for t in hits)]
        if not missing and (
            often := [s for s in ask.said.signs("n") if ask.said.num(s).text == "twice" or _times(ask, s)]
        ):
            ok = len(hits) == ask.said.num(often[0]).value
            found = about(
                ask,
                V.SUPPORTED if ok else V.CONTRADICTED,
                "; ".join(event(t) for t in hits[:4]),
                [t.number for t in hits],
            )
            return msgspec.structs.replace(found, used=found.used | {often[0]})
        if (
            not missing
            and ask.has(r"\b(?:exactly |only |just )?once\b")
            and not ask.has(r"\bonce (?:it|the|i|you|in)\b")
        ):
            ok = len(hits) == len(boards)
            text = "; ".join(event(t) for t in hits[:4])
            return about(ask, V.SUPPORTED if ok else V.CONTRADICTED, text, [t.number for t in hits])
        if not missing:
            return about(ask, V.SUPPORTED, "; ".join(event(t) for t in hits[:3]), [t.number for t in hits])
        ran = [t for t in trials if t.board in missing]
        if not ran:
            return about(ask, V.UNTESTED, f"{', '.join(missing)}: no run in such a state", [])
        others = [t for t in ran if failed(t)]
        text = "; ".join(event(t) for t in others[:3]) or f"{', '.join(missing)}: no such failure in the book"
        return about(ask, V.CONTRADICTED, text, [t.number for t in (others or ran)][:12])
    if hits:
        return about(ask, V.CONTRADICTED, "; ".join(event(t) for t in hits[:3]), [t.number for t in hits])
    bare = [
        b
        for b in boards
        if not any(t.board == b and is_soak(t) and t.run.outcome is Outcome.SOAKED for t in every)
    ]
    if bare:
        why = unbacked([t for t in every if t.board in bare])
        return about(ask, V.UNTESTED, f"{', '.join(bare)}: {why}", [])
    soaks = [t.number for t in every if is_soak(t)]
    return about(ask, V.SUPPORTED, f"no such failure in the book; soaks passed: {', '.join(soaks)}", soaks)
