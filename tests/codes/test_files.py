"""The data files themselves: checksums, what is said of each column, and no drift from the page."""

from __future__ import annotations

import hashlib
import re
from importlib import resources
from pathlib import Path

import pytest

from galleyproof.tables import TableError, load, table_names

DATA = resources.files("galleyproof.tables") / "data"
DOC = Path(__file__).parents[2] / "docs" / "tables.md"

# Suffix of a heading -> units it may carry; longest suffix first.
SUFFIXES = {
    "_ohm_per_kft": {"ohm/kft"},
    "_ohm_per_km": {"ohm/km"},
    "_cfm_per_ft": {"cfm/ft"},
    "_a_times_v": {"VA"},
    "_va_per_v": {"A"},
    "_degc": {"degC"},
    "_degf": {"degF"},
    "_inch": {"in"},
    "_sqin": {"in2"},
    "_mm2": {"mm2"},
    "_mm": {"mm"},
    "_pct": {"%"},
    "_ohm": {"ohm"},
    "_hp": {"hp"},
    "_va": {"VA"},
    "_ft": {"ft"},
    "_kw": {"kW"},
    "_a": {"A"},
    "_v": {"V"},
    "_m": {"m"},
    "_k": {"K"},
}


def test_there_are_tables():
    assert len(table_names()) > 40
    assert len(set(table_names())) == len(table_names())


@pytest.mark.parametrize("name", table_names())
def test_checksum_is_that_of_the_file(name: str):
    table = load(name)
    data = (DATA / table.area / f"{name}.csv").read_bytes()
    assert hashlib.sha256(data).hexdigest() == table.csv_sha256
    assert b"\r" not in data
    assert data.endswith(b"\n")


@pytest.mark.parametrize("name", table_names())
def test_each_column_says_what_it_is(name: str):
    table = load(name)
    assert table.rows
    assert table.standard
    assert table.table
    assert table.title
    assert table.source
    assert table.first_typing
    assert table.second_typing
    for column in table.columns:
        assert column.kind in ("number", "label", "text")
        assert column.authority in ("published", "computed", "from memory")
        assert column.confidence in ("high", "medium")
        assert column.unit
        if column.kind != "number":
            continue
        suffix = next((s for s in SUFFIXES if column.name.endswith(s)), None)
        # A heading like sensible_w_per_kw is a ratio whose last part alone is no unit.
        ratio = "_per_" in column.name and "_per_" not in (suffix or "")
        if suffix and not ratio:
            assert column.unit in SUFFIXES[suffix], column.name


@pytest.mark.parametrize("name", table_names())
def test_files_hold_no_address(name: str):
    table = load(name)
    for ending in ("csv", "toml"):
        text = (DATA / table.area / f"{name}.{ending}").read_text(encoding="utf-8")
        assert not re.search(r"https?:|www\.|@|/(home|tmp|work)/", text)


def test_reader_finds_every_file_pair():
    for folder in DATA.iterdir():
        names = sorted(f.name for f in folder.iterdir())
        assert [n for n in names if n.endswith(".csv")] == [
            n.replace(".toml", ".csv") for n in names if n.endswith(".toml")
        ]


def test_page_lists_every_table():
    text = DOC.read_text(encoding="utf-8")
    missing = [name for name in table_names() if f"`{name}`" not in text]
    assert missing == []


def test_unknown_table_names_the_nearest():
    with pytest.raises(TableError, match=r"'nfpa70_2023_table_430_251' is not a table; nearest: .*430_250"):
        load("nfpa70_2023_table_430_251")
