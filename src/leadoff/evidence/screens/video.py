"""A recording of a monitor to its distinct text screens, each with the times at which it stood."""

from __future__ import annotations

import io
from collections import deque
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import msgspec
import numpy as np
from numpy.typing import NDArray

from leadoff.evidence.facts import Source
from leadoff.evidence.rows import limit
from leadoff.evidence.screens.series import distinct
from leadoff.record.errors import LeadoffError

if TYPE_CHECKING:
    from PIL.Image import Image

    from leadoff.evidence.screens.values import Screen

SMALL = (640, 400)
BLOCK = 8
REMEMBERED = 4
"""A picture like one of the last few kept is not read again: a cursor blinks between two of them."""
MOST_STILLS = 600
MOST_SECONDS = 4 * 3600.0

Small = NDArray[np.float32]


class Still(NamedTuple):
    """A picture of the recording at a time in seconds from its beginning."""

    at: float
    image: Image


class Seen(NamedTuple):
    """Distinct screens as sources of pictures named by their time; stills looked at, and how many held no text."""

    sources: list[Source]
    stills: int
    without_text: int


def timecode(seconds: float) -> str:
    """Such as 0:07.4 and 1:02:03.0."""
    tenths = round(seconds * 10)
    minutes, rest = divmod(tenths, 600)
    hours, minutes = divmod(minutes, 60)
    clock = f"{minutes:02d}:{rest / 10:04.1f}" if hours else f"{minutes}:{rest / 10:04.1f}"
    return f"{hours}:{clock}" if hours else clock


def screens_of(path: Path) -> Seen:
    """The distinct text screens of a recording, the last picture of each; ``parts`` names the stills it stood on.

    Raises LeadoffError ``needs_video_extra`` without the package that opens recordings, ``video_broken``.
    """
    from leadoff.evidence.screens.picture import picture_of
    from leadoff.evidence.screens.reader import read_screen

    readings: list[tuple[str, Screen]] = []
    images: dict[str, Image] = {}
    stills = without = 0
    for still in settled(frames(path)):
        stills += 1
        name = f"{path.name} {timecode(still.at)}"
        try:
            readings.append((name, read_screen(picture_of(still.image, name), name)))
        except LeadoffError:
            without += 1
            continue
        images[name] = still.image
        if stills >= MOST_STILLS:
            break
    out: list[Source] = []
    at = 0
    for shown in distinct(readings):
        part = tuple(name for name, _ in readings[at : at + shown.pictures])
        at += shown.pictures
        source = Source.of(shown.last, _packed(images[shown.last]))
        out.append(msgspec.structs.replace(source, parts=part))
    return Seen(out, stills, without)


def frames(path: Path) -> Iterator[Still]:
    """Pictures of the first video stream, ``still_step`` apart."""
    step = limit("still_step")
    try:
        import av
    except ImportError:
        raise LeadoffError.one(
            "needs_video_extra",
            f"{path.name} is a recording, and the package that opens recordings is not installed",
            where=path.name,
            do="pip install 'leadoff[video]', or read a folder of stills of it",
        ) from None
    try:
        with av.open(str(path)) as container:
            if not container.streams.video:
                raise _broken(path, "it holds no pictures")
            due = 0.0
            for frame in container.decode(video=0):
                at = float(frame.time or 0.0)
                if at > MOST_SECONDS:
                    break
                if at + 1e-6 >= due:
                    due = at + step
                    yield Still(at, frame.to_image())  # type: ignore[no-untyped-call]
    except (av.error.FFmpegError, ValueError) as error:
        raise _broken(path, str(error)) from None


def settled(stills: Iterable[Still]) -> Iterator[Still]:
    """Of a row of pictures those that stood still, and the last before each change, like none kept shortly before."""
    kept: deque[Small] = deque(maxlen=REMEMBERED)
    before: tuple[Still, Small] | None = None
    for still in stills:
        small = _small(still.image)
        if before is not None:
            same = not differ(before[1], small)
            shown = (still, small) if same else before
            if all(differ(shown[1], old) for old in kept):
                kept.append(shown[1])
                yield shown[0]
        before = (still, small)
    if before is not None and all(differ(before[1], old) for old in kept):
        yield before[0]


def differ(a: Small, b: Small) -> bool:
    """Whether any block of two small pictures changed."""
    return bool((np.abs(a - b) > limit("still_moved")).any())


def _small(image: Image) -> Small:
    from PIL import Image as Pillow

    grey = np.asarray(image.convert("L").resize(SMALL, Pillow.Resampling.BOX), np.float32)
    wide, high = SMALL
    return np.asarray(grey.reshape(high // BLOCK, BLOCK, wide // BLOCK, BLOCK).mean(axis=(1, 3)))


def _packed(image: Image) -> bytes:
    out = io.BytesIO()
    image.save(out, "PNG", compress_level=1)
    return out.getvalue()


def _broken(path: Path, why: str) -> LeadoffError:
    return LeadoffError.one(
        "video_broken",
        f"{path.name} cannot be opened as a recording: {why}",
        where=path.name,
        do="copy it again, or read stills of it",
    )
