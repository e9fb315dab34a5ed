"""What does the grower ask for: plant, room, skins, frame, people and papers?

Lengths are in mm, temperatures in degC, masses in kg, shares between 0 and 1. In the file each key is
the field's name without the unit, and quantities are text with a unit.
"""

from fractions import Fraction
from typing import Annotated, Any, Literal, Self

from pydantic import Field, ValidationInfo, field_validator, model_validator

from enclosure import units
from enclosure.errors import EnclosureError
from enclosure.files.fields import (
    FileModel,
    fault,
    length,
    nearest_hint,
    one_of,
    plain_number,
    quantity,
    share,
    some_text,
    temperature,
    whole_number,
    yes_or_no,
)
from enclosure.language import ENGLISH, languages
from enclosure.tables.read import keys

WALLS = ("front", "right", "back", "left")
FACES = (*WALLS, "roof")
HEAT_SOURCES = ("light string", "heating cable", "fan heater", "oil radiator", "none")
FLAMES = (
    "propane", "butane", "gas", "kerosene", "paraffin", "petrol", "alcohol", "charcoal", "coal", "wood", "pellet",
    "candle", "burner", "flame", "fire", "stove", "lantern",
)  # fmt: skip
"""Words that name something which burns in the shelter."""
Wall = Literal["front", "right", "back", "left"]
Text = Annotated[str, some_text()]
MaybeText = Annotated[str | None, some_text()]
YesNo = Annotated[bool, yes_or_no()]


class Plant(FileModel):
    """The plant as it will stand under the shelter, tied for winter."""

    name: Text = Field(description="what the plant is called")
    height_mm: Annotated[float, length("100 mm", "8 m")] = Field(
        description='from the soil up, for instance "1.9 m"'
    )
    spread_x_mm: Annotated[float, length("50 mm", "8 m")] = Field(
        description="width from left to right as tied for winter; or give open_spread_x and tied_share"
    )
    spread_y_mm: Annotated[float, length("50 mm", "8 m")] = Field(
        description="depth from front to back as tied for winter; or give open_spread_y and tied_share"
    )
    open_spread_x_mm: Annotated[float | None, length("50 mm", "15 m")] = None
    open_spread_y_mm: Annotated[float | None, length("50 mm", "15 m")] = None
    tied_share: Annotated[float | None, share("10 %", "100 %")] = None
    growth_height_mm: Annotated[float, length("0 mm", "1.5 m")] = 0.0
    growth_spread_mm: Annotated[float, length("0 mm", "1.5 m")] = 0.0
    crown_mm: Annotated[float, length("0 mm", "500 mm")] = 0.0
    limit_degc: Annotated[float | None, temperature("-40 degC", "20 degC")] = None

    @model_validator(mode="before")
    @classmethod
    def _tie_down(cls, data: Any) -> Any:
        """Work out the tied spread from the open one where only that is given."""
        if not isinstance(data, dict) or "tied_share" not in data:
            return data
        told = dict(data)
        for axis in ("x", "y"):
            opened, tied = f"open_spread_{axis}", f"spread_{axis}"
            if opened not in told or tied in told or f"{tied}_mm" in told:
                continue
            try:
                size = units.parse_length(told[opened]) * units.parse(told["tied_share"], units.SHARE)
                told[tied] = f"{float(size):.6f} mm"
            except EnclosureError:
                told[tied] = "1 m"  # the fault is reported at the key that cannot be read
        return told


class Window(FileModel):
    """A least and a most; equal when one value is given."""

    least_mm: Annotated[float, length("0 mm", "2 m")]
    most_mm: Annotated[float, length("0 mm", "2 m")]

    @model_validator(mode="before")
    @classmethod
    def _from_one_value(cls, data: Any) -> Any:
        if isinstance(data, dict):
            return data
        if not isinstance(data, str):
            raise fault(
                "needs a length or a window", 'write "120 mm" or { least = "100 mm", most = "150 mm" }'
            )
        try:
            units.parse_length(data)
        except EnclosureError as error:
            raise fault(f"{error.message}; needs a length or a window of two", error.hint) from None
        return {"least": data, "most": data}

    @model_validator(mode="after")
    def _right_way_up(self) -> Self:
        if self.least_mm > self.most_mm:
            raise fault(
                f"is upside down: least {self.least_mm:g} mm is more than most {self.most_mm:g} mm",
                "exchange least and most",
            )
        return self


