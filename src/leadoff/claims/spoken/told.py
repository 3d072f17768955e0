"""What is said of one run by its number: its board, workload, rig, settings, day."""

from __future__ import annotations

import re

import msgspec

from leadoff.claims.grade import failed, is_copy, is_soak, is_start, undefined
from leadoff.claims.spoken.cues import BETTER, CAUSE, TIE, WORSE
from leadoff.claims.spoken.evidence import reads
from leadoff.claims.spoken.scene import Ask, family_names
from leadoff.claims.spoken.settings import meets
from leadoff.claims.spoken.unrun import UNABLE
from leadoff.claims.spoken.values import Finding, Verdict
from leadoff.claims.standings import state_words
from leadoff.claims.values import Trial

V = Verdict
_UNKNOWN = (
    r"\b(?:unknown|not (?:known|noted|recorded|written|looked|read)|nobody (?:knows|looked|"
    r"noted|wrote)|never (?:known|noted|recorded|written|looked at|read)|no idea|a mystery)\b"
)


def told(ask: Ask) -> Finding | None:
    """``run 38 was taken with the bus at 40``; ``None`` for other sentences."""
    if len(ask.said.runs) == 2 and (m := _ORDER.search(ask.low)):
        return _in_order(ask, m[1] in ("before", "earlier than", "ahead of"))
    if len(ask.said.runs) == 2 and not ask.figures():
        return _alike(ask)
    if len(ask.said.runs) != 1 or ask.has(_FIRST):
        return None
    t = ask.evidence.by_number.get(ask.said.runs[0])
    if t is None or is_soak(t) or is_copy(t) or is_start(t):
        return None
    low = ask.low
    if re.search(f"(?:{TIE})|(?:{CAUSE})", low) or (
        re.search(rf"(?:{BETTER})|(?:{WORSE})", re.sub(r"\b(?:gave|over|more|up|down|on)\b", " ", low))
        and not ask.figures()
    ):
        return None
    wrong = [*_wrong_things(ask, t), *_wrong_figures(ask, t)]
    said = (
        ask.wants
        or ask.has(_UNKNOWN)
        or ask.said.signs("bwgkn")
        or ask.said.dates
        or ask.has(f"{_FAILS}|{UNABLE}")
    )
    if not said:
        return None
    if ask.has(UNABLE):
        return _found(ask, t, V.SUPPORTED if undefined(t) and not wrong else V.CONTRADICTED, _result(t))
    if undefined(t) and ask.has(
        r"\b(?:can|could|is able to|did|does) (?:be )?(?:run|do|done|finish|manage)\b"
    ):
        wrong.append(_result(t))
    if ask.has(_FAILS):
        denied = re.search(r"\b(?:not|never|no|without)\b", re.sub(_FAILS, " ", low)) is not None
        if failed(t) == denied or not _kind_fits(ask, t):
            wrong.append(t.run.place or "no failure")
    text = f"run {t.number}: {t.board}, {t.workload}, {state_words(t)}, {t.rig}: {_result(t)}"
    settings = [ask.said.want(s) for s in ask.wants]
    if not settings and ask.has(_UNKNOWN) and ask.has(r"\b(?:jumpers?|settings?|state)\b"):
        ok = any(v is None for v in t.settings.values())
        return _found(ask, t, V.SUPPORTED if ok else V.CONTRADICTED, text)
    if settings and ask.has(_UNKNOWN):
        hidden = {n for w in settings for n in w.names}
        ok = bool(hidden & t.settings.keys()) and all(
            t.settings.get(n) is None for n in hidden if n in t.settings
        )
        return _found(ask, t, V.SUPPORTED if ok else V.CONTRADICTED, text)
    unknown = [w for w in settings if any(t.settings.get(n) is None for n in w.names if n in t.settings)]
    denied = (
        ask.has(r"\bnot (?:\w+ )?(?:done|run|taken|made|at|with|on|using|have|use)\b") and not ask.figures()
    )
    denied = denied and not any(_corrected(ask, s) for s in ask.wants)
    if bool(wrong) != denied and not (denied and unknown):
        return _found(ask, t, V.CONTRADICTED, text)
    return _found(ask, t, V.UNTESTED if unknown else V.SUPPORTED, text)


_FIRST = r"\b(?:best|worst|fastest|slowest|quickest|highest|lowest|record)\b"
_ORDER = re.compile(
    r"\{r\d+\}[^{]*?\b(?:was|is|came|ran|were|done|made|taken|dates from|happened)? ?(before|after|"
    r"earlier than|later than) "
    r"(?:the )?(?:\w+ )?\{r\d+\}"
)


_HAS = (
    r"\b(?:has|have|had|there (?:is|are|was|were)|fitted|carries|carried|sports?|holds|contains|"
    r"came with|comes with|inside)\b"
)
_PARTS = frozenset({"ram_mb", "l2_kb", "l2_read", "l2"})


def has_fitted(ask: Ask) -> list[Finding]:
    """``there are 128 MB in it``: what a board had in every run, in some or in none."""
    wants = [w for s in ask.wants if not (w := ask.said.want(s)).bare]
    parts = [w for w in wants if w.names <= _PARTS]
    if (
        len(ask.boards) != 1
        or not parts
        or len(parts) != len(wants)
        or ask.workloads_named
        or ask.figures()
        or not ask.has(_HAS)
    ):
        return []
    trials = ask.evidence.trials(ask.boards)
    fit = [t for t in trials if all(meets(w, t.settings, t.core_mhz) for w in parts)]
    denied = ask.has(r"\b(?:not|never|no|without)\b")
    verdict = V.SUPPORTED if bool(fit) != denied else V.CONTRADICTED
    text = f"{ask.boards[0]}: so in {len(fit)} of {len(trials)} runs"
    refs = tuple(t.number for t in (fit or trials)[:6])
    used = frozenset(ask.said.signs("nsb"))
    return [Finding(verdict=verdict, why=text, refs=refs, boards=tuple(ask.boards), true=text, used=used)]


