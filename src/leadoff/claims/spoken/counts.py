"""Soaks, copy-compares and cold starts by their counts and hours."""

from __future__ import annotations

import re

from leadoff.claims.grade import grade, is_copy, is_soak, is_start
from leadoff.claims.spoken.holding_words import about, turned
from leadoff.claims.spoken.scene import Ask
from leadoff.claims.spoken.values import Finding, Num, Verdict
from leadoff.claims.standings import state_words
from leadoff.claims.values import Trial
from leadoff.record.runs import Outcome

V = Verdict


_EVENTS = (
    r"(?:(?:cold|warm|counted) )?(?:starts?|boots?|copies|copy-compares?|compares?|tries|"
    r"attempts|passes|goes|times)"
)
_BAD = (
    r"\b(?:bad|wrong|fail(?:s|ed|ing|ures?)?|corrupt(?:s|ed)?|missed|refused|not (?:come|start|boot|"
    r"pass|match|good|clean|work|right)|errors?|did not|"
    r"duds?|spoilt|spoiled|lost)\b"
)
_GOOD = (
    r"\b(?:good|clean|fine|right|passed|came|came up|worked|ok|perfect|correct|started|booted|successful)\b"
)


def said_count(ask: Ask) -> tuple[Num, frozenset[str]] | None:
    """The count that a sentence on starts or copies gives: so many good or bad of so many. ``part`` is a number of
    good or bad ones without the whole."""
    signs = [s for s in ask.said.signs("n") if ask.said.num(s).kind in ("count", "all")]
    if signs:
        return ask.said.num(signs[0]), frozenset(signs[:1])
    plain = [s for s in ask.said.signs("n") if _is_count(ask.said.num(s))]
    if not plain or len(plain) > 2:
        return None
    nums = [ask.said.num(s).value for s in plain]
    if len(plain) == 2:
        k, of = min(nums), max(nums)
        return Num("count", k, of=of), frozenset(plain)
    return _one_number(ask, plain[0], nums[0])


def _one_number(ask: Ask, sign: str, value: float) -> tuple[Num, frozenset[str]] | None:
    """``three bad copies``, ``60 copies, all of them good``."""
    near = ask.low[ask.said.at(sign) + len(sign) + 2 :]
    if re.match(
        rf" (?:of (?:them|those|these) |(?:were |was |came back )?)(?:{_BAD[2:-2]}|{_GOOD[2:-2]})", near
    ):
        return Num("part", value), frozenset({sign})
    if not re.match(rf" {_EVENTS}\b", near):
        return None
    if re.match(rf" {_EVENTS} (?:\w+ )?{_BAD}", near):
        return Num("part", value), frozenset({sign})
    if re.search(r"\b(?:all|every|each|without a fault|none|no|never|not|0)\b", near):
        return Num("all", value), frozenset({sign})
    return Num("whole", value), frozenset({sign})


def every_go(ask: Ask) -> list[str]:
    """``three times out of three`` beside a score: every reading of it."""
    if not (ask.figures() and ask.workloads_named):
        return []
    return [s for s in ask.said.signs("n") if (n := ask.said.num(s)).kind == "count" and n.of == n.value]


def _is_count(n: Num) -> bool:
    return n.kind in ("value", "bare", "loose") and not n.unit and n.places == 0 and not n.mod


def _counted(
    ask: Ask, n: Num, signs: frozenset[str], trials: list[Trial], what: str, good_of: list[tuple[int, int]]
) -> Finding:
    bad_said = ask.has(_BAD)
    used = signs | frozenset(ask.wants) | frozenset(ask.said.signs("r"))
    refs = tuple(t.number for t in trials)
    text = f"{what}: " + ", ".join(
        f"{g} good of {o} ({t.board}, {t.number})" for t, (g, o) in zip(trials, good_of, strict=True)
    )
    if not trials:
        who = ", ".join(ask.boards) or "no board"
        return Finding(
            verdict=V.UNTESTED,
            why=f"{who}: no {what} in such a state",
            boards=tuple(ask.boards),
            used=used,
            true=f"{who}: no {what} in such a state",
        )
    missing = [b for b in ask.boards if not any(t.board == b for t in trials)]
    total = (sum(g for g, _ in good_of), sum(o for _, o in good_of))
    hit = [t for t, x in zip(trials, good_of, strict=True) if _as_counted(n, x, bad_said)]
    if not hit and len(trials) > 1 and _as_counted(n, total, bad_said):
        hit = list(trials)
    ok = bool(hit) and not missing and (len(ask.boards) <= 1 or {t.board for t in hit} >= set(ask.boards))
    return Finding(
        verdict=V.SUPPORTED if ok else V.CONTRADICTED,
        why=text,
        refs=refs,
        boards=tuple(ask.boards),
        used=used,
        true=text,
    )


