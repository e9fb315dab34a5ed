"""What becomes of random legal briefs?

Every size, count and name is drawn from the whole range that a brief may say, far beyond what anybody would build;
most draws are near real shelters. Each is written as TOML, read back, built and checked; for a share cutting plans
are made, and for another all the papers, audited. A brief ends in a design or in an `EnclosureError` with clear
words; anything else is a fault.

The design is proved besides being made: the plant's clear box is as large as asked, every check is a finite number,
marks are unique; every fifth design's JSON reads back exactly, every twentieth is searched for ways out.
"""

from __future__ import annotations

import math
import random
import re
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from enclosure.checks.model import Check
from enclosure.errors import EnclosureError, VerifyError
from enclosure.nesting.cutting import cut_everything
from enclosure.pipeline.check import checks_of
from enclosure.pipeline.make import make
from enclosure.pipeline.walk import Shelter, design_from
from enclosure.shape.serial import from_json, to_json
from enclosure.stock.read import read_stock
from enclosure.templates_home import find_template, template_names
from tests.fuzz.hunt import unfit
from tests.fuzz.mutate import toml_text

FACES = ("front", "right", "back", "left", "roof")
Tree = dict[str, Any]


def random_brief(rng: random.Random) -> Tree:
    """Return a legal brief as a tree; every name in it is known to its stock list."""
    stock_name = rng.choice(template_names("stock"))
    stock = read_stock(find_template("stock", stock_name))
    wild = rng.random() < 0.15

    def size(low: float, usual: float, high: float) -> str:
        most = high if wild else usual
        mm = low * (most / low) ** rng.random()
        if rng.random() < 0.3:
            sixteenths = max(round(mm / 25.4 * 16), math.ceil(low / 25.4 * 16))
            return f"{sixteenths // 16} {sixteenths % 16}/16 in"
        return f"{min(max(mm, low), high):.1f} mm" if rng.random() < 0.5 else f"{min(max(mm, low), high) / 10:.2f} cm"

    skins = sorted(stock.skins)
    main = rng.choice(skins)
    skin = {face: rng.choice(skins) if rng.random() < 0.2 else main for face in FACES}
    timbers = sorted(stock.timbers)
    kind = rng.choice(("flat", "mono", "mono", "gable", "gable"))
    falls = {"flat": (0.0, 0.0), "mono": (5.0, 50.0 if wild else 20.0), "gable": (10.0, 50.0 if wild else 35.0)}[kind]
    side = sorted(rng.uniform(0, 2000 if wild else 200) for _ in range(2))
    tree: Tree = {
        "name": "random", "site": rng.choice(template_names("sites")), "stock": stock_name,
        "winters": rng.randint(1, 40 if wild else 8), "front_faces": f"{rng.uniform(0, 360):.0f} deg",
        "plant": {
            "name": "plant", "height": size(100, 2600, 8000), "spread_x": size(50, 2500, 8000),
            "spread_y": size(50, 2500, 8000), "growth_height": f"{rng.uniform(0, 1500 if wild else 80):.0f} mm",
            "growth_spread": f"{rng.uniform(0, 1500 if wild else 40):.0f} mm", "crown": f"{rng.uniform(0, 150):.0f} mm",
            "limit": f"{rng.uniform(-40, 20):.0f} degC",
        },
        "clearance": {
            "side": {"least": f"{side[0]:.0f} mm", "most": f"{side[1]:.0f} mm"},
            "top": f"{rng.uniform(0, 300):.0f} mm",
        },
        "roof": {
            "kind": kind, "fall": f"{rng.uniform(*falls):.1f} deg", "falls_to": rng.choice(FACES[:4]),
            "ridge": rng.choice("xy"), "drip_edge": f"{rng.uniform(0, 200 if wild else 60):.0f} mm",
        },
        "skin": skin,
        "frame": {"section": rng.choice(timbers), "on_edge": rng.random() < 0.7},
        "people": {"count": rng.randint(1, 6)},
        "papers": {"units": rng.choice(("inch", "metric")), "paper": rng.choice(("A4", "Letter"))},
    }  # fmt: skip
    _options(rng, tree, timbers, sorted(stock.boards), sorted(stock.bricks))
    return tree


