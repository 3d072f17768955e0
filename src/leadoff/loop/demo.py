"""The invented book of the tour, written to a new place; the user's own book is never touched."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import msgspec

from leadoff.loop.session import Session, kind_of
from leadoff.record.errors import LeadoffError

if TYPE_CHECKING:
    from leadoff.validation.answers import Answers


def new_folder(wanted: str) -> Path:
    """A folder that did not exist: the wanted one, or with a number behind it."""
    base = Path(wanted)
    for number in range(1, 1000):
        path = base if number == 1 else base.with_name(f"{base.name}-{number}")
        try:
            path.mkdir(parents=True)
        except FileExistsError:
            continue
        except OSError as error:
            raise LeadoffError.one(
                "no_permission",
                f"the tour cannot make a folder at {path}: {error.strerror}",
                where=str(path),
                do="go to a folder of your own, or give another with --dir",
            ) from None
        return path
    raise LeadoffError.one("too_many", f"{base} and 999 numbered folders exist", do="give another with --dir")


def demo_session(folder: Path, at: str | None) -> Session:
    """A session on the folder's own book, with a pen and a cache of its own."""
    return Session(
        book=str(folder / "tour.db"), at=at, config=folder / "pen", cache=folder / "cache"
    ).may_begin()


def write_world(session: Session, world: Answers) -> int:
    """Every event of the world as an entry with its own time, in one transaction."""
    from leadoff.book import Draft

    drafts = [
        Draft(kind=kind_of(body), body=msgspec.json.encode(body), at=when) for when, body in world.events()
    ]
    return len(session.book.append(drafts))
