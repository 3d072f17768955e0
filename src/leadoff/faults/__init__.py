"""Faults of a dead or ailing board: exact chances, the next tests, the repair. NumPy loads with ``diagnose``."""

from __future__ import annotations
