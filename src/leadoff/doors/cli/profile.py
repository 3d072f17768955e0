"""leadoff profile"""

from __future__ import annotations

import click

from leadoff.doors.cli.common import common
from leadoff.loop.session import Session
from leadoff.record.results import Result


@click.command("profile")
@click.argument("trace", required=False)
@click.option("--name", metavar="NAME", help="Name of the profile; default: the file's.")
@click.option("--out", metavar="FILE", help="Where to keep it; default: NAME-OF-TRACE.profile.npz here.")
@click.option("--replace", is_flag=True, help="Overwrite a profile that is there.")
@click.option("--form", type=click.Choice(["lackey", "din", "npy"]), help="Default: told by the content.")
@click.option("--placements", type=click.IntRange(1, 50), help="Drawings of scattered pages; default: 5.")
@common
def command(
    session: Session,
    trace: str | None,
    name: str | None,
    out: str | None,
    replace: bool,
    form: str | None,
    placements: int | None,
) -> Result:
    """Make a profile of your own program from a trace of its memory references; without one, list the shipped.

    The list says how well each shipped profile is foretold by the others, and where the prior is better.

    Reads valgrind's lackey text (--trace-mem=yes), two-column din text and the own NumPy form. No book is
    needed. Takes some seconds for a million references.

    \b
    Examples:
      leadoff profile walk.lackey
      leadoff profile
      leadoff profile walk.din --name walk --out walk.npz --placements 3
    """
    if trace is None:
        from leadoff.loop.profile_list import profiles

        return profiles(session)
    from leadoff.loop.profiling import profile
    from leadoff.show.progress import bar

    with bar(f"simulating {trace}") as progress:
        return profile(
            session,
            trace,
            name=name,
            out=out,
            replace=replace,
            form=form,
            placements=placements,
            progress=progress,
        )
