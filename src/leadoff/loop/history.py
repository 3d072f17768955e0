"""The whole book as values: boards with their states over time, runs, forecasts, open symptoms."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

import msgspec

from leadoff.forecast.facts import Observed, Setup
from leadoff.loop.seen import Seen
from leadoff.loop.session import Session
from leadoff.loop.setups import PartFinder, make_setup
from leadoff.machine.fold import BoardFold, apart, step
from leadoff.machine.processors import base_straps
from leadoff.machine.straps import StrapTable
from leadoff.record.entries import (
    KINDS,
    BoardBody,
    Body,
    DidBody,
    FactBody,
    FindingBody,
    ForecastBody,
    GuessBody,
    RowBody,
    RunBody,
    StateBody,
)
from leadoff.record.errors import LeadoffError
from leadoff.record.evidence import Fact
from leadoff.record.runs import Run, Workload

if TYPE_CHECKING:
    from leadoff.book import Entry

SWEEP = "sweep"
REPAIRED = "test:repair:"
"""How a finding begins that tells of a repair (the verb ``sick`` writes it)."""
READ = frozenset({"board", "row", "state", "did", "run", "finding", "fact", "forecast", "guess"})
_DECODERS: dict[str, msgspec.json.Decoder[Body]] = {
    kind: msgspec.json.Decoder(KINDS[kind]) for kind in sorted(READ)
}


class RunView(msgspec.Struct, frozen=True, kw_only=True):
    """A run with its entry, its time and the setup it was made in."""

    entry: str
    when: str
    run: Run
    setup: Setup
    said: str

    def observed(self) -> Observed:
        return Observed(run=self.run, setup=self.setup, when=self.when)


class SweepView(msgspec.Struct, frozen=True, kw_only=True):
    """A sweep as it was typed, with the setup it was made in and the line of its processor."""

    entry: str
    when: str
    body: FactBody
    setup: Setup
    line_bytes: int


class ForecastView(msgspec.Struct, frozen=True, kw_only=True):
    """A sealed forecast with its entry and time."""

    entry: str
    when: str
    body: ForecastBody


class Symptom(msgspec.Struct, frozen=True, kw_only=True):
    """An oddity that nobody has seen gone."""

    entry: str
    when: str
    finding: str
    detail: str


class BoardView(msgspec.Struct, frozen=True, kw_only=True):
    """One board now and before."""

    fold: BoardFold
    setup: Setup
    base: StrapTable | None
    runs: tuple[RunView, ...]
    forecasts: tuple[ForecastView, ...]
    guesses: tuple[tuple[str, GuessBody], ...]
    open_symptoms: tuple[Symptom, ...]
    facts: tuple[tuple[str, FactBody], ...]
    findings: tuple[FindingBody, ...]
    noted: tuple[tuple[str, FindingBody], ...]
    moved: int
    sweeps: tuple[SweepView, ...] = ()
    seen: tuple[Fact, ...] = ()
    """What files said of this board as it stands; older evidence of settings moved since is left out."""
    mended_after: int = 0
    """How many runs there were when the last repair was told."""

    @property
    def id(self) -> str:
        return self.fold.sheet.id


class History(msgspec.Struct, frozen=True, kw_only=True):
    """Every board and workload of the book."""

    boards: Mapping[str, BoardView]
    workloads: Mapping[str, Workload]
    numbers: frozenset[str]
    unreadable: tuple[str, ...]

    def board(self, name: str) -> BoardView:
        """A board by its id, or by a beginning of it that no other board shares.

        Raises:
            LeadoffError: naming the boards there are.
        """
        found = self.boards.get(name)
        if found is not None:
            return found
        near = [b for b in self.boards if b.lower().startswith(name.lower())]
        if len(near) == 1:
            return self.boards[near[0]]
        there = ", ".join(sorted(near or self.boards)) or "none yet"
        raise LeadoffError.one(
            "board_unknown",
            f'there is no board "{name}" in this book; boards: {there}',
            where=name,
            do="`leadoff board add FILE.toml` adds one" if not near else "write more of the name",
        )

    def workload(self, name: str, do: str = "name one of these") -> Workload:
        """A workload by its name; ``do`` is what else the user may do.

        Raises:
            LeadoffError: naming the workloads there are.
        """
        if name not in self.workloads:
            there = ", ".join(sorted(self.workloads)) or "none yet"
            raise LeadoffError.one(
                "workload_unknown",
                f'there is no workload "{name}" in this book; workloads: {there}',
                where=name,
                do=do,
            )
        return self.workloads[name]

    def run(self, number: str) -> RunView:
        """A run by its number.

        Raises:
            LeadoffError: naming the range of numbers there is.
        """
        wanted = number.lower().removeprefix("run").strip().lstrip("#")
        for view in self.boards.values():
            for run in view.runs:
                if run.run.number == wanted or (len(wanted) >= 8 and run.entry.startswith(wanted)):
                    return run
        known = sorted((r.run.number for b in self.boards.values() for r in b.runs), key=_number_key)
        span = f"runs {known[0]} to {known[-1]}" if known else "no runs yet"
        raise LeadoffError.one(
            "run_unknown",
            f'there is no run "{number}" in this book ({span})',
            where=number,
            do="`leadoff state BOARD` lists its runs",
        )

    def all_runs(self) -> tuple[Observed, ...]:
        """Every run of every board, in the order of the fold; then what the sweeps say, which are runs too."""
        runs = tuple(r.observed() for b in self.boards.values() for r in b.runs)
        sweeps = [s for b in self.boards.values() for s in b.sweeps]
        if not sweeps:
            return runs
        from leadoff.loop.swept import observed

        return (*runs, *observed(sweeps))


def _number_key(number: str) -> tuple[int, str]:
    digits = number.rstrip("abcdefghijklmnopqrstuvwxyz")
    return (int(digits) if digits.isdigit() else 0, number)


def read_history(session: Session) -> History:
    """Read and fold the whole book, in fold order; a desk keeps it between calls."""
    kept = session.kept_history()
    return kept if kept is not None else HistoryReader(session).read(session.book.live(READ))


class _Board:
    """What is gathered of one board while the entries go by."""

    def __init__(self, reader: HistoryReader, fold: BoardFold) -> None:
        self.reader = reader
        self.fold = fold
        self.setups: dict[int, Setup] = {}
        self.last: tuple[BoardFold, Setup] | None = None
        self.runs: list[RunView] = []
        self.forecasts: list[ForecastView] = []
        self.guesses: list[tuple[str, GuessBody]] = []
        self.open: dict[str, Symptom] = {}
        self.facts: list[tuple[str, FactBody]] = []
        self.findings: list[FindingBody] = []
        self.sweeps: list[SweepView] = []
        self.noted: list[tuple[str, FindingBody]] = []
        self.moved = 0
        self.seen = Seen()
        self.mended_after = 0

    def setup(self) -> Setup:
        """The setup of the fold as it stands; computed once for each fold."""
        if self.last is None or self.last[0] is not self.fold:
            self.last = (self.fold, make_setup(self.fold, self.reader.part, self.reader.base(self.fold)))
        return self.last[1]

    def apart(self, body: RunBody, when: str) -> Setup:
        """The setup of a run of an old table, which stands on its own."""
        fold = apart(self.fold.sheet, body.unlike, when)
        return make_setup(fold, self.reader.part, self.reader.base(fold))

    def view(self) -> BoardView:
        return BoardView(
            fold=self.fold,
            setup=self.setup(),
            base=self.reader.base(self.fold),
            runs=tuple(self.runs),
            forecasts=tuple(self.forecasts),
            guesses=tuple(self.guesses),
            open_symptoms=tuple(self.open.values()),
            facts=tuple(self.facts),
            findings=tuple(self.findings),
            noted=tuple(self.noted),
            moved=self.moved,
            sweeps=tuple(self.sweeps),
            seen=tuple(self.seen.facts),
            mended_after=self.mended_after,
        )


class HistoryReader:
    """Folds entries into a history. More entries may be read later, as long as they come last in fold order."""

    def __init__(self, session: Session) -> None:
        self.session = session
        self.part = PartFinder(session)
        self._bases: dict[str, StrapTable | None] = {}
        self.boards: dict[str, _Board] = {}
        self.workloads: dict[str, Workload] = {}
        self.seen_numbers: dict[str, int] = {}
        self.unreadable: list[str] = []
        self.early: dict[str, list[tuple[Entry, RunBody]]] = {}
        """Runs of old tables from before their board was described; read with its sheet once it is."""

    def base(self, fold: BoardFold) -> StrapTable | None:
        key = f"{fold.sheet.socket}|{fold.sheet.board_class}"
        if key not in self._bases:
            self._bases[key] = base_straps(fold.sheet, self.session.catalogue)
        return self._bases[key]

    def read(self, entries: Iterable[Entry]) -> History:
        for entry in entries:
            if entry.body is None:
                continue
            try:
                body = _DECODERS[entry.kind].decode(entry.body)
            except msgspec.MsgspecError as error:
                self.unreadable.append(f"{entry.id[:12]} ({entry.kind}): {error}")
                continue
            self.take(entry, body)
        return History(
            boards={name: b.view() for name, b in sorted(self.boards.items())},
            workloads=self.workloads,
            numbers=frozenset(self.seen_numbers),
            unreadable=tuple(self.unreadable),
        )

    def take(self, entry: Entry, body: Body) -> None:
        if isinstance(body, RowBody):
            if body.table == "workload":
                self.workloads[body.id] = msgspec.convert(body.row, Workload)
            return
        name = _board_of(body)
        if isinstance(body, BoardBody):
            if body.sheet.cpu is not None and body.sheet.cpu_row is not None:
                self.session.described[body.sheet.cpu] = body.sheet.cpu_row
            old = self.boards.get(name)
            fold = step(old.fold if old else None, body, entry.at)
            assert fold is not None
            if old is None:
                self.boards[name] = _Board(self, fold)
                for early, run in self.early.pop(name, ()):
                    self._keep(self.boards[name], early, run)
            else:
                old.fold = fold
            return
        board = self.boards.get(name)
        if board is None:
            if isinstance(body, RunBody) and body.apart:
                self.early.setdefault(name, []).append((entry, body))
            return
        after = step(board.fold, body, entry.at)
        assert after is not None
        board.fold = after
        self._keep(board, entry, body)

    def _keep(self, board: _Board, entry: Entry, body: Body) -> None:
        if isinstance(body, RunBody):
            if not body.apart:
                board.seen.moved(board.fold.sheet, body.unlike)
            run = msgspec.structs.replace(body.run, number=self._number(body.run.number))
            setup = board.apart(body, entry.at) if body.apart else board.setup()
            board.runs.append(RunView(entry=entry.id, when=entry.at, run=run, setup=setup, said=body.said))
        elif isinstance(body, ForecastBody):
            if not entry.withdrawn:
                board.forecasts.append(ForecastView(entry=entry.id, when=entry.at, body=body))
        elif isinstance(body, GuessBody):
            board.guesses.append((entry.id, body))
        elif isinstance(body, FindingBody):
            board.findings.append(body)
            board.noted.append((entry.id, body))
            if body.finding.startswith(REPAIRED):
                board.mended_after = len(board.runs)
            if body.closed:
                board.open.pop(body.finding, None)
            elif ":" not in body.finding:
                board.open[body.finding] = Symptom(
                    entry=entry.id, when=entry.at, finding=body.finding, detail=body.detail
                )
        elif isinstance(body, FactBody):
            board.facts.append((entry.id, body))
            board.seen.take(body)
            if body.name == SWEEP:
                setup = board.setup()
                line = line_bytes(self.session, setup)
                board.sweeps.append(
                    SweepView(entry=entry.id, when=entry.at, body=body, setup=setup, line_bytes=line)
                )
        elif isinstance(body, DidBody | StateBody):
            board.moved += 1
            if isinstance(body, DidBody):
                board.seen.moved(board.fold.sheet, body.changes)

    def _number(self, number: str) -> str:
        """Runs that got the same number in two books become 41 and 41b, the same way in both."""
        count = self.seen_numbers.get(number, 0)
        self.seen_numbers[number] = count + 1
        return number if count == 0 else f"{number}{chr(ord('a') + count)}"


def line_bytes(session: Session, setup: Setup) -> int:
    """Bytes of a line of the processor; by the class of the board where the part is not known."""
    part = setup.processor
    core = session.catalogue.find_core(part.core) if part is not None and part.core else None
    if core is not None and core.l1_line_bytes in (16, 32):
        return core.l1_line_bytes
    return 32 if "socket" in setup.sheet.board_class or "slot" in setup.sheet.board_class else 16


def _board_of(body: Body) -> str:
    if isinstance(body, BoardBody):
        return body.sheet.id
    if isinstance(body, RunBody):
        return body.run.board
    if isinstance(body, ForecastBody):
        return body.state.board
    if isinstance(body, FactBody):
        kind, _, name = body.subject.partition(":")
        return name if kind == "board" else ""
    return str(getattr(body, "board", ""))
