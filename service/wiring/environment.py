"""The settings of this process, read from its environment."""

from __future__ import annotations

import os
from datetime import UTC, datetime

from service.settings import Settings, read_settings, unknown_settings


def settings_from_environment() -> Settings:
    """Return the settings. Raises SettingError for a variable that cannot be used."""
    return read_settings(os.environ)


def misspelt_settings() -> tuple[str, ...]:
    """Return variables with our prefix that mean nothing."""
    return unknown_settings(os.environ)


def utc_now() -> datetime:
    """Return the present moment; nothing below wiring asks for it."""
    return datetime.now(UTC)
