"""The tables. The newest shape stands here; how older files get there stands in migrations/."""

from __future__ import annotations

from functools import lru_cache

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    text,
)

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)

_ROW = BigInteger().with_variant(Integer, "sqlite")

meta = Table(
    "meta", metadata, Column("key", String(40), primary_key=True), Column("value", Text, nullable=False)
)

entries = Table(
    "entries",
    metadata,
    # n is the order of arrival in this file; it means nothing else and is never exported
    Column("n", _ROW, primary_key=True, autoincrement=True),
    Column("id", String(64), nullable=False),
    Column("pen", String(16), nullable=False),
    Column("seq", Integer, nullable=False),
    Column("kind", Text, nullable=False),
    # at_seconds and depth (longest way back to a first entry) make the fold order; both follow from the lines
    Column("at_seconds", BigInteger, nullable=False),
    Column("depth", Integer, nullable=False),
    Column("here", Boolean, nullable=False),
    Column("line", Text, nullable=False),
    Column("salt", LargeBinary),
    Column("body", Text),
)
Index("uq_entries_id", entries.c.id, unique=True)
Index("ix_entries_kind", entries.c.kind)

heads = Table(
    "heads",
    metadata,
    Column("id", String(64), primary_key=True),
    Column("pen", String(16), nullable=False),
    Column("seq", Integer, nullable=False),
    Column("depth", Integer, nullable=False),
)

files = Table(
    "files",
    metadata,
    Column("digest", String(64), primary_key=True),
    Column("salt", LargeBinary, nullable=False),
    Column("data", LargeBinary, nullable=False),
)

sent = Table(
    "sent",
    metadata,
    Column("once", String(100), primary_key=True),
    Column("entry", String(64), primary_key=True),
)

projections = Table(
    "projections",
    metadata,
    Column("name", String(80), primary_key=True),
    Column("version", Integer, primary_key=True),
    Column("catalogue", String(64), primary_key=True),
    Column("heads", String(64), nullable=False),
    Column("upto", BigInteger, nullable=False),
    Column("last_at", BigInteger, nullable=False),
    Column("last_depth", Integer, nullable=False),
    Column("last_id", String(64), nullable=False),
    Column("state", LargeBinary, nullable=False),
)


@lru_cache(maxsize=1)
def whole() -> MetaData:
    """The tables with the indexes over a part of them, for making tables and for comparing them.

    Apart, because an index that names a condition for PostgreSQL loads that dialect and its drivers: a third of the
    time to open a book that is a file.
    """
    # Unique only where written here: a plain index would drop one branch of a fork silently.
    for name, condition, unique in (
        ("uq_entries_pen_seq_here", text("here"), True),
        ("ix_entries_pen_seq_came", text("NOT here"), False),
    ):
        Index(
            name,
            entries.c.pen,
            entries.c.seq,
            unique=unique,
            sqlite_where=condition,
            postgresql_where=condition,
        )
    return metadata
