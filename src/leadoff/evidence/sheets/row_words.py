"""One row of a table to one line of bench words for each score in it; what cannot be decided is said, not guessed."""

from __future__ import annotations

import re
from hashlib import sha256

import msgspec

from leadoff.evidence.facts import Choice, Proposal
from leadoff.evidence.rows import table
from leadoff.evidence.sheets.asking import SKIP, Asker
from leadoff.evidence.sheets.days import day_of
from leadoff.evidence.sheets.heads import UNITS, Role, plain, slug
from leadoff.evidence.sheets.row import Row, Skipped, Unclear, Waiting
from leadoff.evidence.sheets.table import Cell
from leadoff.record.errors import LeadoffError
from leadoff.record.phrases import (
    Ask,
    Context,
    FailurePhrase,
    NotePhrase,
    ScorePhrase,
    SetPhrase,
    Understood,
    WorkloadWord,
)
from leadoff.words import parse as parse_words
from leadoff.words import setting_value

_WORDS = table("table_words")
DITTO = frozenset(_WORDS["ditto"])
NOT_KNOWN = frozenset(_WORDS["not_known"])
BARE_MARKS = frozenset(_WORDS["bare_marks"])
MARK_NAMES: dict[str, str] = _WORDS["mark_names"]
_MARKED = re.compile(r"^(.*[\w)])\s*(\*{1,3}|†|‡|[¹²³]|\((?:\*|\d|[a-d])\)|\^\d)$")
_TWO_WAYS = re.compile(r"^([~<>]?)(\d{1,3}),(\d{3})(?!\d)(.*)$", re.A)


def parse(text: str, context: Context) -> Understood:
    """Words as the bench reads them; what can be no line at all is unclear like any other."""
    try:
        return parse_words(text, context)
    except LeadoffError as error:
        raise Unclear(error.problems[0].text) from None


