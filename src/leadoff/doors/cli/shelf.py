"""leadoff shelf"""

from __future__ import annotations

import click

from leadoff.doors.cli.common import common
from leadoff.loop.session import Session
from leadoff.record.results import Result


@click.command("shelf")
@click.argument("board", required=False)
@click.option("--in", "place", metavar="PLACE", default="", help="Where it is now.")
@click.option("--waits", multiple=True, metavar="PART", help="A part it waits for.")
@click.option("--got", multiple=True, metavar="PART", help="A part that came.")
@click.option(
    "--codes", metavar="TEXT", default="", help='Date codes of its parts: "u3 9347, u7 9412, cell 201912".'
)
@click.option("--dumped", is_flag=True, help="Its firmware has been dumped.")
@click.option(
    "--specimen", metavar="NAME", default="", help="A loose part or processor; with --in and --codes."
)
@click.option(
    "--parcel", metavar="WORDS", default="", help='"holds sram 32kx8, from Marten, promised 10 days".'
)
@common
def command(
    session: Session,
    board: str | None,
    place: str,
    waits: tuple[str, ...],
    got: tuple[str, ...],
    codes: str,
    dumped: bool,
    specimen: str,
    parcel: str,
) -> Result:
    """Where boards and parts are, what they wait for, what one order unlocks, what is due and when.

    A parcel's words: holds PART, from SELLER, by CARRIER, ordered DATE, promised N days, abroad, price AMOUNT;
    later p3, came DATE, whole or damaged, surcharge AMOUNT.

    \b
    Examples:
      leadoff shelf
      leadoff shelf grey-486 --in "box 3" --waits "sram 32kx8 15 ns"
      leadoff shelf grey-486 --codes "u3 9347, u7 9412"
      leadoff shelf grey-486 --parcel "holds sram 32kx8 15 ns, from Marten, by post, promised 10 days"
      leadoff shelf --parcel "p1, came 2026-03-14, whole"
      leadoff shelf --specimen "cap 1000u 6.3v" --in "drawer 2" --codes 201847
    """
    from leadoff.loop.shelving import Said, shelf

    said = Said(
        place=place, waits=waits, got=got, codes=codes, dumped=dumped, specimen=specimen, parcel=parcel
    )
    return shelf(session, board, said)
