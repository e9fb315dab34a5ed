"""How does STEP text from the CAD kernel become the same text every time?

The kernel writes the time of day, its own version, numbers that go on counting from
one file to the next, and colours in an order that follows memory addresses. None of
them is part of the shelter; `steady` replaces or sorts them. It also mends the unit of
density, which the kernel writes as g³ cm² where it means g/cm³.

Left out: everything else; shapes, places, names and colours stay as the kernel wrote them.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from itertools import count

from enclosure import __version__

FIXED_DATE = "2000-01-01T00:00:00"
_STYLES = "MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION"
_ENTITY = re.compile(r"#(\d+) = (.*?);\s*\n", re.DOTALL)
_REFERENCE = re.compile(r"#(\d+)")


def steady(text: str, name: str, descriptions: Mapping[str, str]) -> str:
    """Return STEP text without anything that changes from run to run.

    Args:
        text: What the kernel wrote.
        name: Name for the header, in plain letters without quotes.
        descriptions: Product name -> description to fill in, likewise plain. (The kernel
            writes the material of a part of one solid, but not of a part of several.)
    """

    def described(found: re.Match[str]) -> str:
        return f"{found[1]}'{descriptions.get(found[2], '')}',"

    text = re.sub(r"( PRODUCT\('([^']*)',\s*'[^']*',\s*)'',", described, text)
    made_by = f"enclosure {__version__}"
    for keyword, value in (
        ("FILE_NAME", f"('{name}','{FIXED_DATE}',(''),(''),'{made_by}','enclosure','')"),
        ("FILE_DESCRIPTION", "(('shelter'),'2;1')"),
    ):
        start = text.index(f"{keyword}(")
        text = text[:start] + keyword + value + text[text.index(";", start):]
    text = _numbered(r"(NEXT_ASSEMBLY_USAGE_OCCURRENCE\(')\d+(')", text)
    text = _numbered(r"('Open CASCADE STEP translator )[^']*(')", text)
    return _sorted_styles(_mended_density(text))


def _numbered(pattern: str, text: str) -> str:
    """Return the text with what stands between the two groups of a pattern counted from 1."""
    numbers = count(1)

    def put(found: re.Match[str]) -> str:
        return f"{found[1]}{next(numbers)}{found[2]}"

    return re.sub(pattern, put, text)


def _mended_density(text: str) -> str:
    """Return the text with mass to the power 1 over length to the power 3 as unit of density."""
    for base, power in (("MASS_UNIT", "1."), ("LENGTH_UNIT", "-3.")):
        numbers = set(re.findall(rf"#(\d+) = \( {base}\(\)", text))

        def mend(found: re.Match[str], numbers: set[str] = numbers, power: str = power) -> str:
            return f"DERIVED_UNIT_ELEMENT(#{found[1]},{power})" if found[1] in numbers else found[0]

        text = re.sub(r"DERIVED_UNIT_ELEMENT\(#(\d+),[\d.]+\)", mend, text)
    return text


def _sorted_styles(text: str) -> str:
    """Return the text with its last block, the colours, in the order of the shapes they colour."""
    first = re.search(rf"^#(\d+) = {_STYLES}", text, re.MULTILINE)
    if first is None:
        return text
    end = text.index("ENDSEC;", first.start())
    lowest = int(first[1])
    entities = {int(number): body for number, body in _ENTITY.findall(text[first.start():end])}
    before = _outside(text[: first.start()], lowest)
    if min(entities) < lowest or not before.isdisjoint(entities):
        return text  # colours and shapes are interwoven: leave all as it is

    def reach(number: int, seen: dict[int, None]) -> dict[int, None]:
        if number not in seen:
            seen[number] = None
            for target in map(int, _REFERENCE.findall(entities[number])):
                if target in entities:
                    reach(target, seen)
        return seen

    def coloured(number: int) -> list[int]:
        return sorted(
            target
            for inner in reach(number, {})
            for target in map(int, _REFERENCE.findall(entities[inner]))
            if target < lowest
        )

    roots = sorted((number for number, body in entities.items() if body.startswith(_STYLES)), key=coloured)
    order: dict[int, None] = {}
    for root in roots:
        reach(root, order)
    for number in entities:
        reach(number, order)
    new = {number: place for place, number in enumerate(order, start=lowest)}
    lines = []
    for number in order:
        body = " ".join(entities[number].split())
        body = _REFERENCE.sub(lambda found: f"#{new.get(int(found[1]), int(found[1]))}", body)
        lines.append(f"#{new[number]} = {body};\n")
    return text[: first.start()] + "".join(lines) + text[end:]


def _outside(text: str, lowest: int) -> set[int]:
    """Return the numbers from `lowest` up that the text before refers to."""
    return {number for number in map(int, _REFERENCE.findall(text)) if number >= lowest}
