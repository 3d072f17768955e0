"""How many: ``only one soak failed``, ``two of my boards have hung``, ``the longest soak was 24 hours``."""

from __future__ import annotations

import re
from collections.abc import Callable

from leadoff.claims.grade import failed, is_copy, is_soak, is_start
from leadoff.claims.spoken.scene import Ask
from leadoff.claims.spoken.values import Finding, Verdict
from leadoff.claims.values import Trial
from leadoff.record.runs import Outcome

V = Verdict
_OF = r"(?:of )?(?:the |my |these |those |all |our |them )?"
_ADJ = r"(?:\w+ )?"
_BOARDS = r"(?:boards?|machines?|systems?|of them)"
_FAIL = (
    r"\b(?:fail(?:s|ed)?|broke|ended (?:in|badly)|went wrong|reboot(?:s|ed)?|"
    r"did not (?:pass|finish|survive)|went bad|crashed)\b"
)
_PASS = (
    r"\b(?:pass(?:es|ed)?|survived?|held|went through|came through|got through|made it|finished|completed|"
    r"clean|good)\b"
)
_KINDS: tuple[tuple[str, Callable[[Trial], bool]], ...] = (
    (r"soaks?", is_soak),
    (r"copy-compares?", is_copy),
    (r"(?:counted )?cold starts? (?:counts?|tests?|series)", is_start),
)


def counted_tests(ask: Ask) -> Finding | None:
    """A sentence that counts soaks or copy-compares; ``None`` for others."""
    only = re.search(r"\{[bk]\d+\} (?:is|was) the only|\bonly (?:the )?\{[bk]\d+\}", ask.low)
    spoken = {"soak": _KINDS[0], "copy": _KINDS[1]}.get(ask.scene.topic)
    if spoken and not ask.boards and not ask.has("|".join(noun for noun, _ in _KINDS)):
        return _of_trials(ask, spoken[0], [t for t in ask.evidence.ledger.trials if spoken[1](t)], told=True)
    for noun, is_kind in () if ask.said.runs or only else _KINDS:
        if ask.has(rf"\b{noun}\b") and (
            found := _of_trials(ask, noun, [t for t in ask.trials() if is_kind(t)])
        ):
            return found
    return None


def tallies(ask: Ask) -> Finding | None:
    """A sentence that counts boards by what each of them shows; ``None`` for others."""
    pred = _of_board(ask)
    how = None if pred is None else quantity(ask, _BOARDS)
    if pred is None or how is None:
        return None
    what, holds = pred
    boards = list(ask.evidence.ledger.boards)
    hits = [b for b in boards if holds(b)]
    named = {ask.said.boards[int(s[1:])] for s in ask.said.signs("b")}
    listed = not ask.has(r" , .*\{b\d+\}") or ask.has(r"\b(?:but|except)\b") or named <= set(hits)
    text = f"{what}: {', '.join(hits) or 'none'}"
    return _found(ask, listed and how(len(hits), len(boards)), text, [], boards)


def _of_trials(ask: Ask, noun: str, trials: list[Trial], *, told: bool = False) -> Finding | None:
    long = re.search(rf"\b(longest|shortest) {_ADJ}{noun}\b", ask.low)
    if long is not None:
        return _longest(ask, long[1] == "longest", trials)
    claims = counts_in(ask, noun, told=told)
    if not claims:
        return None
    bad = [t for t in trials if t.run.outcome is Outcome.FAILS_MID_RUN or failed(t)]
    text = f"{len(bad)} of {len(trials)} failed" + (f": {', '.join(t.number for t in bad)}" if bad else "")
    found = {"all": len(trials), "failed": len(bad), "passed": len(trials) - len(bad)}
    ok = all(how(found[of], len(trials)) for of, how in claims)
    if (clock := re.search(r"\b\d{1,2}:\d\d\b", ask.low)) is not None:
        ok = ok and any(clock[0] in f"{t.run.place} {t.said}" for t in bad)
    only = re.search(rf"\bonly (?:\w+ )?{noun}\b.*\b(?:on|of|with|is|was) (?:the )?\{{b\d+\}}", ask.low)
    if only is not None:
        every = [t for t in ask.evidence.ledger.trials if is_soak(t) == is_soak(trials[0])] if trials else []
        others = [t for t in every if t.board not in ask.boards and failed(t) == ("failed" in dict(claims))]
        ok = not others and (bool(bad) or "failed" not in dict(claims))
    return _found(ask, ok, text, [t.number for t in bad or trials], ask.boards)


