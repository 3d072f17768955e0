"""Run the migrations on the connection handed in; there is no alembic.ini."""

from __future__ import annotations

from alembic import context

from leadoff.book.schema import whole

connection = context.config.attributes["connection"]
context.configure(
    connection=connection,
    target_metadata=whole(),
    render_as_batch=connection.dialect.name == "sqlite",
    # the caller holds the transaction and the writer lock; opening another one here would drop both
    transactional_ddl=False,
)
context.run_migrations()
