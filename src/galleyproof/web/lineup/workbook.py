"""The line-up as a workbook that can be brought in again: a sheet for each list, one for all single values."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from io import BytesIO

from galleyproof.web.lineup.kinds import KINDS, Kind, RowField
from galleyproof.web.lineup.shapes import ROOT, fields_of, is_single, variant
from galleyproof.web.lineup.text import Text
from galleyproof.web.lineup.view import shown
from galleyproof.yamltext.shapes import ListShape, PairsShape, Shape
from galleyproof.yamltext.tree import Raw, label_of

__all__ = ["VALUES_TITLE", "VALUE_HEADS", "tables", "write_workbook"]

VALUES_TITLE = "Single values"
VALUE_HEADS = ("block", "key", "value")

Grid = tuple[tuple[str, ...], list[tuple[str, ...]]]
"""Heads and rows."""


def tables(text: Text) -> Iterator[tuple[str, Grid]]:
    """Every sheet by its title; lists that the job does not have are left out."""
    yield VALUES_TITLE, (VALUE_HEADS, list(_values(text.tree, (), ROOT)))
    for kind in KINDS.values():
        entries = list(_entries(text.tree, kind.lists, (), 0))
        if entries:
            yield kind.title, _grid(kind, entries)


def _values(tree: Raw, keys: tuple[str, ...], shape: Shape) -> Iterator[tuple[str, ...]]:
    """Single values outside of lists; of pairs each one."""
    if not isinstance(tree, dict):
        return
    shape = variant(shape, tree)
    if isinstance(shape, PairsShape):
        yield from ((": ".join(keys), key, shown(value)) for key, value in tree.items())
        return
    fields = fields_of(shape)
    for key, value in tree.items():
        field = fields.get(key)
        if field is None or isinstance(field.shape, PairsShape):
            yield from _values(value, (*keys, key), field.shape if field else shape)
        elif is_single(field.shape):
            yield ": ".join(keys), key, shown(value)
        elif not isinstance(field.shape, ListShape):
            if not value:
                yield ": ".join((*keys, key)), "", ""
            yield from _values(value, (*keys, key), field.shape)


def _entries(
    tree: Raw, lists: tuple[str, ...], parents: tuple[str, ...], done: int
) -> Iterator[tuple[tuple[str, ...], Raw]]:
    """Every entry of a list with the names of the entries it stands in."""
    if isinstance(tree, list):
        for n, entry in enumerate(tree):
            if done == len(lists):
                yield parents, entry
            else:
                yield from _entries(entry, lists, (*parents, label_of(entry) or str(n + 1)), done)
    elif isinstance(tree, dict) and done < len(lists):
        yield from _entries(tree.get(lists[done]), lists, parents, done + 1)


def _grid(kind: Kind, entries: list[tuple[tuple[str, ...], Raw]]) -> Grid:
    used = [f for f in kind.fields if any(_said(entry, f) for _, entry in entries)]
    heads = (*(noun for _, noun in kind.parents), *(f.title for f in used))
    rows = [(*parents, *(_said(entry, f) for f in used)) for parents, entry in entries]
    return heads, rows


def _said(entry: Raw, field: RowField) -> str:
    here = entry
    for key in field.keys:
        if not isinstance(here, dict) or key not in here:
            return ""
        here = here[key]
    if field.shape is None:
        return "yes" if here == {} else ""
    return shown(here)


def write_workbook(text: Text) -> bytes:
    """The line-up as an XLSX file; every cell is text, nothing in it can be a formula."""
    import xlsxwriter  # type: ignore[import-untyped]

    made = BytesIO()
    book = xlsxwriter.Workbook(made, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False})
    book.set_properties({"title": text.titles()[0], "created": datetime(2000, 1, 1)})  # noqa: DTZ001  the same each time
    head = book.add_format({"bold": True, "bottom": 1, "text_wrap": True, "valign": "top"})
    plain = book.add_format({"num_format": "@", "text_wrap": True, "valign": "top"})
    for title, (heads, rows) in tables(text):
        sheet = book.add_worksheet(title)
        sheet.freeze_panes(1, 1)
        for n, words in enumerate(heads):
            widest = max([len(words), *(min(len(row[n]), 40) for row in rows)])
            sheet.set_column(n, n, widest + 2, plain)
            sheet.write_string(0, n, words, head)
            for at, row in enumerate(rows, 1):
                if row[n]:
                    sheet.write_string(at, n, row[n], plain)
    book.close()
    return made.getvalue()