_REST = r"(?: of (?:them|those|these))?(?: have| has| had| ever| were| was| did)*"


def counts_in(
    ask: Ask, noun: str, bad: str = _FAIL, good: str = _PASS, *, told: bool = False
) -> list[tuple[str, Callable[[int, int], bool]]]:
    """What is counted, of which kind: ``nine soaks in the book, and only one of them failed``."""
    out: list[tuple[str, Callable[[int, int], bool]]] = []
    parts = re.split(r" , (?:and )?| and (?=only|just|one|\{n|none|all|the)", ask.low)
    for part in parts:
        kind = "failed" if re.search(bad, part) else "passed" if re.search(good, part) else "all"
        how = quantity(ask, noun, f" {part} ")
        if how is None and (told or (kind != "all" and (out or re.search(rf"\b{noun}\b", ask.low)))):
            how = _elliptic(ask, part)
        if how is not None:
            out.append((kind, how))
    return (
        out
        if any(kind != "all" for kind, _ in out) or re.search(r"\bin the book\b|\bso far\b", ask.low)
        else []
    )


def _elliptic(ask: Ask, part: str) -> Callable[[int, int], bool] | None:
    """``only one failed``, ``8 passed``, ``the rest passed``, after what was counted."""
    if re.search(rf"\b(?:only|just|exactly)? ?(?:the )?(?:one|1){_REST} ", f" {part}"):
        return lambda k, n: k == 1
    if re.search(rf"\b(?:none|not one|not 1){_REST} ", f" {part}"):
        return lambda k, n: k == 0
    if re.search(rf"\b(?:all|every 1){_REST} ", f" {part}"):
        return lambda k, n: k == n
    if m := re.search(rf"\{{(n\d+)\}}{_REST} ", f"{part} "):
        num = ask.said.num(m[1])
        if num.kind in ("value", "bare", "loose") and not num.unit and not num.places:
            return lambda k, n: k == num.value
    return None


def symptom_count(ask: Ask) -> Finding | None:
    """So many symptoms open or fixed, of a board or of all."""
    if repairs := _repairs(ask):
        return repairs
    if not ask.has(r"\b(?:symptoms?|oddit(?:y|ies))\b") or quantity(ask, _BOARDS) is not None:
        return None
    pool = [o for o in ask.evidence.ledger.oddities if o.board in ask.scope]
    how = quantity(ask, r"(?:symptoms?|oddit(?:y|ies))")
    if m := re.search(r"\bof (?:the )?\{(n\d+)\} symptoms,? (?:only )?\{(n\d+)\}", ask.low):
        of, k = (ask.said.num(s).value for s in m.groups())
        how = lambda hits, whole: hits == k and whole == of  # noqa: E731
    gone = ask.has(r"\b(?:no longer|(?:is|are) not|not yet) open\b") or (
        ask.has(r"\b(?:fixed|cured|closed|gone|solved|repaired)\b")
        and not ask.has(r"\b(?:not|never) (?:been )?(?:fixed|cured|closed)")
    )
    if ask.has(r"\b(?:not|never|no longer) (?:\w+ )?still\b"):
        gone = not gone
    if how is None or not (gone or ask.has(r"\b(?:open|left|unsolved|not (?:been )?fixed)\b")):
        return None
    hits = [o for o in pool if o.open != gone]
    text = f"{len(hits)} of {len(pool)}: " + "; ".join(f"{o.board}: {o.finding}" for o in hits)
    return _found(ask, how(len(hits), len(pool)), text, [], list(dict.fromkeys(o.board for o in hits)))


