"""What is said of the state of a run that is named: ``run 42 was done at 75 MHz with CAS 2``."""

from __future__ import annotations

from leadoff.claims.spoken.evidence import reads
from leadoff.claims.spoken.scene import Ask
from leadoff.claims.spoken.settings import meets
from leadoff.claims.spoken.values import Finding, Verdict
from leadoff.claims.standings import state_words

V = Verdict
_DONE = (
    r"\b(?:was|were|is|had|has|ran|run|used|uses|came from|done|taken|made|timed|measured|recorded|set|"
    r"went|needed|not)\b"
)


def run_states(ask: Ask) -> list[Finding]:
    """Settings, rig, workload and board of one run, with a score where one is named."""
    said, ev = ask.said, ask.evidence
    runs = list(dict.fromkeys(said.runs))
    if len(runs) != 1 or not (ask.wants or said.signs("g")) or not ask.has(_DONE):
        return []
    if any(said.num(s).kind != "value" for s in said.signs("n")):
        return []
    t = ev.by_number[runs[0]]
    wants = [said.want(s) for s in ask.wants]
    wrong = [w.text for w in wants if not w.bare and not meets(w, t.settings, t.core_mhz)]
    unknown = [w.text for w in wants if any(n in t.settings and t.settings[n] is None for n in w.names)]
    wrong += [said.rigs[int(s[1:])] for s in said.signs("g") if said.rigs[int(s[1:])] != t.rig]
    wrong += [said.num(s).text for s in ask.figures() if not reads(t, said.num(s))]
    wrong += [b for s in said.signs("b") if (b := said.boards[int(s[1:])]) != t.board]
    wrong += [w for s in said.signs("w") if (w := said.workloads[int(s[1:])]) != t.workload]
    denied = ask.has(r"\bnot (?:\w+ )?(?:done|run|taken|made|at|with|on|using|have|use)\b")
    text = (
        f"run {t.number} ({t.board}, {state_words(t)}, {t.rig}) reads {' '.join(r.text for r in t.readings)}"
    )
    ok = bool(wrong) if denied else not wrong
    verdict = V.UNTESTED if unknown else V.SUPPORTED if ok else V.CONTRADICTED
    return [
        Finding(
            verdict=verdict,
            why=text,
            refs=(t.number,),
            boards=(t.board,),
            true=text,
            used=frozenset(said.signs("nswgrb")),
        )
    ]
