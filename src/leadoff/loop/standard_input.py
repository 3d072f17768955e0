"""Text from standard input, or one clear error where it is none."""

from __future__ import annotations

import sys

from leadoff.record.errors import LeadoffError


def read_input() -> str:
    """All of standard input. What is no text in UTF-8 is refused, also where Python passes such bytes on: printed
    again they could steer the terminal."""
    try:
        given = sys.stdin.read()
        given.encode("utf-8")
    except UnicodeError as error:
        at = error.start + 1 if isinstance(error, UnicodeDecodeError | UnicodeEncodeError) else 1
        raise LeadoffError.one(
            "input_unreadable",
            f"standard input is no text: at place {at} it is not UTF-8",
            where="standard input",
            do="give text in UTF-8; nothing was stored",
        ) from None
    return given