def _options(rng: random.Random, tree: Tree, timbers: list[str], boards: list[str], bricks: list[str]) -> None:
    frame = tree["frame"]
    for key, values in (
        ("roof_section", timbers), ("diagonal", timbers), ("gusset", boards), ("transoms", range(4)),
        ("levels", range(1, 4)), ("brace_screws", range(2, 7)),
    ):  # fmt: skip
        if rng.random() < 0.4 and len(values):
            frame[key] = rng.choice(values)
    if rng.random() < 0.2:
        frame["bays"] = {face: rng.randint(1, 6) for face in FACES if rng.random() < 0.4}
    if rng.random() < 0.2:
        frame["max_frame_height"] = f"{rng.uniform(600, 6000):.0f} mm"
    if rng.random() < 0.5:
        tree["vent"] = {"wall": rng.choice(FACES[:4]), "share": f"{rng.uniform(1, 60):.0f} %"}
    if rng.random() < 0.5:
        tree["bed"] = {"depth": f"{rng.uniform(50, 1200):.0f} mm", "lining": rng.choice(boards)}
    if rng.random() < 0.6 and bricks:
        tree["base_ring"] = {"brick": rng.choice(bricks)}
    if rng.random() < 0.6:
        stakes = rng.choice((0, 0, 4, 8, 12))
        tree["anchors"] = {"stakes": stakes, "ties": rng.choice(("both", "low"))}
        if rng.random() < 0.1:
            tree["anchors"]["posts"] = rng.choice((0,) if stakes and rng.random() < 0.5 else range(2, 13))
    if rng.random() < 0.6:
        tree["heat"] = {
            "source": rng.choice(("light string", "heating cable", "fan heater", "oil radiator", "none")),
            "watts": f"{rng.uniform(0, 3000):.0f} W", "setpoint": f"{rng.uniform(-20, 25):.0f} degC",
            "tent": rng.random() < 0.5, "price_kwh": round(rng.uniform(0, 1), 2),
            "cord_length": f"{rng.uniform(0, 50):.0f} m",
        }  # fmt: skip


def sound(shelter: Shelter, rows: tuple[Check, ...], *, whole: bool) -> str:
    """Return what is wrong with a design that was made, "" when nothing is; its JSON is read back when `whole`."""
    design, brief = shelter.design, shelter.brief
    grown = brief.winters * brief.plant.growth_spread_mm
    plant = brief.plant
    for axis, clear, spread in zip("xy", design.clear_mm, (plant.spread_x_mm, plant.spread_y_mm), strict=False):
        if clear < spread + grown + 2 * brief.clearance.side.least_mm - 0.01:
            return f"clear box too small along {axis}"
    marks = [part.mark for part in design.parts]
    if len(set(marks)) != len(marks):
        return "a mark stands twice"
    if not rows:
        return "no checks"
    for row in rows:
        if not math.isfinite(row.utilisation) or row.utilisation < 0 or not row.name.strip():
            return f"check {row.key} is {row.utilisation}"
    if whole and from_json(to_json(design)) != design:
        return "the JSON reads back differently"
    return ""


@dataclass
class _Seen:
    made: int = 0
    standing: int = 0
    papers: int = 0
    refusals: Counter[str] = field(default_factory=Counter)
    faults: Counter[str] = field(default_factory=Counter)
    seconds: list[float] = field(default_factory=list)
    cut_seconds: list[float] = field(default_factory=list)
    slowest: tuple[float, int] = (0.0, 0)
    dearest: tuple[float, int] = (0.0, 0)
    most_parts: int = 0


def walk_briefs(seed: int, count: int, cut: float, papers: float) -> int:
    """Walk `count` random briefs and print what came of them."""
    seen = _Seen()
    begin = time.process_time()
    with tempfile.TemporaryDirectory(prefix="fuzz-") as folder:
        for number in range(count):
            rng = random.Random(f"brief {seed} {number}")
            path = Path(folder) / "b.toml"
            path.write_text(toml_text(random_brief(rng)), encoding="utf-8")
            shelter = _walk(path, number, seen)
            if shelter is not None and rng.random() < cut:
                _safely(lambda shelter=shelter, number=number: _cut(shelter, number, seen), number, seen)
            if shelter is not None and rng.random() < papers:
                _safely(lambda path=path: _papers(path, seen), number, seen)
            if (number + 1) % 1000 == 0:
                print(f"{number + 1} walked, {seen.made} made, {time.process_time() - begin:.0f} s", flush=True)
                print(*seen.faults, sep="\n", flush=True)
    _print(seen, count, time.process_time() - begin)
    return 1 if seen.faults else 0


