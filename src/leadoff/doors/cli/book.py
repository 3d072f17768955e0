"""leadoff book"""

from __future__ import annotations

import click

from leadoff.doors.cli.common import common
from leadoff.loop.session import Session
from leadoff.record.results import Result


@click.group("book", help="Verify, backup, merge, export, import, rebuild, redact.")
def command() -> None:
    pass


@command.command("verify")
@click.option("--quick", is_flag=True, help="Only what was written since the last full check.")
@common
def verify(session: Session, quick: bool) -> Result:
    """Check the whole chain and name every damaged entry.

    It finds damage and careless edits. It cannot convince others: an owner can rewrite a whole book; only a
    head's fingerprint that left the house before can.

    \b
    Example:
      leadoff book verify
    """
    from leadoff.loop import booking

    return booking.verify(session, quick=quick)


@command.command("backup")
@click.argument("file", required=False)
@common
def backup(session: Session, file: str | None) -> Result:
    """Copy the book while it may be in use.

    \b
    Example:
      leadoff book backup
    """
    from leadoff.loop import booking

    return booking.backup(session, file)


@command.command("merge")
@click.argument("other")
@common
def merge(session: Session, other: str) -> Result:
    """Take in what another book holds (a copy, a phone's, a restored backup). Redactions win.

    \b
    Example:
      leadoff book merge laptop-copy.db
    """
    from leadoff.loop import booking

    return booking.merge(session, other)


@command.command("export")
@click.argument("file")
@common
def export(session: Session, file: str) -> Result:
    """Write everything as JSON Lines and files in a zip that any tool can read.

    \b
    Example:
      leadoff book export my-book.zip
    """
    from leadoff.loop import booking

    return booking.export(session, file)


@command.command("import")
@click.argument("file")
@common
def import_(session: Session, file: str) -> Result:
    """Take in an exported zip.

    \b
    Example:
      leadoff book import my-book.zip
    """
    from leadoff.loop import booking

    return booking.import_(session, file)


@command.command("rebuild")
@common
def rebuild(session: Session) -> Result:
    """Compute everything that is derived from the journal anew.

    \b
    Example:
      leadoff book rebuild
    """
    from leadoff.loop import booking

    return booking.rebuild(session)


@command.command("redact")
@click.argument("entry")
@click.option("--why", default="", help="A reason that does not repeat what is removed.")
@click.option("--yes", is_flag=True, help="Do it without asking; it cannot be undone.")
@common
def redact(session: Session, entry: str, why: str, yes: bool) -> Result:
    """Remove an entry's body for good from this book, its log, its caches and its own backups.

    \b
    Example:
      leadoff book redact 3f9a12c0 --why "asked by the seller"
    """
    from leadoff.loop import booking

    if not yes:
        click.confirm(f"Remove the body of {entry} for good? This cannot be undone.", abort=True)
    return booking.redact(session, entry, why)
