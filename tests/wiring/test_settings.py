"""One table of settings: what it gives, what it refuses, and that the documents have all of it."""

from __future__ import annotations

import re
from datetime import time, timedelta
from pathlib import Path

import pytest

from service.settings import SETTINGS, SettingError, read_settings, unknown_settings

DOCUMENT = Path(__file__).parents[2] / "docs" / "settings.md"


def test_the_document_has_every_setting_with_its_default_and_meaning() -> None:
    rows = re.findall(r"^\| `(LITRELINE_\w+)` \| (.*?) \| (.*?) \|$", DOCUMENT.read_text(), re.M)
    told = [(name, default.strip("`"), meaning) for name, default, meaning in rows]
    assert told == [tuple(setting) for setting in SETTINGS]


def test_an_empty_environment_gives_the_defaults() -> None:
    settings = read_settings({})
    assert (settings.host, settings.port) == ("127.0.0.1", 8000)
    assert settings.data_dir == Path("var")
    assert settings.database_url == "sqlite:///var/litreline.sqlite3"
    assert (settings.workers, settings.threads, settings.language) == (2, 4, "en")
    assert settings.gateway_secret == settings.secret_key == settings.helpline == ""
    assert settings.districts is settings.prices is None


def test_every_setting_is_read(tmp_path: Path) -> None:
    table = tmp_path / "table.csv"
    table.write_text("")
    given = {
        "LITRELINE_DATA_DIR": "/srv/data",
        "LITRELINE_DATABASE_URL": "postgresql://u@h/d",
        "LITRELINE_LISTEN": "[::1]:9000",
        "LITRELINE_WORKERS": "3",
        "LITRELINE_THREADS": "1",
        "LITRELINE_GATEWAY_SECRET": "a secret",
        "LITRELINE_GATEWAY_OLD_SECRET": "an older secret",
        "LITRELINE_GATEWAY_URL": "https://gateway.example/v1",
        "LITRELINE_GATEWAY_RATE": "100",
        "LITRELINE_GATEWAY_LANES": "8",
        "LITRELINE_SEND": "no",
        "LITRELINE_WORK": "yes",
        "LITRELINE_RETRY_SECONDS": "1, 2.5",
        "LITRELINE_LEASE_SECONDS": "30",
        "LITRELINE_SETTLE_SECONDS": "120",
        "LITRELINE_TIME_ZONE": "Africa/Nairobi",
        "LITRELINE_REMINDER_HOURS": "09:00-17:30",
        "LITRELINE_REMINDERS_ON_SUNDAY": "yes",
        "LITRELINE_HOLIDAYS": "KE",
        "LITRELINE_PLACES": str(table),
        "LITRELINE_PRICE_PER_PART": "0.8",
        "LITRELINE_SECOND_EYES_ABOVE": "10",
        "LITRELINE_METRICS_TOKEN": "sesame",
        "LITRELINE_LOG": "json",
        "LITRELINE_SMS_IDLE_HOURS": "12",
        "LITRELINE_OFFER_DAYS": "3",
        "LITRELINE_KEEP_DAYS": "100",
        "LITRELINE_SECRET_KEY": "a key",
        "LITRELINE_HTTPS": "yes",
        "LITRELINE_LANGUAGE": "sw",
        "LITRELINE_REGION": "KE",
        "LITRELINE_HELPLINE": "+10000",
        "LITRELINE_RELEASE_TREATMENTS": "yes",
        "LITRELINE_DISTRICTS": str(table),
        "LITRELINE_PRICES": str(table),
        "LITRELINE_FONTS_DIR": str(tmp_path),
    }
    assert set(given) == {setting.name for setting in SETTINGS}
    before, after = read_settings({}), read_settings(given)
    same = [name for name in before.__slots__ if getattr(before, name) == getattr(after, name)]
    assert same == []
    assert after.secrets == ("a secret", "an older secret")
    assert after.retry_seconds == (1.0, 2.5)
    assert after.reminder_hours == (time(9), time(17, 30))
    assert (after.sms_idle, after.offered_for) == (timedelta(hours=12), timedelta(days=3))


def test_an_empty_value_is_the_default_and_the_data_dir_moves_the_database() -> None:
    settings = read_settings({"LITRELINE_LISTEN": " ", "LITRELINE_DATA_DIR": "/srv/x"})
    assert settings.port == 8000
    assert settings.database_url == "sqlite:////srv/x/litreline.sqlite3"


@pytest.mark.parametrize(
    ("name", "value", "allowed"),
    [
        ("LITRELINE_LISTEN", "8000", "an address and a port"),
        ("LITRELINE_LISTEN", "::1:8000", "an address and a port"),
        ("LITRELINE_LISTEN", "127.0.0.1:99999", "an address and a port"),
        ("LITRELINE_WORKERS", "0", "from 1 to 64"),
        ("LITRELINE_WORKERS", "many", "from 1 to 64"),
        ("LITRELINE_THREADS", "65", "from 1 to 64"),
        ("LITRELINE_LANGUAGE", "Swahili", "two letters"),
        ("LITRELINE_GATEWAY_URL", "gateway.example", "http"),
        ("LITRELINE_GATEWAY_RATE", "0", "from 1 to 10000"),
        ("LITRELINE_SEND", "true", "yes or no"),
        ("LITRELINE_RETRY_SECONDS", "5;30", "seconds with commas"),
        ("LITRELINE_LEASE_SECONDS", "3", "from 4 to 3600"),
        ("LITRELINE_TIME_ZONE", "Nairobi", "the name of a time zone"),
        ("LITRELINE_TIME_ZONE", "../etc", "the name of a time zone"),
        ("LITRELINE_REMINDER_HOURS", "19:00-08:00", "a later time"),
        ("LITRELINE_REMINDER_HOURS", "8-19", "a later time"),
        ("LITRELINE_REMINDER_HOURS", "08:00-25:00", "a later time"),
        ("LITRELINE_SMS_IDLE_HOURS", "721", "from 1 to 720"),
        ("LITRELINE_REGION", "ke", "two capitals"),
        ("LITRELINE_DISTRICTS", "/no/such.csv", "a file that exists"),
        ("LITRELINE_PRICES", "/no/such.csv", "a file that exists"),
    ],
)
def test_a_value_that_cannot_be_used_is_named(name: str, value: str, allowed: str) -> None:
    with pytest.raises(SettingError, match=allowed) as caught:
        read_settings({name: value})
    assert (caught.value.name, caught.value.value) == (name, value)
    assert name in str(caught.value)
    assert value in str(caught.value)


def test_a_misspelt_setting_is_found() -> None:
    assert unknown_settings({"LITRELINE_LISTE": "x", "LITRELINE_LISTEN": "x", "HOME": "y"}) == (
        "LITRELINE_LISTE",
    )


def test_secrets_stay_out_of_the_repr() -> None:
    settings = read_settings(
        {
            "LITRELINE_GATEWAY_SECRET": "hush-1",
            "LITRELINE_GATEWAY_OLD_SECRET": "hush-4",
            "LITRELINE_SECRET_KEY": "hush-2",
            "LITRELINE_DATABASE_URL": "postgresql://u:hush-3@h/d",
        }
    )
    assert "hush" not in repr(settings)
