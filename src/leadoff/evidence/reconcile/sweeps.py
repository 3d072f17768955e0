"""A sweep as facts: how large the levels are that it shows."""

from __future__ import annotations

from leadoff.evidence.facts import Fact, Rank
from leadoff.evidence.rows import limit
from leadoff.memory.sweep_values import SweepKind, SweepReading


def sweep_facts(
    reading: SweepReading, *, l1_kb: float | None, l2_kb: float | None, digest: str = "", name: str = "sweep"
) -> tuple[Fact, ...]:
    """Sizes that a read sweep shows, 0 for a level that does not show where it went far enough to see one.

    ``l1_kb`` and ``l2_kb`` are what is declared: they decide which level is which, and whether the sizes tried
    leave a larger one open (then the declared size is taken as seen).
    """
    if reading.kind is not SweepKind.READ or reading.sure < limit("sweep_sure"):
        return ()
    inside = max(limit("inside_kb"), l1_kb or 0.0)
    caches = [level.size_kb for level in reading.levels[:-1] if level.size_kb.value]
    sizes = [_as_declared(float(q.value or 0), q.lo, q.hi, (l1_kb, l2_kb)) for q in caches]
    first = next((s for s in sizes if s <= inside), 0.0)
    if l1_kb == 0:
        first = 0.0
    outer = [s for s in sizes if s != first]
    out: list[Fact] = []

    def say(key: str, value: float, note: str = "") -> None:
        out.append(
            Fact(
                key=f"sweep.{key}",
                value=value,
                unit="KB",
                about="cache",
                rank=Rank.IDENTITY,
                file=name,
                digest=digest,
                note=note,
            )
        )

    if l1_kb and reading.smallest_kb * 2 <= l1_kb and reading.largest_kb >= 2 * l1_kb:
        say("l1_kb", first)
    far = reading.largest_kb >= 2 * max(l2_kb or 0.0, 128.0)
    if outer or far:
        say("l2_kb", outer[0] if outer else 0.0)
    if len(outer) > 1 and outer[1] >= 2 * max(outer[0], l2_kb or 0.0):
        say("slower_beyond_kb", outer[1], "a further step beyond the cache")
    return tuple(out)


def _as_declared(seen: float, lo: float | None, hi: float | None, wanted: tuple[float | None, ...]) -> float:
    for w in wanted:
        if w and lo is not None and hi is not None and lo <= w < hi:
            return w
    return seen
