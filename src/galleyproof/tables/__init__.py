"""Published tables, their reader, and one small module of look-ups per subject.

``motors``, ``conductors``, ``protection``, ``raceways``, ``clearances``, ``enclosures``, ``class2``,
``sensors`` and ``air``. Every look-up returns the value together with its citation.
"""

from galleyproof.tables.reader import Cell, Column, Row, Table, TableError, load, table_names

__all__ = ["Cell", "Column", "Row", "Table", "TableError", "load", "table_names"]
