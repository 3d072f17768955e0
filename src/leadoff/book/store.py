"""Where a book lies and how it is reached: one SQLite file, or one PostgreSQL database by URL."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from leadoff.book.errors import told
from leadoff.book.filepool import FilePool, Line
from leadoff.record.errors import LeadoffError

if TYPE_CHECKING:
    from sqlalchemy import Connection, Engine

LOCK_WAIT_MS: Final = 5000
"""How long a writer waits for another one before ``book_locked``."""

_PG_LOCK: Final = 0x1EAD0FF
"""Key of the advisory lock that all writers of a PostgreSQL book take; any number, the same in every
release.
"""


class Store:
    """The two ways in: ``read()`` and, one writer at a time, ``write()``. A file has a pool of its own, a server an
    engine; a file's ``engine`` is made when tables are made or changed, and loads SQLAlchemy then.

    Rows go through plain cursors (``rows``, ``run``, ``many``) with ``?`` for values: an ORM or compiled
    statements would cost more per entry than hashing it.
    """

    def __init__(
        self, name: str, path: Path | None, read_only: bool, wait_ms: int, way: FilePool | Engine
    ) -> None:
        self.name = name
        self.path = path
        self.read_only = read_only
        self.wait_ms = wait_ms
        self._pool = way if isinstance(way, FilePool) else None
        self._engine = None if isinstance(way, FilePool) else way
        self.sqlite = self._pool is not None

    @property
    def engine(self) -> Engine:
        """SQLAlchemy's way to the same place, for making and changing tables."""
        if self._engine is None:
            assert self._pool is not None
            self._engine = _engine_of(self._pool)
        return self._engine

    @contextmanager
    def read(self) -> Iterator[Line]:
        """A consistent view for the length of the block."""
        with told(self.name):
            if self._pool is not None:
                with self._pool.begun("BEGIN") as line:
                    yield line
                return
            with self.engine.connect() as conn, conn.begin():
                yield conn

    @contextmanager
    def write(self) -> Iterator[Line]:
        """The only writer for the length of the block; all of it is kept, or none."""
        if self._pool is None:
            with self.building() as conn:
                yield conn
            return
        self._must_be_writable()
        with told(self.name), self._pool.begun("BEGIN IMMEDIATE") as line:
            yield line

    @contextmanager
    def building(self) -> Iterator[Connection]:
        """As ``write()``, with a connection on which tables can be made and changed."""
        self._must_be_writable()
        with told(self.name), self.engine.connect() as conn, conn.begin():
            if not self.sqlite:
                self.run(conn, f"SET LOCAL lock_timeout = {self.wait_ms}")
                self.run(conn, f"SELECT pg_advisory_xact_lock({_PG_LOCK})")
            yield conn

    @contextmanager
    def bare(self) -> Iterator[Any]:
        """A driver connection outside any transaction, for VACUUM, checkpoints and the backup interface."""
        with told(self.name):
            if self._pool is not None:
                with self._pool.taken() as file:
                    yield file
                return
            raw = self.engine.raw_connection()
            driver = raw.driver_connection
            assert driver is not None
            driver.autocommit = True
            try:
                yield driver
            finally:
                driver.autocommit = False
                raw.close()

    def tables(self, conn: Line) -> set[str]:
        """Names of all tables there."""
        here = "name FROM sqlite_master WHERE type = 'table'"
        there = "tablename FROM pg_tables WHERE schemaname = current_schema()"
        return {str(r[0]) for r in self.rows(conn, f"SELECT {here if self.sqlite else there}")}

    def _must_be_writable(self) -> None:
        if self.read_only:
            raise LeadoffError.one(
                "book_read_only",
                f"{self.name}: the book can be read but not written; nothing was written",
                where=self.name,
                do="make the file and its folder writable, or give another --book",
            )

    def rows(self, conn: Line, sql: str, values: Sequence[Any] = ()) -> Iterator[tuple[Any, ...]]:
        """Rows of a query, streamed."""
        cursor = self._cursor(conn)
        cursor.execute(self._sql(sql), values)
        yield from cursor
        cursor.close()

    def cursor(self, conn: Line, sql: str, values: Sequence[Any] = ()) -> Iterator[tuple[Any, ...]]:
        """Rows straight from the driver, for loops in which every tenth of a microsecond counts."""
        cursor = self._cursor(conn)
        cursor.execute(self._sql(sql), values)
        return iter(cursor)

    def chunks(self, conn: Line, sql: str, values: Sequence[Any] = ()) -> Iterator[Sequence[tuple[Any, ...]]]:
        """Rows in handfuls, for the one loop in which even a generator's step is felt."""
        cursor = self._cursor(conn)
        cursor.execute(self._sql(sql), values)
        while rows := cursor.fetchmany(200):
            yield rows

    def row(self, conn: Line, sql: str, values: Sequence[Any] = ()) -> tuple[Any, ...] | None:
        """The first row, or None."""
        cursor = self._cursor(conn)
        cursor.execute(self._sql(sql), values)
        found: tuple[Any, ...] | None = cursor.fetchone()
        cursor.close()
        return found

    def run(self, conn: Line, sql: str, values: Sequence[Any] = ()) -> int:
        """Run one statement; returns the number of rows it touched."""
        cursor = self._cursor(conn)
        cursor.execute(self._sql(sql), values)
        touched: int = cursor.rowcount
        cursor.close()
        return touched

    def kept(self, conn: Line, key: str) -> str | None:
        """What the book remembers of itself under a key of ``meta``."""
        found = self.row(conn, "SELECT value FROM meta WHERE key = ?", (key,))
        return None if found is None else str(found[0])

    def keep(self, conn: Line, key: str, value: str) -> None:
        """Remember it."""
        sql = "INSERT INTO meta (key, value) VALUES (?, ?) ON CONFLICT (key) DO UPDATE SET value = excluded.value"
        self.run(conn, sql, (key, value))

    def many(self, conn: Line, sql: str, values: Sequence[Sequence[Any]]) -> None:
        """Run one statement for each set of values."""
        if values:
            cursor = self._cursor(conn)
            cursor.executemany(self._sql(sql), values)
            cursor.close()

    def as_bytes(self, column: str) -> str:
        """SQL that yields a text column as exact bytes: damaged text must come out, not fail to decode."""
        return f"CAST({column} AS BLOB)" if self.sqlite else f"convert_to({column}, 'UTF8')"

    def close(self) -> None:
        if self._pool is not None:
            self._pool.close()
        if self._engine is not None:
            self._engine.dispose()

    def _sql(self, sql: str) -> str:
        return sql if self.sqlite else sql.replace("?", "%s")

    @staticmethod
    def _cursor(conn: Line) -> Any:
        return conn.connection.cursor()


