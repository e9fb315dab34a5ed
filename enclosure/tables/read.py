"""How are the published numbers read, and is every row sourced and inside its bounds?

Tables are CSV files beside this module. Every heading carries the unit; every row carries a source
and its kind. A row without them, or a number outside the bounds of its column, is an error.
"""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path

from enclosure.errors import RangeError
from enclosure.sources import SourceKind

_HOME = Path(__file__).resolve().parent
Row = dict[str, str]

BOUNDS: dict[str, dict[str, tuple[float, float]]] = {
    "zones": {"low_degf": (-60, 65), "high_degf": (-55, 70)},
    "soils": {
        "lateral_psf_per_ft": (25, 1200),
        "bearing_psf": (250, 12000),
        "sliding_coefficient": (0.1, 0.8),
        "cohesion_psf": (0, 500),
    },
    "dressed_timber": {"thickness_in": (0.25, 6), "width_in": (0.5, 12)},
    "timber_nds": {
        "fb_psi": (200, 4000),
        "ft_psi": (100, 3000),
        "fv_psi": (50, 400),
        "fcp_psi": (150, 1500),
        "fc_psi": (200, 4000),
        "e_psi": (5e5, 3e6),
        "emin_psi": (2e5, 1.2e6),
    },
    "timber_en338": {
        "fm_mpa": (10, 60),
        "ft_mpa": (5, 40),
        "fc_mpa": (10, 50),
        "fv_mpa": (1, 10),
        "fc90_mpa": (1, 10),
        "e_mpa": (5000, 20000),
        "e05_mpa": (3000, 15000),
        "rho_kg_m3": (250, 900),
    },
    "materials": {
        "conductivity_w_mk": (0.01, 400),
        "expansion_1e6_k": (1, 250),
        "density_kg_m3": (5, 9000),
    },
    "papers": {"width_mm": (100, 1200), "height_mm": (100, 1700)},
    "label_sheets": {
        "columns": (1, 10),
        "rows": (1, 20),
        "cell_width_mm": (15, 210),
        "cell_height_mm": (10, 300),
        "top_mm": (0, 30),
        "left_mm": (0, 30),
        "gap_across_mm": (0, 20),
        "gap_down_mm": (0, 20),
    },
    "cords": {"solid_ohm_km": (1, 100), "resistance_ohm_km": (1, 100), "at_degc": (20, 75), "rated_a": (1, 40)},
}


def table_names() -> tuple[str, ...]:
    """Return the names of all tables, sorted."""
    return tuple(sorted(path.stem for path in _HOME.glob("*.csv")))


@cache
def table(name: str) -> tuple[Row, ...]:
    """Return the checked rows of a table.

    Raises:
        RangeError: No such table, a row without source, or a number outside its column's bounds.
    """
    path = _HOME / f"{name}.csv"
    if name not in BOUNDS or not path.is_file():
        raise RangeError(f"there is no table {name}", f"tables: {', '.join(table_names())}")
    with path.open(encoding="utf-8", newline="") as file:
        rows = tuple(csv.DictReader(file))
    for number, row in enumerate(rows, start=2):
        _check_row(f"{name}.csv:{number}", row, BOUNDS[name])
    return rows


def _check_row(where: str, row: Row, bounds: dict[str, tuple[float, float]]) -> None:
    if any(value is None for value in row.values()) or not row.get("source"):
        raise RangeError(f"{where}: a cell or the source is missing")
    if row["source_kind"] not in {kind.value for kind in SourceKind}:
        raise RangeError(f"{where}: {row['source_kind']!r} is not a kind of source")
    for column, (least, most) in bounds.items():
        if row[column] and not least <= float(row[column]) <= most:
            raise RangeError(f"{where}: {column} = {row[column]} is outside {least:g} to {most:g}")


def row(name: str, key: str) -> Row:
    """Return the row of a table whose first column is ``key``."""
    rows = table(name)
    first = next(iter(rows[0]))
    for candidate in rows:
        if candidate[first] == key:
            return candidate
    raise RangeError(f"{name} has no {first} {key}", f"choose one of {', '.join(keys(name))}")


def keys(name: str) -> tuple[str, ...]:
    """Return the first column of a table, in its order."""
    rows = table(name)
    first = next(iter(rows[0]))
    return tuple(candidate[first] for candidate in rows)


def number(cells: Row, column: str) -> float | None:
    """Return a cell as a number, or None when it is empty."""
    return float(cells[column]) if cells[column] else None


def zone_low_degc(zone: str) -> float:
    """Return the lower bound of a hardiness zone [degC]: the average of the yearly lowest temperatures.

    Half of all winters are colder than the zone's average minimum.

    References:
        USDA Plant Hardiness Zone Map: half zones of 5 degF, 1a from -60 degF.
    """
    return round((float(row("zones", zone)["low_degf"]) - 32) * 5 / 9, 6)
