"""Starts: would not start, always starts, so many beeps."""

from __future__ import annotations

from leadoff.claims.grade import failed, is_start
from leadoff.claims.spoken.holding_words import about, event
from leadoff.claims.spoken.scene import Ask
from leadoff.claims.spoken.values import Finding, Verdict
from leadoff.record.runs import Outcome

V = Verdict
NO_START = (
    r"\b(?:not|never|refuse[sd]?|fail(?:s|ed)?|declined) (?:to )?(?:\w+ ){0,2}?(?:start|boot|post|"
    r"come|came|light|wake|show)|"
    r"\bno (?:start|boot|post|picture|video|display|sign|life)|\b(?:dead|black screen|blank screen)\b|"
    r"(?:\{n\d+\}|\b(?:just|only|gave|three|long)) beeps?\b|\bbeeped\b|\bwould not\b"
)


def starting(ask: Ask) -> Finding:
    """Starts, would not start, always starts."""
    if not ask.boards and not ask.all_boards:
        return Finding(verdict=V.NOT_PLACED, why="no board to hold it against")
    boards = ask.boards or list(ask.evidence.ledger.boards)
    denied = ask.has(NO_START) and not ask.has(
        r"\bnever (?:fail(?:s|ed)? to|refuse[sd]? to|not|missed|had)\b|\bno trouble\b|\bwithout fail\b"
    )
    always = ask.has(
        r"\b(?:always|every time|each time|never fail(?:s|ed)? to|never missed|without fail|whatever|"
        r"never refused)\b"
    )
    wants = [] if always and not ask.wants and ask.by_name else ask.want_list()
    per: list[tuple[Verdict, str, list[str]]] = []
    for b in boards:
        trials = [
            t for t in ask.evidence.trials([b], wants) if not ask.said.runs or t.number in ask.said.runs
        ]
        if ask.has(r"\b(?:cold|warm) starts?\b"):
            trials = [t for t in trials if is_start(t)]
        beeps = [ask.said.num(s) for s in ask.said.signs("n") if ask.said.num(s).kind == "beeps"]
        bad = [
            t
            for t in trials
            if all(f"{n.value:g} beep" in f"{t.run.place} {t.said}" for n in beeps)
            if t.run.outcome in (Outcome.NO_START, Outcome.NO_POWER) or (is_start(t) and failed(t))
        ]
        good = [
            t
            for t in trials
            if t.run.outcome.held
            or (is_start(t) and (t.run.count or 0) > 0)
            or t.run.outcome is Outcome.BOOTS
        ]
        if not trials:
            per.append((V.UNTESTED, f"{b}: no run in such a state", []))
        elif denied:
            per.append(
                (
                    V.SUPPORTED if bad and not [t for t in good if not is_start(t)] else V.CONTRADICTED,
                    "; ".join(event(t) for t in (bad or good)[:2]),
                    [t.number for t in (bad or good)],
                )
            )
        elif always:
            counted = [t for t in trials if is_start(t)]
            v = V.CONTRADICTED if bad else V.SUPPORTED if counted else V.UNTESTED
            per.append(
                (
                    v,
                    "; ".join(event(t) for t in (bad or counted)[:2]) or f"{b}: no counted starts",
                    [t.number for t in (bad or counted)],
                )
            )
        else:
            v = V.SUPPORTED if good and not bad else V.CONTRADICTED if bad else V.UNTESTED
            per.append(
                (v, "; ".join(event(t) for t in (bad or good)[:2]), [t.number for t in (bad or good)][:8])
            )
    order = (V.SUPPORTED, V.UNTESTED, V.CONTRADICTED)
    weakest = max(per, key=lambda x: order.index(x[0]))
    return about(ask, weakest[0], weakest[1], [r for x in per for r in x[2]])
