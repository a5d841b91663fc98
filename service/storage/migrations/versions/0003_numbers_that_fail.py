"""Numbers at which nobody can be reached, and receipts still to come."""

from service.storage.kept_sql import run

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    run("0003_numbers_that_fail.sql")
