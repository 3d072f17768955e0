"""Several figures beside several boards or workloads: which figure is said of which."""

from __future__ import annotations

from leadoff.claims.spoken.scene import Ask


def owner_of(ask: Ask, sign: str) -> tuple[str | None, str | None, str | None]:
    """The board, the workload and the rig that a figure is said of, where several are named; else ``None``."""
    said = ask.said
    boards = [(said.at(s), said.boards[int(s[1:])]) for s in said.signs("b")]
    works = [(said.at(s), said.workloads[int(s[1:])]) for s in said.signs("w")]
    rigs = [(said.at(s), said.rigs[int(s[1:])]) for s in said.signs("g")]
    return _owner(ask, sign, boards), _owner(ask, sign, works), _owner(ask, sign, rigs)


def _owner(ask: Ask, sign: str, named: list[tuple[int, str]]) -> str | None:
    first: dict[str, int] = {}
    for at, name in named:
        first.setdefault(name, at)
    spots = sorted(ask.said.at(f) for f in ask.figures())
    if len(first) < 2 or len(spots) < 2:
        return None
    if len(first) == len(spots):
        return list(first)[spots.index(ask.said.at(sign))]
    if len(spots) < len(first):
        return None
    at = ask.said.at(sign)
    before = [name for p, name in sorted(named) if p < at]
    after = [name for p, name in sorted(named) if p > at]
    if min(first.values()) < spots[0]:
        return before[-1]
    return after[0] if after else before[-1]
