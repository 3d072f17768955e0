"""The journal: entries, heads, files, meta."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    op.create_table(
        "meta",
        sa.Column("key", sa.String(40), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("key", name="pk_meta"),
    )
    op.create_table(
        "entries",
        sa.Column(
            "n", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), autoincrement=True, nullable=False
        ),
        sa.Column("id", sa.String(64), nullable=False),
        sa.Column("pen", sa.String(16), nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("at_seconds", sa.BigInteger(), nullable=False),
        sa.Column("depth", sa.Integer(), nullable=False),
        sa.Column("here", sa.Boolean(), nullable=False),
        sa.Column("line", sa.Text(), nullable=False),
        sa.Column("salt", sa.LargeBinary()),
        sa.Column("body", sa.Text()),
        sa.PrimaryKeyConstraint("n", name="pk_entries"),
    )
    op.create_index("uq_entries_id", "entries", ["id"], unique=True)
    op.create_index("ix_entries_kind", "entries", ["kind"])
    here, came = sa.text("here"), sa.text("NOT here")
    op.create_index(
        "uq_entries_pen_seq_here",
        "entries",
        ["pen", "seq"],
        unique=True,
        sqlite_where=here,
        postgresql_where=here,
    )
    op.create_index(
        "ix_entries_pen_seq_came", "entries", ["pen", "seq"], sqlite_where=came, postgresql_where=came
    )
    op.create_table(
        "heads",
        sa.Column("id", sa.String(64), nullable=False),
        sa.Column("pen", sa.String(16), nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("depth", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_heads"),
    )
    op.create_table(
        "files",
        sa.Column("digest", sa.String(64), nullable=False),
        sa.Column("salt", sa.LargeBinary(), nullable=False),
        sa.Column("data", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("digest", name="pk_files"),
    )
