"""leadoff serve"""

from __future__ import annotations

import gc
import importlib

import click


@click.command("serve")
@click.option("--book", metavar="PATH_OR_URL", help="The book; default: your own, or $LEADOFF_BOOK.")
@click.option("--port", type=click.IntRange(1, 65535), default=8486, show_default=True, help="The port.")
@click.option("--lan", is_flag=True, help="Open it to the local network, with a pairing code.")
def command(book: str | None, port: int, lan: bool) -> int:
    """The bench page in a browser: this machine only, or with --lan phones and tablets that know the code.

    Nothing is fetched from outside. On the local network it is plain http: use it at home, not in a cafe.

    \b
    Examples:
      leadoff serve
      leadoff serve --lan
    """
    # Nothing is let go of while modules are loaded: looking for it made the start longer. The page turns it on again.
    gc.disable()
    # By name, as main loads the commands: the command line and the page do not import each other.
    web = importlib.import_module("leadoff.doors.web.serving")
    web.serve(book, port=port, lan=lan, say=click.echo)
    return 0
