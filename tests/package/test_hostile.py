"""Input that no one expects, through the whole package: longest tags, other scripts, markup, a disk that is full."""

from __future__ import annotations

import csv
import io
import os
import resource
import subprocess
import sys
from functools import lru_cache

import openpyxl
import pytest
from tests.drawing.legibility import faults, width_of
from tests.drawing.reader import conductors, read_svg
from tests.drawing.support import row, wanted
from tests.package.support import EXAMPLES, SCHOOL, Document, document, facts_of, fonts, text_with

from galleyproof.cli.main import BAD_INPUT, main
from galleyproof.drawing.fonts import UNKNOWN
from galleyproof.errors import InputError
from galleyproof.job.model import Job
from galleyproof.job.read import read_job
from galleyproof.package.facts import Facts
from galleyproof.package.folder import put_package
from galleyproof.package.whole import NAMES, make_package

LONGEST = 24
"""Characters of the longest tag a job file may hold (docs/job-file.md). [-]"""
TEXTS = (
    "x" * 200,
    "\u05de\u05d8\u05d1\u05d7 \u05d1\u05d9\u05ea \u05e1\u05e4\u05e8 / \u0645\u0637\u0628\u062e",
    "\u53a8\u623f \u2126 \U0001f525 e\u0301",
    '<b>&amp;</b> #panic("x") $x$ `r` ]]> ../../etc/passwd %s {0}',
)


def with_longest_tags(job: Job) -> Job:
    """Every tag as long as a tag may be, everywhere it is named; four places called what no one expects."""
    tags: dict[str, str] = {}

    def collect(x: object) -> None:
        if isinstance(x, dict):
            if isinstance(x.get("tag"), str):
                tags[x["tag"]] = f"{x['tag']}-{'LONGTAG' * 4}"[:LONGEST]
            for value in x.values():
                collect(value)
        elif isinstance(x, (list, tuple)):
            for value in x:
                collect(value)

    def renamed(x: object) -> object:
        if isinstance(x, dict):
            return {k: renamed(v) for k, v in x.items()}
        if isinstance(x, (list, tuple)):
            return [renamed(v) for v in x]
        return tags.get(x, x) if isinstance(x, str) else x

    data = job.model_dump()
    collect(data)
    found = renamed(data)
    assert isinstance(found, dict)
    places = {"kitchen": TEXTS[0], "gas room": TEXTS[1], "roof": TEXTS[2], "electrical room": TEXTS[3]}

    def placed(x: object) -> object:
        if isinstance(x, dict):
            return {k: placed(v) for k, v in x.items()}
        if isinstance(x, list):
            return [placed(v) for v in x]
        return places.get(x, x) if isinstance(x, str) else x

    moved = placed(found)
    assert isinstance(moved, dict)
    moved["job"]["name"] = TEXTS[3]
    assert len(set(map(len, tags.values()))) == 1
    return Job.model_validate(moved)


@lru_cache(maxsize=1)
def facts() -> Facts:
    path = EXAMPLES / "ferry-cafe.yaml"
    return facts_of(with_longest_tags(read_job(path.read_bytes(), path.name)))


@lru_cache(maxsize=1)
def package() -> dict[str, bytes]:
    return make_package(facts(), b"")


@lru_cache(maxsize=1)
def made() -> Document:
    return document(package()["package.pdf"])


def test_every_sheet_is_legible_and_reads_back():
    pictures = {s.number: read_svg(package()[f"sheets/{s.number}.svg"].decode()) for s in facts().drawing}
    for number, picture in pictures.items():
        assert faults(picture) == [], number
    found = [row(f) for n, p in pictures.items() if n[0] == "5" for f in conductors(p, width_of)]
    assert sorted(found, key=lambda f: f[0]) == wanted(facts().design)


def test_only_the_shipped_typeface_is_in_it_and_what_it_lacks_is_marked():
    for name in ("package.pdf", "labels.pdf"):
        assert fonts(document(package()[name]).reader) == {"IBMPlexSans", "IBMPlexSans-Bold"}
    assert UNKNOWN in made().part("Scope by trade")


def test_names_of_files_hold_nothing_of_the_job():
    assert set(package()) == {*NAMES, *(f"sheets/{s.number}.svg" for s in facts().drawing)}


def test_lists_hold_the_words_as_they_are():
    book = openpyxl.load_workbook(io.BytesIO(package()["wires.xlsx"]))
    cells = {c.value for sheet in book for r in sheet.iter_rows() for c in r}
    assert {TEXTS[0], TEXTS[1], TEXTS[3]} <= cells
    rows = list(csv.DictReader(io.StringIO(package()["wire-labels.csv"].decode())))
    ends = {(str(c.number), str(c.a), str(c.b)) for c in facts().design.conductors}
    assert ends <= {(r["number"], r["landed_at"], r["other_end"]) for r in rows}


def test_long_words_stay_within_their_pages():
    for n in range(len(made().reader.pages)):
        page = made().reader.pages[n]
        right = float(page.mediabox.width)
        outside: list[str] = []

        def seen(text, _cm, tm, _font, _size, right=right, outside=outside):
            if text.strip() and not -1 <= tm[4] <= right + 1:
                outside.append(text)

        page.extract_text(visitor_text=seen)
        assert outside == [], n


def test_a_tag_of_200_characters_is_refused_by_its_line(tmp_path, capsys):
    path = tmp_path / "job.yaml"
    path.write_bytes(text_with("tag: GV-1,", f"tag: {'G' * 200},"))
    assert main(["package", str(path), "-o", str(tmp_path / "out")]) == BAD_INPUT
    told = capsys.readouterr().err
    line = next(i for i, x in enumerate(path.read_text().splitlines(), 1) if "G" * 200 in x)
    assert f"job.yaml:{line}:" in told
    assert "24" in told
    assert not (tmp_path / "out").exists()


def test_a_disk_that_fills_up_leaves_nothing(tmp_path):
    """The system itself refuses: no file of this process may grow beyond 200 kB."""

    def limited() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (200_000, 200_000))

    call = [sys.executable, "-m", "galleyproof", "package", str(SCHOOL), "-o", str(tmp_path / "deep" / "out")]
    done = subprocess.run(call, capture_output=True, text=True, check=False, preexec_fn=limited)
    assert done.returncode == BAD_INPUT
    assert "the package cannot be written: file too large; nothing of it is left there" in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_may_not_be_written_is_left_as_it_is(tmp_path):
    target = tmp_path / "shut"
    target.mkdir(mode=0o755)
    root = os.geteuid() == 0
    target.chmod(0o555)
    if root:  # nothing is forbidden to root, so be somebody else for a moment
        tmp_path.chmod(0o755)
        os.seteuid(65534)
    try:
        with pytest.raises(InputError, match="cannot be written: permission denied"):
            put_package(target / "out", dict.fromkeys(NAMES, b"x"))
    finally:
        if root:
            os.seteuid(0)
    assert list(target.iterdir()) == []
