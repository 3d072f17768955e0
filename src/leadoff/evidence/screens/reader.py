"""A text-mode picture to its text: grid, glyphs, signs, and how certain each one is."""

from __future__ import annotations

from itertools import chain
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from leadoff.evidence.screens.cells import band, dot_raster, split
from leadoff.evidence.screens.fields import Half, halves, woven
from leadoff.evidence.screens.glyphs import BLURS, glyph_sets, templates
from leadoff.evidence.screens.grid import COLUMNS, FEW_COLUMNS, combed, filling, profiles
from leadoff.evidence.screens.match import (
    INK_FLOOR,
    Choice,
    Matched,
    choose,
    choose_page,
    compare,
    sample,
    unit,
)
from leadoff.evidence.screens.picture import Picture
from leadoff.evidence.screens.refine import refined
from leadoff.evidence.screens.signs import cursor_cells, settle_lines, settle_mirrored, torn_rows
from leadoff.evidence.screens.single import one_thread
from leadoff.evidence.screens.values import Axis, Grid, Screen
from leadoff.record.errors import LeadoffError

F32 = NDArray[np.float32]
F64 = NDArray[np.float64]

GOOD_FIT = 0.93
"""Mean correlation at which a grid is taken without trying others (judgement, seen on rendered screens)."""
CLEAR_FIT = 0.96
"""Above it no other mode of the same pitch is tried: 14 dots read as 16 reach 0.95."""
LEAST_FIT = 0.62
"""Below it a picture is not taken for a text screen: chance resemblance gives about 0.4."""
SHARP_FIT = 0.995
DOUBTFUL_FIT = 0.9
"""Below it a picture is looked at for lines of two moments."""
WOVEN = "every second line is of another moment: read from lines 1, 3, 5 ...; a still of one moment is better"
LEAST_WHOLE_FIT = 0.86
"""The same for all signs of a picture once its grid is laid: graphics reach 0.8 by chance."""
TRIES = 12
SHADES = ("░", "▒", "▓")
PAGE_SETS = (2, 3, 4, 5)
"""Glyph sets of other code pages, for pictures whose text is in another script throughout."""
GLANCE_ROWS = 4
GLANCE_CELLS = 64
EVIDENCE_DOTS = 40
"""Independent dots a cell counts for when fits are turned into certainty (judgement, checked by simulation)."""


class _Full(NamedTuple):
    """All cells of a picture matched on one grid."""

    choice: Choice
    cells: F32
    inked: NDArray[np.bool_]
    deviation: F32
    found: Matched


def read_screen(picture: Picture, where: str = "") -> Screen:
    """Read a text screen, finding the grid and mode by itself.

    Raises LeadoffError ``no_text_grid`` for a picture in which no character grid fits (graphics, a photograph of a
    tube at an angle): such a picture is typed with the help of ``tube.flatten``.
    """
    with one_thread():
        return _read(picture, where)


def _read(picture: Picture, where: str) -> Screen:
    across, down = profiles(picture.values)
    grid, choice = _best_grid(picture, across, down)
    if choice.fit < LEAST_FIT:
        raise _no_grid(choice.fit, LEAST_FIT, where)
    full = _matched(picture, grid, choice)
    for _ in range(2):
        if _mean_fit(full) > SHARP_FIT:
            break
        better = refined(grid, across, down, _painted(full, grid))
        again = _matched(picture, better, full.choice)
        if _mean_fit(again) <= _mean_fit(full) + 1e-4:
            break
        gained = _mean_fit(again) - _mean_fit(full)
        grid, full = better, again
        if gained < 0.003:
            break
    full = _matched(picture, grid, full.choice, full)
    if _mean_fit(full) < DOUBTFUL_FIT:
        found = _woven(picture, grid, full)
        if found is not None:
            return found
        if _mean_fit(full) < LEAST_WHOLE_FIT:
            raise _no_grid(_mean_fit(full), LEAST_WHOLE_FIT, where)
    return _screen(grid, full)


def _no_grid(fit: float, needed: float, where: str) -> LeadoffError:
    return LeadoffError.one(
        "no_text_grid",
        f"no character grid fits this picture (best likeness {fit:.2f}, {needed:g} is needed)",
        where=where,
        do="for a photograph of a tube: --flatten OUT.png makes it upright and even, to type from",
    )


def _woven(picture: Picture, grid: Grid, full: _Full) -> Screen | None:
    """The first half of the lines as a screen, when the picture is woven of two moments; else ``None``."""
    tried = [grid, *(g for group in filling(picture.values) for g in group if g.y.dots >= 14)]
    best: tuple[float, Grid, _Full, Half] | None = None
    for other in tried:
        again = full if other is grid else _matched(picture, other, full.choice)
        table = templates(other.y.dots, again.choice.which, other.x.dots, again.choice.blur)
        pair = halves(again.cells, table, other.y.dots, other.x.dots)
        if pair is None or not woven(_mean_fit(again), pair):
            continue
        worst = min(half.mean for half in pair)
        if best is None or worst > best[0]:
            best = (worst, other, again, pair[0])
    if best is None:
        return None
    _, grid, full, half = best
    return _laid_out(grid, full, half.signs, certain(half.fit, half.second), best[0], (WOVEN,))


