"""Everything that is published of one board, written to a folder."""

from __future__ import annotations

from collections.abc import Callable
from hashlib import sha256
from pathlib import Path

import msgspec

from leadoff.record.public import PublicBoard
from leadoff.show.report.page import page
from leadoff.show.report.plates import Plates

DATA = "{board}.leadoff.json"


def encoded(public: PublicBoard) -> bytes:
    """The public file's bytes: readable, keys in the order of the form, the same for the same board."""
    return msgspec.json.format(msgspec.json.encode(public), indent=1) + b"\n"


class Publisher:
    """Writes one kind of file after another and keeps their digests."""

    def __init__(self, public: PublicBoard, plates: Plates, folder: Path) -> None:
        self.public, self.plates, self.folder = public, plates, folder
        self.files: list[dict[str, str]] = []
        self.stem = public.board.id

    def data(self) -> tuple[str, str]:
        """The public data file; its name and digest."""
        return self._put(DATA.format(board=self.stem), encoded(self.public))

    def page(self) -> None:
        """The page; needs the data file's digest and writes it first."""
        name, digest = self.data()
        text = page(self.public, self.plates, data_file=name, data_digest=digest)
        self._put("index.html", text.encode())

    def put(self, name: str, make: Callable[[], bytes]) -> None:
        """One file by its maker."""
        self._put(name, make())

    def _put(self, name: str, data: bytes) -> tuple[str, str]:
        path = self.folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
        digest = sha256(data).hexdigest()
        self.files.append({"path": str(path), "sha256": digest})
        return name, digest
