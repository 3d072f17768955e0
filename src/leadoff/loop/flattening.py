"""A photograph of a tube made upright and even, to type from; and to read, where a character grid then fits."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from leadoff.loop.session import Session
from leadoff.record.errors import LeadoffError
from leadoff.record.marks import Mark
from leadoff.record.results import Result, note


def flatten(session: Session, file: str, out: str, corners: str | None = None) -> Result:
    """Write the flattened picture of ``file`` to ``out``. Corners, upper left first and clockwise, or by its glow.

    Raises:
        LeadoffError: a file that is no picture, corners that go round no screen, a place that cannot be written.
    """
    from leadoff.evidence.screens.picture import open_picture, picture_of
    from leadoff.evidence.screens.reader import read_screen
    from leadoff.evidence.screens.single import one_thread
    from leadoff.evidence.screens.tube import corners_of
    from leadoff.evidence.screens.tube import flatten as flat

    try:
        data = Path(file).read_bytes()
    except OSError as error:
        raise LeadoffError.one(
            "file_missing", f"{file} cannot be read: {error.strerror}", where=file, do="check the path"
        ) from None
    picture = open_picture(data, file)
    found = _corners(corners) if corners else corners_of(picture)
    image = flat(picture, found)
    try:
        image.save(out, "PNG")
    except OSError as error:
        raise LeadoffError.one(
            "not_written", f"{out} cannot be written: {error.strerror}", where=out, do="give another place"
        ) from None
    said = " ".join(f"{x:.0f},{y:.0f}" for x, y in found)
    marks: list[Mark] = []
    if not corners:
        guessed = f"the corners were guessed from the glow: look at {out}"
        better = f'where it is askew give them corrected: --corners "{said}"'
        marks.append(note("corners_guessed", f"{guessed}; {better}"))
    lines: tuple[str, ...] = ("no character grid fits it: type from it what it says with `leadoff log`",)
    try:
        with one_thread():
            screen = read_screen(picture_of(image.convert("RGB")), out)
        lines = (
            f"a character grid fits it ({screen.grid.mode}, fit {screen.fit:.2f}): `leadoff read {out}`",
            *(" ".join(line.split()) for line in screen.lines if line.strip()),
        )[:7]
    except LeadoffError:
        pass
    data_out: dict[str, Any] = {
        "board": None,
        "files": [
            {
                "file": out,
                "digest": "",
                "kind": "screen",
                "title": f"flattened from {file}",
                "lines": list(lines),
            }
        ],
        "corners": [list(c) for c in found],
        **{key: [] for key in ("facts", "questions", "quarantined", "proposed", "entries", "conflicts")},
        **{key: 0 for key in ("would_add", "already", "added")},
    }
    return session.result("read", data_out, marks)


def _corners(text: str) -> Any:
    pairs = re.findall(r"(-?\d+(?:\.\d+)?)\s*,\s*(-?\d+(?:\.\d+)?)", text)
    if len(pairs) != 4:
        raise LeadoffError.one(
            "bad_corners",
            f"{text!r} is not four corners",
            where="--corners",
            do='from upper left clockwise, in pixels: "120,80 1500,95 1490,1180 130,1170"',
        )
    return tuple((float(x), float(y)) for x, y in pairs)
