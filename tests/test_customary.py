"""Do sentences of the checks speak feet, pounds and °F on inch papers?

Factors by hand from [NIST-SP811] appendix B: 1 in = 25.4 mm, 1 lb = 0.45359237 kg, 1 lbf = 4.448222 N,
1 psf = 47.88026 Pa, 1 psi = 6894.757 Pa, 1 mile = 1609.344 m, 1 lbf ft = 1.355818 N m, 1 sq ft = 0.09290304 m².
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from enclosure.outputs.paper.customary import customary
from enclosure.outputs.paper.report import write_report
from enclosure.pipeline.check import check
from enclosure.pipeline.walk import design_from
from enclosure.templates_home import find_template
from tests.paper_pages import text_of


@pytest.mark.published(source="NIST-SP811", where="appendix B.8", printed="factors in the header")
@pytest.mark.parametrize(
    ("metric", "inch"),
    [
        ("posts driven 1219 mm deep", "posts driven 48 in deep"),
        ("gust 80 km/h (22.2 m/s)", "gust 49.7 mph (22.2 m/s)"),
        ("1120 of 1146 N", "252 of 258 lbf"),
        ("46.1 of 30 °C", "115 of 86 °F"),
        ("held on average 3.8 °C (39 °F); from -5.2 °C (23 °F)", "held on average 39 °F; from 23 °F"),
        ("-30 to 50 degC", "-22 to 122 degF"),
        ("12 of 15.4 mm", "0.472 of 0.606 in"),
        ("38 x 64 mm, stud", "1 1/2 x 2 1/2 in, stud"),
        ("roof snow 1.55 kPa", "roof snow 32.4 psf"),
        ("35.4 of 204 N m", "26.1 of 150 lbf ft"),
        ("6.12 of 8.19 MPa", "888 of 1188 psi"),
        ("at least 1.5 m long", "at least 4 ft 11 1/16 in long"),
        ("mass 90 kg", "mass 198 lb"),
        ("0.14 of 0.14 m²", "1.51 of 1.51 sq ft"),
    ],
)
def test_quantities_are_told_again(metric: str, inch: str) -> None:
    assert customary(metric) == inch


@pytest.mark.parametrize(
    "words",
    ["0.5 N/mm", "25605 mm³", "3.5 W/m²K", "20.9 kPa/m", "11.4 mol/m² a day", "ASCE 7.2.9", 'depth = "1050 mm"'],
)
def test_what_has_no_everyday_unit_stays(words: str) -> None:
    assert customary(words) == words


def test_names_of_materials_stay_as_the_stock_file_writes_them() -> None:
    name = "twin-wall polycarbonate 10 mm"
    assert customary(f"free 254 mm; {name}", [name]) == f"free 10 in; {name}"


def test_the_first_pages_of_an_inch_report_hold_no_metric_quantity(tmp_path: Path) -> None:
    brief = find_template("briefs", "tree-fern")
    design = design_from(brief).design
    path = tmp_path / "report.pdf"
    write_report(design, check(brief), path)
    first = [page for page in text_of(path) if page.startswith(("Will it stand", "Checks, worst first"))]
    assert len(first) >= 2
    metric = re.compile(r"\d (?:mm|cm|m|kg|N|N m|kPa|MPa|km/h|°C|degC|m²)(?![\w/²³])")
    for page in first:
        body = page.split("\n")
        for name in (material.name for material in design.materials):
            body = [line.replace(name, "") for line in body]
        assert [line for line in body if metric.search(line)] == []
