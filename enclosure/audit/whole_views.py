"""Do the pictures of the whole shelter show this design: elevations, the page for a browser, the small picture?

Elevations: all members and panels of a frame lie in one drawn view as they lie in the frame's plane, seen from
outside. Page: its data hold every prism of the design. Picture: as large as the design looks from its eye.

Left out: what hides what, colours.
Units: mm.
"""

from __future__ import annotations

import json
import math
import re
from typing import Any

from enclosure.audit.findings import Findings
from enclosure.audit.geometry import Vector, body, dot
from enclosure.audit.readers import Corner, Drawing, Papers

Record = dict[str, Any]
Box = tuple[float, float, float, float]
ELEVATIONS, PAGE, PICTURE = "dxf/elevations.dxf", "shelter.html", "shelter.svg"
_VIEWS = (("member",), ("panel", "film"))
_GRAIN_MM = 0.1
_EYE_DEG = (33.0, 24.0)
"""Of the small picture: turned from the front toward the right wall, and above level."""
_PICTURE_SCALE, _PICTURE_MARGIN = 0.1, 6.0


# --- elevations -------------------------------------------------------------------


def check_elevations(papers: Papers, findings: Findings) -> None:
    """Find every frame of the design in the drawing, member by member and panel by panel."""
    drawing = papers.drawings.get("elevations")
    if drawing is None:
        return
    drawn: dict[tuple[int, int], list[Box]] = {}
    for box in _boxes(drawing):
        drawn.setdefault(_size(box), []).append(box)
    for frame in papers.design["frames"]:
        name = f"{frame['face']} tier {frame['level']}"
        for kinds in _VIEWS:
            parts = {
                part["mark"]: _in_plane(part, frame["plane"])
                for part in papers.design["parts"]
                if part["face"] == frame["face"]
                and part["kind"] in kinds
                and max(1, part["level"]) == frame["level"]
                and part["layer"] == 1
            }
            missing = _missing(parts, drawn)
            found = f"{', '.join(missing[:5])} not as in its plane"
            findings.unless(not missing, ELEVATIONS, name, found, "all parts where and as large as they are")


def _boxes(drawing: Drawing) -> list[Box]:
    return [_box(outline) for _, outline in drawing.outlines]


def _box(points: tuple[Corner, ...] | list[Corner]) -> Box:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)


def _size(box: Box) -> tuple[int, int]:
    return round(box[2] - box[0]), round(box[3] - box[1])


def _in_plane(part: Record, plane: Record) -> Box:
    u, v, origin = plane["u"], plane["v"], plane["origin"]
    corners = [corner for prism in part["solids"] for corner in body(part["mark"], prism).corners]
    return _box([(dot(u, corner) - dot(u, origin), dot(v, corner) - dot(v, origin)) for corner in corners])


def _missing(parts: dict[str, Box], drawn: dict[tuple[int, int], list[Box]]) -> list[str]:
    """Return the marks that are missing in the view in which the fewest are."""
    if not parts:
        return []
    rarest = min(parts.values(), key=lambda box: len(_alike(box, drawn)))
    least = sorted(parts)
    for there in _alike(rarest, drawn):
        across, up = there[0] - rarest[0], there[1] - rarest[1]
        missing = [
            mark
            for mark, box in parts.items()
            if not any(
                math.dist((one[0] - box[0], one[1] - box[1]), (across, up)) < 2 * _GRAIN_MM
                for one in _alike(box, drawn)
            )
        ]
        least = min(least, missing, key=len)
    return least


def _alike(box: Box, drawn: dict[tuple[int, int], list[Box]]) -> list[Box]:
    """Return the drawn boxes as large as one."""
    wide, high = _size(box)
    near = [one for a in (-1, 0, 1) for b in (-1, 0, 1) for one in drawn.get((wide + a, high + b), ())]
    size = (box[2] - box[0], box[3] - box[1])
    return [one for one in near if math.dist(size, (one[2] - one[0], one[3] - one[1])) < _GRAIN_MM]


# --- page and picture -------------------------------------------------------------


def check_page(papers: Papers, findings: Findings) -> None:
    """The page holds the prisms of this design, mark by mark, and its posts."""
    path = papers.folder / PAGE
    if not path.is_file():
        findings.add(PAGE, "", "is missing", "the page for a browser")
        return
    data = re.search(
        r'<script id="scene" type="application/json">(.*?)</script>', path.read_text(encoding="utf-8"), re.DOTALL
    )
    if data is None:
        findings.add(PAGE, "", "holds no scene", "the data of the design")
        return
    scene, design = json.loads(data[1]), papers.design
    findings.unless(scene["name"] == design["name"], PAGE, "", f"shows {scene['name']}", design["name"])
    for key, right in (("outside", design["outside_mm"]), ("clear", design["clear_mm"])):
        findings.unless(math.dist(scene[key], right) < 0.01, PAGE, key, f"{scene[key]} mm", f"{right} mm")
    shown = {part["mark"]: part for part in scene["parts"]}
    extra = sorted(set(shown) - {part["mark"] for part in design["parts"]})
    findings.unless(not extra, PAGE, ", ".join(extra[:5]), "is shown", "parts of the design only")
    for part in design["parts"]:
        prisms = [_flat(prism) for prism in part["solids"]]
        found = shown.get(part["mark"], {}).get("solids", [])
        same = len(found) == len(prisms) and all(
            len(a) == len(b) and math.dist(a, b) < 0.05 for a, b in zip(found, prisms, strict=True)
        )
        findings.unless(same, PAGE, part["mark"], "is not shown as it is", "its prisms as in design.json")
    posts, anchors = len(scene["posts"]), len(design["anchors"])
    findings.unless(posts == anchors, PAGE, "posts", f"{posts} shown", str(anchors))


def _flat(prism: Record) -> list[float]:
    corners = [value for corner in prism["outline"] for value in corner]
    return [*prism["origin"], *prism["u"], *prism["v"], prism["depth"], *corners]


def check_picture(papers: Papers, findings: Findings) -> None:
    """The small picture is as wide and high as the design looks from its eye."""
    path = papers.folder / PICTURE
    if not path.is_file():
        findings.add(PICTURE, "", "is missing", "the picture of the shelter")
        return
    head = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', path.read_text(encoding="utf-8"))
    turn, lift = (math.radians(angle) for angle in _EYE_DEG)
    right: Vector = (math.cos(turn), math.sin(turn), 0.0)
    up: Vector = (-math.sin(turn) * math.sin(lift), math.cos(turn) * math.sin(lift), math.cos(lift))
    corners = [
        corner
        for part in papers.design["parts"]
        if part["face"] != "BASE"
        for prism in part["solids"]
        for corner in body(part["mark"], prism).corners
    ]
    box = _box([(dot(right, corner), dot(up, corner)) for corner in corners])
    size = [(box[k + 2] - box[k]) * _PICTURE_SCALE + 2 * _PICTURE_MARGIN for k in (0, 1)]
    found = [float(text) for text in head.groups()] if head else []
    good = len(found) == 2 and math.dist(found, size) < 0.2
    findings.unless(good, PICTURE, "", f"size {found}", f"{size[0]:.1f} by {size[1]:.1f} as this design looks")