def _best_grid(picture: Picture, across: F64, down: F64) -> tuple[Grid, Choice]:
    """The grid that fits best: those that fill the picture first, then those that the spectrum proposes."""
    high, wide = picture.values.shape
    native = wide in (640, 720) and high in (350, 400)
    own = [(group, (0,)) for group in filling(picture.values)]
    pages = [(group, PAGE_SETS) for group, _ in own] if native else []
    spectrum = chain(
        combed(picture.values, across, down, COLUMNS),
        combed(picture.values, across, down, FEW_COLUMNS),
    )
    best: tuple[Grid, Choice] | None = None
    for n, (group, sets) in enumerate(chain(own, pages, ((g, (0,)) for g in spectrum))):
        for grid in group:
            choice = _glance(picture, grid, down, sets)
            if best is None or choice.fit > best[1].fit:
                best = (grid, choice)
            if best[1].fit > CLEAR_FIT and best[0] is not grid:
                break
        if best is not None and (best[1].fit > GOOD_FIT or (n >= TRIES and best[1].fit > LEAST_FIT)):
            break
    if best is None:
        raise LeadoffError.one("no_text_grid", "there is nothing in this picture", do="check the picture")
    return best


def _glance(picture: Picture, grid: Grid, down: F64, sets: tuple[int, ...]) -> Choice:
    """How well the busiest rows fit, by a few dozen of their signs."""
    edges = (grid.y.start + np.arange(grid.y.cells + 1) * grid.y.pitch).clip(0, len(down)).astype(int)
    total = np.concatenate([[0.0], np.cumsum(down)])
    rows = total[edges[1:]] - total[edges[:-1]]
    first = (
        int(np.convolve(rows, np.ones(GLANCE_ROWS), mode="valid").argmax()) if len(rows) > GLANCE_ROWS else 0
    )
    part = band(grid, first, min(GLANCE_ROWS, grid.y.cells - first))
    cells = split(dot_raster(picture.luma, part), part).reshape(-1, part.x.dots * part.y.dots)
    vectors, deviation = unit(cells)
    return choose(sample(vectors, deviation, GLANCE_CELLS), grid.y.dots, grid.x.dots, BLURS[:2], sets)


def _matched(picture: Picture, grid: Grid, guess: Choice, again: _Full | None = None) -> _Full:
    """All cells compared. Colours are looked at, other drawings and code pages tried, when done ``again``.

    ``again`` is what the same grid gave before: its cells are used anew.
    """
    high, wide = grid.y.dots, grid.x.dots
    if again is None:
        cells = split(dot_raster(picture.luma, grid), grid)
    else:
        shape = (grid.y.cells, grid.x.cells)
        cells = _best_channel(again.cells.reshape(*shape, -1), again.deviation.reshape(shape), picture, grid)
    flat = cells.reshape(-1, high * wide)
    vectors, deviation = unit(flat)
    choice = guess
    if again is not None:
        some = sample(vectors, deviation)
        near = BLURS[max(0, BLURS.index(guess.blur) - 1) :]
        choice = choose(some, high, wide, near)
        choice = choose_page(some, choice, high, wide)
    table = templates(high, choice.which, wide, choice.blur)
    maybe = deviation > INK_FLOOR
    found = compare(vectors[maybe], table)
    contrast = found.fit * deviation[maybe] * (high * wide) ** 0.5 / table.norms[found.best]
    share = contrast / max(1.0, float(np.percentile(contrast, 80))) if len(contrast) else contrast
    sure = (share > 0.3) & (found.fit > 0.7) | (share > 0.12) & (found.fit > 0.95) | (share > 0.7)
    sure &= (table.chars[found.best] != "_") | (share > 0.5)  # the row below may glow into the lowest dots
    shade = np.isin(table.chars[found.best], SHADES)
    sure &= ~shade | (deviation[maybe] > 0.3 * float(np.percentile(deviation[maybe], 80)))
    inked = maybe.copy()
    inked[maybe] = sure
    return _Full(choice, flat, inked, deviation, Matched(*(part[sure] for part in found)))


