"""Soaks, copy-compares and cold starts by their counts and hours."""

from __future__ import annotations

from leadoff.claims.grade import grade, is_copy, is_soak, is_start
from leadoff.claims.spoken.holding_words import about, turned
from leadoff.claims.spoken.scene import Ask
from leadoff.claims.spoken.values import Finding, Verdict
from leadoff.claims.standings import state_words
from leadoff.claims.values import Trial
from leadoff.record.runs import Outcome

V = Verdict


def _counted(ask: Ask, sign: str, trials: list[Trial], what: str, good_of: list[tuple[int, int]]) -> Finding:
    n = ask.said.num(sign)
    bad_said = ask.has(
        r"\b(?:bad|wrong|fail(?:s|ed|ing)?|corrupt(?:ed)?|missed|refused|not|errors?|did not)\b"
    )
    used = frozenset({sign, *ask.wants})
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
    k, of = n.value, n.of if n.of is not None else n.value
    wanted = of - k if bad_said and n.kind == "count" else k
    missing = [b for b in ask.boards if not any(t.board == b for t in trials)]
    hit = [t for t, (g, o) in zip(trials, good_of, strict=True) if o == of and g == wanted]
    total = (sum(g for g, _ in good_of), sum(o for _, o in good_of))
    if not hit and len(trials) > 1 and total == (wanted, of):
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


def starts(ask: Ask, sign: str) -> Finding:
    trials = [t for t in ask.evidence.trials(ask.scope, ask.want_list()) if is_start(t)]
    return _counted(ask, sign, trials, "counted starts", [(t.run.count or 0, t.run.of or 0) for t in trials])


def copies(ask: Ask, sign: str) -> Finding:
    trials = [t for t in ask.evidence.trials(ask.scope, ask.want_list()) if is_copy(t)]
    if sign:
        if not ask.boards:
            return Finding(verdict=V.NOT_PLACED, why="no board to hold it against", used=frozenset({sign}))
        return _counted(
            ask,
            sign,
            trials,
            "copy-compare",
            [((t.run.of or 0) - (t.run.count or 0), t.run.of or 0) for t in trials],
        )
    if not ask.boards:
        return Finding(verdict=V.NOT_PLACED, why="no board to hold it against")
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


def soaked(ask: Ask) -> Finding:
    """Soaked so many hours, passed, failed, or not soaked yet."""
    if not ask.boards:
        return Finding(verdict=V.NOT_PLACED, why="no board to hold it against")
    wants = ask.want_list()
    every = ask.evidence.trials(ask.boards, wants)
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
    ) and not ask.has(r"\b(?:never|not|no|without)\b.*\b(?:fail|crash|hang|hung|reboot)")
    if not every:
        return found(V.UNTESTED, f"{', '.join(ask.boards)}: no run in such a state")
    if not_yet:
        return found(
            V.CONTRADICTED if soaks else V.SUPPORTED, text or f"{', '.join(ask.boards)}: no soak in the book"
        )
    if not soaks:
        return found(V.UNTESTED, f"{', '.join(ask.boards)}: no soak in such a state")
    if hours:
        n = ask.said.num(hours[0])
        fit = [
            t
            for t in soaks
            if abs((t.run.after_s or 0) / 3600 - n.value) < 0.26
            or (n.mod == "over" and (t.run.after_s or 0) / 3600 >= n.value)
        ]
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