def open_store(place: str | Path, *, create: bool, wait_ms: int = LOCK_WAIT_MS) -> tuple[Store, bool]:
    """Return the store and whether it is new. Raises LeadoffError with the codes of :mod:`.errors`."""
    text = str(place)
    if "://" in text:
        return _open_url(text, wait_ms), False
    return _open_file(Path(text).expanduser(), create, wait_ms)


def _open_url(text: str, wait_ms: int) -> Store:
    from sqlalchemy import create_engine, make_url
    from sqlalchemy.exc import ArgumentError

    try:
        url = make_url(text)
    except (ArgumentError, ValueError):
        raise _bad_url(text) from None
    if url.drivername == "sqlite" and url.database:
        return _open_file(Path(url.database), True, wait_ms)[0]
    if url.drivername not in ("postgresql", "postgres", "postgresql+psycopg"):
        raise _bad_url(url.render_as_string(hide_password=True))
    name = url.render_as_string(hide_password=True)
    try:
        engine = create_engine(url.set(drivername="postgresql+psycopg"), pool_pre_ping=True)
    except ImportError:
        raise LeadoffError.one(
            "postgres_missing",
            f"{name}: the part that speaks to a PostgreSQL server is not installed",
            where=name,
            do="pip install 'leadoff[postgres]'",
        ) from None
    return Store(name, None, False, wait_ms, engine)


