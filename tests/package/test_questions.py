"""docs/questions.md: every answer stands where the page says."""

from __future__ import annotations

import re
from functools import lru_cache
from pathlib import Path

import pytest
from tests.package.support import Document, document, facts_of, school, school_document, squeezed

from galleyproof.cli.main import main
from galleyproof.package.whole import make_pdf

ROOT = Path(__file__).parents[2]
ROW = re.compile(r"^\| (Q\d\d) \| ([^|]+) \| ([^|]+) \| ([^|]+) \|$", re.MULTILINE)
ROWS = ROW.findall((ROOT / "docs" / "questions.md").read_text(encoding="utf-8"))


@lru_cache(maxsize=1)
def whole_document() -> Document:
    return document(make_pdf(facts_of(school().job, whole=True)))


def test_there_is_an_answer_to_every_question():
    assert [no for no, *_ in ROWS] == [f"Q{n:02}" for n in range(1, 57)]


@pytest.mark.parametrize(("no", "asked", "where", "words"), [r for r in ROWS if "`" not in r[2] and "*" not in r[2]])
def test_the_page_holds_the_answer(no, asked, where, words):
    assert words in school_document().part(where), asked


@pytest.mark.slow
@pytest.mark.parametrize(("no", "asked", "where", "words"), [r for r in ROWS if "*whole*" in r[2]])
def test_the_page_of_the_whole_package_holds_the_answer(no, asked, where, words):
    assert words in whole_document().part(where.removesuffix(", *whole*")), asked


@pytest.mark.parametrize(("no", "asked", "where", "words"), [r for r in ROWS if "`" in r[2]])
def test_the_command_gives_the_answer(no, asked, where, words, capsys, monkeypatch):
    monkeypatch.chdir(ROOT)
    status = main(where.strip("`").split())
    assert status in (0, 1)
    assert words in squeezed(capsys.readouterr().out), asked
