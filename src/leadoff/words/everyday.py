"""The same line in the plainer words that the rules know, for when the line as typed leaves a question."""

from __future__ import annotations

import re
from functools import cache

from leadoff.record.phrases import Context
from leadoff.words.rows import rows

_PARTS = re.compile(r"(\s*(?:;|,(?!\d)|\band\b|\bthen\b)\s*)", re.IGNORECASE)
_SHORT = {"wont": "won't", "cant": "can't"}


def in_bench_words(line: str, context: Context) -> str:
    """``line`` with every part that a row of ``everyday.toml`` fits said in the rules' words.

    A part is rewritten by rows in their order, each at most once; what no row fits stays as typed. Quoted
    words and notes are never touched.
    """
    if '"' in line or "note" in line.lower():
        return line
    parts = _PARTS.split(line)
    return "".join(part if at % 2 else _rewritten(part, context) for at, part in enumerate(parts)).strip(
        " ;,"
    )


def hint(said: str) -> tuple[str, tuple[str, ...]] | None:
    """What to ask, and what would answer it, for words that have no single meaning here."""
    for pattern, ask, choices in _hints():
        if pattern.search(said):
            return ask, choices
    return None


def _rewritten(part: str, context: Context) -> str:
    for pattern, mean in _rows():
        found = pattern.search(part)
        if found is None:
            continue
        if mean == "{apostrophe}":
            word = found[1].lower()
            new = _SHORT.get(word, word.removesuffix("t") + "'t")
        elif mean == "{entries not known}":
            new = "; ".join(f"{name} ?" for name in sorted(context.choices))
            if not new:
                continue
        else:
            new = found.expand(mean)
        part = f"{part[: found.start()]}{new}{part[found.end() :]}".strip()
    return part


def _whole(say: str) -> re.Pattern[str]:
    return re.compile(rf"(?<![\w-])(?:{say})(?![\w-])", re.IGNORECASE)


@cache
def _rows() -> tuple[tuple[re.Pattern[str], str], ...]:
    return tuple((_whole(r["say"]), r["mean"]) for r in rows("everyday")["row"])


@cache
def _hints() -> tuple[tuple[re.Pattern[str], str, tuple[str, ...]], ...]:
    return tuple((_whole(r["say"]), r["ask"], tuple(r["choices"])) for r in rows("everyday")["hint"])
