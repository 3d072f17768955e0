"""Evidence against declaration: ranked claims, conflicts, what would produce them, which check decides."""

from leadoff.evidence.reconcile.find import reconcile
from leadoff.evidence.reconcile.infer import inferred
from leadoff.evidence.reconcile.sweeps import sweep_facts
from leadoff.evidence.reconcile.values import Claim, Conflict, Hypothesis

__all__ = ["Claim", "Conflict", "Hypothesis", "inferred", "reconcile", "sweep_facts"]
