"""Schedules brought in: limits first, guesses that fit, nothing lost, and our own workbook comes back the same."""

from __future__ import annotations

import io
import re
import zipfile

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.web.support import EXAMPLES, make_site

from galleyproof.job.read import read_job
from galleyproof.job.sample import job_of
from galleyproof.job.write import dump_job
from galleyproof.store.errors import RefusedError
from galleyproof.store.jobs import find_jobs, save_of
from galleyproof.web.lineup import sheets as limits
from galleyproof.web.lineup.matching import Column, Matched, brought_in, guess, looked_at
from galleyproof.web.lineup.sheets import Sheet, read_sheets
from galleyproof.web.lineup.text import read_text
from galleyproof.web.lineup.workbook import write_workbook

HOODS = b'''Hood schedule of the annex,,,,,,
,,,,,,
Mark,Hood type,Length (in),Exhaust CFM,Fire zone,Light watts,Remarks
H-1,wall canopy,96,2400,Z1,200,first
H-2,wall canopy,"8' 6""",2 000,Z1,,second
'''
FANS = b"""Fan,Location,Serves,CFM,SP (in wg),HP,Volts,Phase,Ckt
EF-1,roof,H-1,2400,1.25,1-1/2,208,3,LP-1/3
EF-2,roof,H-2,"2,000",1,2 hp,208,3,LP-1/9
"""
COOKING = b"""Unit;Hood;Appliance;Duty;Fuel;kW;Gas input (Btu/h)
A-1;H-1;fryer;heavy;gas;;120,000
A-2;H-2;griddle;medium;electric;8;
A-3;H-9;toaster;light;electric;2;
"""


def one(name: str, content: bytes) -> Sheet:
    (sheet,) = read_sheets(name, content)
    return sheet


def fields(matched: Matched) -> list[str]:
    return [c.field for c in matched.columns]


# --- guesses ----------------------------------------------------------------------------------------------------------


def test_a_hood_schedule_is_known_by_its_titles():
    sheet = one("hood schedule.csv", HOODS)
    found = guess(sheet)
    assert (found.kind, found.head) == ("hoods", 3)
    assert fields(found) == ["tag", "style", "length", "air.airflow", "zone", "lights.load", ""]
    assert [c.unit for c in found.columns][2:6] == ["in", "cfm", "", "W"]
    seen = looked_at(sheet, found)
    assert seen.rows[0] == (4, ("H-1", "wall canopy", "96 in", "2400 cfm", "Z1", "200 W"))
    assert seen.left_out == ("Remarks",)
    # a number with a gap in it can be read in two ways: it stays as it is written, and is told
    assert seen.rows[1][1][2:4] == ("8' 6\"", "2 000")
    assert list(seen.wrong) == [(1, 3)]


def test_a_fan_schedule_is_known_by_its_titles():
    found = guess(one("fans.csv", FANS))
    assert found.kind == "exhaust_fans"
    assert fields(found) == [
        "tag", "place", "serves", "airflow", "static_pressure", "drive.motor.hp", "drive.motor.volts",
        "drive.motor.phases", "circuit",
    ]  # fmt: skip
    assert looked_at(one("fans.csv", FANS), found).wrong == {}


def test_appliances_go_under_their_hoods():
    found = guess(one("cooking.csv", COOKING))
    assert found.kind == "hoods.appliances"
    assert fields(found) == ["tag", "parent-0", "kind", "duty", "fuel", "load", "heat_input"]


def test_a_sheet_about_something_else_is_left_out():
    assert guess(one("prices.csv", b"Month,Euro\nJan,4\nFeb,5\n")).kind == ""


# --- nothing is lost --------------------------------------------------------------------------------------------------


def test_rows_find_their_entries_and_others_are_told():
    text = read_text(dump_job(job_of(2)))
    appliances = one("cooking.csv", COOKING)
    made = brought_in(text, [(appliances, guess(appliances))], emptied=False)
    assert [a["tag"] for a in made.tree["hoods"][0]["appliances"]][:2] == ["A-1", "A-1E"]
    assert made.tree["hoods"][0]["appliances"][0]["heat_input"] == "120,000 Btu/h"
    assert (made.new, made.changed) == ({}, {"hoods.appliances": 2})
    (lost,) = made.lost
    assert "row 4" in lost
    assert "there is no hood H-9" in lost
    assert "kind: toaster" in lost


cells = st.text(st.characters(codec="utf-8", exclude_categories=["Cs", "Cc"]), max_size=12).map(
    lambda t: " ".join(t.split())
)


