"""What a phone sent once, and the cache of projections."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    op.create_table(
        "sent",
        sa.Column("once", sa.String(100), nullable=False),
        sa.Column("entry", sa.String(64), nullable=False),
        sa.PrimaryKeyConstraint("once", "entry", name="pk_sent"),
    )
    op.create_table(
        "projections",
        sa.Column("name", sa.String(80), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("catalogue", sa.String(64), nullable=False),
        sa.Column("heads", sa.String(64), nullable=False),
        sa.Column("upto", sa.BigInteger(), nullable=False),
        sa.Column("last_at", sa.BigInteger(), nullable=False),
        sa.Column("last_depth", sa.Integer(), nullable=False),
        sa.Column("last_id", sa.String(64), nullable=False),
        sa.Column("state", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("name", "version", "catalogue", name="pk_projections"),
    )
