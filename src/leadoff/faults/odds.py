"""Repair odds as a value for money questions: the chance that every repair the start needs works."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from leadoff.faults.diagnosis import UNKNOWN_BOARD
from leadoff.faults.evidence import gather
from leadoff.faults.kinds import Knowledge
from leadoff.faults.network import Array
from leadoff.faults.prepared import prepare
from leadoff.faults.solver import solve
from leadoff.faults.values import SEVERAL, START, Finding, Fitted


def chance_to_fix(
    kb: Knowledge,
    era: str,
    findings: Sequence[Finding] = (),
    *,
    fitted: Fitted = UNKNOWN_BOARD,
    listing: Sequence[str] = (),
    skill: int = 5,
) -> float:
    """P(every fault that stops the start is repaired), exact, given the findings and a seller's words.

    A repair above ``skill`` never works. What stops the start and is in no table is not repaired. The chance
    that the diagnosis itself ends well is not in this figure (0.9 by judgement). With findings that name
    another symptom than the start, the start is not conditioned on.
    """
    work = prepare(kb, era, findings, fitted, SEVERAL, listing)
    net = work.net
    symptom = START if work.symptom == START else "none"
    levels = {n: v for n, v in work.held.levels.items()}
    success = np.array(
        [
            kb.faults[n].repair.success if n in kb.faults and kb.faults[n].repair.skill <= skill else 0.0
            for n in net.names
        ]
    )
    ev = gather(net, levels, symptom, {})
    z = solve(net, ev).z
    # Each draw that stops the start counts with the chance that its repair works; the leak's never does.
    cured = replace(
        net, stage=net.stage[0] + success * (net.stage - net.stage[0]), stage_leak=_mended(net.stage_leak)
    )
    return float(np.clip(solve(cured, gather(cured, levels, symptom, {})).z / z, 0.0, 1.0))


def _mended(leak: Array) -> Array:
    return np.full_like(leak, leak[0])
