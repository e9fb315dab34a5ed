"""What can be bought, at which price, and what is already owned?

Lengths in mm, masses in kg, prices in the currency of the list. A sheet's height is the direction
of its flutes; a timber's thickness is never more than its width; both are dry dressed sizes.
"""

from typing import Annotated, Any, Literal, Self

from pydantic import AfterValidator, Field, model_validator

from enclosure import units
from enclosure.errors import EnclosureError
from enclosure.files.fields import (
    FileModel,
    fault,
    length,
    one_of,
    plain_number,
    quantity,
    share,
    some_text,
    whole_number,
    yes_or_no,
)
from enclosure.sources import split_source

HARDWARE_NEEDED = (
    "angle_bracket", "bolt_m8", "breather_tape", "button_fixing", "film_staple", "foam_seal", "frame_screw",
    "hinge", "post", "ridge_strip", "setting_block", "sill_bracket", "tie_wire", "top_tape", "track_screw",
    "turn_button", "washer_m8", "washer_screw",
)  # fmt: skip


def _sourced(text: str) -> str:
    try:
        split_source(text)
    except EnclosureError as error:
        raise fault("does not say what kind of source it is", error.hint) from None
    return text


Text = Annotated[str, some_text()]
SourceText = Annotated[str, some_text(400), AfterValidator(_sourced)]
Price = Annotated[float, plain_number(0, 1_000_000, "a price")]
Key = Annotated[str, some_text(60)]
Pieces = Annotated[int, whole_number(1, 1000, "pieces")]
U_VALUE = quantity(units.U_VALUE, "0.05 W/m2K", "15 W/m2K")
MASS_AREA = quantity(units.MASS_PER_AREA, "0 kg/m2", "60 kg/m2")


class SheetSize(FileModel):
    """One size in which a sheet is sold; the height runs along the flutes."""

    width_mm: Annotated[float, length("100 mm", "5 m")]
    height_mm: Annotated[float, length("100 mm", "100 m")]
    price: Price
    trim_mm: Annotated[float, length("0 mm", "50 mm")] = 0.0

    @model_validator(mode="after")
    def _something_left(self) -> Self:
        if min(self.width_mm, self.height_mm) - 2 * self.trim_mm < 50:
            raise fault("leaves nothing of the sheet after trimming", "make trim smaller")
        return self


class StickLength(FileModel):
    """One length in which a stick is sold."""

    length_mm: Annotated[float, length("100 mm", "15 m")]
    price: Price


Sizes = Annotated[tuple[SheetSize, ...], Field(min_length=1)]
Lengths = Annotated[tuple[StickLength, ...], Field(min_length=1)]


class Skin(FileModel):
    """What closes a bay: its sizes and its properties."""

    key: Key
    name: Text
    kind: Annotated[
        Literal["multiwall", "glass", "acrylic", "film", "foam board"],
        one_of("multiwall", "glass", "acrylic", "film", "foam board"),
    ]
    thickness_mm: Annotated[float, length("0.05 mm", "150 mm")]
    fixing: Annotated[Literal["track", "batten", "washers"], one_of("track", "batten", "washers")]
    flutes: Annotated[bool, yes_or_no()] = False
    made_to_size: Annotated[bool | None, yes_or_no()] = None
    u_value_w_m2k: Annotated[float | None, U_VALUE] = None
    mass_kg_m2: Annotated[float, MASS_AREA]
    light: Annotated[float, share("0 %", "100 %")]
    alpha_1e6_k: Annotated[float, quantity(units.EXPANSION, "0 1e-6/K", "300 1e-6/K")]
    stiffness_along_n_m: Annotated[float, quantity(units.STIFFNESS, "0 N m", "100000 N m")]
    stiffness_across_n_m: Annotated[float, quantity(units.STIFFNESS, "0 N m", "100000 N m")]
    max_pane_m2: Annotated[float | None, quantity(units.AREA, "0.05 m2", "20 m2")] = None
    max_span_mm: Annotated[float, length("100 mm", "3 m")]
    layers: Annotated[int, whole_number(1, 2, "layers")] = 1
    life_years: Annotated[float, quantity(units.DURATION, "0.5 years", "100 years")]
    least_cover_mm: Annotated[float, length("0 mm", "60 mm")] = 12.0
    cut_tolerance_mm: Annotated[float, length("0 mm", "10 mm")] = 1.0
    sizes: Sizes
    source: SourceText

    @property
    def ordered(self) -> bool:
        """True when pieces are made to size by the seller and never cut at home; glass, unless the file says no."""
        return self.kind == "glass" if self.made_to_size is None else self.made_to_size

    @model_validator(mode="after")
    def _flutes_only_in_multiwall(self) -> Self:
        if self.flutes != (self.kind == "multiwall"):
            raise fault(
                "multiwall sheets have flutes and no other skin has",
                "write flutes = true only for kind multiwall",
            )
        return self


class Timber(FileModel):
    """A timber section by its dry dressed size."""

    key: Key
    name: Text
    thickness_mm: Annotated[float, length("4 mm", "300 mm")]
    width_mm: Annotated[float, length("10 mm", "400 mm")]
    density_kg_m3: Annotated[float, quantity(units.DENSITY, "200 kg/m3", "1200 kg/m3")]
    species: Text
    grade: Text
    lengths: Lengths
    source: SourceText

    @model_validator(mode="after")
    def _thickness_is_less(self) -> Self:
        if self.thickness_mm > self.width_mm:
            raise fault("is thicker than it is wide", "give the smaller dimension as thickness")
        return self


