"""Tables of strangers: XLSX and CSV to rows of texts, within limits that hold before anything large is in memory."""

from __future__ import annotations

import csv
import re
import zipfile
from dataclasses import dataclass
from functools import lru_cache
from io import BytesIO, StringIO

from galleyproof.store.errors import RefusedError

__all__ = ["MAX_COLUMNS", "MAX_FILE", "MAX_ROWS", "Sheet", "is_table", "read_sheets"]

MAX_FILE = 4_000_000
"""Largest file. [byte]"""
MAX_UNPACKED = 60_000_000
"""Largest content of a packed file. [byte]"""
MAX_PARTS = 400
"""Most parts of a packed file. [-]"""
MAX_SHEETS, MAX_ROWS, MAX_COLUMNS, MAX_CELL = 60, 1500, 150, 4000
MAX_CELLS = 150_000
"""Most cells of all sheets. [-]"""

_CELL = re.compile(rb"""\br\s*=\s*["']\s*([A-Za-z]{0,9})([0-9]{1,15})\s*["']""")
_CSV_KINDS = (".csv", ".tsv")


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet as texts; every row is equally long."""

    name: str
    rows: tuple[tuple[str, ...], ...]


def is_table(name: str, content: bytes) -> bool:
    """Whether a file is a table: by its first bytes, a CSV by its name."""
    return content.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0")) or name.lower().endswith((*_CSV_KINDS, ".xlsx"))


@lru_cache(maxsize=8)
def read_sheets(name: str, content: bytes) -> tuple[Sheet, ...]:
    """Every sheet of a file that holds anything.

    Raises:
        RefusedError: No table, or beyond a limit; the message says which.
    """
    if content.startswith(b"\xd0\xcf\x11\xe0"):
        raise RefusedError(f"{name} is in an old or an encrypted format; save it as XLSX without a password, or as CSV")
    if content.startswith(b"PK\x03\x04"):
        sheets = _xlsx(name, content)
    elif name.lower().endswith(_CSV_KINDS):
        sheets = (_csv(name, content),)
    else:
        raise RefusedError(f"{name} is no XLSX file; save it as XLSX or CSV")
    found = tuple(s for s in map(_trimmed, sheets) if s.rows)
    if not found:
        raise RefusedError(f"{name} holds no filled cell")
    if sum(len(s.rows) * len(s.rows[0]) for s in found) > MAX_CELLS:
        raise RefusedError(f"{name} has more than the {MAX_CELLS:,} cells that are taken; take out what is not needed")
    return found


# --- CSV ----------------------------------------------------------------------------------------------------


def _csv(name: str, content: bytes) -> Sheet:
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = content.decode("cp1252", errors="replace")
    if "\0" in text:
        raise RefusedError(f"{name} is no text; save it as CSV or XLSX")
    first = text[:4000]
    mark = max(",;\t", key=first.count)
    rows: list[tuple[str, ...]] = []
    try:
        for row in csv.reader(StringIO(text, newline=""), delimiter=mark):
            _bounds(name, len(rows) + 1, len(row))
            rows.append(tuple(_shown(cell) for cell in row))
    except csv.Error as error:
        raise RefusedError(f"{name} cannot be read as CSV: {error}") from None
    return Sheet(name.rsplit(".", 1)[0], tuple(rows))


# --- XLSX ---------------------------------------------------------------------------------------------------


def _xlsx(name: str, content: bytes) -> tuple[Sheet, ...]:
    from python_calamine import CalamineError, CalamineWorkbook, SheetTypeEnum, SheetVisibleEnum

    packed = _unpacked(name, content)
    try:
        book = CalamineWorkbook.from_filelike(packed)
        names = [
            s.name
            for s in book.sheets_metadata
            if s.typ == SheetTypeEnum.WorkSheet and s.visible == SheetVisibleEnum.Visible
        ]
        if len(names) > MAX_SHEETS:
            raise RefusedError(f"{name} has {len(names)} sheets, more than the {MAX_SHEETS} that are taken")
        found = []
        for one in names:
            rows = book.get_sheet_by_name(one).to_python(skip_empty_area=False)
            _bounds(name, len(rows), max(map(len, rows), default=0))
            found.append(Sheet(one, tuple(tuple(_shown(cell) for cell in row) for row in rows)))
    except (CalamineError, ValueError, OSError, KeyError) as error:
        raise RefusedError(f"{name} cannot be read as XLSX: {error}; save it again as XLSX, or as CSV") from None
    return tuple(found)


def _unpacked(name: str, content: bytes) -> BytesIO:
    """The same workbook, unpacked within the limits and packed again, so that what is read next is what was looked at.

    A packed file may claim any size and unpack to any other; a sheet may have one cell in row one and one in the last
    row of the last column, which a reader would fill up in between.
    """
    made = BytesIO()
    total = 0
    try:
        with zipfile.ZipFile(BytesIO(content)) as packed, zipfile.ZipFile(made, "w", zipfile.ZIP_STORED) as clean:
            parts = packed.infolist()
            if len(parts) > MAX_PARTS:
                raise RefusedError(f"{name} has {len(parts)} parts, more than the {MAX_PARTS} that a workbook may have")
            seen = set()
            for part in parts:
                if part.filename in seen:
                    raise RefusedError(f"{name} holds the part {part.filename[:60]!r} twice; save it again as XLSX")
                seen.add(part.filename)
                if not part.filename.endswith((".xml", ".rels")):
                    continue  # pictures and macros are not looked at
                with packed.open(part) as opened:
                    data = opened.read(MAX_UNPACKED - total + 1)
                total += len(data)
                if total > MAX_UNPACKED:
                    size = f"unpacks to more than {MAX_UNPACKED // 1_000_000} MB"
                    raise RefusedError(f"{name} {size}; take out what is not needed")
                if "worksheets/" in part.filename:
                    _no_far_cells(name, data)
                if b"<!DOCTYPE" in data or b"<!ENTITY" in data:
                    raise RefusedError(f"{name} holds a document type, which no workbook needs; save it again as XLSX")
                clean.writestr(zipfile.ZipInfo(part.filename), data)
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, OSError, ValueError) as error:
        if isinstance(error, RefusedError):
            raise
        raise RefusedError(f"{name} cannot be unpacked: {error}; save it again as XLSX, without a password") from None
    made.seek(0)
    return made


def _no_far_cells(name: str, data: bytes) -> None:
    for letters, digits in _CELL.findall(data):
        column = 0
        for letter in letters.upper():
            column = column * 26 + letter - 64
        _bounds(name, int(digits), column)


def _bounds(name: str, rows: int, columns: int) -> None:
    if rows > MAX_ROWS or columns > MAX_COLUMNS:
        limit = f"{MAX_ROWS:,} rows and {MAX_COLUMNS} columns"
        raise RefusedError(f"{name} reaches to row {rows:,}, column {columns:,}; at most {limit} are taken")


# --- cells --------------------------------------------------------------------------------------------------


def _shown(cell: object) -> str:
    """A cell as a person would type it; whole numbers without a point, dates as year-month-day."""
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "true" if cell else "false"
    if isinstance(cell, float):
        return str(int(cell)) if cell.is_integer() and abs(cell) < 1e15 else f"{cell:.12g}"
    text = str(cell)
    kept = "".join(c if c.isprintable() or c == "\n" else " " for c in text.replace("\r\n", "\n"))
    return kept.strip()[:MAX_CELL]


def _trimmed(sheet: Sheet) -> Sheet:
    """Without the empty rows and columns at the end."""
    rows = list(sheet.rows)
    while rows and not any(rows[-1]):
        rows.pop()
    width = max((n + 1 for row in rows for n, cell in enumerate(row) if cell), default=0)
    return Sheet(sheet.name, tuple((*row[:width], *[""] * (width - len(row[:width]))) for row in rows))
