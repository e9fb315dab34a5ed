"""What does the wheel hold? Everything that is shipped, nothing else, and nothing that needs a compiler."""

from __future__ import annotations

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

HOME = Path(__file__).parent.parent
LARGEST_FILE, LARGEST_WHEEL = 2_000_000, 4_000_000


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("wheel")
    code = f"import hatchling.build as b; print(b.build_wheel({str(place)!r}))"
    done = subprocess.run([sys.executable, "-c", code], cwd=HOME, capture_output=True, text=True, check=True)
    return place / done.stdout.strip().splitlines()[-1]


@pytest.fixture(scope="module")
def names(wheel: Path) -> set[str]:
    with zipfile.ZipFile(wheel) as archive:
        assert archive.testzip() is None
        return set(archive.namelist())


def tracked(folder: str) -> set[str]:
    """Return the files of a folder that belong to the project: no caches."""
    found = {path.relative_to(HOME).as_posix() for path in (HOME / folder).rglob("*") if path.is_file()}
    return {name for name in found if "__pycache__" not in name and not name.endswith((".pyc", ".pyo"))}


def test_every_module_font_page_and_table_is_in_it(names: set[str]) -> None:
    wanted = tracked("enclosure")
    assert len(wanted) > 150
    assert any(name.endswith(".ttf") for name in wanted)
    assert any(name.endswith(".csv") for name in wanted)
    assert sorted(wanted - names) == []


def test_every_template_is_in_it(names: set[str]) -> None:
    wanted = {name.replace("templates/", "enclosure/_templates/", 1) for name in tracked("templates")}
    assert len(wanted) >= 15
    assert sorted(wanted - names) == []


def test_nothing_else_is_in_it(names: set[str]) -> None:
    known = tracked("enclosure") | {n.replace("templates/", "enclosure/_templates/", 1) for n in tracked("templates")}
    others = {name for name in names - known if ".dist-info/" not in name}
    assert sorted(others) == []
    assert not any(part in name for name in names for part in ("tests/", "__pycache__", ".pyc", "node_modules", ".git"))


def test_it_is_pure_and_small(wheel: Path) -> None:
    """No compiled part of its own: it installs without a compiler, on any system."""
    assert wheel.name.endswith("-py3-none-any.whl")
    with zipfile.ZipFile(wheel) as archive:
        endings = (".so", ".pyd", ".dll", ".c", ".pyx")
        compiled = [entry.filename for entry in archive.infolist() if entry.filename.endswith(endings)]
        assert compiled == []
        largest = max(archive.infolist(), key=lambda entry: entry.file_size)
    assert largest.file_size < LARGEST_FILE, largest.filename
    assert wheel.stat().st_size < LARGEST_WHEEL


def test_the_program_is_started_by_name(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        entry = next(name for name in archive.namelist() if name.endswith("entry_points.txt"))
        assert "enclosure = enclosure.cli.main:main" in archive.read(entry).decode()
