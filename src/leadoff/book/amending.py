"""The act of amending: what is allowed, what it writes, what it leaves orphaned."""

from __future__ import annotations

import re
from typing import Any

import msgspec

from leadoff.book.amends import AmendBody, Standing, cited_files, read_body, standing, targets
from leadoff.book.envelope import check_body
from leadoff.book.kinds import AMEND, HOWS, ONLY_WITHDRAWN
from leadoff.book.redact import drop_covered
from leadoff.book.values import AmendResult, Entry
from leadoff.book.when import at_key
from leadoff.book.writer import Writer
from leadoff.record.errors import LeadoffError

_WORD = re.compile(r"\w{3,}")


def amend(
    writer: Writer, of: str, how: str, why: str, *, to: bytes | None, to_at: str | None, at: str
) -> AmendResult:
    """Write the amend; see :meth:`leadoff.book.book.Book.amend` for the rules and the errors."""
    target = writer.get(of)
    known = writer.standing()
    _refuse(writer, target, how, known, to, to_at)
    if how == "redact":
        return _redact(writer, target, why, at)
    orphaned = tuple(_orphans(writer, target, known)) if how in ("undo", "withdraw") else ()
    entry = _write(writer, target.id, how, why, at, to=to, to_at=to_at)
    return AmendResult((entry,), orphaned)


def _refuse(
    writer: Writer, target: Entry, how: str, known: Standing, to: bytes | None, to_at: str | None
) -> None:
    name = f"{target.kind} {target.id[:12]}"
    if how not in HOWS:
        raise _no("bad_amend", f"{how!r} is not a way to amend", f"use one of {', '.join(HOWS)}")
    if target.kind in ONLY_WITHDRAWN and how != "withdraw":
        raise _no(
            "only_withdrawn",
            f"{name} cannot be changed by {how}: a {target.kind} that could vanish after the result would "
            f"make "
            "every score worthless",
            "withdraw it: it stays in the score",
        )
    if how == "withdraw" and target.kind not in ONLY_WITHDRAWN:
        raise _no("bad_amend", f"{name} is no forecast, so it cannot be withdrawn", "use undo")
    if target.id in known.redactions:
        raise _no(
            "redact_is_final", f"{name} is a redaction and cannot be taken back or changed", "nothing to do"
        )
    if target.id in known.covered:
        raise _no("already_redacted", f"{name} is redacted: there is nothing left to {how}", "nothing to do")
    if (how == "undo" and target.id in known.undone) or (how == "withdraw" and target.id in known.withdrawn):
        raise _no(
            "already_done", f"{name} is already {'undone' if how == 'undo' else 'withdrawn'}", "nothing to do"
        )
    if how == "correct":
        if target.kind == AMEND:
            raise _no("bad_amend", f"{name} is an amend and cannot be corrected", "undo it and amend again")
        if to is None and to_at is None:
            raise _no(
                "bad_amend", f"the correction of {name} says neither a new text nor a new time", "give one"
            )
        if to is not None:
            check_body(to)
        if to_at is not None:
            at_key(to_at)
    elif to is not None or to_at is not None:
        raise _no("bad_amend", f"{how} takes no new text or time", "use correct")


def _redact(writer: Writer, target: Entry, why: str, at: str) -> AmendResult:
    rows = writer.amend_rows()
    kinds = writer.kinds_of({*targets(rows), target.id})
    before = standing(rows, kinds)
    said = read_body(target.body) if target.kind == AMEND else None
    # Evaluate as if the redaction stood already, to know which corrections go with it.
    gone = _with_amends(target.id, writer)
    bodies = [b for i in gone if (b := _exact(writer, i)) is not None]
    _check_why(why, bodies)
    orphaned = tuple(_orphans(writer, target, before))
    files = {f for body in bodies for f in cited_files(body)} & _files(writer)
    written = []
    if said is not None and said.how in ("undo", "withdraw") and target.id not in before.undone:
        # its effect must outlive its text
        written.append(_write(writer, said.of, said.how, "", at))
    written.append(_write(writer, target.id, "redact", why, at, files=tuple(sorted(files))))
    drop_covered(writer)
    mentioned = {i for text in _long_texts(bodies) for i in _repeating(writer, text)} - gone
    touched = {i for f in files for i in writer.citing("file:" + f)} - gone
    return AmendResult(tuple(written), tuple(sorted({*orphaned, *touched})), tuple(sorted(mentioned)))


