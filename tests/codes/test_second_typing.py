"""Every table beside a second, independent typing, cell by cell."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from tests.codes.typings import FOLDER, PAIRS, Pair, compare, read

from galleyproof.tables import load
from galleyproof.tables.conductors import AWG_ORDER
from galleyproof.tables.sensors import ntc_10k_curve

DOC = Path(__file__).parents[2] / "docs" / "tables.md"


@pytest.mark.parametrize("pair", PAIRS, ids=lambda p: p.second)
def test_typings_agree_except_where_the_difference_is_settled(pair: Pair):
    found = compare(pair)
    assert found.cells > 0
    assert found.differences == pair.differences
    assert (found.rows_only_second, found.rows_only_shipped) == (
        pair.rows_only_second,
        pair.rows_only_shipped,
    )


def test_every_second_typing_is_compared():
    compared = {p.second for p in PAIRS} | {"common_ntc_10k_type2", "common_ntc_10k_type3"}
    assert compared == {f.stem for f in FOLDER.glob("*.csv")}


@pytest.mark.parametrize(
    ("name", "column"),
    [
        ("nfpa70_2023_table_310_16", "size_awg_kcmil"),
        ("nfpa70_2023_ch9_table_8", "size_awg_kcmil"),
    ],
)
def test_second_typing_covers_18_awg_to_250_kcmil(name: str, column: str):
    typed = {row[column] for row in read(name)}
    shipped = {row.label("size") for row in load(name).all_rows()}
    wanted = set(AWG_ORDER[AWG_ORDER.index("18") : AWG_ORDER.index("250") + 1]) & shipped
    assert {"18", "250"} <= wanted <= typed


def test_second_typing_covers_a_sixth_to_50_hp():
    single = {row["hp"] for row in read("nfpa70_2023_table_430_248")}
    three = {row["hp"] for row in read("nfpa70_2023_table_430_250")}
    assert {"1/6", "1/4", "1/3", "1/2", "3/4", "1", "1-1/2", "2", "3", "5", "7-1/2", "10"} <= single
    assert {
        "1/2",
        "3/4",
        "1",
        "1-1/2",
        "2",
        "3",
        "5",
        "7-1/2",
        "10",
        "15",
        "20",
        "25",
        "30",
        "40",
        "50",
    } <= three


@pytest.mark.parametrize(
    ("name", "curve", "accuracy"),
    # A thermistor print is rounded to the ohm and fitted by its own maker: the tolerance is what was found,
    # 0.25 percent (0.08 K) for curve 2 and 0.05 percent (0.02 K) for curve 3.
    [("common_ntc_10k_type2", "2", 0.0025), ("common_ntc_10k_type3", "3", 0.0005)],
)
def test_thermistor_curves_reproduce_the_second_typing(name: str, curve: str, accuracy: float):
    rows = read(name)
    assert len(rows) >= 12
    for row in rows:
        assert ntc_10k_curve(curve).ohm(float(row["t_c"])) == pytest.approx(
            float(row["r_ohm_printed"]), rel=accuracy
        ), row


def test_page_reports_what_the_comparison_finds():
    """docs/tables.md lists cells compared and differences per table; it may not drift from the files."""
    rows = re.findall(r"^\| `([\w]+)` \| (\d+) \| (\d+) \|", DOC.read_text(encoding="utf-8"), flags=re.MULTILINE)
    reported = {name: (int(cells), int(differences)) for name, cells, differences in rows}
    assert reported == {p.shipped: (compare(p).cells, len(p.differences)) for p in PAIRS}
    total = re.search(r"(\d+) cells in (\d+) tables", DOC.read_text(encoding="utf-8"))
    assert total
    assert (int(total[1]), int(total[2])) == (sum(compare(p).cells for p in PAIRS), len(PAIRS))
