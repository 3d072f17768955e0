"""The person's tools and proven spares, in their own words."""

from __future__ import annotations

import re
from collections.abc import Iterable

from leadoff.faults.kinds import Knowledge
from leadoff.faults.needs import KITCHEN_TABLE
from leadoff.faults.values import Bench
from leadoff.record.errors import LeadoffError, Problem

_FRONT = re.compile(r"^(?:and|i have|have|a|an|my|the|spare|proven|known[- ]good|extra|some|working)\s+")


def read_tools(kb: Knowledge, text: str) -> tuple[str, ...]:
    """Ids of the tools and spares named in ``text``, parted by commas or "and".

    Raises ``LeadoffError`` with every word that is no tool of the tables.
    """
    names = {w: t.id for t in kb.tools.values() for w in t.words}
    found: list[str] = []
    problems: list[Problem] = []
    for part in re.split(r"[,;+]|\band\b", text.lower()):
        word = " ".join(part.split())
        while (shorter := _FRONT.sub("", word)) != word and word not in names:
            word = shorter
        if not word:
            continue
        if word in names:
            found.append(names[word])
            continue
        known = ", ".join(sorted({t.words[0] for t in kb.tools.values()}))
        problems.append(
            Problem(
                code="faults.tool",
                text=f'no test asks for "{word}"; it would be kept for nothing',
                where=word,
                do=f"name some of: {known}",
            )
        )
    if problems:
        raise LeadoffError(*problems)
    return tuple(dict.fromkeys(found))


def bench_of(kb: Knowledge, owned: Iterable[str]) -> Bench:
    """The bench of somebody who named these; what stands on every table comes with it. Nothing named: not said."""
    names = set(owned)
    if not names:
        return Bench()
    spares = {t.id for t in kb.tools.values() if t.spare}
    return Bench(tools=KITCHEN_TABLE | (names - spares), spares=frozenset(names & spares))
