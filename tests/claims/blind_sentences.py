"""Loads one part of the sentences by its mark, or any file of sentences by its path."""

from __future__ import annotations

import os
import tomllib
from collections import Counter
from pathlib import Path
from typing import Any

from leadoff.claims.spoken.check import Checker
from leadoff.claims.spoken.values import WEIGHT, Verdict
from leadoff.claims.values import Ledger

HERE = Path(__file__).parent


def half(mark: str) -> list[dict[str, Any]]:
    """Sentences of one part: ``seen`` or ``unseen`` of the first set, ``own`` by the author of the rules, ``third``
    (all open by now), else those of the file at this path."""
    if mark in ("seen", "unseen"):
        return [s for s in _sentences(HERE / "sentences.toml") if s["half"] == mark]
    return _sentences({"own": HERE / "own.toml", "third": HERE / "third.toml"}.get(mark, Path(mark)))


def _sentences(file: Path) -> list[dict[str, Any]]:
    if file.resolve().parent.name == "shut" and not os.environ.get("LEADOFF_JUDGE"):
        raise PermissionError(
            f"{file} is a judge: scored once, at the end, with LEADOFF_JUDGE=1, and never read"
        )
    return list(tomllib.loads(file.read_text(encoding="utf-8"))["sentence"])


def verdict_of(ledger: Ledger, sentence: dict[str, Any], checker: Checker | None = None) -> str:
    """The verdict on a sentence after what was said just before it (``context``). Of a text of several sentences
    the last one is judged where the set says so (``last``, or ``mark``: the words that are judged), else the weakest
    that is placed."""
    checker = checker or Checker(ledger)
    checker.forget()
    context = sentence.get("context") or []
    for said in [context] if isinstance(context, str) else context:
        checker.text(said)
    found = [c.verdict for c in checker.text(sentence["text"])]
    if sentence.get("last") or sentence.get("mark"):
        found = found[-1:]
    placed = [v for v in found if v is not Verdict.NOT_PLACED] or found
    return max(placed, key=WEIGHT.index).value


def score(ledger: Ledger, mark: str) -> Counter[tuple[str, str]]:
    """How often each (true verdict, verdict given) came."""
    checker = Checker(ledger)
    return Counter((s["verdict"], verdict_of(ledger, s, checker)) for s in half(mark))
