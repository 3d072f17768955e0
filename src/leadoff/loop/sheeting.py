"""What a board's sheet and its processor leave in doubt. Light, because the first page of a server needs it."""

from __future__ import annotations

from leadoff.loop.history import BoardView
from leadoff.record.marks import Level, Mark
from leadoff.record.results import mark, note


def sheet_marks(board: BoardView) -> list[Mark]:
    """Marks that stand beside everything said of a board."""
    sheet = board.fold.sheet
    marks = []
    if (sheet.jumpers or sheet.options) and not sheet.sheet_confirmed:
        marks.append(
            mark(
                Level.AMBER,
                "sheet_unconfirmed",
                "this sheet is not confirmed for this board, so positions give assumed values; once a measured "
                "clock or voltage agrees with it, write sheet_confirmed = true in its file and add it again",
            )
        )
    part = board.setup.processor
    if part is not None and part.ambiguous:
        rows = ", ".join(part.ambiguous[:6])
        marks.append(
            mark(
                Level.AMBER,
                "marking_needed",
                f'"{part.id}" names parts of different volts or ratios ({rows}): read the marking on the part',
            )
        )
    elif part is not None and part.v_typ is None and part.locked is None and not part.ratios:
        marks.append(
            note("part_unknown", f'no row knows a processor "{part.id}": none of its limits is checked')
        )
    return marks
