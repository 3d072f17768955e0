"""Film marks, notes and photos. A photo loses its place, its time and its device before it is kept."""

from __future__ import annotations

import io

from leadoff.loop.history import read_history
from leadoff.loop.session import Session
from leadoff.record.entries import MarkBody
from leadoff.record.errors import LeadoffError
from leadoff.record.results import Result

KINDS = {"JPEG": "image/jpeg", "PNG": "image/png", "WEBP": "image/webp"}
MOST_BYTES = 24_000_000
MOST_PIXELS = 80_000_000
LONG_SIDE = 4000


def film(session: Session, name: str, text: str = "") -> Result:
    """A chapter mark for the film, with the head's fingerprint as it stood then."""
    board = read_history(session).board(name)
    body = MarkBody(board=board.id, what="film", said=" ".join(text.split())[:200])
    entry = session.write(body)[0]
    return session.result(
        "film", {"board": board.id, "entry": entry.id, "entries": [entry.id], "at": entry.at}
    )


def photo(session: Session, name: str, data: bytes, text: str = "") -> Result:
    """Keep a photo. It is drawn anew from its pixels, so nothing that the camera wrote beside them is left.

    Raises:
        LeadoffError: too large, or not a JPEG, PNG or WebP picture whatever it is called.
    """
    from leadoff.book import seal

    board = read_history(session).board(name)
    clean = stripped(data)
    file = seal(clean)
    session.files = (file,)
    body = MarkBody(board=board.id, what="photo", said=" ".join(text.split())[:200], file=file.cite)
    entry = session.write(body)[0]
    return session.result(
        "photo",
        {
            "board": board.id,
            "entry": entry.id,
            "entries": [entry.id],
            "file": file.cite,
            "bytes": len(clean),
            "given_bytes": len(data),
        },
    )


def stripped(data: bytes) -> bytes:
    """The same picture, upright, without anything but pixels.

    Raises:
        LeadoffError: as :func:`photo`.
    """
    from PIL import Image, ImageOps

    if len(data) > MOST_BYTES:
        raise _refused(
            "photo_large", f"the photo has {len(data) / 1e6:.1f} MB, at most {MOST_BYTES / 1e6:.0f} MB"
        )
    try:
        with Image.open(io.BytesIO(data), formats=tuple(KINDS)) as image:
            if image.width * image.height > MOST_PIXELS:
                raise _refused("photo_large", f"the photo has {image.width} x {image.height} pixels")
            form = str(image.format)
            upright = ImageOps.exif_transpose(image)
            bare = Image.new("RGBA" if "A" in upright.getbands() and form != "JPEG" else "RGB", upright.size)
            bare.paste(upright.convert(bare.mode))
    except LeadoffError:
        raise
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError) as error:
        raise _refused(
            "photo_kind", f"these {len(data)} bytes are no picture that can be read ({error})"
        ) from None
    bare.thumbnail((LONG_SIDE, LONG_SIDE))
    out = io.BytesIO()
    bare.save(out, form, **({"quality": 88} if form != "PNG" else {"optimize": True}))
    return out.getvalue()


def kind_of_picture(data: bytes) -> str:
    """The media type of a kept picture, by its bytes; ``application/octet-stream`` for anything else."""
    if data[:3] == b"\xff\xd8\xff":
        return KINDS["JPEG"]
    if data[:8] == b"\x89PNG\r\n\x1a\n":
        return KINDS["PNG"]
    return KINDS["WEBP"] if data[:4] == b"RIFF" and data[8:12] == b"WEBP" else "application/octet-stream"


def _refused(code: str, text: str) -> LeadoffError:
    return LeadoffError.one(
        code, text, where="photo", do="send a JPEG, PNG or WebP picture; nothing was kept"
    )
