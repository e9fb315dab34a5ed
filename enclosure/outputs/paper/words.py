"""How are lengths and directions said on paper?

Lengths in the units of the design: inches to the sixteenth, or whole mm. On a
chain of dimensions the unit is said once for the page, so the bare figure
stands there.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from fractions import Fraction

from enclosure.language import decimal, tr, tr_as
from enclosure.outputs.paper.customary import customary
from enclosure.shape.model import Design, Material, Part, SheetCut, StickCut
from enclosure.shape.rip import ripped_mm
from enclosure.units import UnitSystem, format_length, format_mass, format_temperature


@dataclass(frozen=True, slots=True)
class Words:
    """Says quantities in the units of one design; names of its materials are never told again in other units."""

    units: UnitSystem
    names: tuple[str, ...] = ()

    def length(self, mm: float, *, feet: bool = False) -> str:
        """Return a length with its unit."""
        return format_length(mm, self.units, feet=feet)

    def bare(self, mm: float) -> str:
        """Return a length without its unit, for chains of dimensions."""
        return format_length(mm, self.units).removesuffix(" in").removesuffix(" mm")

    def both(self, mm: float) -> str:
        """Return a length in the design's units, the other ones in brackets."""
        other: UnitSystem = "metric" if self.units == "inch" else "inch"
        return f"{format_length(mm, self.units, feet=True)} ({format_length(mm, other, feet=True)})"

    def fine(self, mm: float) -> str:
        """Return a small length: tenths of a mm; on inch papers thirty-seconds of an inch before them."""
        if self.units == "inch":
            size = Fraction(math.floor(abs(mm) / 25.4 * 32 + 0.5), 32)
            return decimal(f"{_inch_fraction(size)} in ({mm:.1f} mm)")
        return decimal(f"{mm:.1f} mm")

    def size(self, part: Part) -> str:
        """Return the size of a part: width x height, or length."""
        if isinstance(part.cut, SheetCut):
            return self.pair(part.cut.width_mm, part.cut.height_mm)
        return self.length(part.cut.length_mm)

    def pair(self, width_mm: float, height_mm: float) -> str:
        """Return width x height."""
        unit = " in" if self.units == "inch" else " mm"
        return f"{self.bare(width_mm)} × {self.bare(height_mm)}{unit}"

    def mass(self, kg: float) -> str:
        """Return a mass."""
        return format_mass(kg, self.units)

    def temperature(self, degc: float) -> str:
        """Return a temperature with a proper degree sign."""
        return format_temperature(degc, self.units).replace("deg", "°").replace(" ", "\u00a0")

    def said(self, words: str) -> str:
        """Return a sentence that speaks SI in the units of the paper."""
        return customary(words, self.names) if self.units == "inch" else words

    @property
    def unit_word(self) -> str:
        """Return the unit in full, for the note beside a drawing."""
        return tr("inches") if self.units == "inch" else tr("millimetres")


def words_of(design: Design) -> Words:
    """Return the words for a design."""
    return Words(design.units, tuple(material.name for material in design.materials))


def shape_words(part: Part, words: Words) -> str:
    """Return the corner heights of a panel that is no rectangle."""
    if not isinstance(part.cut, SheetCut):
        return ""
    cut = part.cut
    left = [y for x, y in cut.outline if x < 0.5]
    right = [y for x, y in cut.outline if cut.width_mm - x < 0.5]
    if len(cut.outline) == 4 and left and right and abs(max(left) - max(right)) < 0.5:
        return ""
    if len(cut.outline) <= 4 and left and right:
        sides = (max(left) - min(left), max(right) - min(right))
        said = tr("left edge {left}, right edge {right}")
        return "; " + said.format(left=words.bare(sides[0]), right=words.bare(sides[1]))
    places = ", ".join(f"({words.bare(x)}, {words.bare(y)})" for x, y in cut.outline)
    return "; " + tr("corners {places}").format(places=places)


def timber_words(material: Material, words: Words) -> str:
    """Return the name of a material, a timber with its dressed size where the name does not give it."""
    if material.kind != "timber":
        return material.name
    sides = [words.bare(side) for side in (material.thickness_mm, material.width_mm)]
    if all(re.search(rf"(?<![\d/]){re.escape(side)}(?![\d/])", material.name) for side in sides):
        return material.name
    return f"{material.name} ({words.pair(material.thickness_mm, material.width_mm)})"


def angle(deg: float) -> str:
    """Return an angle from a square cut, or 'square'."""
    return tr_as("end of a stick", "square") if abs(deg) < 0.05 else decimal(f"{abs(deg):.1f}°")


def ends(cut: StickCut) -> str:
    """Return how both ends and the edge of a stick are cut, empty when all is square."""
    words = []
    if abs(cut.start_deg) >= 0.05 or abs(cut.end_deg) >= 0.05:
        parallel = abs(cut.start_deg + cut.end_deg) < 0.05
        said = tr("ends {start} / {end}, parallel") if parallel else tr("ends {start} / {end}")
        words.append(said.format(start=angle(cut.start_deg), end=angle(cut.end_deg)))
    if abs(cut.bevel_deg) >= 0.05:
        words.append(tr("bevel {angle} along the edge").format(angle=decimal(f"{cut.bevel_deg:.1f}°")))
    return "; ".join(words)


def stick_words(part: Part, material: Material, words: Words) -> str:
    """Return how a stick is cut beside its length: ends, bevel with its height, width where it is ripped."""
    if not isinstance(part.cut, StickCut):
        return ""
    said = [ends(part.cut)]
    if part.cut.bevel_deg:
        said.append(tr("{size} high at the low edge").format(size=words.length(part.cut.bevel_low_mm)))
    wide = ripped_mm(part, material.width_mm)
    if wide:
        said.append(tr("ripped to {size}").format(size=words.length(wide)))
    return ", ".join(filter(None, said))


def natural(mark: str) -> tuple[tuple[int, str, int], ...]:
    """Return a key that sorts marks as people do: FM2 before FM10, panels by number first."""
    found: list[tuple[int, str, int]] = []
    digits = letters = ""
    for sign in mark + " ":
        if sign.isdigit():
            if letters:
                found.append((1, letters, 0))
                letters = ""
            digits += sign
            continue
        if digits:
            found.append((0, "", int(digits)))
            digits = ""
        letters += sign
    return tuple(found)


def runs(marks: list[str]) -> str:
    """Return marks in a row, neighbouring ones shortened: FM1-FM4, 3, 5-7."""
    ordered = sorted(marks, key=natural)
    out: list[str] = []
    place = 0
    while place < len(ordered):
        end = place
        while end + 1 < len(ordered) and _follows(ordered[end], ordered[end + 1]):
            end += 1
        if end - place >= 2:
            out.append(f"{ordered[place]}–{ordered[end]}")
        else:
            out.extend(ordered[place : end + 1])
        place = end + 1
    return ", ".join(out)


def continued(title: str) -> str:
    """Return the title of a page that goes on with the page before."""
    return tr("{title} (continued)").format(title=title)


def runs_of(numbers: list[int]) -> str:
    """Return numbers in a row, neighbouring ones shortened: 1–4, 7."""
    return runs([str(number) for number in numbers])


def _follows(one: str, other: str) -> bool:
    head, tail = one.rstrip("0123456789"), other.rstrip("0123456789")
    return head == tail and other[len(tail) :] == str(int(one[len(head) :] or "-1") + 1)


def _inch_fraction(size: Fraction) -> str:
    whole, part = divmod(size, 1)
    if part == 0:
        return str(whole)
    return f"{whole} {part}" if whole else str(part)
