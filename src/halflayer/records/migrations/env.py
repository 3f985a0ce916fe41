"""Runs migrations on the connection that it is given, inside the caller's transaction."""

from __future__ import annotations

from alembic import context

from halflayer.records.models import Base

connection = context.config.attributes["connection"]
context.configure(
    connection=connection,
    target_metadata=Base.metadata,
    render_as_batch=True,  # SQLite changes a table by making it anew
    compare_type=True,
    transactional_ddl=True,
)
# The caller opened the transaction and ends it: alembic must neither commit nor roll back.
context.run_migrations()