def _as_counted(n: Num, found: tuple[int, int], bad_said: bool) -> bool:
    good, of = found
    if n.kind == "part":
        return n.value == (of - good if bad_said else good)
    if n.kind == "whole":
        return n.value == of
    whole = n.of if n.of is not None else n.value
    return of == whole and good == (whole - n.value if bad_said and n.kind == "count" else n.value)


def starts(ask: Ask, n: Num, signs: frozenset[str]) -> Finding:
    trials = [t for t in ask.trials() if is_start(t)]
    return _counted(
        ask, n, signs, trials, "counted starts", [(t.run.count or 0, t.run.of or 0) for t in trials]
    )


def counted_copies(ask: Ask, n: Num, signs: frozenset[str]) -> Finding:
    if not ask.boards:
        return Finding(verdict=V.NOT_PLACED, why="no board to hold it against", used=signs)
    trials = [t for t in ask.trials() if is_copy(t)]
    found = [((t.run.of or 0) - (t.run.count or 0), t.run.of or 0) for t in trials]
    return _counted(ask, n, signs, trials, "copy-compare", found)


def copies(ask: Ask) -> Finding:
    """Copy-compares without a count: clean, bad, or never done."""
    if not ask.boards:
        return Finding(verdict=V.NOT_PLACED, why="no board to hold it against")
    trials = [t for t in ask.trials() if is_copy(t)]
    never = ask.has(
        r"\b(?:never|not|no)\b(?: \w+){0,3} ?(?:copy|copies|compared|copy-compared|copy-compare)\b"
    ) and not ask.has(r"\bbad|wrong|corrupt")
    bad = [t for t in trials if t.run.outcome is not Outcome.COPY_CLEAN]
    text = grade(trials).said if trials else f"{', '.join(ask.boards)}: no copy-compare in such a state"
    if never and not ask.has(r"\b(?:clean|good|fail)"):
        return about(ask, V.CONTRADICTED if trials else V.SUPPORTED, text, [t.number for t in trials])
    if not trials:
        return about(ask, V.UNTESTED, text, [])
    said_bad = ask.has(r"\b(?:bad|wrong|corrupt(?:ed)?|fail(?:s|ed)?)\b") != ask.has(
        r"\b(?:no|never|without|not)\b"
    )
    return about(
        ask, turned(V.CONTRADICTED if bad else V.SUPPORTED, said_bad), text, [t.number for t in trials]
    )


def _as_it_failed(ask: Ask, t: Trial) -> bool:
    """A hang is no reboot, where the sentence says which."""
    noted = f"{t.run.place} {t.said}".lower()
    for said, note in (
        (r"\b(?:hung|hangs?|froze|locked up)\b", r"hang|hung|lock|fr[eo]+z"),
        (r"\breboot", r"reboot|reset"),
    ):
        if (
            ask.has(said)
            and re.search(r"hang|hung|lock|fr[eo]+z|reboot|reset", noted)
            and not re.search(note, noted)
        ):
            return False
    return True


