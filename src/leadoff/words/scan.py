"""Where the reader stands in a line, and the small expressions all rules share."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from functools import cache
from typing import NamedTuple, TypeVar

from leadoff.record.errors import LeadoffError
from leadoff.record.phrases import AnyPhrase, Ask, Context, FailurePhrase, ScorePhrase, SetPhrase
from leadoff.words.tokens import Line
from leadoff.words.values import setting_value

T = TypeVar("T")

END = r"(?=[\s;()]|,(?!\d)|$)"
"""What may follow a complete word or figure; a comma before a digit is part of a figure."""
NUM = r"[+-]?(?:\d+(?:[.,']\d+)*|[.,]\d+)"
FRAC = r"(?:\d+\+)?\d+/\d+"
SEPARATOR = re.compile(r"[\s,;()!]*(?:(?:but|and|then|with|also|plus|set|now)(?=\s)[\s,;()!]*)*", re.A)
TIE = re.compile(r"\s*(?:=|:|(?:to|at|is|was)(?=\s))?\s*", re.A)
WORD = re.compile(r"[^\s,;=:()\"]+")
_GAP = re.compile(r" +")
QUOTED = re.compile(r'"([^"]*)"')
MEASURED = r"(?:\s*,?\s*\b(?:by\s+)?(meas(?:ured)?|counter|scope)\b)?"
ABOUT_WORD = r"(?:~\s*|(?:about|approx\.?|ca\.?|circa)\s+)?"


class Found(NamedTuple):
    """A rule's success: where it ended and what it understood."""

    end: int
    phrases: tuple[AnyPhrase, ...]


class Scan:
    """One line being read. ``plain`` is the line made plain, ``low`` the same in lower case."""

    def __init__(self, line: Line, context: Context) -> None:
        self.line = line
        self.context = context
        self.plain = line.plain
        self.low = "".join(c.lower() if len(c.lower()) == 1 else c for c in line.plain)
        self.phrases: list[AnyPhrase] = []
        self.fresh = True
        self._spelled: dict[int, list[tuple[str, int]]] = {}

    def typed(self, start: int, end: int) -> str:
        """The original of a stretch, without blanks around it."""
        return self.line.typed(start, end).strip()

    def last_workload(self) -> str | None:
        """The workload this line named last, which following repeats and failures belong to."""
        named = (p.workload for p in reversed(self.phrases) if isinstance(p, ScorePhrase | FailurePhrase))
        return next((workload for workload in named if workload), None)

    def ask(self, start: int, end: int, question: str, choices: Iterable[str] = ()) -> Found:
        """A question about a stretch of the line."""
        return Found(end, (Ask(text=self.typed(start, end), question=question, choices=tuple(choices)),))

    def ask_error(self, start: int, end: int, error: LeadoffError) -> Found:
        """An error of a figure, put as the question it is."""
        first = error.problems[0]
        said = self.typed(start, end)
        question = first.text if first.text.startswith(said) else f"{said}: {first.text}"
        return self.ask(start, end, f"{question}; {first.do}" if first.do else question)

    def words_at(self, pos: int, most: int) -> list[tuple[str, int]]:
        """Up to ``most`` words from ``pos`` with their ends; a quoted stretch is one word of its own words."""
        if quoted := QUOTED.match(self.low, pos):
            return [(" ".join(quoted[1].split()), quoted.end())]
        words: list[tuple[str, int]] = []
        while len(words) < most and (found := WORD.match(self.low, pos)):
            words.append((found[0], found.end()))
            pos = found.end()
            gap = _GAP.match(self.low, pos)
            if gap is None:
                break
            pos = gap.end()
        return words

    def labels(self, pos: int, table: Mapping[str, T]) -> list[tuple[int, T]]:
        """Labels of ``table`` that the line reads at ``pos``, longest first, with their ends."""
        if pos not in self._spelled:
            self._spelled[pos] = self._spellings(pos)
        return [(end, table[spelled]) for spelled, end in self._spelled[pos] if spelled in table]

    def _spellings(self, pos: int) -> list[tuple[str, int]]:
        """The next one to six words as a label may have them, longest first; many tables are asked for one place."""
        found: list[tuple[str, int]] = []
        said = ""
        for word, end in self.words_at(pos, 6):
            said = f"{said} {word}".strip()
            found += [(spelled, end) for spelled in dict.fromkeys((said, said.rstrip(".!")))]
        return found[::-1]

    def setting(self, start: int, end: int, name: str, text: str, measured: bool = False) -> Found:
        """A setting put to the typed ``text``, or the question why it cannot be."""
        try:
            value = setting_value(name, text, measured=measured)
        except LeadoffError as error:
            return self.ask_error(start, end, error)
        unread = value is None and text.strip().lower() in ("default", "auto")
        why = f"{text.strip().lower()} is not known" if unread else ""
        phrase = SetPhrase(text=self.typed(start, end), name=name, value=value, measured=measured, why=why)
        return Found(end, (phrase,))


Rule = Callable[[Scan, int], Found | None]


@cache
def pattern(text: str) -> re.Pattern[str]:
    """A compiled expression; digits are ASCII digits only, so that no other numeral passes unseen."""
    return re.compile(text, re.A)


def match(scan: Scan, text: str, pos: int) -> re.Match[str] | None:
    """An expression at ``pos`` of the lower-case line."""
    return pattern(text).match(scan.low, pos)
