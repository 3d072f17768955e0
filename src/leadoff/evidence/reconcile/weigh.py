"""From a draft to hypotheses with chances: a prior for each, and how likely every clue is under it."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from string import Formatter
from typing import Any

from leadoff.evidence.reconcile.values import Conflict, Draft, Hypothesis
from leadoff.evidence.rows import limit, table


class _Words(dict[str, str]):
    """Gaps that a draft cannot fill read as plain words."""

    def __missing__(self, key: str) -> str:
        return _PLAIN.get(key, f"the {key}")


_PLAIN = {"jumper": "the jumper", "position": "another position"}


def _possible(row: Mapping[str, Any], words: Mapping[str, str]) -> bool:
    """Whether the board has what the cause is about: a jumper it does not have cannot stand wrong."""
    gaps = {field for _, field, _, _ in Formatter().parse(row["name"]) if field}
    return gaps <= words.keys() | _PLAIN.keys()


@cache
def rows() -> Mapping[str, tuple[Mapping[str, Any], ...]]:
    """Hypotheses by the code of their conflict. They are ours: a mistake in them is a bug."""
    out: dict[str, list[Mapping[str, Any]]] = {}
    for row in table("conflicts")["hypothesis"]:
        for code in row["of"]:
            out.setdefault(code, []).append(row)
    return {code: tuple(found) for code, found in out.items()}


def weighed(draft: Draft) -> Conflict:
    """The conflict with its hypotheses, the likeliest first."""
    scored = []
    able = [row for row in rows()[draft.code] if _possible(row, draft.words)]
    for row in able or rows()[draft.code]:
        p = float(row["p"])
        for clue, seen in draft.clues.items():
            if seen is not None:
                given = float(row.get("clues", {}).get(clue, limit("unsaid")))
                p *= given if seen else 1 - given
        scored.append((p, row))
    total = sum(p for p, _ in scored) or 1.0
    words = _Words(draft.words)
    listed = sorted(((p / total, row) for p, row in scored), key=lambda x: -x[0])
    return Conflict(
        code=draft.code,
        setting=draft.setting,
        declared=draft.declared,
        seen=draft.seen,
        rank=draft.rank,
        text=draft.text,
        claims=draft.claims,
        hypotheses=tuple(
            Hypothesis(
                id=row["id"],
                name=row["name"].format_map(words),
                p=p,
                check=row["check"].format_map(words),
                minutes=float(row["minutes"]),
            )
            for n, (p, row) in enumerate(listed)
            if p >= limit("smallest") or n == 0
        ),
        disputes=draft.disputes,
        cosmetic=draft.cosmetic,
    )
