"""Loads one half of the blind sentences by its mark. Nothing here prints a sentence of the unseen half."""

from __future__ import annotations

import tomllib
from collections import Counter
from pathlib import Path
from typing import Any

from leadoff.claims.spoken.check import Checker
from leadoff.claims.spoken.values import WEIGHT, Verdict
from leadoff.claims.values import Ledger

FILE = Path(__file__).parent / "sentences.toml"


def half(mark: str) -> list[dict[str, Any]]:
    """Sentences of one half, ``seen`` or ``unseen``."""
    every = tomllib.loads(FILE.read_text(encoding="utf-8"))["sentence"]
    return [s for s in every if s["half"] == mark]


def verdict_of(ledger: Ledger, sentence: dict[str, Any]) -> str:
    """The verdict on a sentence after what was said just before it; of several sentences the weakest that is
    placed."""
    checker = Checker(ledger)
    context = sentence.get("context") or []
    for said in [context] if isinstance(context, str) else context:
        checker.text(said)
    found = [c.verdict for c in checker.text(sentence["text"])]
    placed = [v for v in found if v is not Verdict.NOT_PLACED] or found
    return max(placed, key=WEIGHT.index).value


def score(ledger: Ledger, mark: str) -> Counter[tuple[str, str]]:
    """How often each (true verdict, verdict given) came."""
    return Counter((s["verdict"], verdict_of(ledger, s)) for s in half(mark))