def _repairs(ask: Ask) -> Finding | None:
    """``four repairs, two of them with a good retest``."""
    how = quantity(ask, r"(?:repairs?|fixes)")
    if how is None or not ask.has(r"\b(?:repairs?|fixes)\b"):
        return None
    pool = [o for o in ask.evidence.ledger.oddities if o.board in ask.scope and o.mends]
    good = [o for o in pool if not o.open]
    done = sum(len(o.mends) for o in pool)
    text = f"{done} repairs, {len(good)} of them with a good test after it"
    tested = ask.has(r"\b(?:re-?test(?:ed|s)?|tested|worked|held|good|success)")
    rest = re.search(
        r"\{(n\d+)\} of (?:them|those|these)\b|\b(only one|just one|one|none) of (?:them|those|these)\b",
        ask.low,
    )
    if rest is not None:
        k = ask.said.num(rest[1]).value if rest[1] else 0 if rest[2] == "none" else 1
        ok = how(done, done) and k == len(good) and tested
    else:
        ok = how(len(good) if tested else done, done)
    return _found(ask, ok, text, [], list(dict.fromkeys(o.board for o in pool)))


def _longest(ask: Ask, most: bool, trials: list[Trial]) -> Finding | None:
    """The longest or shortest of the soaks: how long, or on which board."""
    every = [t for t in ask.evidence.ledger.trials if is_soak(t) and t.run.after_s]
    hours = [s for s in ask.said.signs("n") if ask.said.num(s).kind == "hours"]
    subject = ask.said.signs("b") and ask.has(
        r"\b(?:on|is|was|has|had|did|by) (?:the |my )?\{b\d+\}|\{b\d+\} (?:has|had|did|passed|holds)"
    )
    pool = every if subject or not ask.boards else [t for t in trials if t.run.after_s]
    if not pool:
        return None
    top = (max if most else min)((t.run.after_s or 0.0) / 3600 for t in pool)
    who = [t for t in pool if (t.run.after_s or 0.0) / 3600 == top]
    names = ", ".join(f"{t.number} on {t.board}" for t in who)
    text = f"{'longest' if most else 'shortest'} soak: {top:g} h ({names})"
    ok = (not hours or abs(ask.said.num(hours[0]).value - top) < 0.26) and (
        not subject or set(ask.boards) == {t.board for t in who}
    )
    if not hours and not subject:
        return None
    return _found(ask, ok, text, [t.number for t in who], list(dict.fromkeys(t.board for t in who)))


def _of_board(ask: Ask) -> tuple[str, Callable[[str], bool]] | None:
    """What is said of each board, as a test."""
    every = ask.evidence.ledger.trials
    if ask.has(r"\b(?:hung|hangs?|froze|frozen|locked up)\b"):
        if ask.has(r"\b(?:reboot|crash|start|fail|quit)"):
            return "failed", lambda b: any(t.board == b and failed(t) and not is_start(t) for t in every)
        return "hung", lambda b: any(t.board == b and "hang" in f"{t.run.place} {t.said}" for t in every)
    if ask.has(r"\bsoak(?:s|ed)?\b"):
        clean = ask.has(r"\bwithout a fault\b")
        if ask.has(r"\b(?:fail(?:s|ed)?|not|never)\b"):
            return None
        soaks = {
            b: [t.run.outcome is Outcome.SOAKED for t in every if t.board == b and is_soak(t)]
            for b in ask.evidence.ledger.boards
        }
        return "passed a soak", lambda b: any(soaks[b]) and (all(soaks[b]) or not clean)
    if ask.has(
        r"\bopen (?:symptoms?|faults?|issues?|problems?|oddit)|\b(?:symptoms?|faults?|issues?|"
        r"oddity) (?:that |which |is |are |still |left )*open"
    ):
        return "open symptom", lambda b: any(o.board == b and o.open for o in ask.evidence.ledger.oddities)
    if (
        len(ask.workloads) == 1
        and not ask.figures()
        and ask.has(r"\b(?:finish|runs?|ran|run|do|does|did|manage|complete)")
    ):
        work = ask.workloads[0]
        denied = ask.has(r"\b(?:can not|could not|does not|do not|did not|never)\b")
        return f"{work} ran", lambda b: any(t.board == b for t in ask.evidence.ledger.of(work)) != denied
    return None


