"""The plain-text archive: JSON Lines in a zip, files by digest. The same book gives the same bytes."""

from __future__ import annotations

import os
import zipfile
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import IO, Any, Final

import msgspec

from leadoff.book.envelope import UNREADABLE, entry_id
from leadoff.book.errors import told
from leadoff.book.kinds import FORMAT
from leadoff.book.merge import Source
from leadoff.book.values import Record, SealedFile
from leadoff.record.errors import LeadoffError

README: Final = """\
An archive of a leadoff book, readable without leadoff.

entries.jsonl  one entry a line, ancestors first: {"entry":ENVELOPE,"salt":HEX,"body":BODY}
files.jsonl    one file a line: {"digest":HEX,"salt":HEX}; its bytes are in files/DIGEST
sent.jsonl     which client's input became which entry
book.json      version and counts

ENVELOPE and BODY stand there byte by byte as they were written. The id of an entry is the SHA-256 of its
ENVELOPE; the "body" in an envelope is the SHA-256 of the salt's 16 bytes followed by BODY; "prev" is the
entry the same pen wrote before, "seen" are other entries known then. A body of null was redacted by a later
entry of kind "amend". To check with Python alone:

    import hashlib, json
    scan = json.JSONDecoder().raw_decode
    for line in open("entries.jsonl", encoding="utf-8"):
        envelope, end = scan(line, 9)                 # 9 = len('{"entry":')
        salt, salt_end = scan(line, end + 8)          # 8 = len(',"salt":')
        body_start = salt_end + 8                     # 8 = len(',"body":')
        body, body_end = scan(line, body_start)
        print(hashlib.sha256(line[9:end].encode()).hexdigest())
        if body is not None:
            text = bytes.fromhex(salt) + line[body_start:body_end].encode()
            assert hashlib.sha256(text).hexdigest() == envelope["body"]
"""


class _Row(msgspec.Struct, frozen=True):
    entry: msgspec.Raw
    salt: str | None
    body: msgspec.Raw


class _File(msgspec.Struct, frozen=True):
    digest: str
    salt: str


class _Sent(msgspec.Struct, frozen=True):
    once: str
    entry: str


class _Head(msgspec.Struct, frozen=True):
    leadoff_book: int
    entries: int
    files: int


def export(source: Source, to: Path) -> int:
    """Write the archive and return the number of entries; an existing file is replaced only by a whole
    one.
    """
    part = to.with_name(to.name + ".part")
    with told(str(to)):
        try:
            to.parent.mkdir(parents=True, exist_ok=True)
            with zipfile.ZipFile(part, "w") as zf:
                count = _write(source, zf)
            with open(part, "r+b") as done:
                os.fsync(done.fileno())
            os.replace(part, to)
        except OSError as why:
            raise LeadoffError.one(
                "export_failed",
                f"{to} could not be written ({why.strerror}); no archive was made, the book is untouched",
                where=str(to),
                do="check free space and rights, or choose another place",
            ) from why
        finally:
            part.unlink(missing_ok=True)
    return count


def _write(source: Source, zf: zipfile.ZipFile) -> int:
    _put(zf, "README.txt", README.encode())
    count = 0
    with zf.open(_info("entries.jsonl"), "w", force_zip64=True) as out:
        for r in source.records():
            salt = b'"' + r.salt.hex().encode() + b'"' if r.salt is not None else b"null"
            out.write(b'{"entry":' + r.line + b',"salt":' + salt + b',"body":' + (r.body or b"null") + b"}\n")
            count += 1
    digests = sorted(source.file_digests())
    listed = []
    for digest in digests:
        file = source.file(digest)
        listed.append(msgspec.json.encode(_File(digest, file.salt.hex())) + b"\n")
        _put(zf, f"files/{digest}", file.data)
    _put(zf, "files.jsonl", b"".join(listed))
    _put(zf, "sent.jsonl", b"".join(msgspec.json.encode(_Sent(*s)) + b"\n" for s in sorted(source.sent())))
    _put(zf, "book.json", msgspec.json.encode(_Head(FORMAT, count, len(digests))) + b"\n")
    return count


def _info(name: str) -> zipfile.ZipInfo:
    # fixed date, system and rights: nothing of the machine or the hour may enter the bytes
    info = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
    info.compress_type = zipfile.ZIP_DEFLATED
    info.create_system = 3
    info.external_attr = 0o644 << 16
    return info


def _put(zf: zipfile.ZipFile, name: str, data: bytes) -> None:
    zf.writestr(_info(name), data)


class ArchiveSource:
    """An archive as a source to merge from. Raises LeadoffError ``not_an_archive``, ``book_newer``."""

    def __init__(self, path: Path) -> None:
        self._path = path
        try:
            self._zip = zipfile.ZipFile(path)
            head = msgspec.json.decode(self._zip.read("book.json"), type=_Head)
        except FileNotFoundError:
            raise LeadoffError.one("not_found", f"there is no archive at {path}", where=str(path)) from None
        except (zipfile.BadZipFile, KeyError, *UNREADABLE, zlib.error, OSError) as why:
            raise self._bad(why) from why
        if head.leadoff_book > FORMAT:
            raise LeadoffError.one(
                "book_newer",
                f"{path} was written by a newer release (format {head.leadoff_book}; this one knows "
                f"{FORMAT}); "
                "nothing was imported",
                where=str(path),
                do="update leadoff",
            )

    def records(self) -> Iterator[Record]:
        decode = msgspec.json.Decoder(_Row).decode
        for text in self._lines("entries.jsonl"):
            try:
                row = decode(text)
                line, body = bytes(row.entry), bytes(row.body)
                salt = bytes.fromhex(row.salt) if row.salt is not None else None
            except (*UNREADABLE, ValueError) as why:
                raise self._bad(why) from why
            yield Record(entry_id(line), line, salt, None if body == b"null" else body)

    def file_digests(self) -> list[str]:
        return [msgspec.json.decode(t, type=_File).digest for t in self._lines("files.jsonl")]

    def file(self, digest: str) -> SealedFile:
        salts = {(f := msgspec.json.decode(t, type=_File)).digest: f.salt for t in self._lines("files.jsonl")}
        try:
            return SealedFile(digest, bytes.fromhex(salts[digest]), self._zip.read(f"files/{digest}"))
        except (zipfile.BadZipFile, zlib.error, KeyError) as why:
            raise self._bad(why) from why

    def sent(self) -> list[tuple[str, str]]:
        rows = (msgspec.json.decode(t, type=_Sent) for t in self._lines("sent.jsonl"))
        return [(row.once, row.entry) for row in rows]

    def close(self) -> None:
        self._zip.close()

    def _lines(self, name: str) -> Iterator[bytes]:
        try:
            stream: IO[Any] = self._zip.open(name)
            with stream:
                yield from stream
        except (zipfile.BadZipFile, zlib.error, KeyError, EOFError) as why:
            raise self._bad(why) from why

    def _bad(self, why: Exception) -> LeadoffError:
        return LeadoffError.one(
            "not_an_archive",
            f"{self._path} is not a whole archive of a book ({why}); nothing was imported",
            where=str(self._path),
            do="take another copy of the archive, or a backup",
        )
