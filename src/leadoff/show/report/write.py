"""Everything that is published of one board, written to a folder."""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path

import msgspec

from leadoff.record.public import PublicBoard
from leadoff.show.plates.surface import CLEAR, STILL
from leadoff.show.report import typesetting
from leadoff.show.report.film import films, plain, vtt
from leadoff.show.report.label import label
from leadoff.show.report.page import page
from leadoff.show.report.paper import paper
from leadoff.show.report.plates import Plates
from leadoff.show.report.sale import sale

DATA = "{board}.leadoff.json"
KINDS = ("page", "paper", "stills", "film", "label", "sale")
"""What can be made beside the public file: names of :class:`Publisher`'s own."""
NO_TYPESETTER = "the typesetter is not installed: pip install 'leadoff[publish]'"


def encoded(public: PublicBoard) -> bytes:
    """The public file's bytes: readable, keys in the order of the form, the same for the same board."""
    return msgspec.json.format(msgspec.json.encode(public), indent=1) + b"\n"


class Publisher:
    """Writes one kind of file after another; ``files`` has their digests, ``left_out`` what could not be made."""

    def __init__(self, public: PublicBoard, plates: Plates, folder: Path, *, clear: bool = False) -> None:
        self.public, self.plates, self.folder = public, plates, folder
        self.size = CLEAR if clear else STILL
        self.files: list[dict[str, str]] = []
        self.left_out: list[tuple[str, str]] = []
        self.name, self.digest = self._put(DATA.format(board=public.board.id), encoded(public))

    def page(self) -> None:
        """The page."""
        text = page(self.public, self.plates, data_file=self.name, data_digest=self.digest)
        self._put("index.html", text.encode())

    def paper(self) -> None:
        """The PDF, where the typesetter is there."""
        if not typesetting.there():
            self.left_out.append(("the PDF", NO_TYPESETTER))
            return
        made = paper(self.public, self.plates, data_file=self.name, data_digest=self.digest)
        self._put(f"{self.public.board.id}.pdf", made)

    def stills(self) -> None:
        """Every picture as SVG and PNG of 1920 x 1080."""
        for name in self.plates.names():
            svg = self.plates.draw(name, self.size, head=self.public.head)
            self._put(f"stills/{name}.svg", svg.encode())
            if typesetting.there():
                self._put(f"stills/{name}.png", typesetting.png(svg))
        if not typesetting.there():
            self.left_out.append(("stills as PNG", NO_TYPESETTER))

    def film(self) -> None:
        """Chapters and captions for each film that has marks."""
        for n, (chapters, captions) in enumerate(films(self.public), start=1):
            title = f"{self.public.board.id}, film {n}"
            self._put(f"film/chapters-{n}.vtt", vtt(chapters, title).encode())
            self._put(f"film/chapters-{n}.txt", plain(chapters).encode())
            if captions:
                self._put(f"film/captions-{n}.vtt", vtt(captions, title).encode())

    def label(self) -> None:
        """The label for the bag."""
        self._put("label.svg", label(self.public).encode())

    def sale(self) -> None:
        """The words for a sale."""
        self._put("sale.txt", sale(self.public).encode())

    def _put(self, name: str, data: bytes) -> tuple[str, str]:
        path = self.folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
        digest = sha256(data).hexdigest()
        self.files.append({"path": str(path), "sha256": digest})
        return name, digest
