"""Two runs by their numbers: which is better, by how much, and because of what."""

from __future__ import annotations

import msgspec

from leadoff.claims.spoken.changes import differing, family, several
from leadoff.claims.spoken.cues import CAUSE
from leadoff.claims.spoken.relation import finish, sizes_of
from leadoff.claims.spoken.scene import Ask
from leadoff.claims.spoken.settings import meets
from leadoff.claims.spoken.values import Finding, Num, Verdict, Want
from leadoff.claims.spoken.weigh import judge, said_fits, weigh
from leadoff.claims.standings import Cell

V = Verdict


def two_runs(ask: Ask, relation: str, flipped: bool) -> list[Finding]:
    """The first run named against the second, or against the one spoken of before."""
    numbers = list(ask.said.runs)
    if len(numbers) == 1:
        numbers.append(ask.scene.runs[0])
    if ask.has(r"\b(?:between|from) (?:the )?\{r\d+\} (?:and |to )?\{r\d+\}"):
        numbers.reverse()
    a, b = (ask.evidence.of_runs([n]) for n in numbers)
    sizes, used = sizes_of(ask)
    figures = ask.figures()
    if a is None or b is None or a.trials[0].workload != b.trials[0].workload:
        why = "the two runs are no two scores of one workload"
        found = Finding(verdict=V.NOT_COMPARABLE, why=why, refs=tuple(numbers))
    elif ask.wants and ask.has(rf"{CAUSE}|\bonly\b|\b(?:is|was) (?:all |only |just )?(?:the )?\{{s"):
        found = _caused(ask, a, b, relation, sizes)
    else:
        found = _weighed(ask, a, b, relation, sizes, figures)
    return finish(ask, [found], flipped, used | frozenset(figures))


def what_changed(ask: Ask) -> list[Finding]:
    """``only the bus was changed between run 1 and run 2``, ``runs 53 and 56 are of the same state``."""
    if len(set(ask.said.runs)) != 2 or ask.said.signs("n"):
        return []
    only = ask.has(
        r"\bonly (?:in |by )?(?:the )?\{s\d+\}|\{s\d+\} (?:is|was) (?:the )?(?:only|sole)|\b(?:in|"
        r"by) nothing but (?:the )?\{s"
    )
    same = ask.has(
        r"\b(?:same|identical) (?:state|settings?|set-up|configuration)|\bthat state\b|"
        r"\bnothing (?:was |had )?changed\b"
    )
    if (
        not (only and ask.wants and ask.has(r"\b(?:chang\w+|differ\w*|difference|between|touched)\b"))
        and not same
    ):
        return []
    a, b = (ask.evidence.by_number[r] for r in dict.fromkeys(ask.said.runs))
    one, two = a.settings, b.settings
    differ = frozenset(n for n in one.keys() | two.keys() if one.get(n) != two.get(n))
    hidden = {n for n in one.keys() | two.keys() if one.get(n, "") is None or two.get(n, "") is None}
    named = family(frozenset(n for s in ask.wants for n in ask.said.want(s).names)) if only else frozenset()
    ok = a.board == b.board and (differ <= named and bool(differ) if only else not differ)
    level = ask.has(r"\b(?:level|ties?|tied|equal|agree|faster|slower|better|worse)\b")
    if level and a.workload != b.workload:
        why = f"run {a.number} is {a.workload}, run {b.number} is {b.workload}"
        return [Finding(verdict=V.NOT_COMPARABLE, why=why, refs=(a.number, b.number), true=why)]
    verdict = V.UNTESTED if hidden and a.board == b.board else V.SUPPORTED if ok else V.CONTRADICTED
    text = f"runs {a.number} and {b.number} differ in {', '.join(sorted(differ)) or 'nothing that is noted'}"
    used = frozenset({*ask.said.signs("nswgrb")})
    return [
        Finding(verdict=verdict, why=text, refs=(a.number, b.number), boards=(a.board,), true=text, used=used)
    ]


def _weighed(ask: Ask, a: Cell, b: Cell, relation: str, sizes: list[Num], figures: list[str]) -> Finding:
    """Their scores, what is said of their states, and the figures named beside them."""
    pair = weigh(ask.evidence, a, b, str(a.trials[0].workload))
    found = judge(pair, ask.evidence, relation, sizes)
    wrong = [w.text for w in map(ask.said.want, ask.wants) if not (_is(w, a) or _is(w, b))]
    wrong += [n.text for n in map(ask.said.num, figures) if not said_fits(pair, n)]
    if wrong and found.verdict is V.SUPPORTED:
        return msgspec.structs.replace(found, verdict=V.CONTRADICTED, why=f"{found.why}; not {wrong[0]}")
    return found


def _is(want: Want, c: Cell) -> bool:
    return want.bare or meets(want, c.trials[0].settings, c.trials[0].core_mhz)


def _caused(ask: Ask, a: Cell, b: Cell, relation: str, sizes: list[Num]) -> Finding:
    """Because of a setting: only where nothing else differs between the two."""
    causes = family(frozenset(n for s in ask.wants for n in ask.said.want(s).names))
    differs = differing(a, b)
    if not differs <= causes or len(differs) != 1:
        return several(a, b, str(a.trials[0].workload))
    return _weighed(ask, a, b, relation, sizes, ask.figures())
