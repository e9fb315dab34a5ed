"""Are weather files of the open formats read as the solar library reads them, and faults named by place?"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pvlib
import pytest

from enclosure.checks.climate import MONTH_DAYS
from enclosure.checks.weather import read_weather
from enclosure.errors import BriefError, FaultsError


def moments(days: int = 3, month: int = 1):
    return [(month, day, hour) for day in range(1, days + 1) for hour in range(1, 25)]


def epw_text(rows) -> str:
    head = ["LOCATION,Example,XX,XXX,made,000000,44.0,-77.0,-5.0,100.0", "DESIGN CONDITIONS,0"]
    head += ["TYPICAL/EXTREME PERIODS,0", "GROUND TEMPERATURES,0", "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0"]
    head += ["COMMENTS 1,made for a test", "COMMENTS 2,", "DATA PERIODS,1,1,Data,Sunday,1/1,1/3"]
    body = []
    for i, (month, day, hour) in enumerate(rows):
        cells = [
            "2019",
            str(month),
            str(day),
            str(hour),
            "60",
            "?9",
            f"{-12.5 + 0.25 * (i % 24)}",
            "-14.0",
            "80",
            "101000",
        ]
        cells += [
            "0",
            "0",
            "250",
            str(300 if 9 <= hour <= 15 else 0),
            "0",
            "0",
            "0",
            "0",
            "0",
            "0",
            "200",
            "3.1",
        ]
        cells += ["5", "5", "20", "77777", "9", "999999999", "10", "0.1", "0", "88", "0.2", "0", "1"]
        body.append(",".join(cells))
    return "\n".join(head + body) + "\n"


def csv_text(rows, sun: bool = True) -> str:
    head = "month,day,hour,temperature_degc" + (",global_w_m2" if sun else "")
    body = [f"{m},{d},{h},{-10 + h / 4}" + (f",{h * 10}" if sun else "") for m, d, h in rows]
    return "\n".join([head, *body]) + "\n"


def tmy3_text(rows) -> str:
    head = '000000,"EXAMPLE",XX,-5.0,44.000,-77.000,100\n'
    names = "Date (MM/DD/YYYY),Time (HH:MM),ETR (W/m^2),GHI (W/m^2),DNI (W/m^2),DHI (W/m^2),"
    names += "Dry-bulb (C),RHum (%)\n"
    return (
        head
        + names
        + "".join(f"{m:02d}/{d:02d}/1999,{h:02d}:00,0,{h * 10},0,0,{-10 + h / 4},80\n" for m, d, h in rows)
    )


@pytest.mark.published(
    source="pvlib.iotools.read_epw, run here", where="dry bulb and global", printed="library value"
)
def test_epw_as_pvlib_reads_it(tmp_path):
    path = tmp_path / "place.epw"
    path.write_text(epw_text(moments()), encoding="utf-8")
    ours = read_weather(path)
    theirs, _ = pvlib.iotools.read_epw(path)
    assert ours.outside_degc == pytest.approx(theirs["temp_air"].to_numpy())
    assert ours.global_w_m2 == pytest.approx(theirs["ghi"].to_numpy())
    assert ours.day[25] == 2
    assert ours.hour[:3] == pytest.approx([0.5, 1.5, 2.5])


@pytest.mark.published(
    source="pvlib.iotools.read_tmy3, run here", where="dry bulb and global", printed="library value"
)
def test_tmy3_as_pvlib_reads_it(tmp_path):
    path = tmp_path / "place.csv"
    path.write_text(tmy3_text(moments()), encoding="utf-8")
    ours = read_weather(path)
    theirs, _ = pvlib.iotools.read_tmy3(path, map_variables=True)
    assert ours.outside_degc == pytest.approx(theirs["temp_air"].to_numpy())
    assert ours.global_w_m2 == pytest.approx(theirs["ghi"].to_numpy())


@pytest.mark.published(
    source="TMY3 file of Greensboro shipped with pvlib, read by pvlib",
    where="8,760 hours",
    printed="library value",
)
def test_a_real_tmy3_file_as_pvlib_reads_it():
    path = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
    ours = read_weather(path)
    theirs, _ = pvlib.iotools.read_tmy3(path, map_variables=True)
    assert len(ours.outside_degc) == 8760
    assert np.array_equal(ours.outside_degc, theirs["temp_air"].to_numpy())
    assert np.array_equal(ours.global_w_m2, theirs["ghi"].to_numpy())


def test_epw_without_sun_still_gives_its_temperatures(tmp_path):
    path = tmp_path / "place.epw"
    lines = epw_text(moments()).splitlines()
    cells = lines[20].split(",")
    cells[13] = "9999"
    lines[20] = ",".join(cells)
    path.write_text("\n".join(lines))
    weather = read_weather(path)
    assert weather.global_w_m2 is None
    assert len(weather.outside_degc) == 72


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_plain_csv_in_several_encodings(tmp_path, encoding):
    path = tmp_path / "hours.csv"
    path.write_text(csv_text(moments(), sun=False), encoding=encoding)
    weather = read_weather(path)
    assert len(weather.outside_degc) == 72
    assert weather.global_w_m2 is None


def test_a_winter_runs_over_new_year_and_leap_days_are_left_out(tmp_path):
    rows = [(12, 31, h) for h in range(1, 25)] + [(1, 1, h) for h in range(1, 25)]
    path = tmp_path / "new-year.csv"
    path.write_text(csv_text(rows))
    assert list(read_weather(path).day[[0, 24]]) == [365, 1]
    rows = [(2, d, h) for d in (28, 29) for h in range(1, 25)] + [(3, 1, h) for h in range(1, 25)]
    path.write_text(csv_text(rows))
    assert list(read_weather(path).day[[0, 24]]) == [59, 60]
    assert sum(MONTH_DAYS) == 365


def fault_of(path):
    with pytest.raises(FaultsError) as caught:
        read_weather(path)
    return caught.value.faults[0]


def test_a_gap_names_its_line(tmp_path):
    rows = moments()
    del rows[30:34]
    path = tmp_path / "gap.csv"
    path.write_text(csv_text(rows))
    fault = fault_of(path)
    assert fault.line == 32
    assert "4 hours are missing" in fault.allowed


def test_a_word_for_a_number_names_line_and_column(tmp_path):
    path = tmp_path / "word.csv"
    lines = csv_text(moments()).splitlines()
    lines[10] = lines[10].replace(lines[10].split(",")[3], "cold")
    path.write_text("\n".join(lines))
    fault = fault_of(path)
    assert (fault.line, fault.value) == (11, "cold")
    assert "column 4 (temperature_degc)" in fault.key


def test_epw_missing_value_and_short_line(tmp_path):
    path = tmp_path / "place.epw"
    lines = epw_text(moments()).splitlines()
    lines[12] = lines[12].replace(lines[12].split(",")[6], "99.9")
    path.write_text("\n".join(lines))
    fault = fault_of(path)
    assert fault.line == 13
    assert fault.key == "column 7 (dry bulb)"
    lines[12] = ",".join(lines[12].split(",")[:9])
    path.write_text("\n".join(lines))
    assert "35 columns" in fault_of(path).allowed


def test_wrong_columns_and_strange_files(tmp_path):
    path = tmp_path / "wrong.csv"
    path.write_text("month,day,temperature_degc\n1,1,-5\n")
    fault = fault_of(path)
    assert (fault.line, fault.key) == (1, "column hour")
    path.write_text("hello\nworld\n")
    with pytest.raises(BriefError, match="neither EPW nor TMY3"):
        read_weather(path)
    with pytest.raises(BriefError, match="cannot be read"):
        read_weather(tmp_path / "nowhere.epw")
    path.write_text(csv_text(moments(1)[:5]))
    with pytest.raises(BriefError, match="at least 24"):
        read_weather(path)


def test_bytes_that_are_not_text_name_line_and_column(tmp_path):
    path = tmp_path / "latin.csv"
    path.write_bytes(csv_text(moments()).encode().replace(b"1,1,3,", b"1,1,3\xb0,"))
    fault = fault_of(path)
    assert (fault.line, fault.key, fault.value) == (4, "column 6", "byte 0xB0")
    place = tmp_path / "place.epw"  # a place name in Latin-1 is no reason to refuse the hours
    place.write_bytes(epw_text(moments()).encode().replace(b"Example", b"Qu\xe9bec"))
    assert np.isfinite(read_weather(place).outside_degc).all()


def test_no_more_faults_than_can_be_read(tmp_path):
    path = tmp_path / "bad.csv"
    path.write_text("month,day,hour,temperature_degc\n" + "1,1,x,y\n" * 500)
    with pytest.raises(FaultsError) as caught:
        read_weather(path)
    assert len(caught.value.faults) <= 10
