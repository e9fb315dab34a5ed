"""Which files are read, from which good samples do their spoilt ones grow, and what is done with what was read?

Each reader takes one file. Most inputs stop at reading; a share of those that can be read goes deeper: the shelter is
built and checked, an old design is matched, an audit is run.
"""

from __future__ import annotations

import hashlib
import json
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from enclosure.audit.folder import audit_folder
from enclosure.brief.change import with_values
from enclosure.brief.read import read_all, read_all_text, read_brief
from enclosure.checks.weather import read_weather
from enclosure.cli.new import _split
from enclosure.errors import EnclosureError
from enclosure.nesting import serial as plans_json
from enclosure.nesting.casefile import read_cases
from enclosure.nesting.cutting import cut_everything
from enclosure.nesting.model import SheetJob, SheetPlan, StickJob, StickPlan
from enclosure.nesting.verify import verify_sheets, verify_sticks
from enclosure.outputs.folder import MANIFEST, check_target
from enclosure.outputs.paper.label_sheet import read_label_sheet
from enclosure.pipeline.check import checks_of
from enclosure.pipeline.make import make
from enclosure.pipeline.outgrow import read_design
from enclosure.pipeline.rack import pieces_of
from enclosure.pipeline.walk import Shelter, design_from, rebuild
from enclosure.pipeline.weather import hours_for
from enclosure.reuse.as_built import corrected, differences, read_as_built
from enclosure.reuse.rack import Change, changed_text, propose, read_rack, waiting
from enclosure.shape.serial import from_json, to_json
from enclosure.site.read import read_site
from enclosure.stock.model import RackSheet, RackStick
from enclosure.stock.read import read_stock
from enclosure.templates_home import find_template, template_names
from enclosure.units import ANGLE, DURATION, LENGTH, SHARE, TEMPERATURE, parse, parse_angle, parse_bearing, parse_place

Use = Callable[[Path, bool], None]


@dataclass(frozen=True)
class Reader:
    """One kind of file.

    Args:
        name: In a word.
        file: Name under which an input is written.
        tree: What its trees are: "toml", "json" or "none".
        seeds: Good samples.
        use: Reads the file; with True it also uses what was read.
        share: Part of the inputs that go deeper.
        weight: Part of all runs, relative to the others.
    """

    name: str
    file: str
    tree: str
    seeds: Callable[[], tuple[bytes, ...]]
    use: Use
    share: float = 0.0
    weight: int = 10


def _shipped(kind: str) -> Callable[[], tuple[bytes, ...]]:
    return lambda: tuple(find_template(kind, name).read_bytes() for name in template_names(kind))  # type: ignore[arg-type]


# --- brief, stock, site --------------------------------------------------------------


def _brief(path: Path, deep: bool) -> None:
    if not deep:
        read_brief(path)
        return
    shelter = design_from(path)
    checks_of(shelter)
    from_json(to_json(shelter.design))


def _stock(path: Path, deep: bool) -> None:
    read_stock(path)
    if deep:
        text = find_template("briefs", "potted-lemon").read_text(encoding="utf-8")
        _through_brief(path, "stock", text)


def _site(path: Path, deep: bool) -> None:
    read_site(path)
    if deep:
        text = find_template("briefs", "tree-fern").read_text(encoding="utf-8")
        _through_brief(path, "site", text)


def _through_brief(path: Path, key: str, text: str) -> None:
    lines = [f'{key} = "{path.name}"' if line.startswith(f"{key} =") else line for line in text.splitlines()]
    brief = path.with_name("brief.toml")
    brief.write_text("\n".join(lines), encoding="utf-8")
    checks_of(design_from(brief))


def _set(path: Path, deep: bool) -> None:
    """``enclosure new --set KEY=VALUE``, one a line."""
    text = find_template("briefs", "tree-fern").read_text(encoding="utf-8")
    changes = [_split(line) for line in path.read_bytes().decode("utf-8", "replace").split("\n")]
    keyed = tuple((tuple(part.strip() for part in key.split(".")), value) for key, value in changes)
    changed = with_values(text, keyed)
    shelter = rebuild(*read_all_text(changed, path.with_suffix(".toml")))
    if deep:
        checks_of(shelter, ways_out=False)


