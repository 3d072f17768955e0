"""A row of stills of one monitor (a folder, taken from a recording): only distinct screens are read for facts."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from leadoff.evidence.facts import Source
from leadoff.evidence.screens import sniff
from leadoff.evidence.screens.series import distinct
from leadoff.evidence.screens.values import Screen
from leadoff.record.errors import LeadoffError


def thinned(sources: Sequence[Source]) -> list[Source]:
    """Of neighbouring stills that show the same screen the last one stays, and ``parts`` names them all.

    A screen that only grew (more lines below) is one; cursor and blinking text make no difference. Stills that
    cannot be read, and files that are no pictures, stay as they are.
    """
    from leadoff.evidence.screens.picture import open_picture
    from leadoff.evidence.screens.reader import read_screen
    from leadoff.evidence.screens.single import one_thread

    out: list[Source] = []
    row: list[Source] = []
    screens: list[tuple[str, Screen]] = []

    def close() -> None:
        named = {s.name: s for s in row}
        at = 0
        for shown in distinct(screens):
            part = row[at : at + shown.pictures]
            at += shown.pictures
            names = tuple(n for s in part for n in (s.parts or (s.name,)))
            names = names if len(names) > 1 else ()
            out.append(msgspec.structs.replace(named[shown.last], parts=names))
        row.clear()
        screens.clear()

    for source in sources:
        try:
            if sniff(source) < 0.5:
                raise LeadoffError.one("not_a_picture", "not a picture")
            with one_thread():
                screen = read_screen(open_picture(source.data, source.name), source.name)
        except LeadoffError:
            close()
            out.append(source)
            continue
        row.append(source)
        screens.append((source.name, screen))
    close()
    return out
