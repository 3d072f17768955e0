"""Whose side something is on, by the words around it: the one spoken of, or the one it is held against; and the
board it was said of."""

from __future__ import annotations

import re
from collections.abc import Sequence

_FILLER = r"(?:(?:the|my|a|an|its|his|her|at|on|with|only|just|of|that|same|old|in|bus|clock|board) )*"
_GAINS = (
    "gain",
    "gains",
    "gained",
    "benefit",
    "benefits",
    "benefited",
    "profit",
    "profits",
    "profited",
    "comes",
    "come",
    "came",
    "stem",
    "stems",
    "is",
    "was",
)
_REF = re.compile(
    rf"(?:\b(?:\w+er|more|less|worse) then|{''.join(f'(?<!{w} )' for w in _GAINS)}\bfrom|"
    r"\b(?:than|as|of|against|over|versus|vs|off|compared (?:to|with)|beside|next to|alongside|unlike|behind|"
    r"instead of|rather than|in place of|opposed to|relative to|beyond|by|before|was|used to be|"
    r"not|where (?:it|that|this|there|i|we)(?: once)? (?:had been|used to be|had|was|were|sat|stood|"
    r"ran)|loses? to|lost to|out with|pulled|out goes)) " + _FILLER + r"$|\bpast (?:(?:the|my|a|an|its) )?$"
)
"""What stands before the side that the other is held against. A gain *from* something is no such side."""
_REF_BOARD = re.compile(rf"\b(?:to|beats?|leads?|outruns?) {_FILLER}$")
_NEW = re.compile(rf"\b(?:to|then|now|in with|put|in comes|afterwards|later|finally) {_FILLER}$")
_BEFORE = re.compile(
    r"\{\w+\} (?:first|before|previously|earlier|originally|at first|formerly|until then)(?= ,| ?$| and\b)"
)
_AFTER = re.compile(
    r"\{\w+\} (?:now|after|afterwards|later|today|at last|in the end|this time)(?= ,| ?$| and\b)"
)
_MEANS = re.compile(
    rf"(?<!up )(?<!down )(?<!moved )(?<!moving )(?<!going )(?<!went )(?<!come )(?<!coming )(?<!step )(?<!changed )"
    rf"(?<!different )(?<!switching )(?<!switched )(?<!it )\bfrom {_FILLER}$"
)
"""``twelve frames from the faster bus``: what they came from, unless it goes on with ``to``."""


CLEFT = re.compile(
    r"\b(?:it|that) (?:is|was) (?:the |its |my )?\{s\d+\}(?: being)?(?: \w+)? (?:that|which)\b"
)
"""``It was the write-back that held it down``: a cause, whatever its value is held against."""


def want_role(low: str, at: int) -> str:
    """The role of a setting, by the words before it and the one after it."""
    left, here = low[:at], low[at:]
    if _BEFORE.match(here):
        return "ref"
    if _AFTER.match(here):
        return "new"
    if (
        _MEANS.search(left)
        and not re.search(r"\bto (?:\w+ ){0,3}\{[sn]", here)
        and re.search(r"\{[bnwk]", left)
    ):
        return "new"
    return role_of(left)


def role_of(left: str, *, board: bool = False) -> str:
    """``left`` ends at the mention. A size takes in its ``as``: ``{n0} the`` of ``twice as fast as the``."""
    if board and re.search(r"\{n\d+\} (?:the |my )?$", left):
        return "ref"
    then = re.search(r"(?<!, )\bthen " + _FILLER + "$", left)
    if then and re.search(r"\b(?:\w+er|less|more|worse|other)\b[^,]*$", left[: then.start()]):
        return "ref"
    if not board and re.search(r"\bby (?:\w+ing )?" + _FILLER + "$", left):
        return "new"  # the means
    if _REF.search(left) or (board and _REF_BOARD.search(left)):
        return "ref"
    return "new" if _NEW.search(left) else ""


def owner_of(low: str, at: int, spots: Sequence[tuple[int, str]], about: tuple[str, ...]) -> str:
    """The board that something at this place was said of; empty where it is open or was said of several."""
    boards = {b for _, b in spots}
    if len(boards) == 1:
        return next(iter(boards))
    if not boards:
        return about[0] if len(about) == 1 else ""
    if re.match(r"\{\w+\}(?: \w+)? (?:each|both|apiece|alike)\b", low[at:]):
        return ""
    left = [b for s, b in spots if s < at]
    between = low[max((s for s, _ in spots if s < at), default=0) : at]
    if not left or re.search(r"\b(?:both|each|all|same)\b", between):
        return ""
    return left[-1]
