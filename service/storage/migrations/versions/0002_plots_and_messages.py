"""Plots that last, texts that came in, consent, and the outbox."""

from service.storage.kept_sql import run

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    run("0002_plots_and_messages.sql")
