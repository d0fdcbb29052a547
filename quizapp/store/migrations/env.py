"""Runs the schema changes inside the one transaction that the caller opened."""

from alembic import context

from quizapp.store import Record

connection = context.config.attributes["connection"]
context.configure(
    connection=connection,
    target_metadata=Record.metadata,
    transactional_ddl=True,
    render_as_batch=False,
    compare_type=True,
)
context.run_migrations()
