"""Loads one part of the sentences by its mark. Nothing here prints a sentence of the third part."""

from __future__ import annotations

import tomllib
from collections import Counter
from pathlib import Path
from typing import Any

from leadoff.claims.spoken.check import Checker
from leadoff.claims.spoken.scene import Scene
from leadoff.claims.spoken.values import WEIGHT, Verdict
from leadoff.claims.values import Ledger

HERE = Path(__file__).parent


def half(mark: str) -> list[dict[str, Any]]:
    """Sentences of one part: ``seen`` or ``unseen`` of the first set (both open by now), ``own`` by the author of
    the rules, or ``third``, which no author of rules has read."""
    file = {"own": "own.toml", "third": "third.toml"}.get(mark, "sentences.toml")
    every = tomllib.loads((HERE / file).read_text(encoding="utf-8"))["sentence"]
    return [s for s in every if mark in ("own", "third") or s["half"] == mark]


def verdict_of(ledger: Ledger, sentence: dict[str, Any], checker: Checker | None = None) -> str:
    """The verdict on a sentence after what was said just before it. Of a text of several sentences the last one
    is judged where the set says so (``last``), else the weakest that is placed."""
    checker = checker or Checker(ledger)
    checker.scene = Scene()
    context = sentence.get("context") or []
    for said in [context] if isinstance(context, str) else context:
        checker.text(said)
    found = [c.verdict for c in checker.text(sentence["text"])]
    if sentence.get("last"):
        found = found[-1:]
    placed = [v for v in found if v is not Verdict.NOT_PLACED] or found
    return max(placed, key=WEIGHT.index).value


def score(ledger: Ledger, mark: str) -> Counter[tuple[str, str]]:
    """How often each (true verdict, verdict given) came."""
    last = mark == "third"
    checker = Checker(ledger)
    return Counter((s["verdict"], verdict_of(ledger, {**s, "last": last}, checker)) for s in half(mark))
