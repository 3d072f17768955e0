"""What the tour says between its commands."""

from __future__ import annotations

from pathlib import Path

from rich.markup import escape
from rich.text import Text

from leadoff.record.results import Result
from leadoff.show.terminal import console, hang, render, show_marks

SAYS: dict[str, tuple[str, str]] = {
    "boards": ("The shelf", "Six machines came from one place. Some of their settings nobody has read yet."),
    "state": (
        "State",
        "One board, ordered by how far each setting can be relied on. What was said by jumper follows the sheet; "
        "what runs beyond a limit is named.",
    ),
    "now": (
        "What now",
        "Every state the jumpers and set-up can reach, ranked by gain times the chance to hold, for each minute "
        "at the bench.",
    ),
    "forecast": (
        "Forecast",
        "The first of them, before a jumper is touched. The entry is sealed: it carries the whole state and "
        "stands in the chain before the result.",
    ),
    "move": (
        "Touch",
        "The exact moves. A state that the wiring cannot reach would be refused, with every cause.",
    ),
    "log": ("Measure", "Two runs, typed as they were read off. What they answer is looked up by itself."),
    "why": ("Explain", "Where the difference to the old record comes from, and what cannot be told."),
    "socket": (
        "The chip over the socket",
        "A part for lower volts is held over this board. It is stopped before it is fitted.",
    ),
    "undefined": (
        "What cannot be",
        "A board without a coprocessor: a workload that needs one has no score there, which is not zero.",
    ),
    "dead": (
        "The dead one",
        "It turns its fans and shows nothing. The next tests by what they are worth a minute; no powered test "
        "before its rail checks.",
    ),
    "verify": ("The book", "Every entry is checked against its chain. A changed byte would be named."),
}


def opening(title: str, entries: int) -> None:
    """The first lines."""
    out = console()
    out.print(f"\n[bold]{escape(title)}[/bold]")
    out.print(f"[dim]invented throughout; {entries} entries written to a demo book of its own[/dim]")


def step_words(number: int, key: str, command: str, result: Result) -> None:
    """One step: what it is about, the command, what it answered."""
    from leadoff.show.terminal import show_errors

    out = console()
    title, text = SAYS[key]
    out.print(f"\n[bold cyan]{number}. {escape(title)}[/bold cyan]")
    out.print(hang(Text("   "), text, out.width), style="dim")
    out.print(f"   [bold]$ {escape(command)}[/bold]")
    if result.ok:
        render(result, out)
    show_marks(result.marks, out)
    if result.errors:
        show_errors(result.errors, to_error=False)


def closing(folder: Path, page: Path) -> None:
    """Where everything is, and how to begin."""
    out = console()
    out.print(f"\nThe page of this tour: [bold]{escape(str(page))}[/bold]")
    out.print(f"Play on in its book:   leadoff state reading-486 --book {escape(str(folder / 'tour.db'))}")
    out.print("Your own board:        leadoff board add my-board.toml   (docs/board-file.md)")
