"""Numbers and their conversations."""

from service.storage.kept_sql import run

revision = "0001"
down_revision = None


def upgrade() -> None:
    run("0001_phone_and_session.sql")