def _write(
    writer: Writer,
    of: str,
    how: str,
    why: str,
    at: str,
    *,
    to: bytes | None = None,
    to_at: str | None = None,
    files: tuple[str, ...] = (),
) -> Entry:
    body = AmendBody(1, of, how, why, msgspec.Raw(to or b""), to_at, files)
    value = msgspec.structs.asdict(body)
    kept = {
        k: v
        for k, v in value.items()
        if k in ("v", "of", "how", "why") or (v not in (None, ()) and k != "to")
    }
    if to is not None:
        kept["to"] = msgspec.Raw(to)
    return writer.write_amend(msgspec.json.encode(kept), of, at)


def _orphans(writer: Writer, target: Entry, known: Standing) -> list[str]:
    return [i for i in writer.citing(target.id) if i not in known.undone and i not in known.covered]


def _with_amends(target: str, writer: Writer) -> set[str]:
    """The entry and every amend about it, amends of those included."""
    gone = {target}
    for row in sorted(writer.amend_rows(), key=lambda r: (r.depth, r.id)):
        said = read_body(row.body)
        if said is not None and said.how != "redact" and said.of in gone:
            gone.add(row.id)
    return gone


def _exact(writer: Writer, entry: str) -> bytes | None:
    sql = f"SELECT {writer.store.as_bytes('body')} FROM entries WHERE id = ?"
    found = writer.store.row(writer.conn, sql, (entry,))
    return found[0] if found else None


def _files(writer: Writer) -> set[str]:
    return {r[0] for r in writer.store.rows(writer.conn, "SELECT digest FROM files")}


def _check_why(why: str, bodies: list[bytes]) -> None:
    """The reason stays readable for ever, so it must not repeat what is to vanish."""
    words = {w for text in _texts(bodies) for w in _WORD.findall(text.casefold())}
    repeated = sorted(words & set(_WORD.findall(why.casefold())))
    if repeated:
        raise _no(
            "why_repeats",
            f"the reason repeats {', '.join(map(repr, repeated))} from the text that is to vanish; the "
            f"reason itself "
            "is kept for ever, so nothing was redacted",
            "give a reason without those words, or none",
        )


_NAMING = frozenset(
    ("board", "unit", "source", "outcome", "workload", "kind", "status", "what", "rig", "state", "settings")
)
"""Fields whose words a whole book shares: that an entry repeats a board's id says nothing of what is gone."""


def _texts(bodies: list[bytes], leave_out: frozenset[str] = frozenset()) -> list[str]:
    found: list[str] = []
    todo: list[Any] = [msgspec.json.decode(body) for body in bodies]
    while todo:
        value = todo.pop()
        if isinstance(value, str):
            found.append(value)
        elif isinstance(value, dict):
            todo += [v for key, v in value.items() if key not in leave_out]
        elif isinstance(value, list):
            todo += value
    return found


def _long_texts(bodies: list[bytes]) -> set[str]:
    return {
        t
        for t in _texts(bodies, _NAMING)
        if len(t) >= 4 and not re.fullmatch(r"(file:)?[0-9a-f]{64}", t) and t not in HOWS
    }


def _repeating(writer: Writer, text: str) -> list[str]:
    inside = msgspec.json.encode(text)[1:-1].decode()
    for sign in "\\%_":
        inside = inside.replace(sign, "\\" + sign)
    sql = "SELECT id FROM entries WHERE body LIKE ? ESCAPE '\\'"
    return [r[0] for r in writer.store.rows(writer.conn, sql, (f"%{inside}%",))]


def _no(code: str, text: str, do: str) -> LeadoffError:
    return LeadoffError.one(code, text + "; nothing was written", do=do)
