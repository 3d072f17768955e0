"""Checks of entries that came from somebody else's book: hashes and before, by the lines alone."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from leadoff.book.envelope import UNREADABLE, Envelope, body_digest, decode_line, entry_id


def line_is(entry: str, line: str) -> bool:
    """Whether the line is the entry's own."""
    return entry_id(line.encode()) == entry


def body_is(line: str, salt: str, body: str) -> bool:
    """Whether the body is the one that the line was written for."""
    try:
        return body_digest(bytes.fromhex(salt), body.encode()) == decode_line(line.encode()).body
    except (*UNREADABLE, ValueError):
        return False


def envelopes(lines: Iterable[str]) -> dict[str, Envelope]:
    """Envelopes by the entry each line amounts to; a line that cannot be read is left out."""
    out: dict[str, Envelope] = {}
    for line in lines:
        try:
            out[entry_id(line.encode())] = decode_line(line.encode())
        except UNREADABLE:
            continue
    return out


def reaches(later: str, earlier: str, known: Mapping[str, Envelope]) -> bool:
    """Whether the later entry leads back to the earlier one through lines that are known."""
    todo, seen = [later], {later}
    for i in todo:
        if i == earlier:
            return i != later
        env = known.get(i)
        for parent in (env.prev, *env.seen) if env is not None else ():
            if parent not in seen:
                seen.add(parent)
                todo.append(parent)
    return False
