"""Does the audit of a grove's folder see every planted fault, and nothing where nothing is wrong?

As in `test_audit.py`: one folder is made, for each kind of fault a copy is spoilt and sealed anew, and the audit
must name the spoilt file and say what is wrong.
"""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from enclosure.audit import joint
from enclosure.audit.folder import audit_folder
from enclosure.cli.main import run
from enclosure.errors import OutputError, VerifyError
from enclosure.pipeline import grove as pipeline
from tests.test_audit import (
    PACKET,
    B,
    C,
    P,
    Record,
    Spoil,
    X,
    a_cut,
    check_found,
    in_book,
    in_csv,
    in_json,
    in_pdf,
    lose_a_panel,
    part_of,
    set_cell,
)  # fmt: skip

BRIEFS = Path(__file__).parent.parent / "templates" / "briefs"
SHARES, FIRST, SECOND = "shares.csv", "shelters/1-tree-fern.json", "shelters/2-tree-fern.json"
LABELS = "labels/2-tree-fern.pdf"


@pytest.fixture(scope="module")
def clean(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("audit") / "grove"
    fern = BRIEFS / "tree-fern.toml"
    pipeline.write_papers(pipeline.grove_files([fern, fern], cores=1), folder)
    return folder


def other_marks(plan: Record) -> None:
    """Hand a part of the second shelter out twice and one of the first not at all."""
    marks = next(m for item in plan["sheets"] for m in item["marks"].values() if any(k[:2] == "1-" for k in m))
    first = next(k for k, mark in enumerate(marks) if mark.startswith("1-"))
    marks[first] = "2-" + marks[first][2:]


def swap_labels(folder: Path) -> None:
    one, two = folder / "labels/1-tree-fern.pdf", folder / LABELS
    one.rename(folder / "kept.pdf")
    two.rename(one)
    (folder / "kept.pdf").rename(two)


def lose(name: str) -> Spoil:
    return lambda folder: (folder / name).unlink()


FAULTS: dict[str, tuple[str, str, Spoil]] = {
    "part of another shelter": (P, "2-.* stands in 2|1-.* stands in 0", in_json(P, other_marks)),
    "part not cut": (P, "1-|2-|marks", in_json(P, lose_a_panel)),
    "cut moved": (P, "", in_json(P, lambda p: a_cut(p).update(at_units=a_cut(p)["at_units"] + 40_000))),
    "total": (P, "cents", in_json(P, lambda p: p.update(total_cents=p["total_cents"] + 100))),
    "panel of one shelter larger": (
        FIRST,
        "8: ",
        in_json(FIRST, lambda d: part_of(d, "8")["cut"].update(width_mm=560.3875)),
    ),
    "shelter's part gone": (C, "2-BM2", in_json(SECOND, lambda d: d["parts"].remove(part_of(d, "BM2")))),
    "shelter gone": (SHARES, "2 shelters", lose(SECOND)),
    "hardware of one shelter": (B, "needed", in_json(SECOND, lambda d: d["fixings"][0].update(amount=5000))),
    "bricks": (B, "bricks", in_json(FIRST, lambda d: d["base"].update(bricks_to_buy=7))),
    "length in the cut list": (C, "2-BM1", in_csv(C, set_cell("2-BM1", 6, "1234.5"))),
    "row twice": (C, "1-4.*2 rows", in_csv(C, lambda rows: rows.append(rows[4]))),
    "count in the buying list": (B, "count", in_csv(B, lambda rows: rows[1].__setitem__(3, "99"))),
    "workbook": (X, "row", in_book("xl/worksheets/sheet2.xml", r"<v>1\d+\.\d+</v>", "<v>77</v>")),
    "share": (SHARES, "cents in all", in_csv(SHARES, lambda rows: rows[1].__setitem__(4, "1.00"))),
    "pays more than alone": (SHARES, "at most", in_csv(SHARES, lambda rows: rows[2].__setitem__(4, "9999.00"))),
    "name of a shelter": (SHARES, "is named", in_csv(SHARES, lambda rows: rows[1].__setitem__(1, "oak"))),
    "share on paper": (PACKET, "here", in_pdf(PACKET, rb"\(92\d\.\d\d\)|\(8\d\d\.\d\d\)", b"(1.00)", 4)),
    "sum on paper": (PACKET, "buying list", in_pdf(PACKET, rb"All together: ", b"All in all: ", 9)),
    "page numbers": (PACKET, "page 3", in_pdf(PACKET, rb"3 of ", b"4 of ")),
    "labels of the other shelter": (LABELS, "0 labels", swap_labels),
    "labels gone": (LABELS, "cannot be read|no pages", lose(LABELS)),
    "labels of no shelter": (
        "labels/3-tree-fern.pdf",
        "no shelter",
        lambda folder: shutil.copy(folder / LABELS, folder / "labels/3-tree-fern.pdf") and None,
    ),
    "packet gone": (PACKET, "cannot be read|no pages", lose(PACKET)),
    "shares gone": (SHARES, "cannot be read", lose(SHARES)),
}


@pytest.mark.regression
@pytest.mark.parametrize("name", FAULTS)
def test_a_planted_fault_is_found(name: str, clean: Path, tmp_path: Path) -> None:
    check_found(name, FAULTS[name], clean, tmp_path)


def test_a_clean_grove_has_no_findings(clean: Path, capsys: pytest.CaptureFixture[str]) -> None:
    audit = audit_folder(clean)
    assert [str(row) for row in audit.findings] == []
    designs = [json.loads((clean / name).read_text(encoding="utf-8")) for name in (FIRST, SECOND)]
    assert audit.parts == sum(len(design["parts"]) for design in designs)
    assert run(["verify", str(clean)]) == 0
    assert "agree in" in capsys.readouterr().out


def test_nothing_is_written_when_the_papers_disagree(
    clean: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The audit stands before the rename: a fault in the joint design keeps the folder from taking its name."""
    whole = joint.joint_design

    def spoilt(designs: list[Record]) -> Record:
        design = whole(designs)
        return {**design, "parts": design["parts"][1:]}

    monkeypatch.setattr(joint, "joint_design", spoilt)
    out = tmp_path / "out"
    fern = BRIEFS / "tree-fern.toml"
    found = pipeline.grove_files([fern, fern], cores=1, sheet_work=20)
    with pytest.raises(VerifyError, match="disagree"):
        pipeline.write_papers(found, out)
    assert list(tmp_path.iterdir()) == []


def test_a_folder_of_neither_kind_is_refused(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match=r"design\.json"):
        audit_folder(tmp_path)