class Clearance(FileModel):
    """Free room between the plant and the skin."""

    side: Window
    top: Window


class Roof(FileModel):
    """The roof's kind, fall and direction."""

    kind: Annotated[Literal["flat", "mono", "gable"], one_of("flat", "mono", "gable")]
    fall_deg: Annotated[float, quantity(units.ANGLE, "0 deg", "50 deg", reader=units.parse_angle)] = 0.0
    falls_to: Annotated[Wall, one_of(*WALLS)] = "back"
    ridge: Annotated[Literal["x", "y"], one_of("x", "y")] = "x"
    drip_edge_mm: Annotated[float, length("0 mm", "200 mm")] = 40.0

    @model_validator(mode="after")
    def _falls_enough(self) -> Self:
        least = {"flat": 0, "mono": 5, "gable": 10}[self.kind]
        if self.fall_deg < least:
            raise fault(
                f"needs a fall of at least {least} deg for a {self.kind} roof, here {self.fall_deg:g} deg",
                f'write fall = "{max(least, 10)} deg"',
            )
        if self.kind == "flat" and self.fall_deg > 0:
            raise fault("a flat roof has no fall", 'write kind = "mono", or leave fall out')
        return self


class SkinChoice(FileModel):
    """Which skin of the stock list goes on each wall and on the roof."""

    front: Text
    right: Text
    back: Text
    left: Text
    roof: Text

    @model_validator(mode="before")
    @classmethod
    def _spread_all(cls, data: Any) -> Any:
        if not isinstance(data, dict) or "all" not in data:
            return data
        if not isinstance(data["all"], str):
            raise fault("all needs the name of one skin of the stock list", 'write all = "twin-wall-10"')
        return dict.fromkeys(FACES, data["all"]) | {key: said for key, said in data.items() if key != "all"}


class FrameChoice(FileModel):
    """Timber of the frame, and the grid where the grower wants to set it."""

    section: Text = Field(description="a timber of the stock list")
    on_edge: YesNo = True
    roof_section: MaybeText = None
    tracks: MaybeText = Field(None, description='tracks to take where several fit a skin: "edge-8, joiner-8"')
    bays: dict[str, int] = Field(default_factory=dict)
    transoms: Annotated[int | None, whole_number(0, 10, "transoms")] = None
    levels: Annotated[int | None, whole_number(1, 6, "tiers")] = None
    gusset: MaybeText = None
    diagonal: MaybeText = None
    brace_screws: Annotated[int, whole_number(2, 6, "screws at each end of a diagonal")] = 3
    max_frame_height_mm: Annotated[float, length("600 mm", "6 m")] = 2600.0

    @property
    def track_names(self) -> tuple[str, ...]:
        """The tracks named, one by one."""
        return tuple(name.strip() for name in (self.tracks or "").split(",") if name.strip())

    @field_validator("bays", mode="before")
    @classmethod
    def _known_faces(cls, data: Any) -> Any:
        if not isinstance(data, dict):
            raise fault(
                "needs a table of bays, one number for a face", "write bays = { front = 2, roof = 3 }"
            )
        for face, count in data.items():
            if face not in FACES:
                raise fault(f"{face} is not a face of the shelter", nearest_hint(str(face), FACES, "faces"))
            if isinstance(count, bool) or not isinstance(count, int) or not 1 <= count <= 30:
                raise fault(f"{face} needs a whole number of bays from 1 to 30", f"write {face} = 2")
        return data


class Vent(FileModel):
    """A panel that lifts out or swings, as a share of the floor."""

    wall: Annotated[Wall, one_of(*WALLS)]
    share: Annotated[float, share("1 %", "60 %")]


