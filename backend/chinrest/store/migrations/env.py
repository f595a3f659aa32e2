"""Runs inside a transaction that the caller has begun and will commit."""

from alembic import context

from chinrest.store.tables import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    transactional_ddl=True,
)
context.run_migrations()
