"""Structure of the PDF, read by pypdf, a library that had no part in writing it."""

from __future__ import annotations

import hashlib
import re
import shutil
import subprocess

import pytest
from tests.package.support import (
    cover_of,
    document,
    facts_of,
    fonts,
    job_with,
    school,
    school_document,
    school_package,
    squeezed,
)

from galleyproof.drawing.fonts import UNKNOWN
from galleyproof.package.whole import make_pdf

SECTIONS = [
    "Cover", "Sequence of operation", "Cause and effect", "Drawings",
    "Terminal-to-terminal list", "Cable and raceway schedule",
    "Circuit schedule", "Bill of material", "Packing list and receiving check", "Scope by trade", "Installation steps",
    "Fed from, switched by, lost when", "To confirm with the authority", "Findings", "Silent faults and their tests",
    "Check-out sheet", "Start-up record", "Acceptance list", "Air schedule", "Balance table", "Set-point sheet",
    "Savings",
]  # fmt: skip


def test_every_section_is_bookmarked_in_order_and_begins_on_its_page():
    made = school_document()
    assert [t for t, _ in made.outline if not t.startswith("Sheet ")] == SECTIONS
    for title, page in made.outline:
        if not title.startswith("Sheet "):
            assert title == "Cover" or title in made.pages[page][:120], title


def test_every_sheet_is_bookmarked_and_stands_on_its_page():
    made = school_document()
    sheets = {t: p for t, p in made.outline if t.startswith("Sheet ")}
    assert len(sheets) == len(school().drawing.sheets) > 8
    for sheet in school().drawing.sheets:
        page = made.reader.pages[sheets[f"Sheet {sheet.number}: {sheet.title}"]]
        # 1 mm is 72/25.4 points; ANSI B is 17 in by 11 in
        assert float(page.mediabox.width) == pytest.approx(17 * 72, abs=1)
        assert float(page.mediabox.height) == pytest.approx(11 * 72, abs=1)
        assert sheet.number in made.pages[sheets[f"Sheet {sheet.number}: {sheet.title}"]]


def test_it_is_tagged_with_a_language_headings_tables_and_described_figures():
    root = school_document().reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"] is True or bool(root["/MarkInfo"]["/Marked"])
    assert root["/Lang"].lower().startswith("en")
    kinds: dict[str, int] = {}
    described = 0
    waiting = [root["/StructTreeRoot"]]
    while waiting:
        node = waiting.pop().get_object()
        kind = str(node.get("/S", ""))
        kinds[kind] = kinds.get(kind, 0) + 1
        described += kind == "/Figure" and "/Alt" in node
        kids = node.get("/K", [])
        kids = kids.get_object() if hasattr(kids, "get_object") else kids
        kids = kids if isinstance(kids, list) else [kids]
        waiting += [k for k in kids if not isinstance(k, int) and "/S" in k.get_object()]
    assert kinds["/H1"] >= len(SECTIONS)
    assert kinds["/Table"] > 20
    assert kinds["/TH"] > 100
    assert kinds["/TD"] > 2000
    assert kinds["/Figure"] == described == len(school().drawing.sheets)


def test_links_lead_to_pages_of_the_document():
    made = school_document()
    count = 0
    for page in made.reader.pages:
        for one in page.get("/Annots", []) or []:
            note = one.get_object()
            if note.get("/Subtype") != "/Link":
                continue
            count += 1
            target = note.get("/Dest") or note["/A"]["/D"]
            target = target.get_object() if hasattr(target, "get_object") else target
            if isinstance(target, str):
                assert target in made.reader.named_destinations
            else:
                assert made.reader.get_page_number(target[0].get_object()) >= 0
    references = sum(len(s.links) for s in school().drawing.sheets)
    # contents, list of sheets, and every reference from sheet to sheet
    assert count >= len(SECTIONS) + 2 * len(school().drawing.sheets) + references


def test_only_the_shipped_typeface_is_in_it():
    package = school_package()
    for name in ("package.pdf", "labels.pdf"):
        assert fonts(document(package[name]).reader) == {"IBMPlexSans", "IBMPlexSans-Bold"}


def test_a_draft_says_so_on_every_page():
    for page in school_document().pages:
        assert "DRAFT" in page.replace("D R A F T", "DRAFT")
    assert "ISSUED" not in " ".join(school_document().pages)


def test_the_cover_carries_cautions_and_every_open_question():
    job = job_with("exhaust_on_release: starts", "exhaust_on_release: not yet confirmed")
    cover = cover_of(job).pages[0]
    assert "authority: exhaust on release is not yet confirmed" in cover
    assert "the job has no date" in cover
    # section 14 of the design: what every document has to say
    for words in (
        "qualified persons only", "Lock out, tag out and test dead", "protective equipment", "fire-alarm contractor",
        "licensed contractor", "authority having jurisdiction prevail",
        "reviewed by a licensed engineer or electrician", "never an approval",
    ):  # fmt: skip
        assert words in cover