def _best_channel(cells: F32, deviation: F32, picture: Picture, grid: Grid) -> F32:
    """Brightness, or the one colour that shows a cell far better (blue on black has hardly any brightness)."""
    faint = (deviation > 0.8) & (deviation < 14)
    rows = _coloured_rows(picture, grid, deviation, faint) if faint.any() else range(0)
    if not rows:
        return cells
    part = slice(rows.start, rows.stop)
    faint, level, own = faint[part], deviation[part], cells[part]
    strip = band(grid, rows.start, len(rows))
    colours = split(dot_raster(picture.colour, strip), strip)[faint]
    spread = colours.std(axis=1)
    channel = spread.argmax(axis=1)
    far = spread.max(axis=1) > 2.5 * level[faint]
    taken = np.take_along_axis(colours, channel[:, None, None], axis=2)[:, :, 0]
    own[faint] = np.where(far[:, None], taken, own[faint])
    return cells


def _coloured_rows(picture: Picture, grid: Grid, deviation: F32, faint: NDArray[np.bool_]) -> range:
    """From the first to the last row with a faint cell in which one colour varies far more than brightness.

    By a coarse and quick look.
    """
    x = Axis(start=grid.x.start, pitch=grid.x.pitch, cells=grid.x.cells, dots=4)
    y = Axis(start=grid.y.start, pitch=grid.y.pitch, cells=grid.y.cells, dots=8)
    coarse = Grid(x=x, y=y)
    spread = split(dot_raster(picture.colour, coarse, points=True), coarse)[faint].std(axis=1).max(axis=1)
    found = np.nonzero(faint)[0][(spread > 8) & (spread > 2 * deviation[faint])]
    return range(int(found.min()), int(found.max()) + 1) if len(found) else range(0)


def _mean_fit(full: _Full) -> float:
    return float(full.found.fit.mean()) if len(full.found.fit) else 0.0


def _painted(full: _Full, grid: Grid) -> F32:
    """What the signs read so far would look like, sharp: edges are where dots begin and end."""
    levels = templates(grid.y.dots, full.choice.which, grid.x.dots, 0.0).levels
    cells = np.zeros((full.inked.size, grid.y.dots * grid.x.dots), np.float32)
    cells[full.inked] = levels[full.found.best] * full.deviation[full.inked, None]
    shaped = cells.reshape(grid.y.cells, grid.x.cells, grid.y.dots, grid.x.dots)
    return shaped.swapaxes(1, 2).reshape(grid.y.cells * grid.y.dots, -1)


def _screen(grid: Grid, full: _Full) -> Screen:
    table = templates(grid.y.dots, full.choice.which, grid.x.dots, full.choice.blur)
    signs = np.full(full.inked.size, " ", dtype="<U1")
    certainty = np.where(full.deviation < 2 * INK_FLOOR, 1.0, 0.95)
    signs[full.inked] = table.chars[full.found.best]
    certainty[full.inked] = certain(full.found.fit, full.found.second)
    shape = (grid.y.cells, grid.x.cells)
    fit = np.ones(full.inked.size, np.float32)
    fit[full.inked] = full.found.fit
    cursor = cursor_cells(full.cells, full.inked, signs, certainty, fit, table, grid)
    settle_lines(signs, certainty, shape)
    settle_mirrored(signs, full.cells, full.inked, table, shape)
    torn = torn_rows(fit, full.inked, certainty, shape, cursor)
    notes = tuple(f"row {r + 1} is of two moments, above and below a line in it: not certain" for r in torn)
    return _laid_out(grid, full, signs, certainty, _mean_fit(full), notes, cursor)


def _laid_out(
    grid: Grid,
    full: _Full,
    signs: NDArray[np.str_],
    certainty: NDArray[np.float64],
    fit: float,
    notes: tuple[str, ...] = (),
    cursor: tuple[tuple[int, int], ...] = (),
) -> Screen:
    glyphs = glyph_sets(grid.y.dots)[full.choice.which]
    shape = (grid.y.cells, grid.x.cells)
    rows, sure = signs.reshape(shape), certainty.reshape(shape)
    return Screen(
        grid=grid,
        lines=tuple("".join(row) for row in rows.tolist()),
        certainty=tuple(map(tuple, sure.round(4).tolist())),
        page=glyphs.page,
        font=glyphs.font,
        fit=round(fit, 4),
        cursor=cursor,
        notes=notes,
    )


def certain(fit: F32, second: F32) -> NDArray[np.float64]:
    """The chance that the best sign is the right one, from its correlation and the runner-up's.

    The likelihood ratio of two templates under even noise on ``EVIDENCE_DOTS`` independent dots, and less than that
    when even the best one fits badly.
    """
    best = np.clip(fit.astype(np.float64), 0.0, 0.9995)
    other = np.clip(second.astype(np.float64), 0.0, best)
    ratio = EVIDENCE_DOTS / 2 * np.log((1 - other**2) / (1 - best**2))
    chance = 1 / (1 + np.exp(-np.clip(ratio, 0, 50)))
    return chance * np.clip((best - 0.35) / 0.4, 0.0, 1.0)
