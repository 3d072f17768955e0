"""A bar for long work, on a terminal only."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from rich.progress import Progress

from leadoff.show.terminal import console


@contextmanager
def bar(text: str) -> Iterator[Callable[[int, int | None], None]]:
    """Yields ``(done, total or None)``; drawn on standard error, and not at all when that is a file."""
    out = console(error=True)
    with Progress(console=out, transient=True, disable=not out.is_terminal) as shown:
        task = shown.add_task(text, total=None)

        def step(done: int, total: int | None) -> None:
            shown.update(task, completed=done, total=total)

        yield step
