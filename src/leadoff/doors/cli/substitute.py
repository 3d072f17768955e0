"""leadoff substitute"""

from __future__ import annotations

import click

from leadoff.doors.cli.common import common, words
from leadoff.loop.session import Session
from leadoff.record.results import Result


@click.command("substitute", context_settings={"ignore_unknown_options": True})
@click.argument("part", nargs=-1)
@common
def command(session: Session, part: tuple[str, ...]) -> Result:
    """What may stand in for a part, on what condition, and which test shows it.

    Parts: clock module, cell, cache, tag, memory, crystal, regulator, capacitor. What is in no table is said to be
    not known. No book is needed.

    \b
    Examples:
      leadoff substitute clock module
      leadoff substitute 64-byte for 128-byte clock module
      leadoff substitute edo for fast page memory
    """
    from leadoff.loop.substituting import substitute

    return substitute(session, words(part))
