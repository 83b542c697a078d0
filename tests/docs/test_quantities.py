"""docs/quantities.md and galleyproof.units say the same."""

import re
from pathlib import Path

import pytest

from galleyproof.units import KINDS, UnitError, parse

PAGE = (Path(__file__).parents[2] / "docs" / "quantities.md").read_text(encoding="utf-8")


def section(title: str) -> str:
    return PAGE.split(f"\n## {title}\n")[1].split("\n## ")[0]


def rows(title: str) -> list[list[str]]:
    """The cells of the body rows of the first table of a section, without code marks."""
    lines = [line for line in section(title).splitlines() if line.startswith("|")]
    return [[cell.strip().strip("`") for cell in line.strip("|").split("|")] for line in lines[2:]]


def test_every_kind_is_on_the_page_with_its_suffix_and_unit_and_no_other():
    on_page = [(kind, suffix, unit) for kind, suffix, unit, _ in rows("Kinds")]
    assert sorted(on_page) == sorted((k.name, k.suffix, k.core) for k in KINDS.values())


def test_every_kind_has_a_meaning():
    assert all(len(meaning) > 10 for *_, meaning in rows("Kinds"))


def test_every_suffix_named_anywhere_on_the_page_is_in_one_of_its_tables():
    listed = {row[1] for row in rows("Kinds")} | {row[0] for row in rows("Other units")}
    named = set(re.findall(r"`(_[a-z0-9]+)`", PAGE))
    assert named == listed


@pytest.mark.parametrize(("suffix", "kind", "unit"), [row[:3] for row in rows("Other units")])
def test_every_other_unit_is_one_that_its_kind_accepts_and_not_the_core_one(suffix, kind, unit):
    parse(f"1 {unit}", kind)
    assert unit != KINDS[kind].core
    assert suffix not in {k.suffix for k in KINDS.values()}
    assert suffix.strip("_") == re.sub(r"\W", "", unit).lower()


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        (text, kind, value)
        for row, kind, value in zip(
            rows("Writing a quantity"),
            ("power_mech", "length_inch", "airflow", "temperature", "ratio"),
            (1.5, 42, 2400, 104, 0.4),
            strict=True,
        )
        for text in re.findall(r"([^`]+)(?:`, `|$)", row[0])
    ],
)
def test_what_the_page_says_is_read_is_read(text, kind, value):
    assert parse(text, kind) == value


@pytest.mark.parametrize(
    ("text", "kind"),
    [("2 400 cfm", "airflow"), ("1.500,5", "airflow"), ("24 VDC", "voltage"), ("120/208 V", "voltage")],
)
def test_what_the_page_says_is_refused_is_refused(text, kind):
    assert f"`{text}`" in section("Writing a quantity")
    with pytest.raises(UnitError, match="cannot be read"):
        parse(text, kind)


def test_the_inch_of_water_is_the_one_the_page_gives():
    assert "249.08891 Pa" in section("Kinds")
    assert parse("249.08891 Pa", "static_pressure") == 1