_SETS = (
    b'plant.height="2.1 m"\nwinters=4', b'roof.kind=gable\nroof.fall=12 deg\nroof.ridge=y', b"skin.back=foam-50",
    b'frame.bays={ back = 2, roof = 3 }\nframe.transoms=1\nframe.levels=2',
    b'clearance.side={ least = "1 in", most = "4 in" }',
    b"vent.share=30 %\nvent.wall=left\nanchors.stakes=8\nanchors.posts=0", b"heat.watts=0 W\nheat.source=none",
)  # fmt: skip


def _units(path: Path, deep: bool) -> None:
    for text in path.read_bytes().decode("utf-8", "replace").split("\n"):
        for dimension in (LENGTH, TEMPERATURE, SHARE, DURATION, ANGLE):
            _quiet(lambda text=text, dimension=dimension: parse(text, dimension))
        for reader in (parse_angle, parse_bearing, parse_place):
            _quiet(lambda text=text, reader=reader: reader(text))


def _quiet(read: Callable[[], object]) -> None:
    try:
        read()
    except EnclosureError as error:
        if not error.message.strip():
            raise ValueError("an error without words") from error


_QUANTITIES = (
    b"1.95 m\n6' 5-1/2\"\n6 ft 5 1/2 in\n-12 degF\n30 psf\n12 %", b"170 deg\nSSE\n2 in 12\n44.0 deg N\n0.5 rad\n1e3 mm",
)


# --- rack ---------------------------------------------------------------------------

_RACK_TOML = b"""least_sheet = "300 mm"
[[sheets]]
material = "twin-wall-10"
width = "600 mm"
height = "1.2 m"
copies = 2
note = "from the shed"
[[sticks]]
material = "2x2"
length = "7 ft 3 1/2 in"
defects = [{ start = "10 mm", end = "60 mm" }]
"""
_RACK_CSV = b"""kind,material,width,height,length,copies,note
sheet,twin-wall-10,600 mm,1.2 m,,2,shed
stick,2x2,,,2.1 m,1,
"""


def _rack(path: Path, deep: bool) -> None:
    rack = read_rack(path)
    changed_text(path, Change((), (RackSheet(material="ply-9", width_mm=300.0, height_mm=400.0),)))
    if deep:
        shelter = _small()
        cut_everything(shelter.design, shelter.stock.model_copy(update={"rack": rack}))


def _pending(path: Path, deep: bool) -> None:
    rack = path.with_name("rack.toml")
    rack.write_bytes(_RACK_TOML)
    change = waiting(rack)
    if change is not None:
        changed_text(rack, change)


def _pending_seeds() -> tuple[bytes, ...]:
    import tempfile

    with tempfile.TemporaryDirectory() as name:
        rack = Path(name) / "rack.toml"
        rack.write_bytes(_RACK_TOML)
        left = RackStick(material="2x2", length_mm=700.0, note="left over")
        from enclosure.reuse.rack import Take, pending_path

        propose(rack, Change((Take("sheets", 0, 1),), (left,), "papers of fern"))
        return (pending_path(rack).read_bytes(),)


# --- weather -------------------------------------------------------------------------


def _weather(path: Path, deep: bool) -> None:
    weather = read_weather(path)
    weather.turned(200)
    if deep:
        hours_for(_small(), path)


def _weather_seeds() -> tuple[bytes, ...]:
    moments = [(1, day, hour) for day in (1, 2) for hour in range(1, 25)]
    plain = ["month,day,hour,temperature_degc,global_w_m2"]
    plain += [f"{m},{d},{h},{h / 4 - 9},{h * 9}" for m, d, h in moments]
    tmy = ["700000,Example,XX,-5.0,44.0,-77.0,100", "Date (MM/DD/YYYY),Time (HH:MM),GHI (W/m^2),Dry-bulb (C)"]
    tmy += [f"{m:02}/{d:02}/1999,{h:02}:00,{h * 9},{h / 4 - 9}" for m, d, h in moments]
    epw = ["LOCATION,Example,XX,XXX,made,000000,44.0,-77.0,-5.0,100.0", *["NOTE"] * 7]
    epw += [f"2019,{m},{d},{h},60,?9,{h / 4 - 9},-14,80,101000,0,0,250,{h * 9},0" + ",0" * 20 for m, d, h in moments]
    texts = ["\n".join(lines) + "\n" for lines in (plain, plain[:30], tmy, epw)]
    return (*(text.encode() for text in texts), texts[0].encode("utf-16"))


