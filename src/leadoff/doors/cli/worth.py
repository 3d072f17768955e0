"""leadoff worth"""

from __future__ import annotations

import click

from leadoff.doors.cli.common import common
from leadoff.loop.session import Session
from leadoff.record.results import Result


@click.command("worth")
@click.argument("board", required=False)
@click.option("--asked", metavar="AMOUNT", help="Price asked: 14, 14 USD, 10..20, or ? when not known.")
@click.option("--postage", metavar="AMOUNT", help="Postage; not stated, it is a band and never zero.")
@click.option("--postage-home", metavar="AMOUNT", help="Postage inside the seller's country, to a forwarder.")
@click.option("--packing", metavar="AMOUNT", help="Packing, handling or storage.")
@click.option("--insurance", metavar="AMOUNT", help="Insurance of the parcel.")
@click.option("--duty", metavar="AMOUNT", help="Duty, if you know it better than the rule.")
@click.option("--duty-pct", metavar="PERCENT", help="Rate of duty, if you know it better than the rule.")
@click.option("--tax", metavar="AMOUNT", help="Import tax, if you know it better than the rule.")
@click.option("--brokerage", metavar="AMOUNT", help="What the carrier takes for customs.")
@click.option("--from", "from_country", metavar="CC", help="The seller's country, two letters.")
@click.option("--to", "to_country", metavar="CC", help="Your country, two letters.")
@click.option("--currency", metavar="CCC", help="Yours, three letters.")
@click.option("--rate", metavar="TEXT", help='What other currencies cost in yours: "USD 0.92, GBP 1.17".')
@click.option("--spread", metavar="PERCENT", help="What the bank or card keeps on the exchange.")
@click.option("--hour", metavar="AMOUNT", help="What an hour of yours is worth; own hours count only then.")
@click.option("--hours", metavar="HOURS", help="Your own hours.")
@click.option("--working", metavar="AMOUNT", help="What the board is worth when it works.")
@click.option("--donor", metavar="AMOUNT", help="What it is worth as a donor of parts.")
@click.option("--parts", metavar="AMOUNT", help="Parts for the repair, spent whether it works or not.")
@click.option("--p-fix", metavar="CHANCE", help="Chance to fix it: 0.55, 55 %, 40..70 %.")
@click.option("--listing", metavar="TEXT", help="The seller's words; the odds follow from them.")
@click.option("--class", "board_class", metavar="CLASS", help="Kind of board, with --listing: 486-vlb ...")
@click.option("--seller", metavar="NAME", help="Whose parcels of yours tell what to expect of this one.")
@click.option("--carrier", metavar="NAME", help="Who brings it; the same.")
@click.option("--promised", metavar="DAYS", help="Days until it comes, as promised.")
@click.option("--risk", metavar="AMOUNT", help="Largest R at which you take an even chance of +R or -R/2.")
@common
def command(session: Session, board: str | None, **said: str | None) -> Result:
    """Landed cost and highest bid of an offer, and the one thing that moves the bid most.

    With a BOARD of your book its findings give the odds. Nothing is kept. No tax advice.

    \b
    Examples:
      leadoff worth --asked 14 --postage 11 --working 45 --donor 6 --p-fix .55 --parts 5
      leadoff worth --asked "20 USD" --rate "USD 0.92" --from US --to DE --currency EUR --working 90
      leadoff worth --asked 14 --working 45 --seller Marten --carrier post --promised 10
      leadoff worth --listing "untested, no display" --class 486-vlb --working 80 --asked ?
    """
    from leadoff.loop.buying import worth

    return worth(session, board, said)