class RowReader:
    """Reads rows of one file with what is known of its board and workloads."""

    def __init__(
        self,
        context: Context,
        units: dict[str, str],
        boards: tuple[str, ...],
        asker: Asker,
        footnotes: dict[str, str],
        origin: str,
    ) -> None:
        self.context = context
        self.units = units
        self.boards = {b.lower(): b for b in boards}
        self.asker = asker
        self.footnotes = footnotes
        self.origin = origin
        self.last_day: Cell | None = None

    def read(self, row: Row) -> list[Proposal]:
        """The lines of a row. Raises Unclear, Waiting or Skipped; then nothing of the row is taken."""
        needs: set[str] = set()
        dated = self._dated(row)
        scores = self._scores(row, needs)
        day = self._day(row, dated, needs)
        board = self._board(row, needs)
        settings = self._settings(row, needs)
        self._remarks(row, needs)
        if needs:
            raise Waiting(needs)
        return [self._proposal(row, day, board, settings, w, unit, text, at) for w, unit, text, at in scores]

    # the day ----------------------------------------------------------------------------------------------

    def _dated(self, row: Row) -> Cell | None:
        """The cell of the date as it stands; remembers the last one for ditto marks, whatever else the row holds."""
        columns = [n for n, h in enumerate(row.heads) if h.role is Role.DATE]
        if not columns:
            return None
        cell = row.cells[columns[0]] if columns[0] < len(row.cells) else Cell("")
        if cell.text and cell.text.lower() not in DITTO:
            self.last_day = cell if cell.day or day_of(cell.text) else None
        return cell

    def _day(self, row: Row, cell: Cell | None, needs: set[str]) -> str:
        if cell is None:
            return ""
        if cell.text.lower() in DITTO:
            if self.last_day is None:
                raise Unclear("a ditto mark with no date above it")
            cell = self.last_day
        elif not cell.text:
            if self.last_day is None:
                raise Unclear("no date, and none above it")
            above = (Choice(key="above", text=f"the date above them, such as {self.last_day.text}"), SKIP)
            if (
                self._ask(needs, "blank-dates", "rows without a date: what holds for them?", above, row.place)
                is None
            ):
                return ""
            cell = self.last_day
        if cell.day:
            return cell.day
        found = day_of(cell.text)
        if found is None:
            raise Unclear(f"{cell.text!r} is no date")
        if found.sure:
            return found.sure
        choices = (
            Choice(key="dmy", text=f"day first: {cell.text} is {found.dmy}"),
            Choice(key="mdy", text=f"month first: {cell.text} is {found.mdy}"),
            SKIP,
        )
        answer = self._ask(
            needs, "dates", "dates that can be two days: which comes first?", choices, cell.text
        )
        return found.dmy if answer == "dmy" else found.mdy if answer == "mdy" else ""

    # the board ---------------------------------------------------------------------------------------------

    def _board(self, row: Row, needs: set[str]) -> str:
        named = row.of(Role.BOARD)
        if not named:
            return row.board
        text = named[0][1].text
        known = self.boards.get(text.lower()) or self.boards.get(slug(text))
        if known is not None:
            return known
        if not row.board:
            if not self.boards:
                raise Unclear(f'which board of the book is "{text}"? No book was looked in without --board')
            raise Unclear(f'there is no board "{text}" in the book')
        choices = (Choice(key="yes", text=f"yes, it is {row.board}"), SKIP)
        id_ = f"board-{slug(text) or 'x'}"
        self._ask(needs, id_, f'is "{text}" the board {row.board}?', choices, text)
        return row.board

    # settings ----------------------------------------------------------------------------------------------

    def _settings(self, row: Row, needs: set[str]) -> list[SetPhrase]:
        out: list[SetPhrase] = []
        for head, cell, _ in row.of(Role.SETTING):
            if cell.text.lower() in NOT_KNOWN | {"-", "--", "–", "default", "auto"}:
                continue
            text = (
                re.sub(r"\s*(?:ws|wait states?)$", "", cell.text, flags=re.I)
                if "_ws" in head.name
                else cell.text
            )
            try:
                value = setting_value(head.name, text)
            except LeadoffError as error:
                raise Unclear(f"{head.text} {cell.text}: {error.problems[0].text}") from None
            if value is not None:
                out.append(SetPhrase(text=f"{head.name} {value}", name=head.name, value=value))
        for _, cell, _ in row.of(Role.SETTINGS):
            out += self._mashed(cell.text)
        if row.above and (words := set_words(row.above, self.context)):
            choices = (
                Choice(key="below", text=f'yes: "{row.above}" holds for the rows below it'),
                Choice(key="no", text="no, they say nothing of the rows"),
                SKIP,
            )
            text = "lines between the rows name settings: do they hold for the rows below them?"
            if self._ask(needs, "lines-between", text, choices, row.above) == "below":
                out += words
        return out

    def _mashed(self, text: str) -> list[SetPhrase]:
        if text.lower() in NOT_KNOWN | {"-", "--", "–", "default"}:
            return []
        said = parse(text, self.context)
        if said.questions:
            raise Unclear(f"settings {text!r}: {said.questions[0].question}")
        other = [p.text for p in said.phrases if not isinstance(p, SetPhrase)]
        if other:
            raise Unclear(f"settings {text!r}: {other[0]!r} is no setting")
        return [p for p in said.phrases if isinstance(p, SetPhrase)]

    # scores ------------------------------------------------------------------------------------------------

    def _scores(self, row: Row, needs: set[str]) -> list[tuple[str, str, str, str]]:
        """Workload, unit, words and place of each score in a row."""
        out = []
        for head, cell, place in row.of(Role.SCORE):
            name, unit = head.name, head.unit
            if cell.day:
                raise Unclear(f"the result {cell.text!r} is a date: the spreadsheet took a figure for one")
            if not name:
                named = row.of(Role.WORKLOAD)
                if not named:
                    name = self._whose(cell, needs)
                else:
                    name = slug(named[0][1].text)
                    name = next((w for w in self.units if w.lower() == name), name)
                said = row.of(Role.UNIT)
                if said:
                    low = plain(said[0][1].text)
                    if low not in UNITS:
                        raise Unclear(f"{said[0][1].text!r} is no unit that is known")
                    unit = UNITS[low]
            if cell.text.lower() in NOT_KNOWN:
                continue
            words = self._clock(cell.text, needs) if cell.clock else self._score_words(cell.text, needs)
            if words is None or not name:
                continue
            unit = self._unit(name, unit, words, needs)
            out.append((name, unit, words, place))
        if not out and not needs:
            raise Skipped
        return out

    def _whose(self, cell: Cell, needs: set[str]) -> str:
        if not self.units:
            raise Unclear("the heading does not say which workload this is the result of")
        choices = (*(Choice(key=w, text=f"{w}, in {u}") for w, u in sorted(self.units.items())), SKIP)
        return self._ask(needs, "workload", "results of which workload?", choices, cell.text) or ""

    def _clock(self, text: str, needs: set[str]) -> str:
        """A time of day where a duration belongs: a spreadsheet makes hours and minutes of 3:20."""
        hours, minutes, seconds = text.split(":")
        if seconds != "00":
            return text
        choices = (
            Choice(key="ms", text=f"minutes and seconds: {hours}:{minutes}"),
            Choice(key="hms", text=f"hours: {text}"),
            SKIP,
        )
        question = "results that the spreadsheet holds as times of day: what are they?"
        answer = self._ask(needs, "clock-times", question, choices, text)
        return text if answer == "hms" else f"{hours}:{minutes}"

    def _score_words(self, text: str, needs: set[str]) -> str | None:
        low = text.lower()
        if low in BARE_MARKS:
            choices = (
                Choice(key="not_run", text="it was not run"),
                Choice(key="failed", text="it was run and did not finish"),
                SKIP,
            )
            id_ = f"mark-{MARK_NAMES.get(low) or slug(low) or 'sign'}"
            answer = self._ask(needs, id_, f'what does "{text}" in place of a result mean?', choices, text)
            return "crash" if answer == "failed" else None
        if marked := _MARKED.match(text):
            mark = marked[2].strip("()^")
            meaning = self.footnotes.get(mark)
            said = f': "{meaning}"' if meaning else " (no footnote explains it)"
            keep = (Choice(key="keep", text="they count, the remark is kept beside them"), SKIP)
            id_ = f"mark-{MARK_NAMES.get(mark) or slug(mark) or 'sign'}"
            if self._ask(needs, id_, f"results marked {mark}{said}: do they count?", keep, text) is None:
                return "1"
            text = marked[1].strip()
        if (two := _TWO_WAYS.match(text)) and two[2].lstrip("0"):
            ways = (
                Choice(key="decimal", text=f"a decimal comma: {two[2]}.{two[3]}"),
                Choice(key="thousands", text=f"thousands: {two[2]}{two[3]}"),
                SKIP,
            )
            answer = self._ask(needs, "comma", "figures such as 1,234: what is the comma?", ways, text)
            text = f"{two[1]}{two[2]}{'.' if answer == 'decimal' else ''}{two[3]}{two[4]}"
        return text

    def _unit(self, name: str, unit: str, words: str, needs: set[str]) -> str:
        known = self.units.get(name, "")
        if unit and known and unit != known:
            raise Unclear(f"{name} is counted in {known} in the book, in {unit} here")
        typed = re.search(r"\d\s*([A-Za-z][A-Za-z/]*)$", words)
        own = UNITS.get(typed[1].lower(), "") if typed else ""
        column = unit or known
        if own and column and own != column:
            raise Unclear(f"{words!r} is in {own}, the column in {column}")
        if column or own or not re.search(r"\d", words):
            return column or own
        if re.fullmatch(r"(?:\d+:)?\d+:\d\d(?:[.,]\d+)?", words):
            return "s"
        choices = (*(Choice(key=slug(u), text=u) for u in ("frames/s", "s", "MB/s", "score")), SKIP)
        answer = self._ask(needs, f"unit-{name}", f"in what is {name} counted?", choices, words)
        return next((u for u in ("frames/s", "s", "MB/s", "score") if slug(u) == answer), "")

    # remarks, and the line ---------------------------------------------------------------------------------

    def _remarks(self, row: Row, needs: set[str]) -> None:
        """Remarks stay words; one that names a setting or a failure could change the row: it is set aside.

        Columns that nothing is known of may change a result, so they are asked for, all of them at once.
        """
        for _, cell, _ in row.of(Role.NOTE, Role.UNKNOWN):
            said = parse(cell.text, self.context)
            named = next((p for p in said.phrases if isinstance(p, SetPhrase | FailurePhrase)), None)
            if named is not None:
                kind = "a setting" if isinstance(named, SetPhrase) else "a failure"
                raise Unclear(f"the remark {cell.text!r} names {kind} ({named.text})")
        if row.of(Role.UNKNOWN):
            names = [h.text or "without a heading" for h in row.heads if h.role is Role.UNKNOWN]
            text = f"columns {', '.join(repr(n) for n in dict.fromkeys(names))}: do they change a result?"
            choices = (Choice(key="remarks", text="no, they are remarks"), SKIP)
            _, cell, place = row.of(Role.UNKNOWN)[0]
            self._ask(needs, "columns", text, choices, f"{place}: {cell.text}")

    def _proposal(
        self,
        row: Row,
        day: str,
        board: str,
        settings: list[SetPhrase],
        name: str,
        unit: str,
        words: str,
        at: str,
    ) -> Proposal:
        spoken = [*(p.text for p in settings), f"{name} {words}"]
        line = ", ".join(dict.fromkeys(spoken))
        workloads = {w.name: w for w in self.context.workloads} | {name: WorkloadWord(name=name, unit=unit)}
        context = msgspec.structs.replace(self.context, workloads=tuple(workloads.values()))
        said = parse(line, context)
        if said.questions:
            raise Unclear(said.questions[0].question)
        results = [p for p in said.phrases if isinstance(p, ScorePhrase | FailurePhrase)]
        odd = [p for p in said.phrases if not isinstance(p, ScorePhrase | FailurePhrase | SetPhrase)]
        if len(results) != 1 or odd or any(isinstance(p, Ask | NotePhrase) for p in said.phrases):
            raise Unclear(f"{line!r} is not one result")
        kept = sorted({f"{p.name}={p.value}" for p in said.phrases if isinstance(p, SetPhrase)})
        result = " ".join(words.lower().replace(",", ".").split())
        parts = (board, day, "|".join(kept), name, result)
        same_state = _short(board, day, "|".join(kept), name)
        same_day = _short(board, day, name, result)
        same_score = _short(board, "|".join(kept), name, result)
        return Proposal(
            key=f"sheet:{self.origin}:{same_state}:{same_day}:{same_score}",
            id=_short(*parts),
            line=line,
            board=board,
            at=day,
            place=at,
            workload=name,
            unit=unit,
            apart=True,
            said=" | ".join(c.text for c in row.cells if c.text),
        )

    def _ask(
        self, needs: set[str], id_: str, text: str, choices: tuple[Choice, ...], example: str
    ) -> str | None:
        answer = self.asker.need(id_, text, choices, example)
        if answer is None:
            needs.add(id_)
        elif answer == "skip":
            raise Skipped(answered=True)
        return answer


def set_words(text: str, context: Context) -> list[SetPhrase]:
    """Settings that words name, whatever else they say. Raises Unclear."""
    return [p for p in parse(text, context).phrases if isinstance(p, SetPhrase)]


def _short(*parts: str) -> str:
    return sha256("\x1f".join(parts).encode()).hexdigest()[:12]
