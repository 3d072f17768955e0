"""The tour as one self-contained HTML page: no script, no outside request, wide and phone forms."""

from __future__ import annotations

import html
import io
from collections.abc import Mapping, Sequence
from pathlib import Path

from rich.console import Console
from rich.segment import Segment

from leadoff.record.results import Result
from leadoff.show.terminal import render, show_errors_on, show_marks
from leadoff.show.tour_words import SAYS

WIDE, NARROW = 92, 46


def write_page(
    path: Path,
    title: str,
    steps: Sequence[tuple[str, str, Result]],
    figures: Sequence[Mapping[str, str]] = (),
) -> Path:
    """Write the page; the same steps give the same bytes."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    env = Environment(
        loader=PackageLoader("leadoff.show", "templates"), autoescape=True, undefined=StrictUndefined
    )
    shown = [
        {
            "title": SAYS[key][0],
            "text": SAYS[key][1],
            "command": command,
            "wide": as_html(result, WIDE),
            "narrow": as_html(result, NARROW),
        }
        for key, command, result in steps
    ]
    text = env.get_template("tour.html.jinja").render(title=title, steps=shown, figures=figures)
    path.write_text(text, encoding="utf-8")
    return path


def as_html(result: Result, width: int) -> str:
    """A result as it would stand on a terminal of that width, escaped, with our own few classes."""
    out = Console(file=io.StringIO(), width=width, record=True, force_terminal=True, highlight=False)
    if result.ok:
        render(result, out)
    show_marks(result.marks, out)
    show_errors_on(result.errors, out)
    lines = []
    for segment in Segment.simplify(out._record_buffer):
        if segment.control:
            continue
        lines.append(_span(segment))
    return "".join(lines).rstrip()


def _span(segment: Segment) -> str:
    text = html.escape(segment.text)
    style = segment.style
    if style is None or not segment.text.strip():
        return text
    name = style.color.name if style.color is not None else ""
    css = {"red": "red", "yellow": "amber", "green": "green", "cyan": "cyan"}.get(name, "")
    if not css:
        css = "dim" if style.dim else ("bold" if style.bold else "")
    return f'<span class="{css}">{text}</span>' if css else text
