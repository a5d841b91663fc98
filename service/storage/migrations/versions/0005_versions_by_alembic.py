"""The version is Alembic's from here on; earlier releases are told that they are too old.

They look into `schema_version` only. Without this line they would take a database that was
brought up from theirs for their own, and a new one for empty.
"""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"


def upgrade() -> None:
    table = op.create_table(
        "schema_version",
        sa.Column("version", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("name", sa.String(128), nullable=False),
        if_not_exists=True,
    )
    op.bulk_insert(table, [{"version": 5, "name": "0005_versions_by_alembic"}])