def test_what_was_not_computed_says_so_and_nothing_stands_in_its_place():
    made = school_document()
    for title in ("Check-out sheet", "Silent faults and their tests", "Savings"):
        assert "not yet computed" in made.part(title)


def test_no_moment_of_its_making_is_in_it():
    about = school_document().reader.metadata
    assert about["/Title"] == "SM-214 revision A: Saltmarrow School Kitchen"
    assert "/CreationDate" not in about
    assert "/ModDate" not in about
    assert b"CreateDate" not in school_package()["package.pdf"]


def test_same_job_same_bytes():
    again = make_pdf(facts_of(job_with("Saltmarrow School Kitchen", "Saltmarrow School Kitchen")))
    assert hashlib.sha256(again).hexdigest() == hashlib.sha256(school_package()["package.pdf"]).hexdigest()


HOSTILE = '*b* #panic("x") $x$ `r` <t> [l] _e_ \\\\ @a // c /* d ../../etc'


def test_markup_and_paths_in_names_are_words_like_any_other():
    job = job_with("name: Saltmarrow School Kitchen", f"name: '{HOSTILE}'")
    text = cover_of(job).pages[0]
    for word in HOSTILE.split():
        assert word in text


def test_other_scripts_never_bring_another_font_in():
    job = job_with("name: Saltmarrow School Kitchen", "name: 'مطبخ 厨房 school \U0001f525'")
    made = cover_of(job)
    assert fonts(made.reader) == {"IBMPlexSans", "IBMPlexSans-Bold"}
    assert "school" in made.pages[0]
    assert UNKNOWN in made.pages[0]


def test_a_long_name_stays_on_the_paper():
    name = "Saltmarrow" * 20
    page = cover_of(job_with("name: Saltmarrow School Kitchen", f"name: {name}")).reader.pages[0]
    assert name in squeezed(page.extract_text()).replace(" ", "")
    lines = [line for line in page.extract_text().splitlines() if "Saltmarrow" in line.replace("\u200b", "")]
    # 26 point capitals and small letters are some 5 mm wide: 200 of them need at least five lines of 180 mm
    assert len(lines) >= 5


@pytest.mark.skipif(shutil.which("pdffonts") is None, reason="pdffonts is not installed: scripts/test-tools")
@pytest.mark.parametrize("name", ["package.pdf", "labels.pdf"])
def test_another_reader_finds_the_shipped_typefaces_alone_and_all_of_them_embedded(name, tmp_path):
    """poppler's pdffonts, which shares no code with pypdf: name, type, encoding, emb, sub, uni, object ID."""
    path = tmp_path / name
    path.write_bytes(school_package()[name])
    ran = subprocess.run(["pdffonts", str(path)], capture_output=True, text=True, check=True)
    rows = ran.stdout.splitlines()[2:]
    assert {re.sub(r"^[A-Z]{6}\+", "", row.split()[0]) for row in rows} == {"IBMPlexSans", "IBMPlexSans-Bold"}
    assert all(re.search(r" yes yes yes +\d+ +\d+$", row) for row in rows), ran.stdout


def test_what_heads_a_group_of_rows_never_stands_alone_at_the_foot_of_a_page():
    """Each cable's line in the terminal-to-terminal list has a conductor of its own below it on the same page."""
    made = school_document()
    begin = next(page for title, page in made.outline if title == "Terminal-to-terminal list")
    end = next(page for title, page in made.outline if title == "Cable and raceway schedule")
    assert end - begin > 2
    for page in range(begin, end):
        lines = made.reader.pages[page].extract_text().splitlines()
        heads = [n for n, line in enumerate(lines) if re.match(r"W-\S+: field, |Without cable: ", line)]
        following = [*lines, ""]
        assert heads, page
        for n in heads:
            assert re.match(r"\d{3} ", following[n + 1]), (page, following[n : n + 2])


def test_no_tag_of_a_cable_is_broken_at_its_hyphens():
    """The raceway that holds most cables lists them over several lines; each line ends behind a whole tag."""
    made = school_document()
    begin = next(page for title, page in made.outline if title == "Cable and raceway schedule")
    tags = {c.tag for c in school().design.cables}
    text = made.reader.pages[begin].extract_text()
    assert text.count("\nW-") > 1
    for line in text.splitlines():
        assert not re.search(r"\bW(-[\w/]+)*-$", line), line
    assert len(tags & set(re.findall(r"W-[\w/-]+", text))) > 20
