"""The envelope: one exact JSON line whose SHA-256 is the entry's id; the body hangs on it by a salted
digest.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from hashlib import sha256
from typing import Final

import msgspec

from leadoff.record.errors import LeadoffError

SALT_BYTES: Final = 16
"""Length of the random salt: without it prices and names could be guessed from their digests."""

LINE_VERSION: Final = 1
"""Version of the envelope this release writes."""

UNREADABLE: Final = (msgspec.MsgspecError, UnicodeDecodeError)
"""What decoding damaged bytes raises: JSON of a wrong shape, or no text at all."""

CITED_FILE = re.compile(rb'"file:([0-9a-f]{64})"')
"""A file cited in a body: the JSON string ``file:`` and its digest. An entry is cited by its bare id."""

_NAME = re.compile(r"[a-z][a-z0-9_-]{0,31}", re.ASCII)


class Envelope(msgspec.Struct, frozen=True, gc=False):
    """The parsed line. Unknown keys of a newer line are ignored here: the exact bytes are always kept."""

    v: int
    pen: str
    seq: int
    prev: str
    seen: tuple[str, ...]
    at: str
    kind: str
    body: str


class _Peek(msgspec.Struct, frozen=True, gc=False):
    v: int = 1


decode_line = msgspec.json.Decoder(Envelope).decode
_peek = msgspec.json.Decoder(_Peek).decode


def entry_id(line: bytes) -> str:
    """SHA-256 of the exact line, as 64 hexadecimal digits."""
    return sha256(line).hexdigest()


def body_digest(salt: bytes, body: bytes) -> str:
    """SHA-256 of the salt followed by the exact body."""
    return sha256(salt + body).hexdigest()


def make_line(pen: str, seq: int, prev: str, seen: Sequence[str], at: str, kind: str, digest: str) -> bytes:
    """The exact line. All parts are plain ASCII checked beforehand, so nothing in them needs escaping."""
    cited = '["' + '","'.join(seen) + '"]' if seen else "[]"
    return (
        f'{{"v":1,"pen":"{pen}","seq":{seq},"prev":"{prev}","seen":{cited},"at":"{at}","kind":"{kind}",'
        f'"body":"{digest}"}}'
    ).encode("ascii")


def body_version(body: bytes | None) -> int:
    """The body's key ``v`` (1 if absent), so that an old body can be lifted to today's shape when read."""
    if body is None or b'"v":1,' in body[:8]:  # the usual start, without parsing
        return 1
    try:
        return _peek(body).v
    except UNREADABLE:
        return 1


def check_body(body: bytes) -> int:
    """Return the body's version, or raise LeadoffError ``bad_body`` unless it is one JSON object on one
    line.
    """
    if body[:1] != b"{" or body[-1:] != b"}" or b"\n" in body or b"\r" in body:
        raise _bad_body("it is not one JSON object on one line")
    try:
        body.decode("utf-8")
        return _peek(body).v
    except UNREADABLE as why:
        raise _bad_body(str(why)) from None


def check_kind(kind: str) -> None:
    """Raise LeadoffError ``bad_kind`` unless the name is short lower-case ASCII."""
    if _NAME.fullmatch(kind) is None:
        raise LeadoffError.one(
            "bad_kind", f"{kind!r} cannot name a kind of entry", where="kind", do="use a-z, 0-9"
        )


def _bad_body(why: str) -> LeadoffError:
    return LeadoffError.one(
        "bad_body",
        f"the body of an entry cannot be kept as it is: {why}; nothing was written",
        where="body",
        do="give one JSON object in UTF-8 without line breaks",
    )
