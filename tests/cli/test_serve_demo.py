"""What `litreline serve --demo` tells at its start, and where it makes nothing."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from service.cli.serve import demo_told
from service.settings import read_settings
from service.wiring.build import build


@pytest.fixture
def told(tmp_path: Path) -> Iterator[Any]:
    services = []

    def tell(**changes: str) -> str:
        environ = {f"LITRELINE_{name}": value for name, value in changes.items()}
        settings = read_settings({"LITRELINE_DATA_DIR": str(tmp_path), **environ})
        services.append(build(settings))
        services[-1].database.migrate()
        return demo_told(settings, services[-1])

    yield tell
    for service in services:
        service.database.close()


def test_a_name_and_a_password_per_role_are_told(told: Any) -> None:
    found = re.findall(r"^  (\w+) +([a-z2-9]{4}(?:-[a-z2-9]{4}){3})$", told(), re.M)
    assert [name for name, _ in found] == ["operator", "officer", "admin"]
    assert len({password for _, password in found}) == 3


@pytest.mark.parametrize(
    "open_to_others",
    [{"LISTEN": "0.0.0.0:8000"}, {"GATEWAY_URL": "https://gateway.example/"}],
)
def test_nothing_is_made_where_others_reach_the_service(told: Any, open_to_others: Any) -> None:
    said = told(**open_to_others)
    assert "no accounts for trying were made" in said
    assert "password" not in said
