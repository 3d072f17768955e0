"""Faults of a dead or ailing board: exact chances, the next tests, the repair.

Importing this loads no NumPy; ``diagnose`` and ``chance_to_fix`` load it when they are first asked for.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from leadoff.faults.codes import beeps, families, post_code
from leadoff.faults.fitted import fitted_from_sheet
from leadoff.faults.hear import Heard, echo, read_findings
from leadoff.faults.kinds import ERAS, STAGES, Knowledge
from leadoff.faults.learn import learn
from leadoff.faults.load import load_knowledge
from leadoff.faults.owned import bench_of, read_tools
from leadoff.faults.stand_ins import Advice, substitutes
from leadoff.faults.table import Table, read_table
from leadoff.faults.tabled import diagnose_table
from leadoff.faults.values import EXACTLY_ONE, SEVERAL, Bench, Case, Diagnosis, Finding, Fitted

if TYPE_CHECKING:
    from leadoff.faults.diagnosis import diagnose
    from leadoff.faults.odds import chance_to_fix

_LATE = {"diagnose": "leadoff.faults.diagnosis", "chance_to_fix": "leadoff.faults.odds"}


def __getattr__(name: str) -> Any:
    if name not in _LATE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    module = import_module(_LATE[name])
    globals()[name] = getattr(module, name)
    return globals()[name]


__all__ = [
    "ERAS",
    "EXACTLY_ONE",
    "SEVERAL",
    "STAGES",
    "Advice",
    "Bench",
    "Case",
    "Diagnosis",
    "Finding",
    "Fitted",
    "Heard",
    "Knowledge",
    "Table",
    "beeps",
    "bench_of",
    "chance_to_fix",
    "diagnose",
    "diagnose_table",
    "echo",
    "families",
    "fitted_from_sheet",
    "learn",
    "load_knowledge",
    "post_code",
    "read_findings",
    "read_table",
    "read_tools",
    "substitutes",
]