def soaked(ask: Ask) -> Finding:
    """Soaked so many hours, passed, failed, or not soaked yet."""
    if not ask.boards:
        return Finding(verdict=V.NOT_PLACED, why="no board to hold it against")
    wants = ask.want_list()
    every = ask.trials()
    soaks = [t for t in every if is_soak(t)]
    hours = [s for s in ask.said.signs("n") if ask.said.num(s).kind == "hours"]
    used = frozenset({*hours, *ask.wants, *ask.said.signs("gr")})
    text = ", ".join(
        f"{t.number} ({t.board}, {state_words(t)}): {(t.run.after_s or 0) / 3600:g} h "
        f"{'passed' if t.run.outcome is Outcome.SOAKED else 'failed'}"
        for t in soaks
    )
    refs = tuple(t.number for t in soaks)

    def found(verdict: Verdict, why: str) -> Finding:
        return Finding(verdict=verdict, why=why, refs=refs, boards=tuple(ask.boards), used=used, true=why)

    not_yet = ask.has(
        r"\b(?:not|never|no|without a|yet to|needs?|still)\b(?: \w+){0,3} soak|\bunsoaked\b"
    ) and not ask.has(
        r"\bnot (?:survive|pass|finish|hold)|\bnever (?:fail|pass|surviv|finish|complet|got through)"
    )
    fails = ask.has(
        r"\b(?:fail(?:s|ed)?|never (?:pass(?:ed)?|survived?|finish(?:ed)?|completed?|got through)|"
        r"did not (?:survive|pass|finish)|not (?:survive|pass)|ended "
        r"in|broke|reboot(?:s|ed)?|hung|crash(?:ed)?)\b"
    ) and not ask.has(r"\b(?:never|not|no|without)\b[^,]*\b(?:fail|crash|hang|hung|reboot)")
    if ask.has(_NEVER_BY) and not fails:
        least = ask.said.num(hours[0]).value if hours else 0.0
        long = [t for t in soaks if (t.run.after_s or 0) / 3600 > least - 0.26]
        names = ", ".join(ask.boards)
        return found(V.CONTRADICTED if long else V.SUPPORTED, text or f"{names}: no such soak in the book")
    if not every:
        return found(V.UNTESTED, f"{', '.join(ask.boards)}: no run in such a state")
    if not_yet:
        return found(
            V.CONTRADICTED if soaks else V.SUPPORTED, text or f"{', '.join(ask.boards)}: no soak in the book"
        )
    if not soaks:
        return found(V.UNTESTED, f"{', '.join(ask.boards)}: no soak in such a state")
    if fails and (
        late := [t for t in soaks if t.run.outcome is not Outcome.SOAKED and _failed_then(ask, t, hours)]
    ):
        late = [t for t in late if _as_it_failed(ask, t)]
        return found(V.SUPPORTED if {t.board for t in late} >= set(ask.boards) else V.CONTRADICTED, text)
    if (
        fails
        and (hours or _CLOCK.search(ask.low))
        and ask.has(r"\b(?:after|at|before|in|within|until|for)\b")
    ):
        return found(V.CONTRADICTED, text)
    if hours:
        n = ask.said.num(hours[0])
        fit = [
            t
            for t in soaks
            if abs((t.run.after_s or 0) / 3600 - n.value) < 0.26
            or (n.mod == "over" and (t.run.after_s or 0) / 3600 >= n.value)
        ]
        others = [ask.said.num(h).value for h in hours[1:]]
        if any(abs((t.run.after_s or 0) / 3600 - v) > 0.26 for t in fit for v in others):
            return found(V.CONTRADICTED, text)
        if not fit and not fails:
            return found(V.CONTRADICTED if wants else V.NOT_FOUND, text)
        soaks = fit or soaks
    boards_ok = {t.board for t in soaks if (t.run.outcome is Outcome.SOAKED) != fails}
    ok = boards_ok >= set(ask.boards)
    if not ok and not fails and not wants and not hours:
        ok = {t.board for t in soaks if t.run.outcome is Outcome.SOAKED} >= set(ask.boards) and not any(
            t.run.outcome is not Outcome.SOAKED for t in soaks
        )
    if ok and not fails and any(t.run.outcome is not Outcome.SOAKED for t in soaks):
        ok = False
    return found(V.SUPPORTED if ok else V.CONTRADICTED, text)


_NEVER_BY = r"\b(?:nobody|neither|none|no board)\b[^,]*\bsoak(?:ed|s)?\b"
_CLOCK = re.compile(r"\b(\d{1,2}):(\d\d)\b")


def _failed_then(ask: Ask, t: Trial, hours: list[str]) -> bool:
    """Whether a failed soak ended when it is said to have: ``after 3:20``, ``before four hours were up``."""
    noted = _CLOCK.search(f"{t.run.place} {t.said}")
    said = _CLOCK.search(ask.low)
    asked = (t.run.after_s or 0.0) / 3600
    if said is not None:
        return noted is not None and said[0] == noted[0]
    if not hours:
        return True
    n = ask.said.num(hours[0])
    if abs(n.value - asked) < 0.26 and not re.search(r"\b(?:after|lasted|ran) (?:\w+ )?\{n", ask.low):
        return True
    if noted is None:
        return False
    at = int(noted[1]) + int(noted[2]) / 60
    if n.mod == "over":
        return at >= n.value
    if n.mod == "under" or ask.has(r"\b(?:before|within|inside) (?:\w+ )?\{n"):
        return at <= n.value
    return abs(at - n.value) <= max(0.51 if n.places == 0 else 0.1, 0.1 * n.value)
