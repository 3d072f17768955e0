"""Where a value of the catalogue comes from, kept beside every value."""

from enum import StrEnum

import msgspec


class Certainty(StrEnum):
    """How a value is known.

    ``read``: the publication was read for this value. ``memory``: recalled from the named publication, not
    re-read. ``practice``: common practice of the trade, no publication. ``judgement``: our own estimate.
    ``invented``: demo only. ``declared``: a row that the user brought; never used by rows of ours.
    """

    READ = "read"
    MEMORY = "memory"
    PRACTICE = "practice"
    JUDGEMENT = "judgement"
    INVENTED = "invented"
    DECLARED = "declared"


class Origin(msgspec.Struct, frozen=True):
    """Certainty and citation of one value or of a whole row.

    ``source`` is a key of the table of publications (empty when there is none), ``text`` the citation for
    people, ``where`` the place inside it.
    """

    certainty: Certainty
    source: str = ""
    text: str = ""
    where: str = ""


class SourceRow(msgspec.Struct, frozen=True, kw_only=True):
    """One publication: title with its maker, order number, date, where read (empty: not re-read)."""

    id: str
    title: str
    order: str = ""
    date: str = ""
    read_at: str = ""
    note: str = ""

    @property
    def text(self) -> str:
        """The citation as one line."""
        head = ", ".join(x for x in (self.title, self.order and f"order {self.order}", self.date) if x)
        return f"{head} (read at {self.read_at})" if self.read_at else head