class Track(FileModel):
    """An aluminium profile that holds panel edges."""

    key: Key
    name: Text
    kind: Annotated[
        Literal["edge", "joiner", "cap", "base", "ridge"], one_of("edge", "joiner", "cap", "base", "ridge")
    ]
    slot_depth_mm: Annotated[float, length("5 mm", "100 mm")]
    slot_width_mm: Annotated[float, length("1 mm", "60 mm")]
    web_mm: Annotated[float, length("0.5 mm", "20 mm")]
    flange_mm: Annotated[float, length("0.5 mm", "20 mm")]
    mass_kg_m: Annotated[float, quantity(units.MASS_PER_LENGTH, "0.01 kg/m", "10 kg/m")]
    lengths: Lengths
    source: SourceText


class Board(FileModel):
    """Sheet goods for gussets and for lining the bed."""

    key: Key
    name: Text
    use: Annotated[Literal["gusset", "lining", "any"], one_of("gusset", "lining", "any")]
    thickness_mm: Annotated[float, length("1 mm", "150 mm")]
    mass_kg_m2: Annotated[float, MASS_AREA]
    turnable: Annotated[bool, yes_or_no()] = True
    u_value_w_m2k: Annotated[float | None, U_VALUE] = None
    sizes: Sizes
    source: SourceText


class Hardware(FileModel):
    """Something bought by the piece or by the metre, in packs; a bolt or a screw may say how long it is."""

    key: Key
    name: Text
    per: Annotated[Literal["each", "m"], one_of("each", "m")]
    pack: Annotated[float, plain_number(0.1, 10_000, "pieces or metres in a pack")]
    price: Price
    length_mm: Annotated[float | None, length("5 mm", "500 mm")] = None


class Brick(FileModel):
    """A brick or block of the base ring, and the joint it is laid with."""

    key: Key
    name: Text
    length_mm: Annotated[float, length("50 mm", "1 m")]
    width_mm: Annotated[float, length("30 mm", "600 mm")]
    height_mm: Annotated[float, length("20 mm", "400 mm")]
    joint_mm: Annotated[float, length("0 mm", "25 mm")]
    price: Price


class Saw(FileModel):
    """What the saws take, and the smallest piece the yard will cut."""

    kerf_timber_mm: Annotated[float, length("0 mm", "10 mm")]
    kerf_sheet_mm: Annotated[float, length("0 mm", "10 mm")]
    kerf_track_mm: Annotated[float, length("0 mm", "10 mm")]
    squaring_mm: Annotated[float, length("0 mm", "50 mm")]
    yard_least_piece_mm: Annotated[float, length("0 mm", "1 m")]


class RackSheet(FileModel):
    """Sheets or offcuts already owned."""

    material: Key
    width_mm: Annotated[float, length("20 mm", "5 m")]
    height_mm: Annotated[float, length("20 mm", "100 m")]
    copies: Pieces = 1
    note: Annotated[str, some_text()] = "from the rack"


class Defect(FileModel):
    """A stretch of a stick that cannot be used, measured from its first end."""

    start_mm: Annotated[float, length("0 mm", "15 m")]
    end_mm: Annotated[float, length("0 mm", "15 m")]

    @model_validator(mode="after")
    def _start_first(self) -> Self:
        if self.start_mm >= self.end_mm:
            raise fault("ends before it starts", "exchange start and end")
        return self


class RackStick(FileModel):
    """Sticks or offcuts already owned, with stretches that cannot be used and old screw holes: no part ends there."""

    material: Key
    length_mm: Annotated[float, length("20 mm", "15 m")]
    copies: Pieces = 1
    defects: tuple[Defect, ...] = ()
    holes_mm: tuple[Annotated[float, length("0 mm", "15 m")], ...] = ()
    note: Annotated[str, some_text()] = "from the rack"


class Rack(FileModel):
    """All that is owned, and how small an offcut is still kept."""

    sheets: tuple[RackSheet, ...] = ()
    sticks: tuple[RackStick, ...] = ()
    least_sheet_mm: Annotated[float, length("50 mm", "2 m")] = 300.0
    least_stick_mm: Annotated[float, length("50 mm", "2 m")] = 300.0


class Stock(FileModel):
    """One stock list."""

    name: Text = Field(description="what this list is called")
    currency: Annotated[str, some_text(8)] = Field(description='the money of all prices, for instance "USD"')
    prices_note: Text = Field(description="where the prices come from and when")
    units: Annotated[Literal["inch", "metric"], one_of("inch", "metric")] = "metric"
    skins: dict[str, Skin] = Field(min_length=1)
    timbers: dict[str, Timber] = Field(min_length=1)
    tracks: dict[str, Track] = Field(default_factory=dict)
    boards: dict[str, Board] = Field(default_factory=dict)
    hardware: dict[str, Hardware]
    bricks: dict[str, Brick] = Field(default_factory=dict)
    saw: Saw
    rack: Rack = Field(default_factory=Rack)

    @model_validator(mode="before")
    @classmethod
    def _name_by_table(cls, data: Any) -> Any:
        """Give every item the key of its table."""
        if not isinstance(data, dict):
            return data
        told = dict(data)
        for group in ("skins", "timbers", "tracks", "boards", "hardware", "bricks"):
            if isinstance(told.get(group), dict):
                told[group] = {
                    key: {**item, "key": key} if isinstance(item, dict) else item
                    for key, item in told[group].items()
                }
        return told
