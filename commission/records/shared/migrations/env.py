"""What the migration tool runs; it is handed a connection within a transaction."""

from alembic import context

from commission.records.shared.tables import SCHEMA

context.configure(
    connection=context.config.attributes["connection"],
    version_table="steps",
    version_table_schema=SCHEMA,
    transactional_ddl=True,
)
context.run_migrations()
