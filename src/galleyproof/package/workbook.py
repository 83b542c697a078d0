"""``wires.xlsx``: the schedules as real tables with filters, ready to print. Same job, same bytes."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import Any

from galleyproof.drawing.revision import change_rows
from galleyproof.package.facts import Facts
from galleyproof.package.model import MISSING, Column
from galleyproof.package.schedules import (
    CABLES,
    CIRCUITS,
    CONDUCTORS,
    MATERIAL,
    RACEWAYS,
    by_number,
    cable_rows,
    circuit_rows,
    conductor_row,
    material_rows,
    raceway_rows,
    wire_rows,
)
from galleyproof.package.words import clauses

_NUMBER = re.compile(r"^-?[\d,]+(\.\d+)?$")
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff\ud800-\udfff]")
MAX_CELL = 32_767
"""Characters of one cell, by the format."""

WIRE = (Column("Size"), Column("Colour"), Column("Class"), Column("Net length ft", 1, True))
CHANGES = (
    Column("What"), Column("No."), Column("Landings", 3), Column("Size", 1.4), Column("Made"), Column("Purpose", 3),
    Column("Sheets", 2),
)  # fmt: skip
FINDINGS = (
    Column("Weight"), Column("Code"), Column("Item"), Column("Found", 5), Column("Cure", 3), Column("Clauses", 2),
)  # fmt: skip


def tables(facts: Facts) -> Iterator[tuple[str, Sequence[Column], Sequence[tuple[str, ...]]]]:
    """Name, columns and rows of every sheet of the workbook."""
    yield "Conductors", CONDUCTORS, [conductor_row(facts, c) for c in by_number(facts)]
    yield "Cables", CABLES, cable_rows(facts)
    yield "Raceways", RACEWAYS, raceway_rows(facts) or [(MISSING, *[""] * (len(RACEWAYS) - 1))]
    yield "Circuits", CIRCUITS, circuit_rows(facts) or [(MISSING, *[""] * (len(CIRCUITS) - 1))]
    yield "Material", MATERIAL, material_rows(facts)
    yield "Field wire", WIRE, wire_rows(facts)
    found = [(str(f.severity), f.code, f.item, f.message, f.cure, clauses(f.basis)) for f in facts.findings]
    if facts.history.rows:
        shown = {key: ", ".join(s.number for s in facts.drawing if key in s.conductors) for key in _changed(facts)}
        gone = {c.old.key: "no sheet any more" for c in facts.history.changes if c.new is None and c.old is not None}
        rows = change_rows(facts.history.changes, {**shown, **gone})
        yield "Changes", CHANGES, rows or [("none", *[""] * (len(CHANGES) - 1))]
    yield "Findings", FINDINGS, found or [("none", *[""] * (len(FINDINGS) - 1))]


def _changed(facts: Facts) -> list[str]:
    return [c.new.key for c in facts.history.changes if c.new is not None]


def write_workbook(facts: Facts) -> bytes:
    """The whole workbook."""
    import xlsxwriter  # type: ignore[import-untyped]

    out = io.BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    book = xlsxwriter.Workbook(out, options)
    identity = facts.job.job
    day = datetime.fromisoformat(identity.date or "1980-01-01")
    title = _clean(f"{identity.number} revision {identity.revision}: {identity.name}")[:200]
    book.set_properties({"title": title, "status": facts.status, "created": day})
    plain = book.add_format({"text_wrap": True, "valign": "top", "font_size": 9})
    numbers = book.add_format({"valign": "top", "font_size": 9, "num_format": "#,##0.##"})
    shares = book.add_format({"valign": "top", "font_size": 9, "num_format": "0%"})
    for name, columns, rows in tables(facts):
        sheet = book.add_worksheet(name)
        heads = [{"header": c.title} for c in columns]
        place = (0, 0, len(rows), len(columns) - 1)
        sheet.add_table(*place, {"name": name.replace(" ", ""), "columns": heads, "style": "Table Style Light 1"})
        for r, row in enumerate(rows, 1):
            for k, (column, text) in enumerate(zip(columns, row, strict=True)):
                value = as_value(text) if column.right else text
                if isinstance(value, float):
                    sheet.write_number(r, k, value, shares if text.endswith("%") else numbers)
                else:
                    sheet.write_string(r, k, _clean(value)[:MAX_CELL], plain)
        for k, column in enumerate(columns):
            sheet.set_column(k, k, max(8, round(11 * column.width)))
        _paper(sheet, facts, title)
    book.close()
    return out.getvalue()


def as_value(text: str) -> float | str:
    """A number where a text is one: ``1,200``, ``31%``."""
    share = text.endswith("%")
    body = text.removesuffix("%")
    if not _NUMBER.match(body):
        return text
    number = float(body.replace(",", ""))
    return number / 100 if share else number


def _clean(text: str) -> str:
    return _CONTROL.sub("", text)


def _paper(sheet: Any, facts: Facts, title: str) -> None:
    sheet.freeze_panes(1, 0)
    sheet.repeat_rows(0)
    sheet.set_landscape()
    sheet.set_paper(1 if facts.job.job.sheet == "ANSI B" else 9)  # Letter, A4
    sheet.fit_to_pages(1, 0)
    sheet.set_margins(left=0.5, right=0.4, top=0.6, bottom=0.6)
    # an ampersand begins a code in headers
    sheet.set_header(f"&L{title.replace('&', '&&')[:120]}&R{facts.status}")
    sheet.set_footer("&L&A&Rpage &P of &N")
