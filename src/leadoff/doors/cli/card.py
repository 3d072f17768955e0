"""leadoff card"""

from __future__ import annotations

import click

from leadoff.doors.cli.common import common, words
from leadoff.loop.session import Session
from leadoff.record.results import Result


@click.command("card")
@click.argument("board", required=False)
@click.argument("text", nargs=-1)
@click.option(
    "--want", multiple=True, metavar="WORDS", help="A state or a part described: 'x3 bus 66 cpu p55c'."
)
@click.option("--class", "board_class", metavar="CLASS", help="Without a board: 386, 486, socket7.")
@click.option("--bus", metavar="MHZ", help="Without a board: bus clock.")
@click.option("--sram", metavar="NS", help="Without a board: cache chip grade.")
@click.option("--tag", metavar="NS", help="Without a board: tag chip grade.")
@click.option("--banks", type=click.IntRange(1, 2), help="Without a board: cache banks.")
@click.option("--kb", type=click.IntRange(16, 4096), help="Without a board: cache size.")
@click.option("--tag-bits", type=click.IntRange(5, 16), help="Without a board: tag bits.")
@common
def command(
    session: Session,
    board: str | None,
    text: tuple[str, ...],
    want: tuple[str, ...],
    board_class: str | None,
    bus: str | None,
    sram: str | None,
    tag: str | None,
    banks: int | None,
    kb: int | None,
    tag_bits: int | None,
) -> Result:
    """Volts, amps, heat, clocks, cycle patterns and cacheable range: red, amber, green, with the reason.

    It marks and never forbids. It does not replace the part's own data sheet, and local rules for work at
    mains voltage come first.

    \b
    Examples:
      leadoff card blue-486
      leadoff card blue-486 --want "cpu 486dx4-100-wb-3v3 x3 bus 33"
      leadoff card --class 486 --bus 50 --sram 15 --banks 2
    """
    from leadoff.loop import carding

    if board is None:
        return carding.card_from_figures(
            session,
            board_class=board_class,
            bus=bus,
            sram=sram,
            tag=tag,
            banks=banks,
            kb=kb,
            tag_bits=tag_bits,
        )
    return carding.card(session, board, words((*want, *text)) or None)