_ALIKE = re.compile(
    r"\b(?:the same|different|differ only in|differ in nothing but|differ in|not the same|that) (?:the )?"
    r"(state|settings?|board|machine|card|rig|workload|test)s?\b"
)


def _alike(ask: Ask) -> Finding | None:
    """Two runs of one state, board or rig, or of different ones."""
    m = _ALIKE.search(ask.low)
    a, b = (ask.evidence.by_number.get(r) for r in ask.said.runs)
    if m is None or a is None or b is None:
        return None
    state, board, rig, work = a.key == b.key, a.board == b.board, a.rig == b.rig, a.workload == b.workload
    same = {"state": state, "setting": state, "board": board, "machine": board, "card": rig, "rig": rig}
    same |= {"workload": work, "test": work}
    kind = m[1].removesuffix("s")
    if ask.has(r"\b(?:level|ties?|tied|equal|agree|faster|slower|better|worse)\b") and not work:
        text = f"{a.number} is {a.workload}, {b.number} is {b.workload}"
        return msgspec.structs.replace(_found(ask, a, V.NOT_COMPARABLE, text), refs=(a.number, b.number))
    ok = same[kind]
    if "only" in m[0] or "nothing but" in m[0]:
        ok = not same[kind] and (a.key == b.key) == (kind in ("card", "rig")) and a.board == b.board
    elif "diff" in m[0] or "not" in m[0] or ask.has(r"\bnot (?:the|on|in|made|with)\b"):
        ok = not ok
    text = (
        f"{a.number}: {a.board}, {state_words(a)}, {a.rig}; {b.number}: {b.board}, {state_words(b)}, {b.rig}"
    )
    return msgspec.structs.replace(
        _found(ask, a, V.SUPPORTED if ok else V.CONTRADICTED, text), refs=(a.number, b.number)
    )


def _in_order(ask: Ask, earlier: bool) -> Finding | None:
    """One run or test before or after another."""
    a, b = (ask.evidence.by_number.get(r) for r in ask.said.runs)
    if a is None or b is None:
        return None
    ok = (a.observed.when < b.observed.when) == earlier
    text = f"{a.number}: {a.observed.when[:10]}, {b.number}: {b.observed.when[:10]}"
    return msgspec.structs.replace(
        _found(ask, a, V.SUPPORTED if ok else V.CONTRADICTED, text), refs=(a.number, b.number)
    )


_FAILS = (
    r"\b(?:hung|hangs?|froze|crash(?:ed|es)?|reboot(?:s|ed)?|fail(?:s|ed)?|would not start|"
    r"did not (?:start|finish)|no picture)\b"
)


def _kind_fits(ask: Ask, t: Trial) -> bool:
    """A hang is no reboot."""
    said = f"{t.run.place} {t.said}".lower()
    hang, boot = ask.has(r"\b(?:hung|hangs?|froze)\b"), ask.has(r"\breboot")
    return not (hang and "hang" not in said) and not (boot and "reboot" not in said)


def _wrong_things(ask: Ask, t: Trial) -> list[str]:
    """Mentions that this run is not of."""
    said = ask.said
    out = [b for s in said.signs("b") if (b := said.boards[int(s[1:])]) != t.board]
    out += [str(t.board) for s in said.signs("k") if t.board not in said.groups[int(s[1:])]]
    out += [w for s in said.signs("w") if (w := said.workloads[int(s[1:])]) != t.workload]
    out += [g for s in said.signs("g") if (g := said.rigs[int(s[1:])]) != t.rig]
    for s in ask.wants:
        want = said.want(s)
        known = not any(t.settings.get(n) is None for n in want.names if n in t.settings)
        if not want.bare and known and meets(want, t.settings, t.core_mhz) == _corrected(ask, s):
            out.append(want.text)
    return out


def _corrected(ask: Ask, sign: str) -> bool:
    """Whether a setting is denied while another of its kind is said: ``not at 33, the bus was at 40``."""
    want = ask.said.want(sign)
    rivals = [v for s in ask.wants if (v := ask.said.want(s)).tests != want.tests]
    mine = ask.low[: ask.said.at(sign)].rpartition(" , ")[2]
    kin = any(family_names(v.names) & family_names(want.names) for v in rivals)
    return kin and re.search(r"\b(?:not|never|no|nor)\b", mine) is not None


def _wrong_figures(ask: Ask, t: Trial) -> list[str]:
    """Figures that this run does not read."""
    return [ask.said.num(f).text for f in ask.figures() if not t.readings or not reads(t, ask.said.num(f))]


def _result(t: Trial) -> str:
    return " ".join(r.text for r in t.readings) or t.run.place or t.run.outcome.value


def _found(ask: Ask, t: Trial, verdict: Verdict, text: str) -> Finding:
    used = frozenset({*ask.said.signs("nsgrb"), "taken", "unknown"})
    return Finding(verdict=verdict, why=text, refs=(t.number,), boards=(t.board,), true=text, used=used)
