"""leadoff publish"""

from __future__ import annotations

import click

from leadoff.doors.cli.common import common
from leadoff.loop.session import Session
from leadoff.record.results import Result

KINDS = ("page", "paper", "stills", "film", "label", "sale")


@click.command("publish")
@click.argument("board")
@click.option("--to", "to", metavar="FOLDER", required=True, help="Where the files go.")
@click.option("--workload", metavar="NAME", help="The score to show; default: what it ran most often.")
@click.option(
    "--only", multiple=True, type=click.Choice(KINDS), help="Only this; may be given more than once."
)
@click.option("--clear", is_flag=True, help="Stills without ground, to lay over a film.")
@click.option(
    "--with",
    "ask",
    multiple=True,
    type=click.Choice(("prices", "places", "sellers")),
    help="Put this private thing in, for everybody to read; may be given more than once.",
)
@common
def command(
    session: Session,
    board: str,
    to: str,
    workload: str | None,
    only: tuple[str, ...],
    clear: bool,
    ask: tuple[str, ...],
) -> Result:
    """A record of a board that anyone can check and repeat: page, paper, stills, public data file.

    The limits stand on the first screen, as large as the score. Prices, places and sellers stay out
    unless asked for.

    The paper and the PNG need the extra: pip install "leadoff[publish]".

    \b
    Examples:
      leadoff publish grey-486 --to grey-486-report
      leadoff publish grey-486 --to stills --only stills --clear
    """
    from leadoff.loop.publishing import gather, new_place, published
    from leadoff.show.report.plates import Plates
    from leadoff.show.report.write import Publisher

    made = gather(session, board, workload=workload, ask=ask)
    pictures = made.pictures
    plates = Plates(made.public, pictures.points, pictures.bands, pictures.jumpers)
    out = Publisher(made.public, plates, new_place(to), clear=clear)
    for kind in KINDS:
        if not only or kind in only:
            getattr(out, kind)()
    return published(session, made, out.files, out.left_out)
