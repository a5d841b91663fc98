"""How Alembic runs the steps: on the connection handed in, inside the transaction begun there."""

from alembic import context

context.configure(connection=context.config.attributes["connection"])
context.run_migrations()
