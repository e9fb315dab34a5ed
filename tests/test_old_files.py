"""Files of every schema version that was ever written still load: kept for ever in tests/fixtures.

Never change a file there and never take one away. When the schema goes up, make the shipped briefs once
more with the last program that writes the old version, and add the files as a new folder.
"""

from __future__ import annotations

import gzip
import json
from pathlib import Path
from typing import Any

import pytest

from enclosure.cli.main import run
from enclosure.shape.model import SCHEMA, SheetCut
from enclosure.shape.serial import UPGRADES, from_json, to_json, upgrade

HOME = Path(__file__).parent / "fixtures" / "design"
FILES = sorted(HOME.glob("version-*/*.json.gz"))

STORED = {
    # version and name: parts, panels and films, clear width, depth and height [mm], roof, mass of all parts [kg],
    # as read with a JSON reader from the file on the day it was stored
    ("version-1", "broad-fig"): (157, 21, (2641.6, 1574.8, 1955.8), "gable", 249.224),
    ("version-1", "olive-glass"): (114, 15, (1260.0, 1260.0, 2375.0), "mono", 157.512),
    ("version-1", "potted-lemon"): (111, 12, (1000.0, 1000.0, 1493.0), "mono", 53.148),
    ("version-1", "tree-fern"): (102, 11, (965.2, 965.2, 2152.65), "mono", 90.353),
    ("version-2", "broad-fig"): (157, 21, (2641.6, 1574.8, 1955.8), "gable", 249.224),
    ("version-2", "olive-glass"): (114, 15, (1260.0, 1260.0, 2375.0), "mono", 157.512),
    ("version-2", "potted-lemon"): (111, 12, (1000.0, 1000.0, 1493.0), "mono", 53.148),
    ("version-2", "tree-fern"): (102, 11, (965.2, 965.2, 2152.65), "mono", 90.353),
}  # fmt: skip


def text_of(path: Path) -> str:
    with gzip.open(path, "rt", encoding="utf-8") as file:
        return file.read()


@pytest.mark.parametrize("path", FILES, ids=lambda p: f"{p.parent.name}-{p.name}")
def test_a_stored_file_loads_with_what_it_held(path: Path) -> None:
    key = (path.parent.name, path.name.removesuffix(".json.gz"))
    parts, panels, clear, roof, mass = STORED[key]
    design = from_json(text_of(path), path.name)
    assert design.schema == SCHEMA
    assert len(design.parts) == parts
    assert len(design.panels()) == panels
    assert design.clear_mm == pytest.approx(clear)
    assert design.roof == roof
    assert sum(p.mass_kg for p in design.parts) == pytest.approx(mass, abs=0.001)
    assert from_json(to_json(design)) == design


def test_every_version_has_its_files_and_its_way_up() -> None:
    for version in range(1, SCHEMA + 1):
        assert list((HOME / f"version-{version}").glob("*.json.gz")), f"no files of version {version} are kept"
        assert version == SCHEMA or version in UPGRADES, f"nothing brings version {version} up"
    assert {(p.parent.name, p.name.removesuffix(".json.gz")) for p in FILES} == set(STORED)
    assert all(json.loads(text_of(p))["schema"] == int(p.parent.name.removeprefix("version-")) for p in FILES)


@pytest.mark.parametrize("path", FILES, ids=lambda p: f"{p.parent.name}-{p.name}")
def test_a_stored_file_climbs_to_the_version_after_this(path: Path) -> None:
    """The way up is walked with whole files: the next version renames a key of every part, and takes it back."""

    def rename(tree: dict[str, Any]) -> dict[str, Any]:
        return {**tree, "parts": [{("number" if k == "mark" else k): v for k, v in p.items()} for p in tree["parts"]]}

    tree = upgrade(json.loads(text_of(path)), {**UPGRADES, SCHEMA: rename}, path.name, newest=SCHEMA + 1)
    assert tree["schema"] == SCHEMA + 1
    assert all("mark" not in part for part in tree["parts"])
    back = {"number": "mark"}
    tree = {**tree, "schema": SCHEMA - 1}
    older = json.dumps(tree)

    def restore(old: dict[str, Any]) -> dict[str, Any]:
        return {**old, "parts": [{back.get(k, k): v for k, v in p.items()} for p in old["parts"]]}

    assert from_json(older, upgrades={SCHEMA - 1: restore}) == from_json(text_of(path))


@pytest.mark.parametrize("name", ["potted-lemon", "olive-glass"])
def test_a_stored_shelter_is_outgrown_today(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "old.json").write_text(text_of(HOME / "version-1" / f"{name}.json.gz"), encoding="utf-8")
    assert run(["outgrow", "old.json", name, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    new = next(way for way in told["ways"] if way["key"] == "new")
    assert new["kept"] > 0
    assert new["price_cents"] <= told["all_new_cents"]
    design = from_json((tmp_path / "old.json").read_text(encoding="utf-8"))
    panel = next(p for p in design.parts if p.kind in ("panel", "film") and isinstance(p.cut, SheetCut))
    assert run(["make", "old.json", "--label", panel.mark, "-q", "-o", "label.pdf"]) == 0
    assert (tmp_path / "label.pdf").read_bytes().startswith(b"%PDF")