# --- designs and plans ---------------------------------------------------------------


@cache
def _small() -> Shelter:
    """Return a shelter of few parts."""
    brief, site, stock = read_all(find_template("briefs", "potted-lemon"))
    plant = brief.plant.model_copy(
        update={"height_mm": 500.0, "spread_x_mm": 300.0, "spread_y_mm": 300.0, "growth_height_mm": 0.0}
    )
    anchors = brief.anchors.model_copy(update={"posts": None})
    return rebuild(brief.model_copy(update={"plant": plant, "winters": 1, "anchors": anchors}), site, stock)


def _design(path: Path, deep: bool) -> None:
    design = read_design(path)
    assert from_json(to_json(design)) == design
    if deep:
        pieces_of(design)


def _design_seeds() -> tuple[bytes, ...]:
    text = to_json(_small().design)
    tree = json.loads(text)
    tree["parts"], tree["steps"], tree["fixings"] = tree["parts"][::9], tree["steps"][:2], tree["fixings"][:4]
    return json.dumps(tree).encode(), json.dumps(tree, indent=1).encode(), text.encode()


def _as_built(path: Path, deep: bool) -> None:
    design = _small().design
    differences(design, corrected(design, read_as_built(path)))


def _as_built_seeds() -> tuple[bytes, ...]:
    design = _small().design
    rows = []
    for part in design.parts[::7]:
        cut = part.cut
        key, size = ("length", cut.length_mm) if hasattr(cut, "length_mm") else ("height", cut.height_mm)
        rows.append(f'[parts.{part.mark}]\n{key} = "{size + 1:.1f} mm"\nnote = "tape"\n')
    post = design.anchors[0].mark if design.anchors else "P1"
    text = "".join(rows) + f'[opening]\nwidth = "{design.clear_mm[0]:.0f} mm"\n'
    return (f'{text}[posts.{post}]\nout_of_plumb = "15 mm"\ntoward = "left"\n'.encode(),)


def _plan(path: Path, deep: bool) -> None:
    text = path.read_bytes().decode("utf-8", "replace")
    thing = plans_json.from_json(text)
    assert plans_json.from_json(plans_json.to_json(thing)) == thing


@cache
def _jobs() -> tuple[bytes, ...]:
    shelter = _small()
    plans = cut_everything(shelter.design, shelter.stock)
    rows = [(item.job, item.plan) for item in (*plans.sheet_jobs, *plans.stick_jobs)]
    return tuple(plans_json.to_json(thing).encode() for pair in rows[:1] + rows[-1:] for thing in pair)


def _verified(path: Path, deep: bool) -> None:
    """A plan that can be read is replayed against the good job it belongs to."""
    record = json.loads(path.read_bytes())
    job, plan = (plans_json.from_json(json.dumps(record[key])) for key in ("job", "plan"))
    # a plan of sheets beside a job of sticks is no pair that the program ever makes
    if isinstance(job, SheetJob) and isinstance(plan, SheetPlan):
        verify_sheets(job, plan)
    elif isinstance(job, StickJob) and isinstance(plan, StickPlan):
        verify_sticks(job, plan)


def _verified_use(path: Path, deep: bool) -> None:
    try:
        json.loads(path.read_bytes())["job"], json.loads(path.read_bytes())["plan"]
    except (ValueError, KeyError, TypeError, RecursionError):
        return
    _verified(path, deep)


def _verified_seeds() -> tuple[bytes, ...]:
    jobs = _jobs()
    pairs = zip(jobs[::2], jobs[1::2], strict=True)
    return tuple(b'{"job": ' + job + b', "plan": ' + plan + b"}" for job, plan in pairs)


def _cases(path: Path, deep: bool) -> None:
    for _ in zip(range(20), read_cases(path, modes=("oriented", "rotated")), strict=False):
        pass