class Bed(FileModel):
    """The raised bed inside the base ring."""

    depth_mm: Annotated[float, length("50 mm", "1.2 m")]
    lining: MaybeText = None


class BaseRing(FileModel):
    """The course of bricks under the sill."""

    brick: Text


class Anchors(FileModel):
    """What holds the shelter down: posts wired close beside it, stakes with slanting wires, or both.

    How many posts, and how deep everything is driven, the program decides when it is not said.
    """

    stakes: Annotated[int, whole_number(0, 12, "stakes")] = 0
    posts: Annotated[int | None, whole_number(0, 24, "posts")] = None
    depth_mm: Annotated[float | None, length("300 mm", "1.5 m")] = None
    ties: Annotated[Literal["both", "low"], one_of("both", "low")] = "both"
    wire_slope_deg: Annotated[float, quantity(units.ANGLE, "20 deg", "70 deg", reader=units.parse_angle)] = 45.0
    stake_depth_mm: Annotated[float | None, length("300 mm", "1.5 m")] = None

    @field_validator("stakes")
    @classmethod
    def _as_many_at_each_corner(cls, stakes: int) -> int:
        if stakes % 4:
            raise fault("needs 0, 4, 8 or 12 stakes: as many at each corner", f"write stakes = {4 * -(-stakes // 4)}")
        return stakes

    @field_validator("posts")
    @classmethod
    def _something_holds(cls, posts: int | None, info: ValidationInfo) -> int | None:
        stakes = info.data.get("stakes", 0)  # read before the posts, so that it is here
        if posts is not None and posts < 2 and not (posts == 0 and stakes):
            raise fault(
                "one post does not hold a shelter" if posts else "nothing holds the shelter: no posts and no stakes",
                "leave posts out, and the program decides; or write stakes = 4 for slanting wires",
            )
        return posts


class People(FileModel):
    """Who is there to carry."""

    count: Annotated[int, whole_number(1, 6, "people")] = 1
    lift_one_kg: Annotated[float, quantity(units.MASS, "5 kg", "60 kg")] = 25.0
    lift_two_kg: Annotated[float, quantity(units.MASS, "5 kg", "120 kg")] = 40.0


class Papers(FileModel):
    """Units and paper of everything printed."""

    units: Annotated[Literal["inch", "metric"], one_of("inch", "metric")] = "metric"
    paper: Annotated[Literal["Letter", "A4"], one_of("Letter", "A4")] = "A4"
    labels: MaybeText = None
    language: Text = ENGLISH

    @field_validator("language")
    @classmethod
    def _printed(cls, code: str) -> str:
        if code not in languages():
            raise fault("no papers are printed in this language", f"choose one of {', '.join(languages())}")
        return code


