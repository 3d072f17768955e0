"""leadoff read"""

from __future__ import annotations

import sys

import click
import msgspec

from leadoff.doors.cli.common import common
from leadoff.loop.session import Session
from leadoff.record.results import Result


@click.command("read")
@click.argument("files", nargs=-1, required=True, metavar="FILE...")
@click.option("--board", metavar="BOARD", help="The board the files belong to.")
@click.option("--yes", is_flag=True, help="Add what is new without asking.")
@click.option("--kind", default="", metavar="KIND", help="What the file is, where its content does not say.")
@click.option(
    "--answer", "answers", multiple=True, metavar="ID=KEY", help="Answer a question of an earlier look."
)
@click.option(
    "--flatten", metavar="OUT.PNG", help="Make a photograph of a tube upright and even, to type from."
)
@click.option(
    "--corners", metavar="X,Y*4", help="Corners of the tube, upper left first, clockwise, in pixels."
)
@common
def command(
    session: Session,
    files: tuple[str, ...],
    board: str | None,
    yes: bool,
    kind: str,
    answers: tuple[str, ...],
    flatten: str | None,
    corners: str | None,
) -> Result:
    """Read evidence: firmware images, clock RAM, dumps, logs, text screens, filmed ones too, old tables. Asks once.

    \b
    Examples:
      leadoff read cmos.bin --board blue-486
      leadoff read even.bin odd.bin
      leadoff read rom.bin cpuid.txt pci.txt --board blue-486 --yes
      leadoff read start.png --board blue-486
      leadoff read start-up.mkv --board blue-486
      leadoff read old-runs.xlsx --board blue-486 --answer dates=dmy
      leadoff read photo.jpg --flatten upright.png
    What the bytes are is found by their content, not by the name. Without --board nothing is kept.
    """
    if flatten or corners:
        if not flatten or len(files) != 1:
            raise click.UsageError("--flatten takes one photograph and the name of the picture to write")
        from leadoff.loop.flattening import flatten as upright

        return upright(session, files[0], flatten, corners)
    from leadoff.loop.reading import read

    given = _answers(answers)
    result = read(session, files, board=board, add=yes, kind=kind, answers=given)
    if yes or board is None or not result.ok or not result.data["would_add"] or not _someone_there():
        return result
    from leadoff.show.terminal import show

    show(_without(result, "not_added"))
    if click.confirm(f"add these {result.data['would_add']} to {result.data['board']}?"):
        done = read(session, files, board=board, add=True, kind=kind, answers=given)
        if not done.ok:
            return done
        short: dict[str, object] = {"files": [], "questions": [], "quarantined": [], "conflicts": []}
        return msgspec.structs.replace(done, data={**done.data, **short}, marks=())
    return session.result("read", {"shown": True})


def _without(result: Result, code: str) -> Result:
    """A result without one of its marks: what is about to be asked need not be said."""
    return msgspec.structs.replace(result, marks=tuple(m for m in result.marks if m.code != code))


def _answers(given: tuple[str, ...]) -> dict[str, str]:
    pairs = [a.partition("=") for a in given]
    bad = [a for a, eq, key in pairs if not eq or not key]
    if bad:
        raise click.UsageError(f'"{bad[0]}" is no answer: write it as question=choice, such as dates=dmy')
    return {a: key for a, _, key in pairs}


def _someone_there() -> bool:
    return sys.stdin.isatty() and sys.stdout.isatty() and "--json" not in sys.argv
