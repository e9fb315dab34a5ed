"""What is a Design?

A frozen tree of plain numbers and marks, complete enough to nest, check, label,
draw and rebuild a shelter without a CAD kernel. Lengths in mm, angles in
degrees, masses in kg, axes as in DEVELOPERS.md: x left to right and y front to
back for someone standing outside the front, z up from the top of the base ring;
the origin is the outer, lower, left corner of the front frame. Glazing lies
outside the frame, so the front panels have negative y.

Left out: how the numbers come about (see the sibling modules).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

Vec = tuple[float, float, float]
Point = tuple[float, float]

SCHEMA = 2

Units = Literal["inch", "metric"]
Phase = Literal["first build", "raising", "take-down"]

Face = Literal["FRONT", "RIGHT", "BACK", "LEFT", "ROOF", "ROOF A", "ROOF B", "BASE"]
WALLS: tuple[Face, ...] = ("FRONT", "RIGHT", "BACK", "LEFT")

AnchorKind = Literal["post", "stake"]
PartKind = Literal["member", "track", "panel", "film", "gusset", "diagonal", "batten", "lining"]


@dataclass(frozen=True, slots=True)
class Plane:
    """A wall or roof plane seen from outside: point = origin + a u + b v + c n.

    Args:
        origin: Lower left corner of the frame's outside face, seen from outside.
        u: Unit vector to the viewer's right.
        v: Unit vector up the wall, or up the slope of a roof.
        n: Unit vector u x v, toward the outside.
    """

    origin: Vec
    u: Vec
    v: Vec
    n: Vec


@dataclass(frozen=True, slots=True)
class Prism:
    """A convex prism: an outline in the (u, v) plane, swept by `depth` along u x v.

    Args:
        origin: World point of outline coordinate (0, 0).
        u: Unit vector of the first outline coordinate.
        v: Unit vector of the second outline coordinate, square to u.
        outline: Corners of a convex polygon, counter-clockwise seen against u x v.
        depth: Length of the sweep, > 0.
    """

    origin: Vec
    u: Vec
    v: Vec
    outline: tuple[Point, ...]
    depth: float


@dataclass(frozen=True, slots=True)
class StickCut:
    """How a part is cut from a stick.

    Args:
        length_mm: Long point to long point.
        start_deg: Angle of the first end from a square cut, in the plane of the
            frame; positive when the upper (or outer) edge is the shorter one.
        end_deg: The same of the other end.
        bevel_deg: Angle ripped along the whole length on one edge, 0 for none.
        bevel_low_mm: Height left at the low edge of the bevel, 0 without bevel.
    """

    length_mm: float
    start_deg: float = 0.0
    end_deg: float = 0.0
    bevel_deg: float = 0.0
    bevel_low_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Hole:
    """A drilled hole in a sheet part: centre from the lower left corner, diameter."""

    x_mm: float
    y_mm: float
    diameter_mm: float


@dataclass(frozen=True, slots=True)
class SheetCut:
    """How a part is cut from a sheet.

    Args:
        width_mm: Size across the sheet (square to the flutes).
        height_mm: Size along the sheet (along the flutes).
        outline: Convex polygon within the width x height rectangle, weather face
            toward the viewer, counter-clockwise, first corner lower left.
        turnable: False when the flutes fix the direction.
        holes: Holes to drill.
    """

    width_mm: float
    height_mm: float
    outline: tuple[Point, ...]
    turnable: bool
    holes: tuple[Hole, ...] = ()


@dataclass(frozen=True, slots=True)
class Fit:
    """How a panel sits in its track, per axis (across = along the width, along = along the height).

    Args:
        slot_depth_mm: Depth of the slot from mouth to web.
        clearance_mm: Gap behind each edge as cut, at the cutting temperature.
        needed_clearance_mm: Least gap that growth in the heat and the cut tolerance ask for.
        cover_cold_mm: Edge cover left at the coldest, panel hard to the other side.
        least_cover_mm: Least cover allowed.
        movement_mm: Free change of size from coldest to hottest.
        hottest_degc: Hottest sheet temperature.
        coldest_degc: Coldest.
        cut_degc: Temperature at which it is cut.
    """

    slot_depth_mm: float
    clearance_mm: tuple[float, float]
    needed_clearance_mm: tuple[float, float]
    cover_cold_mm: tuple[float, float]
    least_cover_mm: float
    movement_mm: tuple[float, float]
    hottest_degc: float
    coldest_degc: float
    cut_degc: float


@dataclass(frozen=True, slots=True)
class Part:
    """One piece that somebody cuts, numbers and puts in its place.

    Args:
        mark: The part's own mark. A panel's mark is its number ("7"); other marks
            are face letter + kind letter + number, for instance "BM3" (see `marks`).
        kind: What sort of part; decides where it is cut from.
        role: Trade word: sill, head, stile, mullion, transom, rafter, purlin, ridge,
            eaves rail, edge channel, joiner, panel, gusset, diagonal, batten, lining board.
        face: FRONT, RIGHT, BACK, LEFT, ROOF (ROOF A and ROOF B under a gable), BASE.
        level: Frame tier from the ground, 1 up; 0 where it has no meaning.
        bay: Bay from the left seen from outside, 1 up; 0 where it has no meaning.
        tier: Panel tier from the ground, 1 up; 0 where it has no meaning.
        material: Key of the material in `Design.materials`.
        cut: How it is cut.
        solids: Convex prisms that together are the part in place; they touch, never overlap.
        mass_kg: Mass.
        fit: For a panel in track.
        lift_out: True for the members that come out to let the plant in.
        vent: True for the panel that opens.
        layer: 1 for the only or innermost layer, 2 for the outer film of a double film.
        tape_mm: Length of (solid top tape, breather bottom tape), 0 where none.
    """

    mark: str
    kind: PartKind
    role: str
    face: Face
    level: int
    bay: int
    tier: int
    material: str
    cut: StickCut | SheetCut
    solids: tuple[Prism, ...]
    mass_kg: float
    fit: Fit | None = None
    lift_out: bool = False
    vent: bool = False
    layer: int = 1
    tape_mm: tuple[float, float] = (0.0, 0.0)

    @property
    def address(self) -> str:
        """Where it goes, in words: ``BACK bay 2 tier 1``."""
        words: list[str] = [self.face]
        if self.bay:
            words.append(f"bay {self.bay}")
        if self.tier:
            words.append(f"tier {self.tier}")
        elif self.level > 1:
            words.append(f"frame tier {self.level}")
        if self.layer > 1:
            words.append("outer layer")
        return " ".join(words)


@dataclass(frozen=True, slots=True)
class Material:
    """What a part is made of: the facts of the stock file that the design relies on.

    Args:
        key: Key in the stock file.
        name: Name for people.
        kind: timber, track, multiwall, glass, acrylic, film, foam board, board.
        thickness_mm: Thickness of a sheet or least side of a timber; wall of a track.
        width_mm: Greater side of a timber, whole width of a track; 0 for sheets.
        mass_kg_m: Mass per metre of a stick, 0 for sheets.
        mass_kg_m2: Mass per square metre of a sheet, 0 for sticks.
        u_value_w_m2k: Thermal transmittance of a skin, vertical; 0 where unknown.
        light: Share of light let through, 0 to 1.
        alpha_1e6_k: Linear expansion [1e-6/K].
        flutes: True when hollow ribs fix the direction.
        stiffness_along_n_m: Bending stiffness per width along the flutes [N m]; 0 unknown.
        stiffness_across_n_m: The same across the flutes.
        source: Where the facts come from.
    """

    key: str
    name: str
    kind: str
    thickness_mm: float
    width_mm: float = 0.0
    mass_kg_m: float = 0.0
    mass_kg_m2: float = 0.0
    u_value_w_m2k: float = 0.0
    light: float = 0.0
    alpha_1e6_k: float = 0.0
    flutes: bool = False
    stiffness_along_n_m: float = 0.0
    stiffness_across_n_m: float = 0.0
    source: str = ""


@dataclass(frozen=True, slots=True)
class Frame:
    """One flat frame: a wall (or one tier of it), or a roof slope.

    Args:
        face: Which face.
        level: Frame tier from the ground, 1 up (1 for roofs).
        plane: Where it lies; a along the wall from its left end seen from outside.
        outline: Corners of the frame's outside face in (a, b), counter-clockwise.
        glazed: Corners of the zone covered by skin and track in (a, b).
        bay_lines_mm: Centre lines of the mullions or rafters between bays, in a.
        tier_lines_mm: Heights b of joiners between panel tiers within this frame.
        transom_lines_mm: Centre heights b of transoms or purlins.
        skin: Material key of its skin.
        depth_mm: Depth of the members across the frame.
    """

    face: Face
    level: int
    plane: Plane
    outline: tuple[Point, ...]
    glazed: tuple[Point, ...]
    bay_lines_mm: tuple[float, ...]
    tier_lines_mm: tuple[float, ...]
    transom_lines_mm: tuple[float, ...]
    skin: str
    depth_mm: float


@dataclass(frozen=True, slots=True)
class Fixing:
    """Hardware of one kind, counted from its positions.

    Args:
        key: Key in the stock file's hardware table.
        name: Name for people, with size.
        bag: Which bag it is stored in ("corner bolts", "track screws", ...).
        positions: Where each one goes (world, mm).
        unit: "each" or "m" (tape, seal, wire: `amount` is then the length).
        amount: Number of pieces, or metres.
    """

    key: str
    name: str
    bag: str
    positions: tuple[Vec, ...]
    unit: str
    amount: float


@dataclass(frozen=True, slots=True)
class Base:
    """Base ring, bed and crown.

    Args:
        ring_length_mm: Outer size of the brick ring along x.
        ring_width_mm: Outer size along y.
        brick_mm: Length, width, height of a brick; zeros without a ring.
        joint_mm: Joint between bricks.
        bricks: Number to lay, without spares.
        bricks_to_buy: With spares.
        diagonal_mm: Diagonal of the ring's outer rectangle, for squaring.
        bed_depth_mm: Depth of the lined bed, 0 without.
        crown_mm: Height of the soil crown above the ring's foot.
    """

    ring_length_mm: float
    ring_width_mm: float
    brick_mm: tuple[float, float, float]
    joint_mm: float
    bricks: int
    bricks_to_buy: int
    diagonal_mm: float
    bed_depth_mm: float
    crown_mm: float


@dataclass(frozen=True, slots=True)
class Anchor:
    """A post wired close to the frame, or a stake that holds slanting wires.

    Args:
        mark: P and a number for a post, S and a number for a stake.
        x_mm: Where it goes into the ground.
        y_mm: The same, front to back.
        tie_heights_mm: Heights of its wires at the frame.
        tied_to: The face it stands beside.
        kind: "post" or "stake".
        depth_mm: How deep it is driven; 0 when the brief does not say and the checks choose.
        frame_mm: Where its wires meet the frame (x, y).
        ground_mm: Height of the ground there, below the sill's foot by the height of the ring.
    """

    mark: str
    x_mm: float
    y_mm: float
    tie_heights_mm: tuple[float, ...]
    tied_to: str
    kind: AnchorKind = "post"
    depth_mm: float = 0.0
    frame_mm: Point = (0.0, 0.0)
    ground_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the work.

    Args:
        key: Name of the step, unique.
        phase: "first build", "raising" (each autumn), "take-down" (each spring).
        title: A few words.
        text: What to do, one or two sentences.
        parts: Marks of the parts that this step brings.
        after: Keys of the steps that must stand before it.
        tools: What to have in hand.
        people: How many hands.
        mass_kg: Heaviest thing lifted in one go.
        minutes: About how long.
        cautions: What can hurt, only where it belongs.
    """

    key: str
    phase: Phase
    title: str
    text: str
    parts: tuple[str, ...]
    after: tuple[str, ...]
    tools: tuple[str, ...]
    people: int
    mass_kg: float
    minutes: int
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Plant:
    """The plant as the design sees it: sizes tied for winter, today and at the last winter."""

    name: str
    height_mm: float
    spread_x_mm: float
    spread_y_mm: float
    growth_height_mm: float
    growth_spread_mm: float
    crown_mm: float
    winters: int


