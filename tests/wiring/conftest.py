"""Settings over a folder of their own."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from service.settings import Settings, read_settings


@pytest.fixture
def make_settings(tmp_path: Path) -> Callable[..., Settings]:
    def make(**changes: str) -> Settings:
        environ = {f"LITRELINE_{name}": value for name, value in changes.items()}
        return read_settings({"LITRELINE_DATA_DIR": str(tmp_path / "data"), **environ})

    return make
