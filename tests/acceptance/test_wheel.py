"""The wheel: the same octets each time, with all it needs, and at work away from the checkout."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import zipfile
from hashlib import sha256
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
BUILT_AT = "1577836800"
"""2020-01-01, for the times inside the wheel."""


def build(folder: Path, epoch: str = BUILT_AT) -> Path:
    """Build the wheel into a folder, by the backend of this environment and without a network."""
    subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)],
        cwd=ROOT,
        env={**os.environ, "SOURCE_DATE_EPOCH": epoch},
        check=True,
        capture_output=True,
    )
    (made,) = folder.glob("*.whl")
    return made


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return build(tmp_path_factory.mktemp("wheel"))


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, installed by pip into a folder of its own."""
    folder = tmp_path_factory.mktemp("installed")
    pip = [sys.executable, "-m", "pip", "install", "--quiet", "--no-deps", "--no-index"]
    quiet = {**os.environ, "PIP_DISABLE_PIP_VERSION_CHECK": "1", "PIP_ROOT_USER_ACTION": "ignore"}
    subprocess.run([*pip, "--target", str(folder), str(wheel)], env=quiet, check=True)
    return folder


def run(installed: Path, elsewhere: Path, *words: str, given: str = "") -> str:
    """Run the installed command far from the checkout and return what it printed."""
    environ = {
        name: value for name, value in os.environ.items() if not name.startswith("LITRELINE_")
    }
    done = subprocess.run(
        [sys.executable, str(installed / "bin" / "litreline"), *words],
        cwd=elsewhere,
        env={**environ, "PYTHONPATH": str(installed), "LITRELINE_DATA_DIR": str(elsewhere / "d")},
        input=given,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_built_twice_it_is_the_same_octet_for_octet(wheel: Path, tmp_path: Path) -> None:
    again = build(tmp_path)
    assert sha256(again.read_bytes()).digest() == sha256(wheel.read_bytes()).digest()


def test_it_carries_every_flow_catalogue_table_and_page(wheel: Path) -> None:
    """Whatever a checkout has beside its code, and nothing of tests, documents or a data folder."""
    names = set(zipfile.ZipFile(wheel).namelist())
    wanted = {f"service/{file.relative_to(ROOT)}" for file in ROOT.glob("flows/*.yaml")}
    wanted |= {f"service/{file.relative_to(ROOT)}" for file in ROOT.glob("locales/*/*/*.po")}
    inside = [
        file.relative_to(ROOT).as_posix()
        for file in (ROOT / "service").rglob("*")
        if file.is_file() and "__pycache__" not in file.parts
    ]
    assert wanted | set(inside) <= names
    assert len(wanted) > 15
    assert {name.split("/")[0] for name in names} <= {"service", "litreline-0.1.0.dist-info"}
    assert not [name for name in names if name.endswith((".sqlite3", ".env", "secret_key"))]


def test_installed_elsewhere_it_is_the_one_that_runs(installed: Path, tmp_path: Path) -> None:
    where = subprocess.run(
        [sys.executable, "-c", "import service; print(service.__file__)"],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(installed)},
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    assert Path(where.strip()).is_relative_to(installed)


def test_installed_elsewhere_it_plans(installed: Path, tmp_path: Path) -> None:
    card = (ROOT / "docs" / "examples" / "card.json").read_text("utf-8")
    (tmp_path / "card.json").write_text(card, "utf-8")
    plan = json.loads(run(installed, tmp_path, "plan", "card.json", "--json"))
    assert plan["layouts"][plan["recommended"]]["full_tank"]["total_flow_lph"] > 0
    assert len(plan["watering"]) > 1
    assert plan["parts"]


def test_installed_elsewhere_it_talks(installed: Path, tmp_path: Path) -> None:
    """A flow, and a catalogue: the second screen of a caller who chose Kiswahili."""
    told = run(installed, tmp_path, "talk", given="2\n")
    assert "2 Kiswahili" in told
    assert "Shamba liko wapi?" in told
