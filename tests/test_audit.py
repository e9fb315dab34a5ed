"""Does the audit see every planted fault, and nothing where nothing is wrong?

One folder of papers is made; for each kind of fault a copy is spoilt, its list of checksums is written anew
(so that only the content can give the fault away), and the audit must name the spoilt file and say what is wrong.
The clean folders of all shipped briefs are audited in `test_make.py`, where they are made.
"""

from __future__ import annotations

import csv
import hashlib
import json
import re
import shutil
import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from enclosure.audit.design_own import _check_mass, _check_stick_cut
from enclosure.audit.findings import Findings
from enclosure.audit.folder import MANIFEST, audit_folder
from enclosure.audit.geometry import body, depth_of_clash
from enclosure.audit.lengths import plain_money, read_length, read_size
from enclosure.audit.pdf_text import pdf_pages
from enclosure.audit.replay import follow
from enclosure.cli.main import run
from enclosure.pipeline.make import make

BRIEF = Path(__file__).parent.parent / "templates" / "briefs" / "tree-fern.toml"
Record = dict[str, Any]
Spoil = Callable[[Path], None]


LEMON = BRIEF.with_name("potted-lemon.toml")


@pytest.fixture(scope="module")
def clean(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("audit") / "papers"
    make(BRIEF, folder, solids=False)
    return folder


@pytest.fixture(scope="module")
def other(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The papers of another shelter, whose files get mixed in."""
    folder = tmp_path_factory.mktemp("other") / "papers"
    make(LEMON, folder, solids=False)
    return folder


# --- how files are spoilt ---------------------------------------------------------


def in_json(name: str, change: Callable[[Record], object]) -> Spoil:
    def spoil(folder: Path) -> None:
        record = json.loads((folder / name).read_text(encoding="utf-8"))
        change(record)
        (folder / name).write_text(json.dumps(record), encoding="utf-8")

    return spoil


def in_csv(name: str, change: Callable[[list[list[str]]], object]) -> Spoil:
    def spoil(folder: Path) -> None:
        with (folder / name).open(encoding="utf-8-sig", newline="") as file:
            rows = list(csv.reader(file))
        change(rows)
        with (folder / name).open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows(rows)

    return spoil


def in_text(name: str, pattern: str, new: str, count: int = 1) -> Spoil:
    def spoil(folder: Path) -> None:
        text = (folder / name).read_text(encoding="utf-8")
        changed, made = re.subn(pattern, new, text, count=count)
        assert made, f"{pattern} is not in {name}"
        (folder / name).write_text(changed, encoding="utf-8", newline="")

    return spoil


def in_book(member: str, pattern: str, new: str) -> Spoil:
    def spoil(folder: Path) -> None:
        with zipfile.ZipFile(folder / "lists.xlsx") as book:
            files = {name: book.read(name) for name in book.namelist()}
        changed, made = re.subn(pattern, new, files[member].decode(), count=1)
        assert made, f"{pattern} is not in {member}"
        files[member] = changed.encode()
        with zipfile.ZipFile(folder / "lists.xlsx", "w") as book:
            for name, data in files.items():
                book.writestr(name, data)

    return spoil


def in_pdf(name: str, pattern: bytes, new: bytes, count: int = 1) -> Spoil:
    """Change drawn text; the streams are packed again and the table of objects is written anew."""

    def spoil(folder: Path) -> None:
        data = (folder / name).read_bytes()
        start = int(re.findall(rb"startxref\s+(\d+)", data)[-1])
        head, trailer = data[start:].split(b"trailer", 1)
        offsets = [int(row.split()[0]) for row in head.splitlines() if row.strip().endswith(b" n")]
        left, bodies = count, []
        for begin, end in zip(offsets, [*offsets[1:], start], strict=True):
            whole = data[begin:end]
            length = re.search(rb"/Length (\d+)", whole)
            if left and length and b"FontFile" not in whole and b"stream" in whole:
                place = re.search(rb"stream\r?\n", whole)
                assert place is not None
                packed = whole[place.end() : place.end() + int(length[1])]
                plain = zlib.decompress(packed)
                changed, made = re.subn(pattern, new, plain, count=left) if b"BT" in plain else (plain, 0)
                if made:
                    left -= made
                    again = zlib.compress(changed)
                    whole = whole[: place.end()] + again + b"endstream\nendobj\n"
                    whole = whole.replace(length[0], b"/Length %d" % len(again), 1)
            bodies.append(whole)
        assert left < count, f"{pattern!r} is not in {name}"
        out, table = data[: offsets[0]], [b"0000000000 65535 f \n"]
        for whole in bodies:
            table.append(b"%010d 00000 n \n" % len(out))
            out += whole
        foot = re.sub(rb"startxref\s+\d+", b"startxref\n%d" % len(out), trailer)
        (folder / name).write_bytes(out + b"xref\n0 %d\n" % len(table) + b"".join(table) + b"trailer" + foot)

    return spoil


def part_of(design: Record, mark: str) -> Record:
    return next(part for part in design["parts"] if part["mark"] == mark)


def leaves(node: Record | None) -> list[Record]:
    if node is None:
        return []
    return [node, *leaves(node.get("near")), *leaves(node.get("far"))] if "cut" in node else [node]


def trees(plan: Record) -> list[Record]:
    return [pattern["root"] for item in plan["sheets"] for pattern in item["plan"]["patterns"]]


def a_cut(plan: Record) -> Record:
    return next(node for tree in trees(plan) for node in leaves(tree) if "cut" in node)


def a_leaf(plan: Record, kind: str) -> Record:
    return next(node for tree in trees(plan) for node in leaves(tree) if kind in node)


def a_stick(plan: Record) -> Record:
    return next(p for item in plan["sticks"] for p in item["plan"]["patterns"] if len(p["pieces"]) > 2)


def fluted(plan: Record) -> Record:
    return next(item for item in plan["sheets"] if item["material"] == "twin-wall-10")


def lose_a_panel(plan: Record) -> None:
    leaf = next(n for p in fluted(plan)["plan"]["patterns"] for n in leaves(p["root"]) if "part" in n)
    leaf.clear()
    leaf["rest"] = "waste"


def shift_solid(design: Record) -> None:
    part_of(design, "BM1")["solids"][0]["origin"][2] += 20.0


def grow_into_the_clear_box(design: Record) -> None:
    part_of(design, "LM1")["solids"][0]["origin"][0] += 30.0


def swap_steps(design: Record) -> None:
    steps = design["steps"]
    place = next(i for i, step in enumerate(steps) if step["phase"] == "raising" and step["after"])
    steps[place - 1], steps[place] = steps[place], steps[place - 1]


def steps_of(design: Record, phase: str) -> list[Record]:
    return [step for step in design["steps"] if step["phase"] == phase and step["parts"]]


def set_cell(mark: str, column: int, value: str) -> Callable[[list[list[str]]], None]:
    def change(rows: list[list[str]]) -> None:
        row = next(row for row in rows if row[0] == mark)
        assert row[column] != value
        row[column] = value

    return change


def put(key: str, value: object) -> Callable[[Record], None]:
    def change(record: Record) -> None:
        assert record[key] != value
        record[key] = value

    return change


def fit_of(mark: str, key: str, value: float) -> Callable[[Record], None]:
    def change(design: Record) -> None:
        part_of(design, mark)["fit"][key][0] = value

    return change


def change_entity(folder: Path, name: str, kind: str, layer: str, change: Callable[[list[list[str]]], object]) -> None:
    """Change the group codes of the first entity of a kind on a layer of a DXF file; an empty list drops it."""
    lines = (folder / name).read_text(encoding="utf-8").splitlines()
    pairs = [[lines[i], lines[i + 1]] for i in range(0, len(lines) - 1, 2)]
    starts = [i for i, (code, _) in enumerate(pairs) if code.strip() == "0"]
    for start, end in zip(starts, [*starts[1:], len(pairs)], strict=True):
        entity = pairs[start:end]
        if entity[0][1] == kind and ["8", layer] in [[code.strip(), value] for code, value in entity]:
            change(entity)
            pairs[start:end] = entity
            text = "\n".join(line for pair in pairs for line in pair)
            (folder / name).write_text(text + "\n", encoding="utf-8")
            return
    raise AssertionError(f"no {kind} on {layer} in {name}")


def shifted(by: float, most: int = 1) -> Callable[[list[list[str]]], None]:
    """Move the first corners, or the middle, of an entity along x."""

    def change(entity: list[list[str]]) -> None:
        for pair in [pair for pair in entity if pair[0].strip() == "10"][:most]:
            pair[1] = str(float(pair[1]) + by)

    return change


def move_polyline(folder: Path, name: str, layer: str, by: float, most: int = 1) -> None:
    """Move the first corners of the first outline on a layer of a DXF file."""
    change_entity(folder, name, "LWPOLYLINE", layer, shifted(by, most))


def move_entity(folder: Path, name: str, kind: str, layer: str, by: float) -> None:
    change_entity(folder, name, kind, layer, shifted(by))


def stretch_outline(folder: Path, name: str, layer: str, by: float) -> None:
    """Move all corners at the right end of the first outline on a layer."""

    def change(entity: list[list[str]]) -> None:
        pairs = [pair for pair in entity if pair[0].strip() == "10"]
        far = max(float(pair[1]) for pair in pairs)
        for pair in pairs:
            if far - float(pair[1]) < 0.01:
                pair[1] = str(float(pair[1]) + by)

    change_entity(folder, name, "LWPOLYLINE", layer, change)


def drop_entity(folder: Path, name: str, layer: str, kind: str = "LINE") -> None:
    change_entity(folder, name, kind, layer, lambda entity: entity.clear())


def moved_corners(folder: Path, name: str, to: Callable[[float, float], float]) -> None:
    """Change the x of every corner, line and dimension of a DXF file by `to(x, the greatest x of an outline)`."""
    lines = (folder / name).read_text(encoding="utf-8").splitlines()
    begin = lines.index("ENTITIES")
    places = [i for i in range(begin + 1, len(lines) - 1, 2) if lines[i].strip() in ("10", "11", "13", "14")]
    greatest = max(float(lines[i + 1]) for i in places if lines[i].strip() == "10")
    for i in places:
        lines[i + 1] = str(to(float(lines[i + 1]), greatest))
    (folder / name).write_text("\n".join(lines) + "\n", encoding="utf-8")


def swapped_marks(name: str, one: bytes, two: bytes) -> Spoil:
    """Give one panel's label the number of another and the other way round."""

    def spoil(folder: Path) -> None:
        for old, new, count in ((one, b"00", 1), (two, one, 9), (b"00", two, 9)):
            in_pdf(name, rb"\(" + old + rb"\)", b"(" + new + b")", count)(folder)

    return spoil


def in_scene(change: Callable[[Record], object]) -> Spoil:
    """Change the data of the page for a browser."""

    def spoil(folder: Path) -> None:
        text = (folder / "shelter.html").read_text(encoding="utf-8")
        start = text.index('type="application/json">') + 24
        end = text.index("</script>", start)
        scene = json.loads(text[start:end])
        change(scene)
        (folder / "shelter.html").write_text(text[:start] + json.dumps(scene) + text[end:], encoding="utf-8")

    return spoil


def bolts_of(design: Record) -> Record:
    return next(f for f in design["fixings"] if f["bag"] == "corner bolts" and f["key"] == "bolt_m8")


def move_a_hole(design: Record) -> None:
    part = next(part for part in design["parts"] if part["cut"].get("holes"))
    part["cut"]["holes"][0]["x_mm"] += 40.0


def step_without(mark: str) -> Spoil:
    def spoil(folder: Path) -> None:
        design = json.loads((folder / "design.json").read_text(encoding="utf-8"))
        rows = [
            f"NEXT_ASSEMBLY_USAGE_OCCURRENCE('1','{p['mark']}','',#5,#43,$);"
            for p in design["parts"]
            if p["mark"] != mark
        ]
        text = "\n".join(["ISO-10303-21;", *rows, "END-ISO-10303-21;"])
        (folder / "shelter.step").write_text(text + "\n", encoding="utf-8")

    return spoil


def glb_moved(folder: Path) -> None:
    data = (folder / "shelter.glb").read_bytes()
    length = int.from_bytes(data[12:16], "little")
    record = json.loads(data[20 : 20 + length])
    node = next(node for node in record["nodes"] if node.get("name") == "8")
    node["matrix"][12] += 25.0
    text = json.dumps(record).encode()
    text += b" " * (-len(text) % 4)
    rest = data[20 + length :]
    total = 20 + len(text) + len(rest)
    head = data[:8] + total.to_bytes(4, "little") + len(text).to_bytes(4, "little") + data[16:20]
    (folder / "shelter.glb").write_bytes(head + text + rest)


STICKS, ELEVATIONS = "dxf/frame-parts.dxf", "dxf/elevations.dxf"
D, P, C, B, X = "design.json", "plan.json", "cut-list.csv", "buying-list.csv", "lists.xlsx"
PACKET, LABELS, RAISING = "packet.pdf", "labels.pdf", "raising.pdf"

FAULTS: dict[str, tuple[str, str, Spoil]] = {
    # design
    "two parts with one mark": (D, "2 parts bear", in_json(D, lambda d: d["parts"].append(part_of(d, "BM2")))),
    "part of no material": (D, "material", in_json(D, lambda d: part_of(d, "BM2").update(material="oak"))),
    "panel wider than its place": (D, "BM|8: ", in_json(D, lambda d: part_of(d, "8")["cut"].update(width_mm=560.3875))),
    "panel cut to another outline": (
        D,
        "as cut",
        in_json(D, lambda d: part_of(d, "4")["cut"]["outline"][2].__setitem__(1, 2100.0)),
    ),
    "panel outline mirrored": (D, "clockwise", in_json(D, lambda d: part_of(d, "8")["cut"]["outline"].reverse())),
    "fluted panel may be turned": (
        D,
        "may be turned",
        in_json(D, lambda d: part_of(d, "8")["cut"].update(turnable=True)),
    ),
    "panel not in sixteenths": (
        D,
        "sixteenths",
        in_json(D, lambda d: part_of(d, "8")["cut"].update(width_mm=539.0)),
    ),
    "hole off the panel": (
        D,
        "hole",
        in_json(D, lambda d: part_of(d, "1")["cut"]["holes"].append({"x_mm": -5, "y_mm": 50, "diameter_mm": 10})),
    ),
    "stick longer than its place": (
        D,
        "rounded down",
        in_json(D, lambda d: part_of(d, "BM1")["cut"].update(length_mm=1099.0)),
    ),
    "gap too small for growth": (D, "a gap of", in_json(D, fit_of("8", "clearance_mm", 0.2))),
    "needed gap forgets the heat": (D, "of growth", in_json(D, fit_of("8", "needed_clearance_mm", 0.1))),
    "cover below the least": (D, "edge cover 3", in_json(D, fit_of("8", "cover_cold_mm", 3.0))),
    "movement misreckoned": (D, "movement", in_json(D, fit_of("8", "movement_mm", 9.9))),
    "panel weighs wrong": (D, "mass", in_json(D, lambda d: part_of(d, "8").update(mass_kg=4.0))),
    "fluted panel without tape": (D, "tape", in_json(D, lambda d: part_of(d, "8").update(tape_mm=[0.0, 0.0]))),
    "solids clash": (D, "deep in each other", in_json(D, shift_solid)),
    "member in the clear box": (D, "clear box", in_json(D, grow_into_the_clear_box)),
    "hardware not as many as places": (
        D,
        "one for each place",
        in_json(D, lambda d: d["fixings"][0].update(amount=99.0)),
    ),
    "ring out of square": (D, "diagonal", in_json(D, lambda d: d["base"].update(diagonal_mm=1500.0))),
    "fewer bricks bought than laid": (D, "bricks to buy", in_json(D, lambda d: d["base"].update(bricks_to_buy=1))),
    "post tied above the roof": (D, "tied at", in_json(D, lambda d: d["anchors"][0].update(tie_heights_mm=[9000.0]))),
    "step before what it needs": (D, "comes before", in_json(D, swap_steps)),
    "part never raised": (D, "no raising step", in_json(D, lambda d: steps_of(d, "raising")[0]["parts"].pop())),
    "part raised twice": (D, "goes up again", in_json(D, lambda d: steps_of(d, "raising")[-1]["parts"].append("BM1"))),
    "part never taken down": (
        D,
        "no take-down step",
        in_json(D, lambda d: steps_of(d, "take-down")[-1]["parts"].pop()),
    ),
    "take-down in the wrong order": (
        D,
        "reversed",
        in_json(D, lambda d: steps_of(d, "take-down")[0].update(parts=steps_of(d, "take-down")[1]["parts"])),
    ),
    "lift lighter than its part": (
        D,
        "heaviest lift",
        in_json(D, lambda d: [s.update(mass_kg=0.0) for s in d["steps"]]),
    ),
    # cutting plan
    "part never cut": (P, "never cut", in_json(P, lose_a_panel)),
    "part cut twice": (
        P,
        "too often",
        in_json(P, lambda p: fluted(p)["plan"]["patterns"].append(fluted(p)["plan"]["patterns"][0])),
    ),
    "panel lies across the flutes": (
        P,
        "turned",
        in_json(
            P,
            lambda p: next(n for t in fluted(p)["plan"]["patterns"] for n in leaves(t["root"]) if "part" in n).update(
                turned=True
            ),
        ),
    ),
    "cut one millimetre off": (
        P,
        "comes out",
        in_json(P, lambda p: a_cut(p).update(at_units=a_cut(p)["at_units"] + 10_000)),
    ),
    "cut beside the sheet": (P, "a cut at", in_json(P, lambda p: a_cut(p).update(at_units=99_000_000))),
    "no kerf between parts": (X, "kerf", in_json(P, lambda p: fluted(p)["job"].update(kerf_units=0))),
    "sheet too small": (
        P,
        "comes out|a cut at|wider",
        in_json(P, lambda p: [s.update(width_units=s["width_units"] - 3_000_000) for s in fluted(p)["job"]["sheets"]]),
    ),
    "plan for another size": (
        P,
        "by",
        in_json(
            P,
            lambda p: fluted(p)["job"]["parts"][0].update(
                width_units=fluted(p)["job"]["parts"][0]["width_units"] - 15_875
            ),
        ),
    ),
    "plan forgets a mark": (
        P,
        "cutting plans|marks",
        in_json(P, lambda p: next(iter(fluted(p)["marks"].values())).pop()),
    ),
    "plan price wrong": (P, "price", in_json(P, lambda p: fluted(p)["plan"].update(price=1))),
    "plan called proved when it is not": (
        P,
        "status",
        in_json(P, lambda p: fluted(p)["plan"].update(bound=1, status="proved")),
    ),
    "rack sheet used more often than owned": (
        P,
        "as many as there are",
        in_json(P, lambda p: [s.update(copies=0) for s in fluted(p)["job"]["sheets"]]),
    ),
    "sticks overlap by the kerf": (
        P,
        "starts at",
        in_json(
            P, lambda p: a_stick(p)["pieces"][1].update(start_units=a_stick(p)["pieces"][1]["start_units"] - 20_000)
        ),
    ),
    "stick not squared": (
        P,
        "starts at",
        in_json(P, lambda p: p["sticks"][0]["plan"]["patterns"][0]["pieces"][0].update(start_units=0)),
    ),
    "piece past the end of its stick": (
        P,
        "ends at",
        in_json(P, lambda p: a_stick(p)["pieces"][-1].update(start_units=36_000_000)),
    ),
    "piece over a knot": (
        P,
        "defect",
        in_json(
            P,
            lambda p: [
                s.update(defects_units=[[500_000, 900_000]]) for item in p["sticks"] for s in item["job"]["sticks"]
            ],
        ),
    ),
    "grand total wrong": (P, "cents", in_json(P, put("total_cents", 1))),
    "line total wrong": (P, "cents", in_json(P, lambda p: p["buying"][0].update(total_cents=1))),
    # lists
    "row missing in the cut list": (C, "0 rows", in_csv(C, lambda rows: rows.pop(3))),
    "row twice in the cut list": (C, "2 rows", in_csv(C, lambda rows: rows.append(rows[3]))),
    "row of a part that is not there": (C, "has a row", in_csv(C, lambda rows: rows.append(["ZZ9", *rows[3][1:]]))),
    "printed size a sixteenth large": (C, "printed as", in_csv(C, set_cell("8", 5, "21 5/16 in x 91 1/2 in"))),
    "printed fraction not a sixteenth": (C, "understood", in_csv(C, set_cell("8", 5, "21 1/3 in x 91 1/2 in"))),
    "length wrong in the cut list": (C, "length or height", in_csv(C, set_cell("BM1", 6, "1000"))),
    "angle wrong in the cut list": (C, "start angle|end angle", in_csv(C, set_cell("BD1", 8, "45"))),
    "address wrong in the cut list": (C, "address", in_csv(C, set_cell("8", 3, "FRONT bay 2 tier 1"))),
    "material wrong in the cut list": (C, "material", in_csv(C, set_cell("8", 4, "glass"))),
    "wrong sheet named in the cut list": (C, "cut from", in_csv(C, set_cell("8", 14, "sheet-01"))),
    "flutes not named in the cut list": (C, "flute direction", in_csv(C, set_cell("8", 11, ""))),
    "one sheet too few to buy": (B, "count is", in_csv(B, lambda rows: rows[2].__setitem__(3, "1"))),
    "price wrong in the buying list": (B, "price of one", in_csv(B, lambda rows: rows[2].__setitem__(5, "1.00"))),
    "line missing in the buying list": (B, "lines", in_csv(B, lambda rows: rows.pop())),
    "screws short by a pack": (
        B,
        "for ",
        in_json(
            P,
            lambda p: next(row for row in p["buying"] if row["group"] == "hardware" and row["count"] > 1).update(
                count=1
            ),
        ),
    ),
    "sheets bought differ from sheets cut": (B, "to buy", in_json(P, lambda p: p["buying"][1].update(count=9))),
    "workbook cell differs from the list": (
        X,
        "as in the CSV",
        in_book("xl/worksheets/sheet2.xml", r'(<c r="G5"[^>]*><v>)[^<]*', r"\g<1>1.5"),
    ),
    "workbook total not a sum of all": (X, "SUM", in_book("xl/worksheets/sheet1.xml", r"SUM\(G2:G\d+\)", "SUM(G2:G9)")),
    "stick position wrong in the workbook": (
        X,
        "from \\[mm\\]",
        in_book("xl/worksheets/sheet4.xml", r'(<c r="H3"[^>]*><v>)[^<]*', r"\g<1>77"),
    ),
    "kerf wrong in the workbook": (
        X,
        "kerf",
        in_book("xl/worksheets/sheet3.xml", r'(<c r="H2"[^>]*><v>)[^<]*', r"\g<1>9"),
    ),
    # drawings
    "panel drawing a millimetre off": (
        "dxf/panel-08.dxf",
        "outline",
        lambda f: move_polyline(f, "dxf/panel-08.dxf", "parts", 1.0),
    ),
    "panel drawing missing": ("dxf/panel-08.dxf", "missing", lambda f: (f / "dxf/panel-08.dxf").unlink()),
    "panel drawing in inches": (
        "dxf/panel-08.dxf",
        "unit code",
        in_text("dxf/panel-08.dxf", r"(\$INSUNITS\r?\n *70\r?\n *)4", r"\g<1>1"),
    ),
    "panel drawing bears another number": (
        "dxf/panel-08.dxf",
        "marked",
        in_text("dxf/panel-08.dxf", r"(\n *1\n)8\n", r"\g<1>9\n"),
    ),
    "flute arrow missing": ("dxf/panel-08.dxf", "arrow", in_text("dxf/panel-08.dxf", r"\nflutes\n", r"\nwords\n", 99)),
    "part moved on a sheet drawing": (
        "dxf/sheet-03.dxf",
        "drawn|no outline",
        lambda f: move_polyline(f, "dxf/sheet-03.dxf", "parts", 5.0),
    ),
    "sheet edge wrong": (
        "dxf/sheet-03.dxf",
        "sheet edge",
        lambda f: move_polyline(f, "dxf/sheet-03.dxf", "sheet edge", 9.0),
    ),
    "cut not drawn": ("dxf/sheet-01.dxf", "not drawn", lambda f: drop_entity(f, "dxf/sheet-01.dxf", "cuts")),
    "kerf wrong on a sheet drawing": (
        "dxf/sheet-03.dxf",
        "kerf",
        in_text("dxf/sheet-03.dxf", r"kerf [\d.]+ mm", "kerf 0.0 mm"),
    ),
    "panel missing in the elevations": (
        "dxf/elevations.dxf",
        "not shown",
        in_text("dxf/elevations.dxf", r"(\n *1\n)8\n", r"\g<1>88\n", 9),
    ),
    "stick drawn a millimetre short": (
        STICKS,
        "mm long",
        lambda f: stretch_outline(f, STICKS, "parts", -1.0),
    ),
    "stick without its mark": (STICKS, "BM1: drawn 0 times", in_text(STICKS, r"\nBM1\n", "\nBM9\n")),
    "stick drawn twice": (STICKS, "FM4: drawn 2 times", in_text(STICKS, r"\nFM1\n", "\nFM4\n")),
    "number of sticks wrong": (STICKS, "2, one for each mark", in_text(STICKS, r"\n2 x stile", "\n3 x stile")),
    "length of a stick printed wrong": (STICKS, "printed as", in_text(STICKS, r"90 3/8 in long", "90 in long")),
    "hole off its bolt": (STICKS, "holes at", lambda f: move_entity(f, STICKS, "CIRCLE", "holes", 5.0)),
    "hole not drawn": (STICKS, "holes at", lambda f: drop_entity(f, STICKS, "holes", "CIRCLE")),
    "stick with another angle": (STICKS, "ends", in_json(D, lambda d: part_of(d, "LM2")["cut"].update(end_deg=12.0))),
    "sill off the ring": (
        "dxf/detail-sill.dxf",
        "sill: is not drawn",
        lambda f: move_polyline(f, "dxf/detail-sill.dxf", "members", 3.0),
    ),
    "brick of another size": (
        "dxf/detail-sill.dxf",
        "brick: is not drawn",
        lambda f: move_polyline(f, "dxf/detail-sill.dxf", "base ring", 3.0),
    ),
    "corner bolt beside its place": (
        "dxf/detail-corner.dxf",
        "lines about",
        in_json(
            D, lambda d: [f.update(positions=[[x + 9.0, y, z] for x, y, z in f["positions"]]) for f in d["fixings"]]
        ),
    ),
    "roof edge off its head": (
        "dxf/detail-roof-edge.dxf",
        "head: is not drawn",
        lambda f: move_polyline(f, "dxf/detail-roof-edge.dxf", "members", 3.0, 9),
    ),
    "mullion of the detail moved": (
        "dxf/detail-bays.dxf",
        "mullion: is not drawn",
        lambda f: move_polyline(f, "dxf/detail-bays.dxf", "members", 3.0),
    ),
    "cover of the detail wrong": (
        "dxf/detail-track.dxf",
        "covers|askew",
        lambda f: move_polyline(f, "dxf/detail-track.dxf", "panels", 2.0),
    ),
    "detail of another slot": (
        "dxf/detail-track.dxf",
        "among them|covers",
        in_json(D, lambda d: [p["fit"].update(slot_depth_mm=33.0) for p in d["parts"] if p["fit"]]),
    ),
    "detail missing": ("dxf/detail-track.dxf", "missing", lambda f: (f / "dxf/detail-track.dxf").unlink()),
    "part moved on a sheet picture": (
        "svg/sheet-03.svg",
        "not drawn in its place|mm² large",
        in_text("svg/sheet-03.svg", r'(class="part"[^>]*points=")(\d)', r"\g<1>1\2"),
    ),
    "part of a sheet picture with another mark": (
        "svg/sheet-03.svg",
        "not drawn|too many",
        in_text("svg/sheet-03.svg", r'data-mark="\d+', 'data-mark="77'),
    ),
    "cut without its number": ("svg/sheet-03.svg", "numbered cuts", in_text("svg/sheet-03.svg", r"<circle [^>]*>", "")),
    "sheet picture missing": ("svg/sheet-01.svg", "missing", lambda f: (f / "svg/sheet-01.svg").unlink()),
    "piece missing on a stick picture": (
        "svg/sticks-02.svg",
        "pieces",
        in_text("svg/sticks-02.svg", r'<rect class="piece"[^>]*>', ""),
    ),
    "piece moved on a stick picture": (
        "svg/sticks-02.svg",
        "from ",
        in_text("svg/sticks-02.svg", r'(class="piece"[^>]* width=")\d', r"\g<1>9"),
    ),
    "stick picture is no picture": (
        "svg/sticks-01.svg",
        "understood",
        lambda f: (f / "svg/sticks-01.svg").write_text("<svg"),
    ),
    "part moved in the 3-D model": ("shelter.glb", "off its place", glb_moved),
    "part missing in the STEP file": ("shelter.step", "BM1: is not", step_without("BM1")),
    # books
    "label missing": (LABELS, "0 labels", in_pdf(LABELS, rb"\(BM1\)", b"(XX1)")),
    "label size a sixteenth large": (LABELS, "printed as", in_pdf(LABELS, rb"\(21 1/4 ", b"(21 5/16 ")),
    "label without its outside face": (LABELS, "0 labels", in_pdf(LABELS, rb"\(OUTSIDE FACE\)", b"(INSIDE FACE)")),
    "label at another address": (
        LABELS,
        "label says",
        in_pdf(LABELS, rb"\(BACK bay 1 tier 1\)", b"(BACK bay 3 tier 1)"),
    ),
    "label without flutes": (LABELS, "flutes named", in_pdf(LABELS, rb", flutes upright", b"")),
    "member label too short": (LABELS, "printed as", in_pdf(LABELS, rb"\(43 in\)", b"(42 in)")),
    "books of two designs": (PACKET, "design numbers|two|one", in_pdf(PACKET, rb"\([0-9A-F]{6}\)", b"(000000)")),
    "panel row wrong in the packet": (
        PACKET,
        "printed as",
        in_pdf(PACKET, rb"\(21 1/4 (\S+) 71 5/8 in\)", rb"(21 5/16 \1 71 5/8 in)"),
    ),
    "frame row wrong in the packet": (PACKET, "printed as", in_pdf(PACKET, rb"\(90 3/8 in\)", b"(90 in)")),
    "fence setting wrong in the packet": (PACKET, "rip|crosscut", in_pdf(PACKET, rb"\(91 1/16\)", b"(91 1/8)")),
    "sheet kerf wrong in the packet": (
        PACKET,
        "Kerf",
        in_pdf(PACKET, rb"Kerf 3/32 in \\\(2\.4 mm", rb"Kerf 3/32 in \(4.2 mm"),
    ),
    "stick position wrong in the packet": (PACKET, "position|length", in_pdf(PACKET, rb"\(87 1/2\)", b"(88 1/2)")),
    "sum wrong in the packet": (PACKET, "All together", in_pdf(PACKET, rb"All together: \d+", b"All together: 1")),
    "diagonal wrong in the packet": (
        PACKET,
        "diagonals",
        in_pdf(PACKET, rb"diagonals must be \d+", b"diagonals must be 11"),
    ),
    "step missing in the raising book": (
        RAISING,
        "list of steps|picture page",
        in_pdf(RAISING, rb"\(Drive the anchor posts\)", b"(Rest)"),
    ),
    "lift wrong in the raising book": (RAISING, "lift", in_pdf(RAISING, rb"\(24\.9 lb\)", b"(2.9 lb)")),
    "part missing in a raising step": (
        RAISING,
        "does not name",
        in_pdf(RAISING, b"\\(BM1\x96BM8\\)|\\(BM1[^)]{1,4}BM8\\)", b"(BM1)"),
    ),
    "book cut short": (
        RAISING,
        "understood|pages",
        lambda f: (f / RAISING).write_bytes((f / RAISING).read_bytes()[:50_000]),
    ),
    "cost wrong in the summary": ("summary.txt", "total", in_text("summary.txt", r"(total +)\d", r"\g<1>7")),
    "mass wrong in the summary": ("summary.txt", "mass", in_text("summary.txt", r"mass +\d+", "mass 1")),
    "parts miscounted in the summary": ("summary.txt", "parts", in_text("summary.txt", r"\d+ parts,", "7 parts,")),
    # the whole shelter
    "elevations mirrored": (
        ELEVATIONS,
        "not as in its plane",
        lambda f: moved_corners(f, ELEVATIONS, lambda x, most: most - x if x < 1e19 else x),
    ),
    "elevations stretched": (
        ELEVATIONS,
        "not as in its plane",
        lambda f: moved_corners(f, ELEVATIONS, lambda x, most: 1.01 * x),
    ),
    "part moved in the page": (
        "shelter.html",
        "8: is not shown as it is",
        in_scene(lambda s: next(p for p in s["parts"] if p["mark"] == "8")["solids"][0].__setitem__(0, 9.0)),
    ),
    "post missing in the page": ("shelter.html", "posts", in_scene(lambda s: s["posts"].pop())),
    "page without its data": ("shelter.html", "no scene", in_text("shelter.html", 'id="scene"', 'id="none"')),
    "date a month late in the calendar": (
        "calendar.ics",
        "the date in the raising book",
        in_text("calendar.ics", "DTSTART;VALUE=DATE:20251010", "DTSTART;VALUE=DATE:20251110"),
    ),
    "outside size wrong": (D, "outside", in_json(D, lambda d: d["outside_mm"].__setitem__(0, 1192.2))),
    "clear width wrong": (D, "between the frames", in_json(D, lambda d: d["clear_mm"].__setitem__(0, 900.0))),
    "clear height too small": (D, "up to the roof", in_json(D, lambda d: d["clear_mm"].__setitem__(2, 1900.0))),
    "post inside the shelter": (D, "outside the frame", in_json(D, lambda d: d["anchors"][0].update(x_mm=500.0))),
    "post tied to a wall far off": (D, "beside it", in_json(D, lambda d: d["anchors"][0].update(tied_to="RIGHT"))),
    "hole without its button": (D, "without its button", in_json(D, move_a_hole)),
    "hole drawn on the wrong panel": (
        "dxf/panel-08.dxf",
        "holes",
        lambda f: drop_entity(f, "dxf/panel-08.dxf", "holes", "CIRCLE"),
    ),
    "fence wrong in a drawing's list of cuts": (
        "dxf/sheet-03.dxf",
        "listed at",
        in_text("dxf/sheet-03.dxf", r"(\n\d+  rip \S+ at )\d+", r"\g<1>1"),
    ),
    "sheet drawing mirrored": (
        "dxf/sheet-03.dxf",
        "sheet edge|no outline",
        lambda f: moved_corners(f, "dxf/sheet-03.dxf", lambda x, most: 900.0 - x),
    ),
    "labels of two panels swapped": (LABELS, "label says", swapped_marks(LABELS, b"8", b"9")),
    "heights of bolts wrong in the packet": (
        PACKET,
        "bolts at",
        in_pdf(PACKET, rb"29 9/16, 55 3/16", b"29 9/16, 56 3/16"),
    ),
    "bolt moved in the design alone": (
        PACKET,
        "bolts at",
        in_json(D, lambda d: bolts_of(d)["positions"][0].__setitem__(2, bolts_of(d)["positions"][0][2] + 50.0)),
    ),
    "post elsewhere in the packet": (PACKET, "P1: at", in_pdf(PACKET, rb"\(-2 1/2, 5 7/8\)", b"(-2 1/2, 8 7/8)")),
    "post driven less deep": (PACKET, "posts", in_pdf(PACKET, rb"driven \d+ in", b"driven 24 in")),
    "screws of a bag miscounted": (PACKET, "in the bag", in_pdf(PACKET, rb"\(188\)", b"(18)")),
    "gap of the panel in its track wrong": (
        PACKET,
        "covers",
        in_pdf(PACKET, rb"clearance 1/8 in \\\(3\.6", rb"clearance 1/8 in \(2.6"),
    ),
    "bed less deep in the packet": (PACKET, "bed", in_pdf(PACKET, rb"Bed: 10 in", b"Bed: 1 in")),
    "clear size wrong on the cover": (PACKET, "Clear inside", in_pdf(PACKET, rb"84 3/4 in", b"48 3/4 in")),
    "clear size wrong in the summary": ("summary.txt", "clear inside", in_text("summary.txt", "x 38 in", "x 33 in")),
    "cost of a group wrong": ("summary.txt", "hardware", in_text("summary.txt", r"(hardware +)\d", r"\g<1>9")),
    # whole files
    "file broken off": (P, "understood", lambda f: (f / P).write_bytes((f / P).read_bytes()[:900])),
    "file missing": (C, "cannot be read", lambda f: (f / C).unlink()),
    "workbook is no workbook": (X, "understood", lambda f: (f / X).write_bytes(b"PK nothing")),
}


def seal(folder: Path) -> None:
    """Write the folder's checksums anew, so that they give nothing away."""
    files = [path for path in sorted(folder.rglob("*")) if path.is_file() and path.name != MANIFEST]
    sums = {path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest() for path in files}
    (folder / MANIFEST).write_text(json.dumps({"made_by": "enclosure", "schema": 1, "sha256": sums}), encoding="utf-8")


def check_found(name: str, fault: tuple[str, str, Spoil], clean: Path, tmp_path: Path) -> None:
    """Plant a fault in a copy of a clean folder: the audit must find it, in that file, in those words."""
    file, words, spoil = fault
    folder = tmp_path / "papers"
    shutil.copytree(clean, folder)
    spoil(folder)
    seal(folder)
    found = [row for row in audit_folder(folder).findings if row.file == file]
    assert any(re.search(words, str(row)) for row in found), f"{name}: {[str(row) for row in found][:5]}"


@pytest.mark.regression
@pytest.mark.parametrize("name", FAULTS)
def test_a_planted_fault_is_found(name: str, clean: Path, tmp_path: Path) -> None:
    check_found(name, FAULTS[name], clean, tmp_path)


STALE = (
    "design.json", "plan.json", "cut-list.csv", "buying-list.csv", "lists.xlsx", ELEVATIONS, "dxf/sheet-01.dxf",
    "dxf/frame-parts.dxf", "dxf/detail-sill.dxf", "dxf/detail-corner.dxf", "dxf/panel-01.dxf",
    "svg/sheet-01.svg", "svg/sticks-01.svg", "shelter.glb", "shelter.html", "shelter.svg", "packet.pdf", "labels.pdf",
    "raising.pdf", "report.pdf", "summary.txt", "calendar.ics",
)  # fmt: skip


@pytest.mark.regression
@pytest.mark.parametrize("name", STALE)
def test_a_file_of_another_shelter_is_found(name: str, clean: Path, other: Path, tmp_path: Path) -> None:
    """The brief was changed and one file kept from before: nothing may pass as this shelter's."""
    folder = tmp_path / "papers"
    shutil.copytree(clean, folder)
    shutil.copy(other / name, folder / name)
    seal(folder)
    found = {row.file for row in audit_folder(folder).findings}
    assert name in found or name in ("design.json", "plan.json"), found
    assert found


def test_every_file_of_a_folder_is_read(clean: Path) -> None:
    """A kind of file that the audit does not open could be stale for ever."""
    files = {path.relative_to(clean).as_posix() for path in clean.rglob("*") if path.is_file()}
    families = {re.sub(r"-?\d+", "", name) for name in STALE}
    known = families | {"dxf/detail-roof-edge.dxf", "dxf/detail-bays.dxf", "dxf/detail-track.dxf", MANIFEST}
    assert {re.sub(r"-?\d+", "", name) for name in files} <= known


def test_there_are_many_kinds_of_faults() -> None:
    assert len(FAULTS) >= 40


def test_a_clean_folder_has_no_findings(clean: Path) -> None:
    audit = audit_folder(clean)
    assert [str(row) for row in audit.findings] == []
    assert audit.parts > 80
    assert audit.files > 20


@pytest.mark.parametrize("kind", ["changed", "added", "removed"])
def test_the_checksums_are_compared(kind: str, clean: Path, tmp_path: Path) -> None:
    folder = tmp_path / "papers"
    shutil.copytree(clean, folder)
    path = folder / "calendar.ics"  # the one file that may be missing
    if kind == "added":
        (folder / "more.txt").write_text("more", encoding="utf-8")
    elif kind == "removed":
        path.unlink()
    else:
        path.write_text(path.read_text(encoding="utf-8") + " ", encoding="utf-8")
    assert len(audit_folder(folder).findings) == 1
    assert audit_folder(folder, manifest=False).findings == ()


def test_the_command_says_what_is_wrong(clean: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["verify", str(clean)]) == 0
    assert "agree" in capsys.readouterr().out
    folder = tmp_path / "papers"
    shutil.copytree(clean, folder)
    in_csv(C, set_cell("BM1", 6, "1000"))(folder)
    assert run(["verify", str(folder), "--json"]) == 1
    said = json.loads(capsys.readouterr().out)
    assert any(row["file"] == C and row["part"] == "BM1" and "1000" in row["found"] for row in said["findings"])
    assert run(["verify", str(tmp_path)]) == 1
    assert "design.json" in capsys.readouterr().err


# --- the tools on their own -------------------------------------------------------


@pytest.mark.regression
def test_printed_lengths() -> None:
    """1 in = 25.4 mm exactly, so 1/16 in = 1.5875 mm = 15 875 units."""
    assert read_length("1/16 in") == 15_875
    assert read_length("6 ft 5 1/2 in") == round(77.5 * 254_000)
    assert read_length("3 ft") == 36 * 254_000
    assert read_length("372 mm") == 3_720_000
    assert read_size("21 1/4 × 71 5/8 in") == read_size("21 1/4 in x 71 5/8 in") == (5_397_500, 18_192_750)
    assert plain_money("1 777.40 and 1,777.40") == "1777.40 and 1777.40"
    for bad in ("", "21 1/3 in", "5 17/16 in", "twelve", "3"):
        with pytest.raises(ValueError, match=r"."):
            read_length(bad)


def _pair(gap: int) -> Record:
    """Two right trapezoids 100 mm wide, 200 to 150 mm high, of one rectangle."""
    kind = {"width_units": 1_000_000, "turnable": False, "group": "", "quantity": 1, "height_units": 2_000_000}
    parts = [{**kind, "key": key, "slope_units": [2_000_000, 1_500_000]} for key in ("a", "b")]
    sheet = {
        "key": "s",
        "width_units": 1_000_000,
        "height_units": 3_500_000 + gap,
        "price": 5,
        "copies": None,
        "trim_units": 0,
        "owned": False,
    }
    plan = {
        "patterns": [{"sheet": "s", "copies": 1, "root": {"pair": ["a", "b"]}}],
        "price": 5,
        "bound": 5,
        "status": "proved",
    }
    job = {"parts": parts, "sheets": [sheet], "kerf_units": 24_000, "stages": None}
    return {"sheets": [{"material": "m", "name": "m", "job": job, "plan": plan, "marks": {"a": ["1"], "b": ["2"]}}]}


@pytest.mark.regression
def test_a_sloped_cut_is_measured_square() -> None:
    """Slope 50 in 100: a kerf of 2.4 mm needs 2.4 * sqrt(1.25) = 2.683 mm upright."""
    for gap, good in ((26_834, True), (26_000, False), (24_000, False)):
        findings = Findings()
        follow(_pair(gap), findings)
        assert (findings.rows == []) is good


@pytest.mark.regression
def test_prisms_touch_or_clash() -> None:
    square = [[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]]

    def box(x: float, z: float) -> Any:
        prism = {"origin": [x, 0.0, z], "u": [1.0, 0.0, 0.0], "v": [0.0, 1.0, 0.0], "outline": square, "depth": 10.0}
        return body("box", prism)

    turned = {
        "origin": [15.0, 5.0, 0.0],
        "u": [0.70710678, 0.70710678, 0.0],
        "v": [-0.70710678, 0.70710678, 0.0],
        "outline": square,
        "depth": 10.0,
    }
    assert depth_of_clash(box(0, 0), box(10, 0)) == 0
    assert depth_of_clash(box(0, 0), box(9, 0)) == pytest.approx(1)
    assert depth_of_clash(box(0, 0), box(0, 10)) == 0
    assert depth_of_clash(box(0, 0), body("turned", turned)) == 0
    assert depth_of_clash(box(6, 0), body("turned", turned)) > 0


def test_pdf_text_against_another_reader(clean: Path) -> None:
    """The same words as an independent library finds, page by page."""
    from pypdf import PdfReader

    path = clean / LABELS
    ours = pdf_pages(path.read_bytes())
    theirs = [page.extract_text() for page in PdfReader(path).pages]
    assert len(ours) == len(theirs)
    for mine, other in zip(ours, theirs, strict=True):
        assert sorted("".join(mine).replace(" ", "")) == sorted(re.sub(r"\s", "", other))


@pytest.mark.parametrize(("listed", "faults"), [(57.0, 0), (89.0, 1), (38.0, 1)])
def test_a_stub_shorter_than_it_is_wide_is_measured_along_the_stick(listed: float, faults: int) -> None:
    """A block of 38 x 89 between two rafters 57.3 mm apart: neither its width nor its thickness is its length."""
    block = {
        "origin": [0.0, 0.0, 0.0],
        "u": [1.0, 0.0, 0.0],
        "v": [0.0, 1.0, 0.0],
        "outline": [[81.0, 590.0], [138.3, 590.0], [138.3, 679.0], [81.0, 679.0]],
        "depth": 38.0,
    }
    part = {"mark": "TM9", "solids": [block], "cut": {"length_mm": listed}}
    findings = Findings()
    _check_stick_cut(part, {"thickness_mm": 38.0, "width_mm": 89.0}, {"units": "metric"}, findings)
    assert len(findings.rows) == faults


@pytest.mark.parametrize(
    ("mass", "faults"), [(0.0, 1), (0.49, 1), (0.55, 0), (1.0, 0), (1.0009, 0), (1.02, 1), (2.0, 1)]
)
def test_a_stick_weighs_no_more_than_its_length_and_no_less_than_half(mass: float, faults: int) -> None:
    """1 m of 1 kg/m, cut rounded down, so up to 1.001 m in place; mitres and a bevel take up to half."""
    cut = {"from": "stick", "length_mm": 1000.0}
    part = {"mark": "FM1", "kind": "member", "cut": cut, "mass_kg": mass}
    findings = Findings()
    _check_mass(part, {"mass_kg_m": 1.0, "width_mm": 38.0}, {"units": "metric"}, findings)
    assert len(findings.rows) == faults


@pytest.mark.parametrize(("mass", "faults"), [(0.1, 1), (0.26, 0), (0.5, 0), (1.02, 1)])
def test_a_batten_ripped_to_half_its_lath_may_weigh_a_quarter(mass: float, faults: int) -> None:
    """1 m of 1 kg/m, 38 mm wide, ripped to 19 mm, its ends mitred at most by half."""
    solid = {"outline": [[0.0, 0.0], [1000.0, 0.0], [1000.0, 19.0], [0.0, 19.0]], "depth": 19.0}
    cut = {"from": "stick", "length_mm": 1000.0}
    part = {"mark": "BN1", "kind": "batten", "cut": cut, "mass_kg": mass, "solids": [solid]}
    findings = Findings()
    _check_mass(part, {"mass_kg_m": 1.0, "width_mm": 38.0}, {"units": "metric"}, findings)
    assert len(findings.rows) == faults


@pytest.mark.parametrize(("mass", "faults"), [(0.90, 1), (0.98, 1), (1.0, 0), (1.02, 1), (1.1, 1)])
def test_a_panel_weighs_what_its_area_says(mass: float, faults: int) -> None:
    """A right trapezoid 1 m wide, 1.2 to 0.8 m high, of 1 kg/m2."""
    outline = [[0.0, 0.0], [1000.0, 0.0], [1000.0, 800.0], [0.0, 1200.0]]
    cut = {"from": "sheet", "width_mm": 1000.0, "height_mm": 1200.0, "outline": outline}
    findings = Findings()
    part = {"mark": "8", "kind": "panel", "cut": cut, "mass_kg": mass}
    _check_mass(part, {"mass_kg_m2": 1.0}, {"units": "metric"}, findings)
    assert len(findings.rows) == faults
