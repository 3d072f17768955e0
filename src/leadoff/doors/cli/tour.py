"""leadoff tour"""

from __future__ import annotations

import click


@click.command("tour")
@click.option(
    "--dir", "folder", default="leadoff-tour", show_default=True, help="A new folder for the demo book."
)
@click.option("--json", "as_json", is_flag=True, help="One JSON line for programs.")
def command(folder: str, as_json: bool) -> int:
    """Build the demo book in a new folder and walk the whole loop in it. Your own book is never touched.

    Everything in it is invented: the town, the machines, the scores.

    \b
    Example:
      leadoff tour
    """
    from leadoff.loop.touring import Tour
    from leadoff.record.results import Result

    tour = Tour(folder)
    if as_json:
        steps = list(tour.walk())
    else:
        from leadoff.show.tour_words import closing, opening, step_words

        opening(tour.title, tour.entries)
        steps = []
        for step in tour.walk():
            step_words(len(steps) + 1, step.key, step.command, step.result)
            steps.append(step)
    from leadoff.show.figures import tour_figures
    from leadoff.show.tour_page import write_page

    page = write_page(
        tour.folder / "tour.html",
        tour.title,
        [(s.key, s.command, s.result) for s in steps],
        tour_figures(*tour.pictures()),
    )
    if as_json:
        data = {
            "book": str(tour.folder / "tour.db"),
            "page": str(page),
            "entries": tour.entries,
            "steps": [{"key": s.key, "command": s.command, "result": s.result} for s in steps],
        }
        click.echo(Result(verb="tour", ok=True, head=steps[-1].result.head, data=data).json().decode())
    else:
        closing(tour.folder, page)
    return 0
