"""The verb ``profile``: a trace of one's own program, made into what caches and memory have to do for it."""

from __future__ import annotations

import math
from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any

from leadoff.loop.session import Session
from leadoff.record.errors import LeadoffError
from leadoff.record.marks import Level
from leadoff.record.quantity import Quantity, Source
from leadoff.record.results import Result, mark, note

if TYPE_CHECKING:
    from leadoff.memory.demand import Demand, Rate
    from leadoff.memory.profile import Profile

SIZES_KB = (64, 128, 256, 512, 1024)
Progress = Callable[[int, int | None], None]


def profile(
    session: Session,
    trace: str,
    *,
    name: str | None = None,
    out: str | None = None,
    replace: bool = False,
    form: str | None = None,
    placements: int | None = None,
    progress: Progress | None = None,
) -> Result:
    """Simulate the whole grid of geometries on a trace, keep the profile in a file, show what it says.

    ``form``: lackey, din or npy where the content does not tell. ``placements``: drawings of scattered pages.
    No book is needed and none is touched. About 7 s for a million references.

    Raises:
        LeadoffError: no such file, no trace, a trace too short, a profile file that is there already, no compiler.
    """
    _compiler()
    source, target = Path(trace), Path(out) if out else Path(f"{Path(trace).stem}.profile.npz")
    if target.exists() and not replace:
        raise LeadoffError.one(
            "profile_there",
            f"{target} is there already and would be lost",
            where=str(target),
            do="name another with --out, or say --replace",
        )
    from leadoff.memory.profiling import make_profile
    from leadoff.memory.trace_text import read_trace

    try:
        read = read_trace(source, form=form)
    except OSError as error:
        raise LeadoffError.one(
            "trace_file", f"{trace} cannot be read: {error.strerror}", where=trace, do="check the path"
        ) from None
    made = make_profile(
        read, name or source.stem, placements=placements, made=session.at[:10], progress=progress
    )
    try:
        made.save(target)
    except OSError as error:
        raise LeadoffError.one(
            "profile_file",
            f"{target} cannot be written: {error.strerror}",
            where=str(target),
            do="give --out",
        ) from None
    data: dict[str, Any] = {
        "name": made.name,
        "file": str(target),
        "references": made.references,
        "warming": len(read) - made.references,
        "units": made.units,
        "instructions": made.instructions,
        "form": made.form,
        "first_level": "8 KB, 4 ways, lines of 16 bytes, write-through",
        "behind": _behind(made),
        "nearest": _nearest(made),
        "understood": list(read.said),
    }
    marks = [note("read_as", s) for s in read.said]
    if len(read.marks) < 2:
        marks.append(
            note("no_units", "no marks of units of work: the first quarter warmed the caches, uncounted")
        )
    if made.references < 1_000_000:
        marks.append(
            mark(
                Level.AMBER,
                "trace_small",
                f"{made.references} references were counted: large caches do not fill in under a million",
            )
        )
    return session.result("profile", data, marks)


def _compiler() -> None:
    if find_spec("numba") is None:
        raise LeadoffError.one(
            "no_compiler",
            "profiles of your own are simulated by compiled loops, and numba is not installed",
            where="numba",
            do='pip install "leadoff[trace]"',
        )


def _demands(source: Profile) -> list[Demand]:
    from leadoff.memory.demand import demand
    from leadoff.memory.geometry import Cache, Hierarchy

    first = Cache(size_kb=8, ways=4, line_bytes=16, policy="wt", replacement="tree")  # type: ignore[arg-type]
    seconds = [None, *(Cache(size_kb=kb, ways=1, line_bytes=16) for kb in SIZES_KB)]
    return [demand(source, Hierarchy(l1=first, l2=second)) for second in seconds]


def _behind(made: Profile) -> list[dict[str, Any]]:
    found = _demands(made)
    fills = found[0].fills.value
    return [
        {
            "l2_kb": kb,
            "fills": _quantity(d.fills, "per 1000 references"),
            "fills_memory": _quantity(d.fills_memory, "per 1000 references"),
            "l2_hit": Quantity(value=_served(d, fills), unit="share", source=Source.COMPUTED),
            "written_back": _quantity(d.victims_l2, "per 1000 references"),
            "page_miss": _quantity(d.page_miss, "share"),
        }
        for kb, d in zip((0, *SIZES_KB), found, strict=True)
    ]


def _served(d: Demand, fills: float) -> float:
    return max(0.0, float(1 - d.fills_memory.value / fills)) if fills else 0.0


def _quantity(rate: Rate, unit: str) -> Quantity:
    value, reach = float(rate.value), math.exp(1.645 * float(rate.log_sd))
    if value <= 0 or reach <= 1:
        return Quantity(value=value, unit=unit, source=Source.COMPUTED)
    return Quantity(value=value, unit=unit, source=Source.COMPUTED, lo=value / reach, hi=value * reach)


def _nearest(made: Profile) -> list[dict[str, Any]]:
    """Shipped families by how far their memory fills are from these, root mean square of logs."""
    from leadoff.memory.demand import families
    from leadoff.memory.demand import profile as shipped

    own = [d.fills_memory.value for d in _demands(made)]

    def apart(family: str) -> float:
        theirs = [d.fills_memory.value for d in _demands(shipped(family))]
        return math.sqrt(sum(math.log(a / b) ** 2 for a, b in zip(own, theirs, strict=True)) / len(own))

    return sorted(({"family": f, "apart": apart(f)} for f in families()), key=lambda row: row["apart"])
