"""A typed line made plain, with the way back to what was typed."""

from __future__ import annotations

import unicodedata

from leadoff.record.errors import LeadoffError

MAX_LINE = 500
"""Characters in a line: far above any phrase, far below a pasted file."""

_DASHES = dict.fromkeys("\u2010\u2011\u2012\u2013\u2014\u2212\ufe63\uff0d", "-")
_QUOTES = dict.fromkeys("\u201c\u201d\u201e\u00ab\u00bb", '"') | dict.fromkeys("\u2018\u2019", "'")
_SIGNS = {
    "\u00d7": "x",
    "\u2715": "x",
    "\u00b5": "u",
    "\u03bc": "u",
    "\u2126": "ohm",
    "\u03a9": "ohm",
    "\u00b0": "",
}
_SIGNS |= {"\u2044": "/", "\u2215": "/", "\t": " ", "\u2248": "~"}
_INVISIBLE = dict.fromkeys("\u200b\u200c\u200d\u2060\ufeff\u00ad", "")
_PLAIN = _DASHES | _QUOTES | _SIGNS | _INVISIBLE
_PARTS = {"\u00bd": "1/2", "\u00bc": "1/4", "\u00be": "3/4", "\u2153": "1/3", "\u2154": "2/3"}
_KEEP = ("<super>", "<sub>", "<circle>", "<square>", "<vertical>")


class Line:
    """One typed line: ``plain`` for matching, ``typed(start, end)`` for the original of any stretch of it."""

    def __init__(self, text: str) -> None:
        """Raises LeadoffError ``line_too_long``, ``not_one_line`` or ``control_character``."""
        if len(text) > MAX_LINE:
            raise LeadoffError.one(
                "line_too_long",
                f"the line has {len(text)} characters, at most {MAX_LINE} are read",
                do="say one thing a line, or use read for a file",
            )
        self.text = text
        plain: list[str] = []
        self._origin: list[int] = []
        for index, char in enumerate(text):
            for made in _plain_char(char, plain[-1] if plain else ""):
                plain.append(made)
                self._origin.append(index)
        self.plain = "".join(plain)
        self._origin.append(len(text))

    def typed(self, start: int, end: int) -> str:
        """What was typed between two places of ``plain``."""
        if end <= start:
            return ""
        return self.text[self._origin[start] : self._origin[end - 1] + 1]


def normalise(text: str) -> str:
    """``text`` with typographic signs made plain (dashes, multiplication sign, spaces, micro, ohm)."""
    return Line(text).plain


def _plain_char(char: str, before: str) -> str:
    if char in _PLAIN:
        return _PLAIN[char]
    if char in _PARTS:
        return ("+" if before.isdigit() else "") + _PARTS[char]
    if char.isascii() and char.isprintable():
        return char
    category = unicodedata.category(char)
    if category in ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"):
        newline = char in "\r\n\u2028\u2029"
        raise LeadoffError.one(
            "not_one_line" if newline else "control_character",
            "more than one line was given"
            if newline
            else f"the line holds a control character (U+{ord(char):04X})",
            do="give one line at a time" if newline else "type the line again without it",
        )
    if category == "Zs":
        return " "
    made_of = unicodedata.decomposition(char)
    if made_of.startswith(_KEEP) or (char.isnumeric() and not made_of.startswith("<wide>")):
        return char  # 10² must not become 102, and other scripts' digits are asked for
    return unicodedata.normalize("NFKC", char)
