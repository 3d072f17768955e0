"""A picture file to brightness values, within bounds."""

from __future__ import annotations

import io
import warnings
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from leadoff.record.errors import LeadoffError

if TYPE_CHECKING:
    from PIL.Image import Image

MAX_PIXELS = 40_000_000
"""More than any capture card or phone of the time of writing delivers; beyond it is an accident or an attack."""
SMALLEST = (160, 100)


class Picture(NamedTuple):
    """``colour`` is RGB; ``luma`` its brightness as an image (resampling) and ``values`` the same as numbers."""

    colour: Image
    luma: Image
    values: NDArray[np.uint8]


def open_picture(data: bytes, where: str = "") -> Picture:
    """Decode a picture. Raises LeadoffError ``not_a_picture``, ``picture_too_large`` or ``picture_too_small``."""
    from PIL import Image, UnidentifiedImageError

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            image = Image.open(io.BytesIO(data))
            if image.width * image.height > MAX_PIXELS:
                raise LeadoffError.one(
                    "picture_too_large",
                    f"{image.width} x {image.height} pixels, at most {MAX_PIXELS // 1_000_000} million are read",
                    where=where,
                    do="crop it to the screen",
                )
            image.load()
    except LeadoffError:
        raise
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, Image.DecompressionBombError) as error:
        raise LeadoffError.one(
            "not_a_picture",
            f"this cannot be decoded as a picture: {error}",
            where=where,
            do="give PNG or JPEG",
        ) from None
    return picture_of(image, where)


def picture_of(image: Image, where: str = "") -> Picture:
    """A decoded image as a Picture."""
    if image.width < SMALLEST[0] or image.height < SMALLEST[1]:
        raise LeadoffError.one(
            "picture_too_small",
            f"{image.width} x {image.height} pixels hold no text screen",
            where=where,
            do="give the picture at its own size",
        )
    if image.mode in ("RGBA", "LA", "PA"):
        from PIL import Image as Pillow

        flat = Pillow.new("RGBA", image.size, (0, 0, 0, 255))
        flat.alpha_composite(image.convert("RGBA"))
        image = flat
    colour = image if image.mode == "RGB" else image.convert("RGB")
    luma = colour.convert("L")
    return Picture(colour, luma, np.asarray(luma))
