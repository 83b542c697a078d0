"""The workbook read back by another library, against the schedules and the design."""

from __future__ import annotations

import io
import zipfile

import openpyxl
import pytest
from tests.package.support import facts_of, job_with, school, school_package

from galleyproof import units
from galleyproof.package.workbook import as_value, tables, write_workbook


@pytest.fixture(scope="module")
def book():
    return openpyxl.load_workbook(io.BytesIO(school_package()["wires.xlsx"]))


def test_every_cell_of_every_schedule_is_in_it(book):
    for name, columns, rows in tables(school()):
        found = list(book[name].iter_rows(values_only=True))
        assert found[0] == tuple(c.title for c in columns)
        assert len(found) == len(rows) + 1
        for shown, row in zip(found[1:], rows, strict=True):
            wanted = [as_value(t) if c.right else t for c, t in zip(columns, row, strict=True)]
            assert ["" if v is None else v for v in shown] == wanted


def test_the_conductors_are_those_of_the_design(book):
    sheet = book["Conductors"]
    head = [c.value for c in sheet[1]]
    found = {
        row[head.index("No.")]: (row[head.index("From")], row[head.index("To")], row[head.index("Size")])
        for row in sheet.iter_rows(min_row=2, values_only=True)
    }
    # the sizes come from the sizing of the job, the rest from its design
    wanted = {
        c.number: (str(c.a), str(c.b), units.format_awg(school().sizes.conductors[c.key].awg))
        for c in school().design.conductors
    }
    assert found == wanted


def test_schedules_are_tables_with_filters_ready_to_print(book):
    for sheet in book:
        (table,) = sheet.tables.values()
        assert table.autoFilter is not None
        assert sheet.freeze_panes == "A2"
        assert sheet.print_title_rows == "$1:$1"
        assert sheet.page_setup.orientation == "landscape"
        assert sheet.sheet_properties.pageSetUpPr.fitToPage
        assert "DRAFT" in sheet.oddHeader.right.text


def test_dates_come_from_the_job():
    made = write_workbook(facts_of(job_with("revision: A", "revision: A\n  date: 2026-03-04")))
    book = openpyxl.load_workbook(io.BytesIO(made))
    assert book.properties.created.date().isoformat() == "2026-03-04"
    assert {i.date_time for i in zipfile.ZipFile(io.BytesIO(made)).infolist()} == {(1980, 1, 1, 0, 0, 0)}


def test_a_text_that_looks_like_a_formula_stays_a_text():
    facts = facts_of(
        job_with("place: fire alarm panel", "place: '=HYPERLINK(1)'", "to: fire alarm panel", "to: '=HYPERLINK(1)'")
    )
    book = openpyxl.load_workbook(io.BytesIO(write_workbook(facts)))
    cells = [c for row in book["Cables"].iter_rows() for c in row if c.value == "=HYPERLINK(1)"]
    assert cells
    assert {c.data_type for c in cells} == {"s"}


@pytest.mark.parametrize(
    ("text", "value"), [("1,200", 1200.0), ("31%", 0.31), ("A", "A"), ("", ""), ("12 AWG", "12 AWG"), ("-3.5", -3.5)]
)
def test_numbers_are_numbers(text, value):
    assert as_value(text) == value
