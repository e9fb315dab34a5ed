"""Is a site read, and is the zone turned into a design temperature?"""

from __future__ import annotations

from pathlib import Path

import pytest

from enclosure.errors import FaultsError
from enclosure.site.read import read_site
from enclosure.templates_home import find_template, template_names

COLD = find_template("sites", "cold-inland").read_text(encoding="utf-8")


def site_with(tmp_path: Path, *changes: tuple[str, str]) -> Path:
    text = COLD
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    path = tmp_path / "site.toml"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize("name", template_names("sites"))
def test_shipped_sites_read(name: str) -> None:
    site = read_site(find_template("sites", name))
    assert site.monthly_mean_degc is not None
    assert len(site.monthly_mean_degc) == 12


def test_cold_inland_by_hand() -> None:
    site = read_site(find_template("sites", "cold-inland"))
    assert (site.latitude_deg, site.longitude_deg, site.altitude_m) == (44, -77, 100)
    assert site.wind.gust_m_s == pytest.approx(80 / 3.6)
    # 40 psf x 47.88026 Pa
    assert site.snow_ground_kpa == pytest.approx(1.91521, abs=1e-5)
    assert site.design_min_degc == -30


@pytest.mark.published(source="USDA Plant Hardiness Zone Map", where="zone 5b", printed="-15 F = -26.1 C")
def test_zone_gives_the_design_temperature(tmp_path: Path) -> None:
    site = read_site(site_with(tmp_path, ('design_min = "-30 degC"\n', "")))
    assert round(site.design_min_degc, 1) == -26.1


@pytest.mark.parametrize(
    ("old", "new", "key", "words"),
    [
        ('zone = "5b"', 'zone = "5c"', "zone", "hardiness zone"),
        ('soil = "garden"', 'soil = "gardn"', "soil", "soil"),
        ('soil = "garden"', 'soil = "paving slabs"', "soil", "no post can be driven"),
        ('gust = "80 km/h"', "gust = 80", "wind.gust", "no unit"),
        ('gust = "80 km/h"', 'gust = "800 km/h"', "wind.gust", "from 5 m/s to 90 m/s"),
        ('gust = "80 km/h"', 'route = "asce7"\nspeed = "105 mph"', "wind", "needs exposure"),
        (
            'gust = "80 km/h"',
            'route = "en1991"\nspeed = "24 m/s"\nterrain = "open"',
            "wind",
            "does not belong",
        ),
        ('snow_ground = "40 psf"', 'snow_ground = "-1 psf"', "snow_ground", "from 0 kPa"),
        ('latitude = "44.0 deg N"', 'latitude = "91 deg N"', "latitude", "from -66 deg"),
        ('"-7 degC", ', "", "monthly_mean", "12"),
    ],
)
def test_one_fault(tmp_path: Path, old: str, new: str, key: str, words: str) -> None:
    with pytest.raises(FaultsError) as caught:
        read_site(site_with(tmp_path, (old, new)))
    (fault,) = caught.value.faults
    assert fault.key == key
    assert words in fault.allowed
    assert fault.line > 0
    assert fault.hint


def test_neither_zone_nor_temperature(tmp_path: Path) -> None:
    with pytest.raises(FaultsError) as caught:
        read_site(site_with(tmp_path, ('design_min = "-30 degC"\n', ""), ('zone = "5b"\n', "")))
    (fault,) = caught.value.faults
    assert fault.key == "design_min"
    assert "zone" in fault.hint


def test_code_routes(tmp_path: Path) -> None:
    gust = 'gust = "80 km/h"'
    asce = read_site(site_with(tmp_path, (gust, 'route = "asce7"\nspeed = "105 mph"\nexposure = "C"'))).wind
    assert asce.speed_m_s == pytest.approx(105 * 0.44704)
    nbcc = read_site(
        site_with(tmp_path, (gust, 'route = "nbcc"\nhourly_pressure = "0.4 kPa"\nterrain = "open"'))
    ).wind
    assert nbcc.hourly_pressure_kpa == 0.4