@dataclass(frozen=True, slots=True)
class Design:
    """The whole shelter.

    Args:
        schema: Version of this tree's JSON form.
        name: Name of the shelter.
        plant: The plant it is for.
        clear_mm: Clear width, depth, height inside.
        outside_mm: Outside width and depth of the frame, greatest height with roof.
        side_clearance_mm: Clearance used at the sides.
        top_clearance_mm: Clearance used at the top.
        roof: flat, mono or gable.
        fall_deg: Slope of the roof, 0 for flat.
        falls_to: Side to which a mono roof falls; "x" or "y" for the ridge of a gable; "" for flat.
        drip_edge_mm: Overhang at the eaves.
        front_bearing_deg: Compass bearing toward which the front looks.
        units: "inch" or "metric": how lengths are printed and to what parts are rounded.
        paper: "Letter" or "A4".
        frames: All frames, walls first.
        parts: All parts, in the natural order of their marks.
        materials: Facts of every material used.
        fixings: All hardware.
        base: Base ring and bed.
        anchors: Posts, then stakes.
        steps: The order of work, topologically sorted.
        people: How many people raise it.
        raising_method: "slide" (three-sided body slid round the plant) or "frame by frame".
        raising_reason: Why.
        warnings: Things the grower should know about this shape.
        language: In which the sentences above are written and papers are printed; the design is the same in all.

    >>> from enclosure import design_from
    >>> from enclosure.templates_home import find_template
    >>> design = design_from(find_template("briefs", "tree-fern")).design
    >>> design.schema, design.units, len({part.mark for part in design.parts}) == len(design.parts)
    (2, 'inch', True)
    """

    schema: int
    name: str
    plant: Plant
    clear_mm: Vec
    outside_mm: Vec
    side_clearance_mm: float
    top_clearance_mm: float
    roof: str
    fall_deg: float
    falls_to: str
    drip_edge_mm: float
    front_bearing_deg: float
    units: Units
    paper: str
    frames: tuple[Frame, ...]
    parts: tuple[Part, ...]
    materials: tuple[Material, ...]
    fixings: tuple[Fixing, ...]
    base: Base
    anchors: tuple[Anchor, ...]
    steps: tuple[Step, ...]
    people: int
    raising_method: str
    raising_reason: str
    warnings: tuple[str, ...] = ()
    language: str = field(default="en", repr=False)

    def panels(self) -> tuple[Part, ...]:
        """Return panels and films, in the order in which they go on."""
        return tuple(p for p in self.parts if p.kind in ("panel", "film"))

    def part(self, mark: str) -> Part:
        """Return the part with this mark; KeyError when there is none."""
        for part in self.parts:
            if part.mark == mark:
                return part
        raise KeyError(mark)

    def material(self, key: str) -> Material:
        """Return the facts of one material; KeyError when it is not used."""
        for material in self.materials:
            if material.key == key:
                return material
        raise KeyError(key)