_CASES = (
    b'{"two_d": [{"name": "a", "unit": "mm", "bins": [[1219, 2438, 30.5, null]], "offcuts": [[300, 400, 0, 2]], '
    b'"items": [[300.5, 400, 3], [10, 20, 1]], "kerf": 3.2, "trim": 5}], '
    b'"sticks": [{"name": "s", "stock": [[2438, 4, null]], "offcuts": [[900, 0, 1]], "items": [[700, 4]], "kerf": 3}]}'
)


# --- papers --------------------------------------------------------------------------


@cache
def _papers() -> Path:
    """Return a finished folder of a small shelter; left to the system's scratch place."""
    import tempfile

    folder = Path(tempfile.mkdtemp(prefix="fuzz-papers-"))
    brief = find_template("briefs", "potted-lemon").read_text(encoding="utf-8")
    brief = brief.replace('height = "1.3 m"', 'height = "600 mm"').replace("posts = 6", "")
    (folder / "b.toml").write_text(brief, encoding="utf-8")
    make(folder / "b.toml", folder / "papers", solids=False)
    return folder / "papers"


def _manifest(path: Path, deep: bool) -> None:
    check_target(path.parent)


def _audit(name: str) -> Use:
    def use(path: Path, deep: bool) -> None:
        data = path.read_bytes()
        folder = path.parent / f"papers-{hashlib.sha256(name.encode()).hexdigest()[:8]}"
        if not folder.exists():
            shutil.copytree(_papers(), folder)
        (folder / name).write_bytes(data)
        for row in audit_folder(folder, manifest=deep).findings:
            assert str(row).strip()

    return use


def _audit_seed(name: str) -> Callable[[], tuple[bytes, ...]]:
    return lambda: ((_papers() / name).read_bytes(),)


def _label_seeds() -> tuple[bytes, ...]:
    return _shipped("labels")()


AUDITED = (
    ("design.json", "json", 1), ("plan.json", "json", 1), ("cut-list.csv", "none", 1), ("buying-list.csv", "none", 1),
    ("lists.xlsx", "none", 1), ("dxf/elevations.dxf", "none", 1), ("shelter.glb", "none", 1), ("labels.pdf", "none", 1),
    ("packet.pdf", "none", 1), ("raising.pdf", "none", 1), ("summary.txt", "none", 1), (MANIFEST, "json", 1),
)  # fmt: skip

READERS: tuple[Reader, ...] = (
    Reader("brief", "b.toml", "toml", _shipped("briefs"), _brief, 0.15, 250),
    Reader("stock", "s.toml", "toml", _shipped("stock"), _stock, 0.1, 120),
    Reader("site", "site.toml", "toml", _shipped("sites"), _site, 0.1, 200),
    Reader("set", "set.txt", "none", lambda: _SETS, _set, 0.1, 40),
    Reader("units", "units.txt", "none", lambda: _QUANTITIES, _units, 0.0, 200),
    Reader("rack", "rack.toml", "toml", lambda: (_RACK_TOML,), _rack, 0.001, 180),
    Reader("rack-csv", "rack.csv", "none", lambda: (_RACK_CSV,), _rack, 0.001, 160),
    Reader("pending", "rack.toml.pending", "json", _pending_seeds, _pending, 0.0, 140),
    Reader("weather", "w.csv", "none", _weather_seeds, _weather, 0.02, 200),
    Reader("design", "design.json", "json", _design_seeds, _design, 0.3, 80),
    Reader("as-built", "as-built.toml", "toml", _as_built_seeds, _as_built, 0.0, 150),
    Reader("plan", "plan.json", "json", _jobs, _plan, 0.0, 150),
    Reader("verified", "plan.json", "json", _verified_seeds, _verified_use, 0.0, 120),
    Reader("cases", "cases.json", "json", lambda: (_CASES,), _cases, 0.0, 100),
    Reader("labels", "l.toml", "toml", _label_seeds, lambda path, deep: void(read_label_sheet(path)), 0.0, 110),
    Reader("manifest", MANIFEST, "json", _audit_seed(MANIFEST), _manifest, 0.0, 80),
    *(
        Reader(f"audit-{Path(name).name.lstrip('.')}", "paper", tree, _audit_seed(name), _audit(name), 0.0, weight)
        for name, tree, weight in AUDITED
    ),
)


def void(_: object) -> None:
    """Take a value and return none."""
