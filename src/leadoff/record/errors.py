"""What goes wrong, said once: every error names what is wrong with values, why it matters and what to do."""

from __future__ import annotations

import msgspec


class Problem(msgspec.Struct, frozen=True, kw_only=True):
    """One thing wrong, as the contract prints it.

    ``code`` is stable and meant for programs; ``text`` says what is wrong, with values, and why it matters;
    ``where`` is a path, a file, a word or a setting; ``do`` is the next act.
    """

    code: str
    text: str
    where: str = ""
    do: str = ""


class LeadoffError(Exception):
    """Root of every error that is the user's case (exit 1); anything else is a bug (exit 2).

    Carries all problems found, not the first one.
    """

    def __init__(self, *problems: Problem) -> None:
        if not problems:
            raise ValueError("an error without a problem says nothing")
        self.problems = problems
        super().__init__("; ".join(p.text for p in problems))

    @classmethod
    def one(cls, code: str, text: str, *, where: str = "", do: str = "") -> LeadoffError:
        """The usual case: a single problem."""
        return cls(Problem(code=code, text=text, where=where, do=do))
