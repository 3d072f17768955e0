"""Everything that can be written, as one table. Only POST reaches it, and only from this server's own pages."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from typing import NamedTuple

import msgspec

from leadoff.doors.web.holding import Holding, SentFile, shown_as_named
from leadoff.loop.desk import Desk, DeskSession
from leadoff.record.errors import LeadoffError
from leadoff.record.results import Result, failed

LONGEST_WAIT_S = 90 * 24 * 3600.0
"""An input may have waited in a phone for a season."""


class Sent(msgspec.Struct, frozen=True, kw_only=True):
    """A form as it came. ``once``, ``seen``, ``age_s``: the queue's id, the heads the page had, how long ago it
    was entered.
    """

    board: str = ""
    fields: Mapping[str, Sequence[str]] = {}
    files: tuple[SentFile, ...] = ()
    holding: Holding | None = None

    @property
    def photo(self) -> bytes | None:
        """The first file, where a form has only one."""
        return self.files[0].data if self.files else None

    def get(self, name: str) -> str:
        found = self.fields.get(name)
        return found[0] if found else ""

    def all(self, name: str) -> list[str]:
        return [v for v in self.fields.get(name, ()) if v]

    @property
    def dry(self) -> bool:
        return bool(self.get("dry"))

    @property
    def of_board(self) -> str:
        return self.board or self.get("board")


class Write(NamedTuple):
    """``fields``: what the form may hold, each with what it means; ``files`` of them come as bytes.

    ``template``: the page that shows the answer where there is no script to put it in place.
    """

    path: str
    verb: str
    work: Callable[[DeskSession, Sent], Result]
    about: str
    fields: Mapping[str, str]
    files: tuple[str, ...] = ()
    template: str = ""


def _say(session: DeskSession, sent: Sent) -> Result:
    from leadoff.loop import saying

    verb = sent.get("verb") or None
    if verb is not None and verb not in saying.VERBS:
        raise LeadoffError.one(
            "verb",
            f'there is no verb "{verb[:40]}"',
            where="verb",
            do=f"one of {', '.join(saying.VERBS)}, or none",
        )
    return saying.say(session, sent.board, sent.get("line"), verb=verb)


def _seal(session: DeskSession, sent: Sent) -> Result:
    from leadoff.loop.forecasting import forecast

    return forecast(session, sent.board, want=sent.get("want") or None, guess=sent.get("guess") or None)


def _film(session: DeskSession, sent: Sent) -> Result:
    from leadoff.loop import marking

    return marking.film(session, sent.board, sent.get("text"))


def _undo(session: DeskSession, sent: Sent) -> Result:
    from leadoff.loop import saying

    return saying.take_back(session, sent.all("entry"))


def _verify(session: DeskSession, sent: Sent) -> Result:
    from leadoff.loop import booking

    return booking.verify(session)


def _backup(session: DeskSession, sent: Sent) -> Result:
    from leadoff.loop import booking

    return booking.backup(session, None)


def _photo(session: DeskSession, sent: Sent) -> Result:
    from leadoff.loop import marking

    if not sent.photo:
        raise LeadoffError.one(
            "photo_kind", "no photo came with the form", where="photo", do="choose a picture"
        )
    return marking.photo(session, sent.board, sent.photo, sent.get("text"))


def _sweep(session: DeskSession, sent: Sent) -> Result:
    from leadoff.loop.sweeping import sweep

    text = sent.get("text").strip()
    if not text:
        raise LeadoffError.one("nothing_said", "there is no sweep in the form", where="text", do="paste one")
    return sweep(session, sent.board, text=text, kind=sent.get("kind") or None, unit=sent.get("unit") or None)


def _read(session: DeskSession, sent: Sent) -> Result:
    from leadoff.loop.reading import read

    if sent.holding is None:
        raise LeadoffError.one("not_held", "this server holds no files", do="use `leadoff read`")
    held = sent.get("held") or sent.holding.keep(sent.files)
    answers = dict(a.split("=", 1) for a in sent.all("answer") if "=" in a)
    add = bool(sent.get("add"))
    made = read(session, sent.holding.paths(held), board=sent.board, add=add, answers=answers)
    more = {"held": held, "answers": [f"{k}={v}" for k, v in answers.items()]}
    return msgspec.structs.replace(made, data={**made.data, **more})


def _shelf(session: DeskSession, sent: Sent) -> Result:
    from leadoff.loop.shelving import Said, shelf

    said = Said(
        place=sent.get("place").strip(),
        waits=tuple(sent.all("waits")),
        got=tuple(sent.all("got")),
        codes=sent.get("codes").strip(),
        dumped=bool(sent.get("dumped")),
        parcel=sent.get("parcel").strip(),
    )
    if not said.anything:
        raise LeadoffError.one(
            "nothing_said", "there is nothing in the form", where="place", do="say one thing"
        )
    made = shelf(session, sent.board, said)
    return msgspec.structs.replace(made, data={**made.data, "entries": made.data["kept"]["entries"]})


def _repeat(session: DeskSession, sent: Sent) -> Result:
    from leadoff.loop.repeating import repeat

    if sent.holding is None:
        raise LeadoffError.one("not_held", "this server holds no files", do="use `leadoff repeat`")
    held = sent.get("held") or sent.holding.keep(sent.files)
    path = sent.holding.paths(held)[0]
    against = None if sent.get("add") else sent.get("against") or None
    try:
        made = repeat(
            session, path, name=sent.get("name") or None, only_check=not sent.get("add"), against=against
        )
    except LeadoffError as error:
        made = failed("repeat", error, head=session.head())
    boards = sorted(session.desk.history().boards)
    named = msgspec.structs.replace(made, errors=tuple(shown_as_named(p, path) for p in made.errors))
    return msgspec.structs.replace(named, data={**made.data, "held": held, "boards": boards})


def _claim(session: DeskSession, sent: Sent) -> Result:
    from leadoff.loop.claiming import claim

    return claim(session, sent.get("text"))


QUEUE = {
    "once": "the client's own id for this input: sent twice, written once",
    "seen": "heads of the book that the page showed, apart by blanks",
    "age_s": "seconds since it was entered",
}
WRITES: tuple[Write, ...] = (
    Write(
        "/board/{board}/say",
        "say",
        _say,
        "words of move, log or sick; with dry nothing is stored",
        {"line": "the words", "verb": "move, log or sick", "dry": "any value: only read it", **QUEUE},
    ),
    Write(
        "/board/{board}/seal",
        "forecast",
        _seal,
        "seal a forecast",
        {"want": "a state described; empty: as set", "guess": 'your own guess, such as "w2 24.5"', **QUEUE},
    ),
    Write(
        "/board/{board}/film",
        "film",
        _film,
        "a chapter mark for the film",
        {"text": "a word on it", **QUEUE},
    ),
    Write(
        "/board/{board}/photo",
        "photo",
        _photo,
        "keep a photo without its place",
        {"photo": "JPEG, PNG or WebP", "text": "a word on it", **QUEUE},
        files=("photo",),
    ),
    Write(
        "/board/{board}/read",
        "read",
        _read,
        "files to facts: shown first, kept with add",
        {
            "files": "dumps, images, screens, sheets; found out by their bytes",
            "held": "files that were sent before, by the token of that answer",
            "answer": "a question's answer as id=key; may be given more than once",
            "add": "any value: keep what is new",
        },
        files=("files",),
        template="read",
    ),
    Write(
        "/board/{board}/sweep",
        "sweep",
        _sweep,
        "a bandwidth sweep as text",
        {"text": "sizes and times", "kind": "read, write or copy", "unit": "unit of bare numbers", **QUEUE},
    ),
    Write(
        "/board/{board}/shelf",
        "shelf",
        _shelf,
        "where a board is, what it waits for, its date codes, a parcel",
        {
            "place": "where it is now",
            "waits": "a part it waits for",
            "got": "a part that came",
            "codes": 'date codes of its parts, such as "u3 9347, u7 9412"',
            "dumped": "any value: its firmware has been dumped",
            "parcel": 'words of a parcel, such as "holds sram 32kx8, promised 10 days" or "p1, came 2026-03-14"',
            **QUEUE,
        },
    ),
    Write(
        "/undo",
        "undo",
        _undo,
        "take back entries, or what this installation wrote last",
        {"entry": "an entry; may be given more than once", "board": "the page to go back to", **QUEUE},
    ),
    Write(
        "/claim",
        "claim",
        _claim,
        "a text checked against the book, sentence by sentence; nothing is kept",
        {"text": "sentences, or a whole script"},
        template="claim",
    ),
    Write(
        "/repeat",
        "repeat",
        _repeat,
        "somebody's public file: checked first, loaded with add",
        {
            "file": "the public data file, as `leadoff publish` makes it",
            "held": "a file that was sent before, by the token of that answer",
            "name": "load the board under another name",
            "against": "a board of yours to compare with; loads nothing",
            "add": "any value: load the board with its runs",
        },
        files=("file",),
        template="repeat",
    ),
    Write("/book/verify", "book", _verify, "check the whole chain", {}),
    Write("/book/backup", "book", _backup, "a copy beside the book", {}),
)


def write(desk: Desk, row: Write, sent: Sent) -> Result:
    """Do it, one at a time; a user's error is a result and nothing of it was kept."""
    try:
        session = desk.session(
            at=_at(sent.get("age_s")),
            once=_once(sent.get("once")),
            seen=tuple(sent.get("seen").split()) or None,
            dry=sent.dry,
        )
        if sent.dry:
            return row.work(session, sent)
        with desk.writing:
            return row.work(session, sent)
    except LeadoffError as error:
        return failed(row.verb, error, head=desk.session().head())


def _at(age_s: str) -> str | None:
    """When an input was entered: the server's clock less its age, so that a phone's own date does not matter."""
    if not age_s:
        return None
    try:
        age = float(age_s)
    except ValueError:
        age = -1.0
    if not 0 <= age <= LONGEST_WAIT_S:
        raise LeadoffError.one(
            "age",
            f'"{age_s[:40]}" is no age in seconds',
            where="age_s",
            do="leave age_s out, or give 0 or more",
        )
    if age < 2:
        return None
    return (datetime.now(UTC) - timedelta(seconds=age)).strftime("%Y-%m-%dT%H:%M:%SZ")


def _once(text: str) -> str:
    if len(text) > 80 or not text.isprintable():
        raise LeadoffError.one("once", "the input's id is too long", where="once", do="at most 80 characters")
    return text
