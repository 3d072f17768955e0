"""The dots of each cell, taken from a picture along a grid."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from leadoff.evidence.screens.values import Axis, Grid

if TYPE_CHECKING:
    from PIL.Image import Image

F32 = NDArray[np.float32]


def dot_raster(image: Image, grid: Grid, *, points: bool = False) -> F32:
    """The picture brought to one value for each dot: [rows * dots, columns * dots] (and colours, when it has them).

    With ``points`` each dot is one pixel of the picture, which is quick and rough. Parts of the grid outside
    the picture take the values of its edge.
    """
    from PIL import Image as Pillow

    left, upper, right, lower = grid.box
    size = (grid.x.cells * grid.x.dots, grid.y.cells * grid.y.dots)
    more = [max(0, int(np.ceil(v))) for v in (-left, -upper, right - image.width, lower - image.height)]
    if any(more):
        pads = ((more[1], more[3]), (more[0], more[2]), (0, 0))
        values = np.asarray(image)
        image = Pillow.fromarray(np.pad(values, pads[: values.ndim], mode="edge"))
        left, upper, right, lower = left + more[0], upper + more[1], right + more[0], lower + more[1]
    native = size == (round(right - left), round(lower - upper)) and all(
        abs(v - round(v)) < 0.01 for v in (left, upper, right, lower)
    )
    if native:
        crop = image.crop((round(left), round(upper), round(right), round(lower)))
        return np.asarray(crop, dtype=np.float32)
    way = Pillow.Resampling.NEAREST if points else Pillow.Resampling.BILINEAR
    box = (left, upper, min(right, image.width), min(lower, image.height))
    return np.asarray(image.resize(size, way, box=box), dtype=np.float32)


def split(raster: F32, grid: Grid) -> F32:
    """A raster as cells: [row, column, dots of the cell] (colours kept as a last axis)."""
    rows, cols, high, wide = grid.y.cells, grid.x.cells, grid.y.dots, grid.x.dots
    shape = (rows, high, cols, wide, *raster.shape[2:])
    cells = raster.reshape(shape).swapaxes(1, 2)
    return np.ascontiguousarray(cells.reshape(rows, cols, high * wide, *raster.shape[2:]))


def cells_of(image: Image, grid: Grid) -> F32:
    """``split`` of ``dot_raster``."""
    return split(dot_raster(image, grid), grid)


def band(grid: Grid, first: int, rows: int) -> Grid:
    """The same grid, only ``rows`` rows from ``first``."""
    y = grid.y
    part = Axis(start=y.start + first * y.pitch, pitch=y.pitch, cells=rows, dots=y.dots)
    return Grid(x=grid.x, y=part, way=grid.way)
