"""Which lines of a brief does the form show, in which groups, with which words?

One row a field: its key in the file, its label, how it is typed, what may be chosen.
Groups follow how people think: the plant, the place, the shelter, what I own, papers.
Left out: reading values and finding faults (see `enclosure.brief`), which the form
never does itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from enclosure import units

Kind = Literal["text", "quantity", "count", "number", "pick", "yes-no"]
Choices = Literal[
    "", "sites", "stock", "skins", "timbers", "boards", "bricks", "walls", "roofs", "ridges", "labels",
    "units", "papers", "heat", "cords", "ties", "languages",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Field:
    """One line of the form.

    Args:
        key: Dotted key in the file.
        label: Words before the box.
        kind: How it is typed.
        help: A short line under the box, with an example.
        choices: Which list a `pick` is taken from.
        empty: For a `pick` or `yes-no` that may be left out: the words for that; "" when it may not.
        switch: Table that goes as a whole when this field is emptied; "" for none.
        dimension: For a quantity: how it is read back in the other units.
        bearing: True for a compass bearing.
    """

    key: str
    label: str
    kind: Kind
    help: str = ""
    choices: Choices = ""
    empty: str = ""
    switch: str = ""
    dimension: units.Dimension | None = None
    bearing: bool = False

    @property
    def slug(self) -> str:
        """The key as it stands in an element's id."""
        return self.key.replace(".", "-").replace("_", "-")


@dataclass(frozen=True, slots=True)
class Group:
    """Some fields under one heading; `more` groups start folded."""

    title: str
    note: str
    fields: tuple[Field, ...]
    more: tuple[tuple[str, tuple[Field, ...]], ...] = ()


def _size(key: str, label: str, help: str) -> Field:
    return Field(key, label, "quantity", help, dimension=units.LENGTH)


def _warmth(key: str, label: str, help: str) -> Field:
    return Field(key, label, "quantity", help, dimension=units.TEMPERATURE)


def _pick(key: str, label: str, choices: Choices, help: str = "", *, empty: str = "", switch: str = "") -> Field:
    return Field(key, label, "pick", help, choices, empty, switch)


PLANT = Group(
    "The plant",
    "Sizes as the plant stands tied up for winter.",
    (
        Field("plant.name", "What is it?", "text", "a palm, a fig, a tree fern"),
        _size("plant.height", "How tall?", 'soil to top, such as "1.9 m" or "6 ft 3 in"'),
        _size("plant.spread_x", "How wide, left to right?", 'tied, such as "75 cm" or "30 in"'),
        _size("plant.spread_y", "How deep, front to back?", "tied"),
        _size("plant.growth_height", "Grows taller each year by", 'such as "3 cm"'),
        _size("plant.growth_spread", "Grows wider each year by", "tied; often nothing"),
        Field("winters", "Winters to serve", "count", "how many winters before it may be outgrown"),
        _warmth("plant.limit", "Hurt below", 'coldest air it bears, such as "-5 degC" or "23 degF"'),
    ),
    (
        (
            "Untied, and its mound",
            (
                _size("plant.open_spread_x", "Width untied", "used when no tied width is given"),
                _size("plant.open_spread_y", "Depth untied", "used when no tied depth is given"),
                Field("plant.tied_share", "Ties down to", "quantity", 'share of the untied spread, such as "60 %"'),
                _size("plant.crown", "Mound of soil at the trunk", "so that rain runs off"),
            ),
        ),
    ),
)

PLACE = Group(
    "The place",
    "Climate, ground, and how it stands there.",
    (
        _pick("site", "Which site?", "sites", "cold, snow, wind and soil come from this file"),
        Field(
            "front_faces", "The front looks to", "quantity", 'the side that opens: "S", "SSE" or "170 deg"',
            bearing=True,
        ),
        _pick("base_ring.brick", "Base ring of bricks", "bricks", "a dry sill", empty="none", switch="base_ring"),
        Field("anchors.posts", "Posts that hold it down", "count", "empty: the program decides"),
        Field("anchors.stakes", "Stakes with slanting wires", "count", "0, 4, 8 or 12; empty: none"),
    ),
    (
        (
            "Posts, stakes and wires, closer",
            (
                _size("anchors.depth", "Posts driven", "how deep; empty: the checks say"),
                _pick("anchors.ties", "Wires of a post", "ties", "", empty="low and high, as usual"),
                Field("anchors.wire_slope", "Slope of the slanting wires", "quantity", "from level, such as 45 deg"),
                _size("anchors.stake_depth", "Stakes driven", "how deep; empty: the checks say"),
            ),
        ),
        (
            "Raised bed",
            (
                Field(
                    "bed.depth", "Depth of the bed", "quantity", "empty: no raised bed", switch="bed",
                    dimension=units.LENGTH,
                ),
                _pick("bed.lining", "Lining of the bed", "boards", "", empty="not lined"),
            ),
        ),
    ),
)  # fmt: skip

