"""Published tables as frozen values, and the four ways to look something up in them.

A table is two files under ``data/<area>/``: a CSV with nothing but the cells, and a TOML beside it with the
standard, the edition, the unit and authority of each column, the footnotes and the origin of the numbers.
Nothing is computed from a cell here; a look-up says by its name what happens between two rows:

======================  ==========================================================================
``Table.exact``         the row itself; anything else is refused, with the nearest rows named
``Table.at_least``      rounds up: the first row not below the value; above the last row is refused
``Table.at_most``       rounds down: the last row not above the value; below the first row is refused
``Table.interpolate``   a straight line between the two rows around the value; outside is refused
======================  ==========================================================================
"""

from __future__ import annotations

import csv
import difflib
import math
import tomllib
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib import resources
from importlib.resources.abc import Traversable
from typing import Any, Literal, TypeAlias, cast

from galleyproof.errors import GalleyproofError
from galleyproof.findings import Citation, Cited

__all__ = ["Cell", "Column", "Row", "Table", "TableError", "load", "table_names"]

Cell: TypeAlias = float | str | None
Kind: TypeAlias = Literal["number", "label", "text"]


class TableError(GalleyproofError, LookupError):
    """A row, column or cell that a published table does not have; the message names the nearest ones."""


@dataclass(frozen=True, slots=True)
class Column:
    """What is known of one column.

    Attributes:
        name: Heading; a number's unit is its suffix.
        kind: ``number``, ``label`` (compared as text, no arithmetic) or ``text``.
        unit: Unit of the cells, ``-`` for none.
        authority: ``published``, ``computed`` or ``from memory``.
        confidence: ``high`` or ``medium``.
        note: Which cells are otherwise, what a blank means.
    """

    name: str
    kind: Kind
    unit: str
    authority: str
    confidence: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a table; cells are read by column name."""

    table: Table
    index: int

    def cell(self, column: str) -> Cell:
        """The cell as it stands; None for a blank."""
        return self.table.rows[self.index][self.table.position(column)]

    def number(self, column: str) -> float:
        """A cell that must hold a number.

        Raises:
            TableError: The table has no value there, or the column holds labels.
        """
        value = self.cell(column)
        if isinstance(value, float):
            return value
        if value is None:
            raise TableError(f"{self.table.place} has no {column} for {self.key}")
        raise TableError(f"{column} of {self.table.place} is a label, not a number: {value!r}")

    def number_or_none(self, column: str) -> float | None:
        """A cell that holds a number or is blank."""
        return None if self.cell(column) is None else self.number(column)

    def label(self, column: str) -> str:
        """A cell that must hold a label or text; a blank one is the empty text."""
        value = self.cell(column)
        if isinstance(value, float):
            raise TableError(f"{column} of {self.table.place} is a number, not a label: {value:g}")
        return value or ""

    @property
    def key(self) -> str:
        """The row by the label columns it starts with: ``size=14, strands=7``."""
        parts: list[str] = []
        for column, value in zip(self.table.columns, self.table.rows[self.index], strict=True):
            if parts and column.kind != "label":
                break
            parts.append(f"{column.name}={_shown(value)}")
        return ", ".join(parts)

    def citation(self, column: str = "") -> Citation:
        """Where this row, or one cell of it, comes from; rule tables cite the clause of the row."""
        table = self.table
        standard, edition, place = table.standard, table.edition, table.table
        if table.standard_column and (own := self.label(table.standard_column)) != standard:
            standard, edition = own, ""
        if table.place_column:
            place = self.label(table.place_column)
        notes = [table.citation(column).note]
        if table.status_column and (status := self.label(table.status_column)) != "seen":
            notes.append(status)
        return Citation(standard, edition, place, "; ".join(n for n in notes if n))

    def cited(self, column: str) -> Cited[float]:
        """A number with its citation."""
        return Cited(self.number(column), (self.citation(column),))

    def cited_label(self, column: str) -> Cited[str]:
        """A label with its citation."""
        return Cited(self.label(column), (self.citation(column),))


@dataclass(frozen=True, slots=True, eq=False)
class Table:
    """A published table, read once; each is itself and no other, so that what was found in it can be remembered.

    Attributes:
        name: File name without ending: ``nfpa70_2023_table_430_250``.
        area: Folder: ``electrical`` or ``air``.
        standard: ``NFPA 70``, ``IMC``, ``common practice`` ...
        edition: Year; empty where clauses of several editions stand in one table.
        table: Table or clause number inside the standard.
        title: What it holds, in our words.
        columns: One entry per CSV column, in order.
        rows: Cells: a float for a number, text for a label, None for a blank.
        source: Where the numbers were read.
        footnotes: Which footnotes are handled, which are left to the caller.
        first_typing: Who typed it.
        second_typing: Who compared it, and how.
        csv_sha256: Checksum of the CSV file.
        place_column: Column with the clause of each row, for tables of rules.
        standard_column: Column with the standard of each row.
        status_column: Column that says whether a row was seen or is from memory.
    """

    name: str
    area: str
    standard: str
    edition: str
    table: str
    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    source: str
    footnotes: tuple[str, ...]
    first_typing: str
    second_typing: str
    csv_sha256: str
    place_column: str = ""
    standard_column: str = ""
    status_column: str = ""

    @property
    def place(self) -> str:
        """The table as people write it: ``NFPA 70-2023 Table 430.250``."""
        return str(Citation(self.standard, self.edition, self.table))

    def position(self, column: str) -> int:
        """Place of a column.

        Raises:
            TableError: The table has no such column.
        """
        places = _places(self)
        if column not in places:
            names = list(places)
            close = difflib.get_close_matches(column, names, n=3, cutoff=0.3) or names
            raise TableError(f"{column!r} is not a column of {self.place}; nearest: {', '.join(close)}")
        return places[column]

    def column(self, name: str) -> Column:
        """What is known of a column."""
        return self.columns[self.position(name)]

    def all_rows(self, **where: float | str) -> tuple[Row, ...]:
        """Every row whose cells equal all of ``where``; all rows without it."""
        return _rows(self, tuple((name, _cell_of(value)) for name, value in where.items()))

    def citation(self, column: str = "") -> Citation:
        """Where the table, or one column of it, comes from."""
        authority = self.column(column).authority if column else "published"
        return Citation(self.standard, self.edition, self.table, "" if authority == "published" else authority)

    def exact(self, **where: float | str) -> Row:
        """The one row that has these cells; nothing is rounded.

        Raises:
            TableError: No such row, or more than one; the message names the nearest rows.
        """
        found = self.all_rows(**where)
        if len(found) == 1:
            return found[0]
        wanted = ", ".join(f"{name}={_shown(_cell_of(value))}" for name, value in where.items())
        if found:
            raise TableError(f"{wanted} is not one row of {self.place} but {len(found)}; give more columns")
        raise TableError(f"{wanted} is not a row of {self.place}; nearest: {self._nearest(where)}")

    def at_least(self, column: str, value: float, *, open_end: bool = False, **where: float | str) -> Row:
        """The first row whose number is not below the value: rounds up.

        Args:
            column: Number column to compare with.
            value: What is asked for. [unit of the column]
            open_end: A blank cell there counts as "no upper end".
            **where: Cells that choose the rows first.

        Raises:
            TableError: The value is above the last row, or not a number.
        """
        rows = self._ordered(column, where, blank=math.inf if open_end else None)
        number = self._finite(column, value)
        for key, row in rows:
            if key >= number:
                return row
        raise TableError(f"{self._asked(column, value, where)} is above the last row, {rows[-1][0]:g}")

    def at_most(self, column: str, value: float, **where: float | str) -> Row:
        """The last row whose number is not above the value: rounds down.

        Raises:
            TableError: The value is below the first row, or not a number.
        """
        rows = self._ordered(column, where, blank=None)
        number = self._finite(column, value)
        for key, row in reversed(rows):
            if key <= number:
                return row
        raise TableError(f"{self._asked(column, value, where)} is below the first row, {rows[0][0]:g}")

    def interpolate(self, column: str, value: float, result: str, **where: float | str) -> float:
        """A straight line between the two rows around the value.

        Args:
            column: Number column to compare with; its numbers must differ from row to row.
            value: What is asked for. [unit of the column]
            result: Number column to read. [unit of that column]
            **where: Cells that choose the rows first.

        Raises:
            TableError: The value is outside the rows, or a cell beside it is blank.
        """
        rows = self._ordered(column, where, blank=None)
        number = self._finite(column, value)
        low_key, high_key = rows[0][0], rows[-1][0]
        if not low_key <= number <= high_key:
            raise TableError(f"{self._asked(column, value, where)} is outside the rows, {low_key:g} to {high_key:g}")
        low, below = next((k, r) for k, r in reversed(rows) if k <= number)
        high, above = next((k, r) for k, r in rows if k >= number)
        if low == high:
            return below.number(result)
        share = (number - low) / (high - low)
        return below.number(result) * (1.0 - share) + above.number(result) * share

    def _ordered(
        self, column: str, where: dict[str, float | str], *, blank: float | None
    ) -> tuple[tuple[float, Row], ...]:
        if self.column(column).kind != "number":
            raise TableError(f"{column} of {self.place} is a label: only exact() can look it up")
        rows = _numbered(self, column, tuple((name, _cell_of(value)) for name, value in where.items()), blank)
        if not rows:
            wanted = ", ".join(f"{name}={_shown(_cell_of(v))}" for name, v in where.items())
            raise TableError(f"{wanted} is not a row of {self.place}; nearest: {self._nearest(where)}")
        return rows

    def _finite(self, column: str, value: float) -> float:
        if not math.isfinite(value):
            raise TableError(f"{column}={value} cannot be looked up in {self.place}: a finite number is needed")
        return float(value)

    def _asked(self, column: str, value: float, where: dict[str, float | str]) -> str:
        chosen = "".join(f" ({name}={_shown(_cell_of(v))})" for name, v in where.items())
        unit = self.column(column).unit
        return f"{column}={value:g}{'' if unit == '-' else ' ' + unit} of {self.place}{chosen}"

    def _nearest(self, where: dict[str, float | str]) -> str:
        """The first column whose value the table does not have at all, with its nearest values."""
        matched: dict[str, float | str] = {}
        for name, value in where.items():
            if not self.all_rows(**matched, **{name: value}):
                present = list(dict.fromkeys(row.cell(name) for row in self.all_rows(**matched)))
                return ", ".join(f"{name}={_shown(v)}" for v in _closest(present, _cell_of(value)))
            matched[name] = value
        return "none"


@lru_cache(maxsize=256)
def _places(table: Table) -> dict[str, int]:
    places: dict[str, int] = {}
    for place, column in enumerate(table.columns):
        places.setdefault(column.name, place)
    return places


@lru_cache(maxsize=4096)
def _rows(table: Table, where: tuple[tuple[str, float | str], ...]) -> tuple[Row, ...]:
    at = {table.position(name): value for name, value in where}
    return tuple(
        Row(table, index)
        for index, cells in enumerate(table.rows)
        if all(_same(cells[position], value) for position, value in at.items())
    )


@lru_cache(maxsize=1024)
def _numbered(
    table: Table, column: str, where: tuple[tuple[str, float | str], ...], blank: float | None
) -> tuple[tuple[float, Row], ...]:
    """Rows with their number in a column, smallest first."""
    rows: list[tuple[float, Row]] = []
    for row in _rows(table, where):
        key = row.number_or_none(column)
        key = blank if key is None else key
        if key is not None:
            rows.append((key, row))
    return tuple(sorted(rows, key=lambda pair: pair[0]))


def _cell_of(value: float | str) -> float | str:
    return value if isinstance(value, str) else float(value)


def _same(cell: Cell, wanted: float | str) -> bool:
    if isinstance(cell, float) and isinstance(wanted, float):
        return math.isclose(cell, wanted, rel_tol=1e-9)
    return cell == wanted


def _shown(value: Cell) -> str:
    if value is None:
        return "blank"
    return f"{value:g}" if isinstance(value, float) else value


def _closest(present: list[Cell], wanted: float | str) -> list[Cell]:
    numbers = [v for v in present if isinstance(v, float)]
    if isinstance(wanted, float) and numbers:
        below = [v for v in numbers if v < wanted]
        above = [v for v in numbers if v > wanted]
        return [*([max(below)] if below else []), *([min(above)] if above else [])]
    labels = [v for v in present if isinstance(v, str)]
    close = difflib.get_close_matches(str(wanted), labels, n=3, cutoff=0.4)
    return list(close) or list(labels) or list(present)


def _folders() -> list[Traversable]:
    data = resources.files("galleyproof.tables") / "data"
    return sorted((f for f in data.iterdir() if f.is_dir()), key=lambda f: f.name)


@cache
def table_names() -> tuple[str, ...]:
    """Names of all tables, sorted."""
    return tuple(
        sorted(f.name.removesuffix(".toml") for d in _folders() for f in d.iterdir() if f.name.endswith(".toml"))
    )


@cache
def load(name: str) -> Table:
    """Read one table; the second call returns the same value.

    Args:
        name: One of ``table_names()``.

    Raises:
        TableError: No such table; the message names the nearest ones.
    """
    folder = next((d for d in _folders() if (d / f"{name}.toml").is_file()), None)
    if folder is None:
        close = difflib.get_close_matches(name, table_names(), n=3, cutoff=0.3)
        raise TableError(f"{name!r} is not a table; nearest: {', '.join(close) or 'none'}")
    about = tomllib.loads((folder / f"{name}.toml").read_text(encoding="utf-8"))
    columns = tuple(
        Column(
            name=heading,
            kind=cast(Kind, entry["kind"]),
            unit=entry["unit"],
            authority=entry["authority"],
            confidence=entry["confidence"],
            note=entry.get("note", ""),
        )
        for heading, entry in about["columns"].items()
    )
    lines = (folder / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    heading, *body = csv.reader(lines)
    if heading != [c.name for c in columns]:
        raise TableError(f"{name}.csv and {name}.toml name different columns")
    return Table(
        name=name,
        area=folder.name,
        columns=columns,
        rows=tuple(_typed(name, columns, cells) for cells in body),
        footnotes=tuple(about["footnotes"]),
        **_texts(about),
    )


def _texts(about: dict[str, Any]) -> dict[str, Any]:
    required = (
        "standard",
        "edition",
        "table",
        "title",
        "source",
        "first_typing",
        "second_typing",
        "csv_sha256",
    )
    optional = ("place_column", "standard_column", "status_column")
    return {k: str(about[k]) for k in required} | {k: str(about.get(k, "")) for k in optional}


def _typed(name: str, columns: tuple[Column, ...], cells: list[str]) -> tuple[Cell, ...]:
    if len(cells) != len(columns):
        raise TableError(f"{name}.csv: a row has {len(cells)} cells instead of {len(columns)}: {cells}")
    return tuple(
        (None if text == "" else float(text) if column.kind == "number" else text)
        for column, text in zip(columns, cells, strict=True)
    )