def _walk(path: Path, number: int, seen: _Seen) -> Shelter | None:
    """Return the shelter of a brief with its checks proved, None when there is none."""
    found: list[Shelter] = []

    def walk() -> None:
        shelter = design_from(path)
        rows = checks_of(shelter, ways_out=number % 20 == 0)
        wrong = sound(shelter, rows, whole=number % 5 == 0)
        if wrong:
            seen.faults[f"{wrong}, brief {number}"] += 1
        seen.standing += all(row.passes or row.advice for row in rows)
        seen.most_parts = max(seen.most_parts, len(shelter.design.parts))
        found.append(shelter)

    start = time.process_time()
    _safely(walk, number, seen)
    took = time.process_time() - start
    seen.seconds.append(took)
    seen.slowest = max(seen.slowest, (took, number))
    seen.made += len(found)
    return found[0] if found else None


def _cut(shelter: Shelter, number: int, seen: _Seen) -> None:
    start = time.process_time()
    plans = cut_everything(shelter.design, shelter.stock)
    seen.cut_seconds.append(time.process_time() - start)
    seen.dearest = max(seen.dearest, (plans.total_cents / 100, number))


def _papers(path: Path, seen: _Seen) -> None:
    make(path, path.parent / "papers", solids=False, force=True)
    seen.papers += 1


def _safely(walk: Callable[[], None], number: int, seen: _Seen) -> None:
    try:
        walk()
    except VerifyError as error:
        seen.faults[f"{error.message[:300]}, brief {number}"] += 1
    except EnclosureError as error:
        why = unfit(error)
        if why:
            seen.faults[f"unfit words: {why}, brief {number}"] += 1
        seen.refusals[_kind(error)] += 1
    except Exception as error:
        row = traceback.extract_tb(error.__traceback__)[-1]
        seen.faults[f"{type(error).__name__} at {Path(row.filename).name}:{row.lineno} {error}, brief {number}"] += 1


def _kind(error: EnclosureError) -> str:
    """Return an error's words with its numbers and marks left out, so that alike ones count together."""
    first = " ".join(line.strip() for line in error.message.split("\n")[:3]).replace("1 fault found ", "")
    first = re.sub(r"/\S*/", "", first)
    first = re.sub(r"\d[\d ./]*", "N ", first)
    return re.sub(r"\b(front|right|back|left|FRONT|RIGHT|BACK|LEFT|ROOF)\b", "WALL", first)[:110]


def _print(seen: _Seen, count: int, total: float) -> None:
    each = sorted(seen.seconds)
    print(f"\n{count} random legal briefs in {total:.0f} s of processor time")
    print(f"made                {seen.made} ({seen.made / count:.1%}), {seen.standing} of them with no check over 1.00")
    print(f"refused in words    {sum(seen.refusals.values())}")
    print(f"faults              {sum(seen.faults.values())}")
    worst, who = seen.slowest
    print(f"seconds             median {each[len(each) // 2]:.3f}, worst {worst:.2f} (brief {who})")
    print(f"most parts          {seen.most_parts}")
    if seen.cut_seconds:
        cuts = sorted(seen.cut_seconds)
        print(f"cutting plans       {len(cuts)}, median {cuts[len(cuts) // 2]:.2f} s, worst {cuts[-1]:.2f} s")
        print(f"most costly         {seen.dearest[0]:.2f} (brief {seen.dearest[1]})")
    print(f"all papers, audited {seen.papers}")
    for words, times in seen.refusals.most_common(12):
        print(f"  {times:>6} x {words}")
    for words, times in seen.faults.most_common(40):
        print(f"  FAULT {times} x {words}")