class Heat(FileModel):
    """The heater, its setting and its supply."""

    source: Annotated[
        Literal["light string", "heating cable", "fan heater", "oil radiator", "none"], one_of(*HEAT_SOURCES)
    ]
    watts: Annotated[float, quantity(units.POWER, "0 W", "6 kW")] = 0.0
    strings: Annotated[int, whole_number(1, 50, "strings")] = 1
    bulbs: Annotated[int | None, whole_number(1, 500, "bulbs on a string")] = None
    bulb_watts: Annotated[float | None, quantity(units.POWER, "1 W", "200 W")] = None
    setpoint_degc: Annotated[float, temperature("-20 degC", "25 degC")] = 2.0
    tent: YesNo = False
    price_kwh: Annotated[
        float, plain_number(0, 100, "the price of one kWh in the money of the stock list")
    ] = 0.0
    air_changes: Annotated[float, quantity(units.AIR_CHANGE, "0.1 per hour", "20 per hour")] = 1.0
    cord_length_mm: Annotated[float, length("0 mm", "150 m")] = 0.0
    cord: MaybeText = None
    volts: Annotated[float | None, quantity(units.VOLTAGE, "100 V", "250 V")] = None
    fuse_amps: Annotated[float | None, quantity(units.CURRENT, "1 A", "63 A")] = None

    @model_validator(mode="before")
    @classmethod
    def _add_up_bulbs(cls, data: Any) -> Any:
        """Work out the power of strings of bulbs where bulbs are given and no power."""
        if not isinstance(data, dict):
            return data
        given = [key for key in ("bulbs", "bulb_watts") if data.get(key) is not None]
        if not given or isinstance(data.get("watts"), float):  # a float comes from a model, added up already
            return data
        if "watts" in data:
            raise fault("watts and bulbs say the power twice", "leave watts out, or bulbs and bulb_watts")
        if len(given) == 1:
            raise fault("bulbs and bulb_watts go together", 'write bulbs = 25 and bulb_watts = "7 W"')
        if data.get("source") in HEAT_SOURCES and data["source"] != "light string":
            raise fault("bulbs need the source light string", 'write source = "light string", or watts without bulbs')
        counts = (data.get("strings", 1), data["bulbs"])
        try:
            one = data["bulb_watts"]
            each = units.parse(one, units.POWER) if isinstance(one, str) else Fraction(one)
            whole = each * counts[0] * counts[1] if all(type(count) is int for count in counts) else 0
        except (EnclosureError, TypeError, ValueError):
            whole = 0  # the fault is reported at the key that cannot be read
        if whole > 6000:
            raise fault(f"{float(whole):.0f} W of bulbs are more than 6 kW", "use fewer strings, bulbs or watts")
        return data | {"watts": f"{float(max(whole, 0)):.6f} W"}

    @field_validator("source", mode="before")
    @classmethod
    def _no_flame(cls, said: Any) -> Any:
        if isinstance(said, str) and any(word in said.lower() for word in FLAMES):
            raise fault(
                "a flame in a closed shelter makes carbon monoxide, may set it on fire and uses up the air; "
                "only electric heat is planned for",
                f"choose one of {', '.join(HEAT_SOURCES)}; a flame needs an opening for combustion air, a carbon "
                "monoxide alarm and what the local code asks",
            )
        return said

    @field_validator("cord")
    @classmethod
    def _known_cord(cls, cord: str | None) -> str | None:
        if cord is not None and cord not in keys("cords"):
            raise fault("is not a cord that is known", nearest_hint(cord, keys("cords"), "cords"))
        return cord


class Temperatures(FileModel):
    """Temperatures between which the panels must stay in their track."""

    cut_degc: Annotated[float, temperature("-10 degC", "40 degC")] = 20.0
    hottest_degc: Annotated[float, temperature("20 degC", "80 degC")] = 50.0

    @model_validator(mode="after")
    def _hotter(self) -> Self:
        if self.hottest_degc < self.cut_degc:
            raise fault("the hottest temperature lies below the one at which panels are cut", "raise hottest")
        return self


class Brief(FileModel):
    """All that the grower asks for."""

    name: Text = Field(description="what this shelter is called")
    site: Text = Field(description='the site file, for instance site = "cold-inland.toml"')
    stock: Text = Field(description='the stock list, for instance stock = "inch-stock.toml"')
    winters: Annotated[int, whole_number(1, 40, "winters")] = Field(
        description="how many winters it must serve"
    )
    front_bearing_deg: Annotated[
        float, quantity(units.ANGLE, "0 deg", "360 deg", reader=units.parse_bearing)
    ] = Field(
        validation_alias="front_faces", description='the way the front looks, for instance "S" or "170 deg"'
    )
    plant: Plant
    clearance: Clearance
    roof: Roof
    skin: SkinChoice
    frame: FrameChoice
    vent: Vent | None = None
    bed: Bed | None = None
    base_ring: BaseRing | None = None
    anchors: Anchors = Field(default_factory=Anchors)
    people: People = Field(default_factory=People)
    papers: Papers = Field(default_factory=Papers)
    heat: Heat | None = None
    temperatures: Temperatures = Field(default_factory=Temperatures)
