"""leadoff board"""

from __future__ import annotations

import click

from leadoff.doors.cli.common import common
from leadoff.loop import boards
from leadoff.loop.session import Session
from leadoff.record.results import Result


@click.group("board", help="Add a board from its file, or list the boards.", invoke_without_command=False)
def command() -> None:
    pass


@command.command("add")
@click.argument("file")
@common
def add(session: Session, file: str) -> Result:
    """Read a board file (TOML) and keep the board. Keys you leave out are unknown, never a default.

    \b
    Example:
      leadoff board add blue-486.toml
    The form of the file with a whole example: docs/board-file.md
    """
    return boards.board_add(session, file)


@command.command("list")
@common
def list_(session: Session) -> Result:
    """List the boards of the book.

    \b
    Example:
      leadoff board list
    """
    return boards.board_list(session)
