"""People, tickets, rain, accounts, the log, seasonal messages, reminder hours."""

from service.storage.kept_sql import run

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    run("0004_desk.sql")
