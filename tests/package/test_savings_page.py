"""The savings page: the year's own figures where weather was given, and words that say so where it was not."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.design.support import LIBRARY, design_of, example

from galleyproof.package.facts import gather
from galleyproof.package.model import Para, Picture, Table
from galleyproof.package.savings_page import savings_page
from galleyproof.savings.read import read_weather
from galleyproof.savings.study import study

WEATHER = Path(__file__).parents[2] / "examples" / "weather" / "greensboro-tmy3.csv"


def test_without_weather_it_says_so() -> None:
    facts = gather(example("ferry-cafe"), design_of("ferry-cafe"), LIBRARY)
    (block,) = savings_page(facts).blocks
    assert isinstance(block, Para)
    assert "not yet computed" in block.text
    assert "--weather" in block.text


@pytest.mark.parametrize("name", ["ferry-cafe", "school-kitchen"])
def test_with_weather_it_holds_the_years_figures(name: str) -> None:
    """The figures of the page are those of the year computed by itself."""
    weather = read_weather(WEATHER.read_text(encoding="utf-8"), WEATHER.name)
    facts = gather(example(name), design_of(name), LIBRARY, weather=weather)
    year = study(example(name), weather)
    page = savings_page(facts)
    cells = " ".join(c for b in page.blocks if isinstance(b, Table) for r in b.rows for c in r)
    energy = year.energy("demand control")
    assert f"{energy.exhaust_kwh:,.0f} kWh" in cells
    assert f"{year.savings[0].fan_ratio:.1%}" in cells
    pictures = [b for b in page.blocks if isinstance(b, Picture)]
    assert len(pictures) == 1
    assert pictures[0].svg.startswith("<svg")
    assert pictures[0].alt
