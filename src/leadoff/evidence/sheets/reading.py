"""A whole file: its tables walked, rows read, questions grouped, the rest set aside with its own text."""

from __future__ import annotations

from hashlib import sha256
from pathlib import PurePath

from leadoff.evidence.facts import Hints, Proposal, Quarantined, Reading, Source
from leadoff.evidence.sheets.asking import MOST_QUESTIONS, Asker
from leadoff.evidence.sheets.files import open_file
from leadoff.evidence.sheets.notes import GIVEN_UP, read_notes
from leadoff.evidence.sheets.row import Skipped, Unclear, Waiting
from leadoff.evidence.sheets.row_words import RowReader
from leadoff.evidence.sheets.table import Table
from leadoff.evidence.sheets.walk import walk
from leadoff.record.phrases import Context, WorkloadWord

MOST_ROWS = 20_000
"""Rows of one table that are read (judgement)."""


class _Gathered:
    """What the tables of a file gave together."""

    def __init__(self) -> None:
        self.proposals: list[Proposal] = []
        self.quarantined: list[Quarantined] = []
        self.waiting: list[tuple[str, str, set[str]]] = []
        self.unread: list[str] = []
        self.without = self.left = self.totals = self.rows = self.headings = 0


def read_sheets(source: Source, hints: Hints) -> Reading:
    """The reading of a spreadsheet, of separated values or of notes.

    Raises LeadoffError for files that cannot be opened; whatever stands in cells is proposed, asked or set aside.
    """
    opened = open_file(source)
    asker = Asker(hints.answers)
    context = _context(hints)
    got = _Gathered()
    for table in opened.tables:
        _table(table, source, hints, context, asker, got)
    if opened.notes is not None:
        noted = read_notes(opened.notes, context, asker, hints.board, _origin(source, ""))
        got.proposals += noted.proposals
        got.quarantined += noted.quarantined
        got.waiting += [w for w in noted.waiting if w[2] != {"skip"}]
        got.unread += [f"{source.name}: {noted.unread}"] if noted.unread else []
        got.rows = len([r for r in opened.notes.rows if r and r[0].text])
    asked = set(asker.order()[:MOST_QUESTIONS])
    for text, place, ids in got.waiting:
        late = sorted(ids - asked)
        if late:
            got.quarantined.append(Quarantined(text=text, at=place, why=asker.asked[late[0]][0]))
    waiting = sum(1 for _, _, ids in got.waiting if ids <= asked)
    return Reading(
        kind="sheet",
        title=_title(source, opened.coding, got),
        file=source.name,
        digest=source.digest,
        lines=_lines(got, waiting),
        warnings=(*opened.warnings, *got.unread),
        questions=asker.questions(source.name),
        quarantined=tuple(got.quarantined),
        proposals=tuple(got.proposals),
    )


def _table(
    table: Table, source: Source, hints: Hints, context: Context, asker: Asker, got: _Gathered
) -> None:
    walked = walk(table, list(hints.workloads), hints.board)
    got.totals += walked.totals
    got.headings += walked.headings
    got.rows += len(walked.rows)
    for text, place in walked.stray:
        got.quarantined.append(
            Quarantined(text=text, at=place, why="more cells than headings, or no heading above it")
        )
    reader = RowReader(
        context, dict(hints.workloads), hints.boards, asker, walked.footnotes, _origin(source, table.name)
    )
    before = len(got.proposals) + len(got.waiting)
    for n, row in enumerate(walked.rows):
        found = len(got.proposals) + len(got.waiting) - before
        if n >= MOST_ROWS or (n >= GIVEN_UP and not found):
            why = "no result in" if n < MOST_ROWS else "only"
            got.unread.append(
                f"{source.name}: {why} the first {n} rows: the rest, from {row.place}, was not read"
            )
            break
        text = " | ".join(c.text for c in row.cells if c.text)
        try:
            got.proposals += reader.read(row)
        except Unclear as why:
            got.quarantined.append(Quarantined(text=text, at=row.place, why=str(why)))
        except Waiting as wait:
            got.waiting.append((text, row.place, wait.ids))
        except Skipped as skipped:
            got.left += skipped.answered
            got.without += not skipped.answered


def _context(hints: Hints) -> Context:
    if isinstance(hints.context, Context):
        return hints.context
    words = tuple(WorkloadWord(name=n, unit=u) for n, u in hints.workloads.items())
    return Context(workloads=words, verb="log", board_class=hints.board_class)


def _origin(source: Source, table: str) -> str:
    """Which file a row came from, whatever is edited in it: its name without folder, and the sheet's."""
    return sha256(f"{PurePath(source.name).name.lower()}\x1f{table.lower()}".encode()).hexdigest()[:12]


def _title(source: Source, coding: str, got: _Gathered) -> str:
    how = "spreadsheet" if coding == "xlsx" else f"text, {coding}"
    return f"{how}: {_many(got.rows, 'row')}, {_many(len(got.proposals), 'result')}"


def _lines(got: _Gathered, waiting: int) -> tuple[str, ...]:
    said = [f"{_many(len(got.proposals), 'result')} can go in"]
    said += [f"{p.place}: {p.at or 'no date'}: {p.line}" for p in got.proposals[:3]]
    if len(got.proposals) > 3:
        said.append(f"and {len(got.proposals) - 3} more (--json lists them)")
    if waiting:
        said.append(f"waiting for answers to the questions below: {_many(waiting, 'row')}")
    if got.quarantined:
        said.append(f"set aside with their own words: {_many(len(got.quarantined), 'row')}")
    left = (
        (got.totals, "total"),
        (got.without, "row without a result"),
        (got.left, "row as answered"),
    )
    if any(n for n, _ in left):
        said.append(f"left out: {', '.join(_many(n, what) for n, what in left if n)}")
    return tuple(said)


def _many(count: int, what: str) -> str:
    """1 row, 2 rows, 2 rows without a result."""
    first, _, rest = what.partition(" ")
    return f"{count} {first}{'' if count == 1 else 's'}{f' {rest}' if rest else ''}"