def _bad_url(text: str) -> LeadoffError:
    return LeadoffError.one(
        "bad_url",
        f"{text!r} is not the address of a book, so nothing was opened",
        where="--book",
        do="give the path of a file, or postgresql://user@host/database",
    )


def _open_file(path: Path, create: bool, wait_ms: int) -> tuple[Store, bool]:
    name = str(path)
    with told(name):
        if path.is_dir():
            raise LeadoffError.one(
                "not_a_book", f"{name} is a folder", where=name, do="give the path of a file"
            )
        new = not path.exists() or path.stat().st_size == 0
        if new and not create:
            raise LeadoffError.one(
                "book_not_found",
                f"there is no book at {name}",
                where=name,
                do="check the path given with --book",
            )
        if new:
            _make_folder(path.parent, name)
        else:
            _look_first(path, name)
    read_only = False if new else not _writable(path)
    return Store(name, path, read_only, wait_ms, _file_pool(path, read_only, wait_ms)), new


def _make_folder(folder: Path, name: str) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except (FileExistsError, NotADirectoryError):
        raise LeadoffError.one(
            "bad_url",
            f"{name} cannot be: a part of the way to it is a file, not a folder",
            where=name,
            do="give another path with --book",
        ) from None


def _look_first(path: Path, name: str) -> None:
    """Refuse somebody else's database before a byte of it is touched: opening it for writing changes its header."""
    try:
        db = sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)
        try:
            tables = {row[0] for row in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
        finally:
            db.close()
    except sqlite3.Error:
        return  # damaged, locked or without its log: the usual way says which
    if tables and "meta" not in tables:
        raise LeadoffError.one(
            "not_a_book",
            f"{name} is a database of something else (tables: {', '.join(sorted(tables)[:4])}); it was left alone",
            where=name,
            do="give the path of a book, or of a file that does not exist yet",
        )


def _writable(path: Path) -> bool:
    """Whether SQLite could write here: it needs the folder too, for its log."""
    import os

    return os.access(path, os.W_OK) and os.access(path.parent, os.W_OK)


def _file_pool(path: Path, read_only: bool, wait_ms: int) -> FilePool:
    def connect() -> sqlite3.Connection:
        # isolation_level None: the driver's own habit of opening transactions late makes forks (91 in 4,000)
        how: dict[str, Any] = {"timeout": wait_ms / 1000, "isolation_level": None, "check_same_thread": False}
        if not read_only:
            db: sqlite3.Connection = sqlite3.connect(path, **how)
            for pragma in (
                "journal_mode=WAL",
                "synchronous=FULL",  # NORMAL may lose the last commits at a power cut
                "foreign_keys=ON",
                "secure_delete=ON",  # else a redacted name stays readable in freed pages
                "cache_size=-65536",
            ):
                db.execute(f"PRAGMA {pragma}")
            return db
        uri = path.absolute().as_uri()
        db = sqlite3.connect(f"{uri}?mode=ro", uri=True, **how)
        try:
            db.execute("SELECT count(*) FROM sqlite_master").fetchone()
        except sqlite3.OperationalError:
            db.close()
            log = path.with_name(path.name + "-wal")
            if log.exists() and log.stat().st_size:
                raise
            # a book on a write-protected medium: nobody else can be writing, so no log is needed
            db = sqlite3.connect(f"{uri}?mode=ro&immutable=1", uri=True, **how)
        return db

    return FilePool(connect)


def _engine_of(file: FilePool) -> Engine:
    """For the tables of a file: every transaction of it holds the writer lock."""
    from sqlalchemy import create_engine, event, pool

    engine = create_engine("sqlite://", creator=file.connect, poolclass=pool.NullPool)

    @event.listens_for(engine, "begin")
    def begin(conn: Connection) -> None:
        conn.exec_driver_sql("BEGIN IMMEDIATE")

    return engine