@given(st.lists(st.tuples(cells, cells, cells), min_size=1, max_size=6))
@settings(max_examples=40, deadline=None)
def test_whatever_stands_in_a_cell_stands_in_the_job(rows):
    rows = [(f"H-{n + 50}", *row) for n, row in enumerate(rows)]
    sheet = Sheet("hoods", (("tag", "length", "style", "zone"), *rows))
    matched = Matched("hoods", 1, tuple(Column(f) for f in ("tag", "length", "style", "zone")))
    base = read_text(dump_job(job_of(1)))
    text = base.changed(brought_in(base, [(sheet, matched)], emptied=False).tree)
    assert text.document is not None
    for row, hood in zip(rows, text.tree["hoods"][1:], strict=True):
        assert [hood["tag"], hood.get("length") or "", hood.get("style") or ""] == list(row[:3])
        assert row[3] in ("", hood["zone"])


# --- our own workbook -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["ferry-cafe", "school-kitchen", "hospital", "nine hoods"])
def test_a_workbook_of_ours_comes_in_as_it_went_out(name):
    text = dump_job(job_of(9)) if name == "nine hoods" else (EXAMPLES / f"{name}.yaml").read_text()
    found = read_sheets("job.xlsx", write_workbook(read_text(text)))
    matched = [(sheet, guess(sheet)) for sheet in found]
    assert all(m.kind and all(c.field for c in m.columns) for _, m in matched)
    made = brought_in(read_text("galleyproof: 1\n"), matched, emptied=True)
    assert made.lost == []
    assert read_text("galleyproof: 1\n").changed(made.tree).job == read_job(text)


def test_nothing_in_a_workbook_is_a_formula():
    text = (EXAMPLES / "ferry-cafe.yaml").read_text()
    text = text.replace("note: griddle", "note: '=HYPERLINK(\"http://elsewhere.example\")'")
    text = text.replace("kind: griddle", "kind: '=1+1'")
    book = openpyxl.load_workbook(io.BytesIO(write_workbook(read_text(text))))
    cells = [cell for sheet in book for row in sheet.iter_rows() for cell in row if cell.value is not None]
    assert [c for c in cells if str(c.value).startswith("=")]
    assert {c.data_type for c in cells} == {"s"}
    assert not [c for c in cells if c.hyperlink]


def test_numbers_of_another_program_are_read_as_a_person_would_type_them():
    book = openpyxl.Workbook()
    for row in (["tag", "length", "listed rate"], ["H-1", 96, 2400.5], ["H-2", None, True]):
        book.active.append(row)
    made = io.BytesIO()
    book.save(made)
    assert one("a.xlsx", made.getvalue()).rows[1:] == (("H-1", "96", "2400.5"), ("H-2", "", "true"))


# --- limits -----------------------------------------------------------------------------------------------------------


def packed(**parts: bytes) -> bytes:
    """A workbook with some of its parts replaced."""
    book = openpyxl.Workbook()
    book.active.append(["tag", "length"])
    made = io.BytesIO()
    book.save(made)
    out = io.BytesIO()
    with zipfile.ZipFile(made) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for part in old.namelist():
            new.writestr(part, parts.get(part.rsplit("/", 1)[-1].replace(".", "_"), old.read(part)))
    return out.getvalue()


SHEET = (
    b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>'
    b'<row r="1"><c r="A1" t="inlineStr"><is><t>tag</t></is></c></row>%s</sheetData></worksheet>'
)


def test_a_bomb_is_refused_before_it_goes_off():
    bomb = packed(sheet1_xml=SHEET % (b" " * 80_000_000))
    assert len(bomb) < 200_000
    with pytest.raises(RefusedError, match="60 MB"):
        read_sheets("bomb.xlsx", bomb)


def test_a_bomb_that_lies_about_its_size_is_refused():
    bomb = bytearray(packed(sheet1_xml=SHEET % (b" " * 80_000_000)))
    size = len(SHEET % b"") + 80_000_000
    assert bomb.count(size.to_bytes(4, "little")) == 2
    lie = bytes(bomb).replace(size.to_bytes(4, "little"), (1000).to_bytes(4, "little"))
    with pytest.raises(RefusedError, match=r"cannot be unpacked|MB"):
        read_sheets("bomb.xlsx", lie)


@pytest.mark.parametrize("far", [b"XFD1048576", b"A1048576", b"ZZ2", b"A1501"])
def test_a_cell_far_away_is_refused_before_the_rows_between_are_made(far):
    row = re.sub(rb"[A-Z]", b"", far)
    sheet = SHEET % (b'<row r="%s"><c r="%s"><v>1</v></c></row>' % (row, far))
    with pytest.raises(RefusedError, match="reaches to row"):
        read_sheets("far.xlsx", packed(sheet1_xml=sheet))