SHELTER = Group(
    "The shelter",
    "Room, roof, skin, frame and heat.",
    (
        _size("clearance.side.least", "Free room at the sides", "so that no leaf touches a freezing pane"),
        _size("clearance.side.most", "Sides, at most", "empty: exactly that; see: find the cheapest size"),
        _size("clearance.top.least", "Free room on top", ""),
        _size("clearance.top.most", "Top, at most", "empty: exactly that"),
        _pick("roof.kind", "Roof", "roofs"),
        Field("roof.fall", "Fall of the roof", "quantity", 'such as "10 deg" or "2 in 12"; empty when flat'),
        _pick("roof.falls_to", "Falls to the", "walls", "for a single fall", empty="back, as usual"),
        _pick("skin.all", "Skin all round", "skins", "", empty="each face its own"),
        _pick("frame.section", "Timber of the frame", "timbers"),
        _pick("heat.source", "Heat", "heat", "", empty="not planned", switch="heat"),
        Field("heat.watts", "Its power", "quantity", 'such as "500 W"'),
        _warmth("heat.setpoint", "Thermostat at", 'such as "2 degC"'),
        Field("heat.tent", "Cloth tent inside", "yes-no", "heat inside it: half does", empty="no, as usual"),
    ),
    (
        (
            "One face of another skin",
            tuple(
                _pick(f"skin.{face}", label, "skins", "", empty="as all round")
                for face, label in (
                    ("front", "Front wall of"),
                    ("right", "Right wall of"),
                    ("back", "Back wall of"),
                    ("left", "Left wall of"),
                    ("roof", "Roof of"),
                )
            ),
        ),
        (
            "Panel that opens",
            (
                _pick("vent.wall", "In which wall?", "walls", "", empty="none", switch="vent"),
                Field("vent.share", "How big?", "quantity", 'share of the floor, such as "15 %"'),
            ),
        ),
        (
            "Roof and frame, closer",
            (
                _pick("roof.ridge", "Ridge of a gable", "ridges", "", empty="left to right, as usual"),
                _size("roof.drip_edge", "Roof stands out by", ""),
                Field("frame.on_edge", "Timber on edge", "yes-no", "stiffer in wind", empty="yes, as usual"),
                _pick("frame.roof_section", "Timber of the roof", "timbers", "", empty="the same"),
                Field("frame.tracks", "Tracks", "text", "where several fit a skin, such as edge-8, joiner-8"),
                _pick("frame.gusset", "Corner plates", "boards", "plywood stiffens them", empty="the thinnest"),
                _pick("frame.diagonal", "Diagonals", "timbers", "", empty="the thinnest that reaches"),
                Field("frame.brace_screws", "Screws at each end of a diagonal", "count", "2 to 6"),
                Field("frame.transoms", "Transoms in each wall", "count", "empty: as many as the wind asks for"),
                Field("frame.levels", "Frames on top of each other", "count", "empty: by height and weight"),
                _size("frame.max_frame_height", "Highest single frame", ""),
                *(
                    Field(f"frame.bays.{face}", f"Bays, {face}", "count", "")
                    for face in ("front", "right", "back", "left", "roof")
                ),
            ),
        ),
        (
            "Power and air",
            (
                Field("heat.strings", "Strings of lights", "count", "empty: one"),
                Field("heat.bulbs", "Bulbs on a string", "count", "in place of the power above"),
                Field("heat.bulb_watts", "One bulb", "quantity", 'such as "7 W"; diodes give no warmth'),
                Field("heat.price_kwh", "Price of one kWh", "number", "in the money of the stock list"),
                Field("heat.air_changes", "Air changes", "quantity", 'draughts, such as "1 per hour"'),
                _size("heat.cord_length", "Length of the cord", ""),
                _pick("heat.cord", "Which cord?", "cords", "", empty="not said"),
                Field("heat.volts", "Mains voltage", "quantity", '"120 V" or "230 V"'),
                Field("heat.fuse_amps", "Fuse", "quantity", 'such as "15 A"'),
            ),
        ),
        (
            "Warmth of the panels",
            (
                _warmth("temperatures.cut", "Cut at", "warmth of the day on which panels are cut"),
                _warmth("temperatures.hottest", "Hottest panel", "in spring sun"),
            ),
        ),
    ),
)  # fmt: skip

OWN = Group(
    "What I own",
    "Shop, rack and hands.",
    (
        _pick("stock", "Stock list", "stock", "what can be bought, and what lies on your rack"),
        Field("people.count", "People to raise it", "count", ""),
    ),
    (
        (
            "How much one lifts",
            (
                Field("people.lift_one", "One person lifts", "quantity", '"25 kg" or "55 lb"'),
                Field("people.lift_two", "Two lift", "quantity", '"40 kg" or "88 lb"'),
            ),
        ),
    ),
)

PAPERS = Group(
    "Papers",
    "How it is printed.",
    (
        Field("name", "Name of this shelter", "text", "stands on every paper"),
        _pick(
            "papers.units", "Cut in", "units",
            "rounds every cut to whole mm or to 1/16 in, so it changes the parts", empty="mm, as usual",
        ),
        _pick("papers.paper", "Paper", "papers", "", empty="A4, as usual"),
        _pick("papers.language", "Language", "languages", "of all papers and drawings", empty="English, as usual"),
        _pick("papers.labels", "Label sheet", "labels", "", empty="plain paper"),
    ),
)  # fmt: skip

GROUPS = (PLANT, PLACE, SHELTER, OWN, PAPERS)


def all_fields() -> tuple[Field, ...]:
    """Return every field of the form, in reading order."""
    found: list[Field] = []
    for group in GROUPS:
        found += group.fields
        for _, inner in group.more:
            found += inner
    return tuple(found)


FIELDS: dict[str, Field] = {field.key: field for field in all_fields()}
