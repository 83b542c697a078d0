"""``galleyproof savings`` as its users start it."""

from __future__ import annotations

import json
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
from tests.cli.test_processes import CAFE, ROOT, run
from tests.savings.weather_files import epw, year

WEATHER = ROOT / "examples" / "weather" / "greensboro-tmy3.csv"
HOSPITAL = ROOT / "examples" / "hospital.yaml"
USE = """\
kitchen_use:
  day_types:
    - name: open
      runs: ["06:00-22:00"]
      cooking: [{hours: "11:00-14:00", intensity: 80 %}]
      low_speed: ["06:00-10:00"]
  hemisphere: northern
  prices: {currency: EUR, per_kwh: 0.2, per_therm: 1.5}
  carbon: {kg_per_kwh: 0.4, kg_per_therm: 5.3}
  investment: 9000
"""


@pytest.fixture(scope="module")
def cafe(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The smallest job, with a use of its own."""
    text = CAFE.read_text(encoding="utf-8")
    if "kitchen_use:" in text:
        text = re.sub(r"^kitchen_use:.*\n(?:[ #].*\n|\n)*", "", text, flags=re.MULTILINE)
    path = tmp_path_factory.mktemp("job") / "cafe.yaml"
    path.write_text(text + "\n" + USE, encoding="utf-8")
    return path


def test_a_year_with_prices(cafe: Path) -> None:
    done = run("savings", cafe, "--weather", WEATHER)
    assert (done.returncode, done.stderr) == (0, "")
    words = " ".join(done.stdout.split())
    for part in ("Exhaust fans", "EUR", "Simple payback", "years", "Published results (a bound)", "no promise"):
        assert part in words
    assert "SAVINGS-USE-ASSUMED" not in words


@pytest.fixture(scope="module")
def as_data(cafe: Path) -> str:
    """The year as data."""
    done = run("savings", cafe, "--weather", WEATHER, "--json")
    assert (done.returncode, done.stderr) == (0, "")
    return done.stdout


def test_the_same_as_data(as_data: str) -> None:
    data = json.loads(as_data)
    assert data["weather"]["hours"] == 8760
    assert data["use"]["running_hours"] == 16 * 365
    assert set(data["year"]) == {"constant volume", "two-speed", "demand control"}
    constant, two_speed, demand = (data["year"][c] for c in ("constant volume", "two-speed", "demand control"))
    saved = data["savings"][0]
    assert saved["fan_kwh"] == pytest.approx(
        constant["exhaust_kwh"] + constant["supply_kwh"] - demand["exhaust_kwh"] - demand["supply_kwh"]
    )
    assert saved["cost"] == pytest.approx(constant["cost"] - demand["cost"])
    assert saved["payback_years"] == pytest.approx(9000 / saved["cost"])
    assert saved["bands"]["cost"]["low"] < saved["cost"] < saved["bands"]["cost"]["high"]
    assert demand["exhaust_kwh"] < two_speed["exhaust_kwh"] < constant["exhaust_kwh"]
    months = [m["fan_kwh"] for m in data["months"] if m["case"] == "demand control"]
    assert len(months) == 12
    assert sum(months) == pytest.approx(demand["exhaust_kwh"] + demand["supply_kwh"])
    assert sum(step["fan_hours"] for step in data["histogram"]) == pytest.approx(16 * 365)


def test_the_same_bytes_each_time(cafe: Path, as_data: str) -> None:
    assert run("savings", cafe, "--weather", WEATHER, "--json").stdout == as_data


def test_why_a_fan(cafe: Path) -> None:
    done = run("savings", cafe, "--weather", WEATHER, "--why", "EF-1")
    assert done.returncode == 0
    words = " ".join(done.stdout.split())
    assert "EF-1: electric power at full speed" in words
    assert "never from a mean speed" in words


def test_why_an_unknown_item(cafe: Path) -> None:
    done = run("savings", cafe, "--weather", WEATHER, "--why", "EF-2")
    assert done.returncode == 2
    assert done.stdout == ""
    assert "no item 'EF-2'" in done.stderr
    assert "EF-1" in done.stderr


def test_a_chart(cafe: Path, tmp_path: Path) -> None:
    chart = tmp_path / "year.svg"
    done = run("savings", cafe, "--weather", WEATHER, "--chart", chart)
    assert done.returncode == 0
    assert ET.parse(chart).getroot().tag.endswith("svg")


def test_a_chart_that_cannot_be_written(cafe: Path, tmp_path: Path) -> None:
    done = run("savings", cafe, "--weather", WEATHER, "--chart", tmp_path / "none" / "year.svg")
    assert done.returncode == 2
    assert "cannot be written" in done.stderr


def test_the_hospital() -> None:
    done = run("savings", HOSPITAL, "--weather", WEATHER)
    assert (done.returncode, done.stderr) == (0, "")


def test_weather_that_is_not_there(cafe: Path, tmp_path: Path) -> None:
    done = run("savings", cafe, "--weather", tmp_path / "none.epw")
    assert (done.returncode, done.stdout) == (2, "")
    assert "none.epw: cannot be read" in done.stderr


def test_weather_with_a_missing_hour(cafe: Path, tmp_path: Path) -> None:
    lines = epw(year()).splitlines()
    del lines[100]
    path = tmp_path / "gap.epw"
    path.write_text("\n".join(lines), encoding="utf-8")
    done = run("savings", cafe, "--weather", path)
    assert (done.returncode, done.stdout) == (2, "")
    assert "gap.epw:101: 01-04 hour 22: an hour is missing before it" in done.stderr


def test_weather_of_the_other_hemisphere(cafe: Path, tmp_path: Path) -> None:
    path = tmp_path / "south.epw"
    path.write_text(epw(year(southern=True), latitude=-43.5), encoding="utf-8")
    done = run("savings", cafe, "--weather", path)
    assert (done.returncode, done.stdout) == (2, "")
    assert "south.epw:1: Saltmarrow Quay" in done.stderr
    assert "southern hemisphere" in done.stderr


def test_a_leap_year_and_a_station_name_in_latin_1(cafe: Path, tmp_path: Path) -> None:
    path = tmp_path / "leap.epw"
    path.write_bytes(epw(year(leap=True), station="Saltmarrow Café").encode("latin-1"))
    done = run("savings", cafe, "--weather", path, "--json")
    data = json.loads(done.stdout)
    assert (data["weather"]["hours"], data["weather"]["station"]) == (8784, "Saltmarrow Café")
    assert data["use"]["running_hours"] == 16 * 366


# one edit of the use, and what is said of it
WRONG_USE = {
    ("per_kwh: 0.2", "per_kwh: -0.2"): r"prices: per_kwh: .*-0\.2",
    ("per_therm: 1.5", "per_therm: -1"): r"prices: per_therm: .*-1",
    ("kg_per_kwh: 0.4", "kg_per_kwh: -0.4"): r"carbon: kg_per_kwh: .*-0\.4",
    ("investment: 9000", "investment: -1"): r"investment: .*-1",
    ('"06:00-10:00"', '"06:00-25:00"'): r"low_speed: entry 1: .*24-hour clock",
}


def test_a_use_that_cannot_be(cafe: Path, tmp_path: Path) -> None:
    """Negative prices and the like: all at once, each with its line."""
    text = cafe.read_text(encoding="utf-8")
    for old, new in WRONG_USE:
        assert text.count(old) == 1
        text = text.replace(old, new)
    path = tmp_path / "wrong.yaml"
    path.write_text(text, encoding="utf-8")
    done = run("savings", path, "--weather", WEATHER)
    assert (done.returncode, done.stdout) == (2, "")
    assert len(done.stderr.splitlines()) == len(WRONG_USE), done.stderr
    for said in WRONG_USE.values():
        assert re.search(rf"wrong\.yaml:\d+: kitchen_use: .*{said}", done.stderr), done.stderr


def test_the_weather_is_needed(cafe: Path) -> None:
    done = run("savings", cafe)
    assert done.returncode == 2
    assert "--weather" in done.stderr
