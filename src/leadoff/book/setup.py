"""Make a new book's tables, bring an older book's tables up, refuse to write to a newer one."""

from __future__ import annotations

from collections.abc import Callable

from leadoff.book.filepool import Line
from leadoff.book.kinds import FORMAT, HEAD_REVISION
from leadoff.book.store import Store
from leadoff.record.errors import LeadoffError


def prepare(store: Store, *, new: bool, create: bool, before_migration: Callable[[], object]) -> bool:
    """Leave the tables in today's shape; return True when the book is of a newer version (read, never write).

    ``before_migration`` is called once, before the first change to an older book's tables: it makes the
    backup.
    """
    if new:
        _make(store)
        return False
    with store.read() as conn:
        tables = store.tables(conn)
        empty = not tables and create
        if not empty and not {"meta", "entries", "alembic_version"} <= tables:
            raise not_a_book(store)
        if not empty:
            if is_newer(book_format(store, conn)):
                return True
            found = revision(store, conn)
    if empty:
        _make(store)
        return False
    if found >= HEAD_REVISION:  # tables newer than the format says: still not ours to write
        return found > HEAD_REVISION
    _bring_up(store, found, before_migration)
    return False


def not_a_book(store: Store) -> LeadoffError:
    return LeadoffError.one(
        "not_a_book",
        f"{store.name} is a database, but not a book: it lacks the book's tables, so it was left alone",
        where=store.name,
        do="give the path of a book, or of a file that does not exist yet",
    )


def newer(store: Store, found: str) -> LeadoffError:
    """The one error for a book written by a newer release."""
    return LeadoffError.one(
        "book_newer",
        f"{store.name} was written by a newer release (format {found}; this one knows {FORMAT}): writing "
        f"could lose "
        "what this release does not understand, so nothing was written",
        where=store.name,
        do="update leadoff; reading and `leadoff book export` still work",
    )


def revision(store: Store, conn: Line) -> str:
    found = store.row(conn, "SELECT version_num FROM alembic_version")
    return str(found[0]) if found else ""


def book_format(store: Store, conn: Line) -> str:
    found = store.kept(conn, "format")
    if found is None:
        raise not_a_book(store)
    return found


def is_newer(found: str) -> bool:
    return not found.isdecimal() or int(found) > FORMAT


def _make(store: Store) -> None:
    """All tables in one transaction: a kill leaves an empty file, never half a book."""
    from leadoff.book.schema import whole

    with store.building() as conn:
        if store.tables(conn):
            return  # another process was faster
        whole().create_all(conn)
        store.run(conn, "CREATE TABLE alembic_version (version_num VARCHAR(32) NOT NULL PRIMARY KEY)")
        store.run(conn, "INSERT INTO alembic_version VALUES (?)", (HEAD_REVISION,))
        store.keep(conn, "format", str(FORMAT))


def _bring_up(store: Store, found: str, before_migration: Callable[[], object]) -> None:
    if store.read_only:
        raise LeadoffError.one(
            "book_read_only",
            f"{store.name} has tables of an older release ({found}) and cannot be written, so it cannot be "
            f"brought up",
            where=store.name,
            do="copy it to a folder that can be written and open the copy",
        )
    before_migration()
    upgrade(store)


def upgrade(store: Store, to: str = "head") -> None:
    """Run the migrations in one transaction under the writer lock."""
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", "leadoff.book:migrations")
    with store.building() as conn:
        config.attributes["connection"] = conn
        command.upgrade(config, to)
