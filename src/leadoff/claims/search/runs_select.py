"""What a clause asks of a run, and the runs that are so."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from leadoff.claims.grade import failed
from leadoff.claims.search.runs_words import When, counts, says, whens
from leadoff.claims.search.trials_book import mentioned
from leadoff.claims.search.trials_heard import Part
from leadoff.claims.search.trials_scope import Mentions
from leadoff.claims.search.trials_states import event_kind
from leadoff.claims.search.trials_words import Word
from leadoff.claims.spoken.dates import on_date, side_of
from leadoff.claims.spoken.evidence import Evidence
from leadoff.claims.spoken.reading import Said
from leadoff.claims.spoken.settings import meets
from leadoff.claims.spoken.values import Want
from leadoff.claims.values import Trial


class Asked(msgspec.Struct, frozen=True, kw_only=True):
    """Boards, workloads, cards, settings, dates, and whether a run gave a reading (``read``, ``unread``, ``failed``);
    ``unnoted``: settings that nobody wrote down; ``readings``: so many of them."""

    names: Mentions = Mentions()
    boards: tuple[str, ...] = ()
    works: tuple[str, ...] = ()
    rigs: tuple[str, ...] = ()
    wants: tuple[Want, ...] = ()
    unnoted: tuple[Want, ...] = ()
    whens: tuple[When, ...] = ()
    kind: str = ""
    readings: int = 0

    @property
    def empty(self) -> bool:
        """Whether nothing is asked."""
        return not (
            self.boards
            or self.works
            or self.rigs
            or self.wants
            or self.unnoted
            or self.whens
            or self.kind
            or self.readings
        )


def asked(words: Sequence[Word], said: Said, ev: Evidence) -> Asked:
    """What these words ask of a run."""
    low = f" {' '.join(w.text for w in words)} "
    ints = tuple(
        (
            msgspec.structs.replace(said.num(w.sign), text=w.sign),
            words[i + 1].text if i + 1 < len(words) else "",
        )
        for i, w in enumerate(words)
        if w.sign.startswith("n") and counts(said.num(w.sign))
    )
    part = Part(words=tuple(words), ints=ints)
    names = mentioned(said, [part], ev)
    boards = tuple(dict.fromkeys((*names.boards, *(b for g in names.groups for b in g))))
    bare = [said.want(s) for s in part.signs("s") if said.want(s).bare]
    return Asked(
        names=names,
        boards=boards,
        works=tuple(dict.fromkeys(said.workloads[int(s[1:])] for s in part.signs("w"))),
        rigs=tuple(dict.fromkeys(said.rigs[int(s[1:])] for s in part.signs("g"))),
        wants=tuple(ev.settle(w, boards) for w in names.wants),
        unnoted=tuple(bare) if says("unnoted").search(low) else (),
        whens=tuple(whens(low, said)),
        kind=_kind(low, words),
        readings=_readings(low, said),
    )


def _readings(low: str, said: Said) -> int:
    """``a single reading``, ``three readings each``: how many readings a run has."""
    if says("single").search(low):
        return 1
    m = says("readings").search(low)
    return round(said.num(m["k"]).value) if m and not said.num(m["k"]).places else 0


def _kind(low: str, words: Sequence[Word]) -> str:
    if says("no_figure").search(low):
        return "unread"
    for kind, names in (
        ("hang", ("hang",)),
        ("reboot", ("reboot",)),
        ("no start", ("dark",)),
        ("failed", ("crash", "fail")),
    ):
        if any(w.of(*names) for w in words):
            return kind
    return next((kind for kind in ("unread", "read", "failed") if says(kind).search(low)), "")


def select(trials: Sequence[Trial], a: Asked) -> tuple[Trial, ...]:
    """The runs that are so."""
    return tuple(t for t in trials if _fits(t, a, trials))


def _fits(t: Trial, a: Asked, pool: Sequence[Trial]) -> bool:
    if (a.boards and t.board not in a.boards) or (a.works and t.workload not in a.works):
        return False
    if a.rigs and t.rig not in a.rigs:
        return False
    if not all(meets(w, t.settings, t.core_mhz) for w in a.wants):
        return False
    if not all(t.settings.get(n, "") is None for w in a.unnoted for n in w.names):
        return False
    if a.readings and len(t.readings) != a.readings:
        return False
    if a.kind in ("read", "unread") and bool(t.readings) != (a.kind == "read"):
        return False
    if (a.kind == "failed" and not failed(t)) or (
        a.kind in ("hang", "reboot", "no start") and event_kind(t) != a.kind
    ):
        return False
    years = tuple(sorted({x.observed.when[:4] for x in pool}))
    listed = [w for w in a.whens if w.relation == "on"]
    rest = [w for w in a.whens if w.relation != "on"]
    return (not listed or any(_then(t.observed.when, w, years) for w in listed)) and all(
        _then(t.observed.when, w, years) for w in rest
    )


def _then(when: str, w: When, years: tuple[str, ...]) -> bool:
    side = side_of(when, w.date, years)
    if w.to:
        return side >= 0 and side_of(when, w.to, years) <= 0
    return {"on": side == 0, "before": side < 0, "after": side > 0, "until": side <= 0, "since": side >= 0}[
        w.relation
    ]


def begun(subject: Sequence[Trial], dates: Sequence[When]) -> bool:
    """Whether the first of them falls on the beginning of a range and the last on its end."""
    found = sorted(t.observed.when for t in subject)
    return all(on_date(found[0], w.date) and on_date(found[-1], w.to) for w in dates if w.to)