def test_names_for_more_names_are_refused():
    sheet = b'<!DOCTYPE x [<!ENTITY a "aaaa">]>' + SHEET % b""
    with pytest.raises(RefusedError, match="document type"):
        read_sheets("names.xlsx", packed(sheet1_xml=sheet))


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("a.xlsx", b"PK\x03\x04 and nothing more", "cannot be unpacked"),
        ("a.xlsx", b"\xd0\xcf\x11\xe0 old", "without a password"),
        ("a.xlsx", b"tag,length\n", "is no XLSX file"),
        ("a.csv", b"", "no filled cell"),
        ("a.csv", b"a\0b", "is no text"),
        ("a.csv", b"a\n" * 1501, "at most 1,500 rows"),
        ("a.csv", b"a," * 151 + b"a\n", "150 columns"),
    ],
)
def test_what_is_no_table_is_refused(name, content, said):
    with pytest.raises(RefusedError, match=said):
        read_sheets(name, content)


def test_many_parts_are_refused():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as book:
        for n in range(limits.MAX_PARTS + 1):
            book.writestr(f"xl/{n}.xml", b"<a/>")
    with pytest.raises(RefusedError, match="parts"):
        read_sheets("parts.xlsx", out.getvalue())


# --- through the pages ------------------------------------------------------------------------------------------------


@pytest.fixture
def site(tmp_path):
    return make_site(tmp_path)


def given_fields(page: str) -> dict[str, str]:
    """What a browser would send of the form as it stands."""
    found = {}
    for tag in re.findall(r"<input [^>]*>", page):
        name, value = re.search(r'name="([^"]*)"', tag), re.search(r'value="([^"]*)"', tag)
        if name and 'type="checkbox"' not in tag and 'type="search"' not in tag:
            found[name[1]] = value[1] if value else ""
    for name, options in re.findall(r'<select [^>]*name="([^"]*)"[^>]*>(.*?)</select>', page, re.S):
        chosen = re.search(r'<option(?: value="([^"]*)")? selected>([^<]*)', options)
        first = re.search(r'<option(?: value="([^"]*)")?>([^<]*)', options)
        one = chosen or first
        found[name] = (one[1] if one[1] is not None else one[2]) if one else ""
    return found


def test_a_schedule_becomes_a_job_through_the_pages(site):
    headers = {"x-form-token": site.token()}
    page = site.client.post("/import", files={"file": ("hood schedule.csv", HOODS)}, headers=headers)
    address = page.url.path
    assert address.startswith("/import/")
    sent = given_fields(page.text)
    assert sent["s0-kind"] == "hoods"
    assert sent["s0-c2"] == "length"
    assert sent["s0-u2"] == "in"
    answer = site.client.post(address, data={**sent, "do": "look"}, headers=headers)
    assert answer.status_code == 422
    assert "a name and a number" in answer.text
    sent |= {"name": "Annex", "number": "SM-8"}
    looked = site.client.post(address, data={**sent, "do": "look"}, headers=headers)
    assert "Hoods: 2 new" in looked.text
    assert "1 to mend" in looked.text
    with site.db.session() as session:
        assert find_jobs(session) == ()
    done = site.client.post(address, data={**given_fields(looked.text), "do": "import"}, headers=headers)
    assert done.url.path.endswith("/line-up/who")
    with site.db.session() as session:
        (head,) = find_jobs(session)
        tree = read_text(save_of(session, head.id).text).tree
    assert head.name == "Annex"
    assert [h["length"] for h in tree["hoods"]] == ["96 in", "8' 6\""]
    assert tree["hoods"][1]["air"]["airflow"] == "2 000"
    assert tree["hoods"][0]["sensors"]
    assert site.client.get(address).status_code == 404


def test_rows_without_a_place_are_told_before_the_others_come_in(site):
    job = site.add("ferry-cafe")
    headers = {"x-form-token": site.token()}
    page = site.client.post("/import", files={"file": ("cooking.csv", COOKING)}, headers=headers)
    sent = given_fields(page.text) | {"into": str(job), "do": "import"}
    asked = site.client.post(page.url.path, data=sent, headers=headers)
    assert "rows find no place" in asked.text
    assert "there is no hood H-9" in asked.text
    with site.db.session() as session:
        assert save_of(session, job).number == 1
    site.client.post(page.url.path, data=sent | {"sure": "true"}, headers=headers)
    with site.db.session() as session:
        save = save_of(session, job)
    assert save.number == 2
    assert "load: 6.4 kW" in save.text  # what a row says nothing of stays
    assert "heat_input: 120,000 Btu/h" in save.text or "'120,000 Btu/h'" in save.text


def test_a_file_is_only_for_who_sent_it(site):
    assert site.client.get("/import/999").status_code == 404