def quantity(ask: Ask, noun: str, low: str | None = None) -> Callable[[int, int], bool] | None:
    """A test of how many of how many, from the words before the noun."""
    low = ask.low if low is None else low
    if re.search(
        rf"\b(?:no|none {_OF}|not (?:a single|one|1|any|a)) {_ADJ}{noun}\b|\bnone {_OF}{noun}\b", low
    ):
        return lambda k, n: k == 0
    if m := re.search(rf"\ball (?:but|except) \{{(n\d+)\}} {_OF}{_ADJ}{noun}\b", low):
        left_out = ask.said.num(m[1]).value
        return lambda k, n: k == n - left_out
    if re.search(
        rf"\ball (?:but|except) (?:one|1) {_OF}{_ADJ}{noun}\b|\b(?:every|all) {_ADJ}{noun} but (?:one|1)\b",
        low,
    ):
        return lambda k, n: k == n - 1
    if re.search(rf"\bnot (?:every|all|each) {_OF}{_ADJ}{noun}\b", low):
        return lambda k, n: 0 < k < n or (k == 0 and n > 0)
    if re.search(
        rf"\b(?:only|just|exactly) (?:one|1|a single) {_OF}{_ADJ}{noun}\b|\bthe only {_ADJ}{noun}\b", low
    ):
        return lambda k, n: k == 1
    if m := re.search(rf"\{{(n\d+)\}} {_OF}(?:\{{n\d+\}} )?{_ADJ}{noun}\b", low):
        num = ask.said.num(m[1])
        if num.kind == "count":
            return lambda k, n: (k, n) == (num.value, num.of)
        if num.unit or num.places or num.kind not in ("value", "bare", "all", "loose"):
            return None
        if num.kind == "all":
            return lambda k, n: k == n == num.value
        if num.mod == "over":
            return lambda k, n: k >= num.value
        if num.mod == "under":
            return lambda k, n: k <= num.value
        return lambda k, n: k == num.value
    if re.search(
        rf"\b(?:every|each|all|both) {_OF}{_ADJ}{noun}\b|\b(?:every|each) (?:one|1) of (?:the|my|"
        rf"these) {_ADJ}{noun}\b",
        low,
    ):
        return lambda k, n: k == n
    if re.search(rf"\bmost {_OF}{_ADJ}{noun}\b", low):
        return lambda k, n: 2 * k > n
    if re.search(rf"\b(?:one|1|some|several|a few) {_OF}{_ADJ}{noun}\b", low):
        return lambda k, n: k >= 1
    return None


def _found(ask: Ask, ok: bool, text: str, refs: list[str], boards: list[str]) -> Finding:
    return Finding(
        verdict=V.SUPPORTED if ok else V.CONTRADICTED,
        why=text,
        refs=tuple(refs),
        boards=tuple(boards),
        true=text,
        used=frozenset({*_counts_read(ask), *ask.said.signs("sgr"), "longest", "shortest", "most"}),
    )


def _counts_read(ask: Ask) -> list[str]:
    """Numbers that a tally reads: no ratios, shares or differences."""
    return [s for s in ask.said.signs("n") if ask.said.num(s).kind not in ("factor", "part", "difference")]
