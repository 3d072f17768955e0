"""leadoff claim"""

from __future__ import annotations

from pathlib import Path

import click

from leadoff.doors.cli.common import common, words
from leadoff.loop.session import Session
from leadoff.loop.standard_input import read_input
from leadoff.record.errors import LeadoffError
from leadoff.record.results import Result


@click.command("claim")
@click.argument("text", nargs=-1)
@click.option("--file", "file", metavar="FILE", help="Check the sentences of a text file, such as a script.")
@common
def command(session: Session, text: tuple[str, ...], file: str | None) -> Result:
    """Check a sentence or a script against the book; without a text it is read from standard input.

    Every sentence is supported, within the noise, not comparable, untested, contradicted, not found, or not
    placed, with the runs it rests on and a wording that would be true. Read the reason before you repeat a
    verdict: plain rules can take a sentence amiss, and then call supported what is not.

    \b
    Examples:
      leadoff claim "CAS 2 made the Ferry faster in w2."
      leadoff claim --file script.txt
    """
    from leadoff.loop.claiming import claim

    return claim(session, _text(text, file))


def _text(text: tuple[str, ...], file: str | None) -> str:
    if text:
        return words(text)
    if file is None:
        return read_input()
    try:
        return Path(file).read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise LeadoffError.one(
            "file_unreadable",
            f"{file} cannot be read as text: {error}",
            where=file,
            do="name a text file in UTF-8",
        ) from None
