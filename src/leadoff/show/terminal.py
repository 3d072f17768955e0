"""Results on a terminal: the answer first, then what it rests on, then what to look at."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable, Sequence
from typing import Any

from rich.console import Console
from rich.markup import escape
from rich.text import Text

from leadoff.record.errors import Problem
from leadoff.record.marks import Level, Mark
from leadoff.record.results import Result

PLAIN_WIDTH = 100
_STYLE = {Level.RED: "bold red", Level.AMBER: "yellow", Level.GREEN: "green", Level.NOTE: "dim"}
_SIGN = {Level.RED: "RED  ", Level.AMBER: "AMBER", Level.GREEN: "GREEN", Level.NOTE: "note "}


def console(*, error: bool = False) -> Console:
    """A console as wide as the terminal, of fixed width and without colour when written to a file."""
    stream = sys.stderr if error else sys.stdout
    width = None if stream.isatty() else int(os.environ.get("LEADOFF_WIDTH", PLAIN_WIDTH))
    return Console(file=stream, width=width, highlight=False, soft_wrap=False)


def show(result: Result) -> None:
    """Print a result."""
    out = console()
    if result.ok:
        render(result, out)
    said = " ".join(p.text for p in result.errors)
    # What a card's own lines say already is not said twice.
    said += " ".join(line["why"] for line in result.data.get("lines", ()))
    if result.verb in ("read", "state"):
        said += " ".join(c["text"] for c in result.data.get("conflicts", ()))
    show_marks([m for m in result.marks if m.text[:60] not in said], out)
    if result.errors:
        show_errors(result.errors)
        if result.data.get("nearest"):
            from leadoff.show.board_words import nearest_words

            nearest_words(result.data["nearest"], console(error=True))


def render(result: Result, out: Console) -> None:
    """The body of a result, by its verb."""
    words = _words(result.verb)
    if words is not None:
        words(result.data, out)


def _words(verb: str) -> Callable[[Any, Console], None] | None:
    import importlib

    place = {
        "board": ("board_words", "board"),
        "state": ("board_words", "state"),
        "move": ("board_words", "move"),
        "undo": ("board_words", "undo"),
        "card": ("card_words", "card"),
        "log": ("run_words", "log"),
        "why": ("run_words", "why"),
        "forecast": ("forecast_words", "forecast"),
        "now": ("plan_words", "now"),
        "book": ("book_words", "book"),
        "sweep": ("sweep_words", "sweep"),
        "swap": ("swap_words", "swap"),
        "sick": ("sick_words", "sick"),
        "substitute": ("substitute_words", "substitute"),
        "electric": ("electric_words", "electric"),
        "profile": ("profile_words", "profile"),
        "profiles": ("profile_words", "profiles"),
        "read": ("read_words", "read"),
        "proof": ("proof_words", "proof"),
        "claim": ("claim_words", "claim"),
        "standings": ("standings_words", "standings"),
        "worth": ("worth_words", "worth"),
        "publish": ("publish_words", "publish"),
        "repeat": ("repeat_words", "repeat"),
        "shelf": ("shelf_words", "shelf"),
    }.get(verb)
    if place is None:
        return None
    module = importlib.import_module(f"leadoff.show.{place[0]}")
    found: Callable[[Any, Console], None] = getattr(module, place[1])
    return found


def show_marks(marks: Iterable[Mark], out: Console) -> None:
    """Marks, the gravest first, each with its word and not by colour alone."""
    order = list(Level)
    for m in sorted(marks, key=lambda m: order.index(m.level)):
        line = Text(f"  {_SIGN[m.level]} ", style=_STYLE[m.level])
        out.print(hang(line, m.text, out.width))


def hang(head: Text, text: str, width: int) -> Text:
    """Text with a hanging indent as deep as its head; the head's style does not run on, no figure loses its unit."""
    import textwrap

    from leadoff.show.text import BOUND, bind

    line = Text()
    line.append_text(head)
    depth = len(line.plain)
    body = textwrap.fill(bind(" ".join(text.split())), max(24, width - depth), break_on_hyphens=False)
    line.append(body.replace(BOUND, " ").replace("\n", "\n" + " " * depth))
    return line


def grid(
    out: Console, columns: Sequence[str], rows: Sequence[Sequence[str]], *, first_bold: bool = False
) -> None:
    """Rows under headings where they fit, otherwise one item for each row. Cells are plain text."""
    if not rows:
        return
    widths = [max(len(columns[n]), *(len(r[n]) for r in rows)) for n in range(len(columns))]
    if sum(widths) + 3 * (len(columns) - 1) + 2 <= out.width:
        _line(out, columns, widths, "dim")
        for row in rows:
            _line(out, row, widths, "bold" if first_bold else "")
        return
    for row in rows:
        rest = [f"{c} {v}".strip() for c, v in zip(columns[1:], row[1:], strict=True) if v.strip()]
        out.print(hang(Text(f"  {row[0]}  ", style="bold"), ", ".join(rest), out.width))


def _line(out: Console, cells: Sequence[str], widths: Sequence[int], style: str) -> None:
    text = "   ".join(c.ljust(w) for c, w in zip(cells, widths, strict=True)).rstrip()
    if text:
        line = Text("  ")
        first = cells[0].ljust(widths[0])
        line.append(first, style=style)
        line.append(text[len(first) :], style="dim" if style == "dim" else "")
        out.print(line, no_wrap=True, overflow="ignore", crop=False)


def show_errors(problems: Sequence[Problem], *, to_error: bool = True) -> None:
    """What is wrong, each with its place; what to do, once where it is the same for all."""
    show_errors_on(problems, console(error=to_error))


def show_errors_on(problems: Sequence[Problem], out: Console) -> None:
    """The same on a given console."""
    same = len({p.do for p in problems}) == 1
    for n, p in enumerate(problems):
        out.print(hang(Text("error: ", style="bold red"), p.text, out.width))
        if p.do and (not same or n == len(problems) - 1):
            out.print(hang(Text("   do: ", style="bold"), p.do, out.width))


def heading(out: Console, text: str, aside: str = "") -> None:
    """A heading line."""
    out.print(f"[bold]{escape(text)}[/bold]" + (f"  [dim]{escape(aside)}[/dim]" if aside else ""))
