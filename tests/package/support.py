"""Jobs and finished packages that the tests share."""

from __future__ import annotations

import io
import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from pypdf import PdfReader
from pypdf.generic import Destination

from galleyproof.design.build import build_design
from galleyproof.job.model import Job
from galleyproof.job.read import read_job
from galleyproof.library.reader import load_library
from galleyproof.package.cover import cover
from galleyproof.package.facts import Facts, gather
from galleyproof.package.pdf import write_pdf
from galleyproof.package.whole import make_package, sheets_of

EXAMPLES = Path(__file__).parents[2] / "examples"
SCHOOL = EXAMPLES / "school-kitchen.yaml"


def facts_of(job: Job, **given: bool) -> Facts:
    return gather(job, build_design(job), load_library(), **given)


@lru_cache(maxsize=2)
def school() -> Facts:
    return facts_of(read_job(SCHOOL.read_bytes(), SCHOOL.name))


@lru_cache(maxsize=1)
def school_package() -> dict[str, bytes]:
    return make_package(school(), SCHOOL.read_bytes())


def text_with(*changes: str) -> bytes:
    """The school kitchen's file with some things said otherwise: old, new, old, new ..."""
    text = SCHOOL.read_text(encoding="utf-8")
    for old, new in zip(changes[::2], changes[1::2], strict=True):
        assert text.count(old) >= 1, old
        text = text.replace(old, new, 1)
    return text.encode("utf-8")


def job_with(*changes: str) -> Job:
    """The school kitchen with some things said otherwise: old, new, old, new ..."""
    return read_job(text_with(*changes), "changed.yaml")


class Pages(Sequence[str]):
    def __init__(self, reader: PdfReader) -> None:
        self._reader = reader
        self._known: dict[int, str] = {}

    def __len__(self) -> int:
        return len(self._reader.pages)

    def __getitem__(self, n: int) -> str:
        if not 0 <= n < len(self):
            raise IndexError(n)
        if n not in self._known:
            self._known[n] = squeezed(self._reader.pages[n].extract_text())
        return self._known[n]


@dataclass(frozen=True)
class Document:
    """A PDF as its readers find it.

    Attributes:
        pages: Text of each page, blanks run together; read when it is asked for.
        outline: Title and first page (0-based) of each bookmark, in order.
    """

    reader: PdfReader
    pages: Pages
    outline: tuple[tuple[str, int], ...]

    def part(self, title: str) -> str:
        """Text of a section: from its bookmark to the next one of the same level."""
        tops = [(t, p) for t, p in self.outline if not t.startswith("Sheet ")]
        start = next(p for t, p in tops if t == title)
        later = [p for _, p in tops if p > start]
        return " ".join(self.pages[n] for n in range(start, min(later, default=len(self.pages))))


def cover_of(job: Job) -> Document:
    """A document of cover and drawings alone: what names and other words do to it shows there too."""
    facts = facts_of(job)
    return document(write_pdf(facts, cover(facts), (), (), sheets_of(facts)))


def squeezed(text: str) -> str:
    """One blank between words, and no invisible places to break."""
    return re.sub(r"\s+", " ", text.replace("\u200b", "").replace("\u2060", "")).strip()


def document(pdf: bytes) -> Document:
    reader = PdfReader(io.BytesIO(pdf))
    found: list[tuple[str, int]] = []

    def walk(items: list[object], depth: int) -> None:
        for item in items:
            if isinstance(item, list):
                walk(item, depth + 1)
            elif isinstance(item, Destination):
                title = squeezed(str(item.title))
                if depth == 0 or title.startswith("Sheet "):
                    found.append((title, reader.get_destination_page_number(item)))

    walk(reader.outline, 0)
    return Document(reader, Pages(reader), tuple(found))


@lru_cache(maxsize=1)
def school_document() -> Document:
    return document(school_package()["package.pdf"])


def fonts(reader: PdfReader) -> set[str]:
    """Names of all fonts in the file, without the mark of their subset."""
    names = set()
    for page in reader.pages:
        waiting = [page.get("/Resources", {})]
        while waiting:
            resources = waiting.pop().get_object()
            for font in resources.get("/Font", {}).values():
                names.add(str(font.get_object()["/BaseFont"]).split("+")[-1].lstrip("/"))
            for form in resources.get("/XObject", {}).values():
                inner = form.get_object().get("/Resources")
                if inner is not None:
                    waiting.append(inner)
    return names
