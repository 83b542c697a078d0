"""The weather readers against an independent reader and against totals computed elsewhere.

pvlib reads the same files row for row; its package carries two TMY3 files of the US national solar radiation data
base. Degree-hours, degree-days and percentiles were computed once from the packaged dry-bulb columns without any code
of this project; the table gives one decimal or whole numbers, hence the tolerances.
"""

import csv
import io
from pathlib import Path

import numpy as np
import pvlib
import pytest
from tests.savings.weather_files import epw, year

from galleyproof.savings.read import read_weather

DATA = Path(pvlib.__file__).parent / "data"
EXAMPLES = Path(__file__).parents[2] / "examples" / "weather"
FILES = {"Greensboro NC": DATA / "723170TYA.CSV", "Sand Point AK": DATA / "703165TY.csv"}

# hours, min, max, mean, HDD65 by daily means, HDH50, 55, 60, 65, 70, CDH75, CDH80, mean pressure in kPa
STATISTICS = {
    "Greensboro NC": (1.9, 96.1, 57.96, 3875.8, 37455, 53815, 73607, 97209, 125603, 9968, 4041, 98.69),
    "Sand Point AK": (12.9, 66.9, 39.96, 9140.6, 94017, 132887, 175733, 219381, 263175, 0, 0, 101.2),
}
WAKING = {"Greensboro NC": (30107, 55934), "Sand Point AK": (85452, 142779)}  # HDH55, HDH65 of hour endings 7 to 22

pytestmark = pytest.mark.outside


@pytest.fixture(scope="module", params=FILES)
def station(request):
    file = FILES[request.param]
    return request.param, read_weather(file.read_text(encoding="ascii"), file.name), file


def test_tmy3_row_for_row(station):
    _name, weather, file = station
    frame, about = pvlib.iotools.read_tmy3(file, map_variables=True)
    assert len(frame) == weather.hours == 8760
    np.testing.assert_allclose(weather.air_degf, frame["temp_air"].to_numpy() * 1.8 + 32.0, rtol=0, atol=1e-12)
    dew = np.minimum(frame["temp_dew"], frame["temp_air"]).to_numpy()  # fog is printed a tenth too wet here and there
    np.testing.assert_allclose(weather.dew_point_degf, dew * 1.8 + 32.0, rtol=0, atol=1e-12)
    np.testing.assert_allclose(weather.pressure_psia * 68.94757293168361, frame["pressure"], rtol=1e-12)
    dates = frame["Date (MM/DD/YYYY)"].str.split("/", expand=True).astype(int)
    assert (weather.month == dates[0].to_numpy()).all()
    assert (weather.day == dates[1].to_numpy()).all()
    assert (weather.hour == frame["Time (HH:MM)"].str[:2].astype(int).to_numpy()).all()
    assert (weather.latitude_deg, weather.longitude_deg) == (about["latitude"], about["longitude"])
    assert weather.elevation_ft == pytest.approx(about["altitude"] / 0.3048)


def test_epw_row_for_row():
    text = epw(year(southern=True), latitude=-43.5)
    weather = read_weather(text)
    frame, about = pvlib.iotools.read_epw(io.StringIO(text))
    np.testing.assert_allclose(weather.air_degf, frame["temp_air"].to_numpy() * 1.8 + 32.0, rtol=0, atol=1e-12)
    np.testing.assert_allclose(weather.dew_point_degf, frame["temp_dew"].to_numpy() * 1.8 + 32.0, rtol=0, atol=1e-12)
    np.testing.assert_allclose(weather.pressure_psia * 6894.757293168361, frame["atmospheric_pressure"], rtol=1e-12)
    assert (weather.month == frame["month"].to_numpy()).all()
    assert (weather.day == frame["day"].to_numpy()).all()
    assert (weather.hour == frame["hour"].to_numpy()).all()
    assert weather.latitude_deg == about["latitude"]


def test_degree_hours_and_degree_days(station):
    name, weather, _file = station
    low, high, mean, days, *hours, cool75, cool80, kpa = STATISTICS[name]
    assert weather.air_degf.min() == pytest.approx(low, abs=0.06)
    assert weather.air_degf.max() == pytest.approx(high, abs=0.06)
    assert weather.air_degf.mean() == pytest.approx(mean, abs=0.006)
    assert weather.heating_degree_days_degf(65.0) == pytest.approx(days, abs=0.06)
    for base, total in zip((50.0, 55.0, 60.0, 65.0, 70.0), hours, strict=True):
        assert weather.heating_degree_hours_degf(base) == pytest.approx(total, abs=0.6)
    assert weather.cooling_degree_hours_degf(75.0) == pytest.approx(cool75, abs=0.6)
    assert weather.cooling_degree_hours_degf(80.0) == pytest.approx(cool80, abs=0.6)
    assert weather.pressure_psia.mean() * 6.894757 == pytest.approx(kpa, abs=0.006)


def test_degree_hours_of_waking_hours(station):
    name, weather, _file = station
    waking = (weather.hour >= 7) & (weather.hour <= 22)
    for base, total in zip((55.0, 65.0), WAKING[name], strict=True):
        cold = np.maximum(0.0, base - weather.air_degf[waking]).sum()
        assert cold == pytest.approx(total, abs=0.6)


def test_the_file_among_the_examples_is_the_public_one():
    (ours,) = EXAMPLES.glob("*.csv")
    assert ours.read_bytes() == FILES["Greensboro NC"].read_bytes()
    rows = list(csv.reader(ours.read_text(encoding="ascii").splitlines()))
    assert rows[0][1] == "GREENSBORO PIEDMONT TRIAD INT"
    assert "DOE/NREL/ALLIANCE" in (EXAMPLES / "README.md").read_text(encoding="utf-8")
