"""A document before it is a PDF or a workbook: sections of blocks. Values only.

A cell is a text. ``BOX`` alone is a box to tick, ``BLANK`` alone a line to write on. A row that is one text instead of
a tuple is a heading inside the table and spans all columns.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

BOX = "[ ]"
BLANK = "____"
MISSING = "not yet computed"
"""Stands for everything that was not computed; nothing is ever made up in its place."""

Row = tuple[str, ...] | str


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table.

    Attributes:
        title: Its heading.
        width: Share of the table's width. [-]
        right: Numbers stand on the right.
    """

    title: str
    width: float = 1.0
    right: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under headings.

    Attributes:
        columns: From left to right.
        rows: From top to bottom.
        title: Stands above it; empty for none.
    """

    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    title: str = ""

    def __post_init__(self) -> None:
        wrong = [r for r in self.rows if not isinstance(r, str) and len(r) != len(self.columns)]
        if wrong:
            raise ValueError(f"table {self.title!r}: a row of {len(wrong[0])} cells under {len(self.columns)} columns")


@dataclass(frozen=True, slots=True)
class Para:
    """A paragraph.

    Attributes:
        text: Its words.
        kind: ``caution`` stands in a heavy frame, ``note`` is small, ``missing`` says what was not computed.
    """

    text: str
    kind: Literal["plain", "bold", "caution", "note", "missing"] = "plain"


@dataclass(frozen=True, slots=True)
class Title:
    """A heading inside a section; bookmarked."""

    text: str


@dataclass(frozen=True, slots=True)
class Items:
    """Sentences one below the other, each with a dash or its number."""

    lines: tuple[str, ...]
    numbered: bool = False


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawn page, as wide as the text.

    Attributes:
        svg: The picture.
        alt: What it shows, for those who cannot see it.
    """

    svg: str
    alt: str


Block = Table | Para | Title | Items | Picture


@dataclass(frozen=True, slots=True)
class Section:
    """One part of the document; begins on a new page.

    Attributes:
        key: Stable name, for links.
        title: As the contents list it.
        blocks: What it holds.
        wide: Printed on landscape pages.
    """

    key: str
    title: str
    blocks: tuple[Block, ...]
    wide: bool = False


def missing(what: str, how: str = "") -> Para:
    """A paragraph that says what was not computed, and how to have it computed."""
    return Para(f"{what}: {MISSING}{f'; {how}' if how else ''}.", "missing")
