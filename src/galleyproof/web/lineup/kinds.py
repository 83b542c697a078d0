"""What the rows of a table can be: entries of any list of a job, and which values such an entry has.

Made from the job's model; a workbook that is handed out and one that is brought in go by the same titles.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Final

from galleyproof.job.words import JOB_WORDS
from galleyproof.web.lineup.shapes import ROOT, fields_of, is_single, title_of
from galleyproof.yamltext.shapes import FieldShape, ListShape, PairsShape, Shape

__all__ = ["KINDS", "VALUES", "Kind", "RowField", "kind_named"]


@dataclass(frozen=True, slots=True, eq=False)
class RowField:
    """One value of an entry.

    Attributes:
        keys: Where it stands in the entry.
        title: Head of its column.
        shape: What it takes; None for a block that is there or not.
    """

    keys: tuple[str, ...]
    title: str
    shape: Shape | None

    @property
    def name(self) -> str:
        """As forms name it."""
        return ".".join(self.keys)


@dataclass(frozen=True, slots=True, eq=False)
class Kind:
    """What a row can be.

    Attributes:
        name: As forms name it: ``hoods.appliances``.
        title: In words, at most 31 characters: the name of a sheet.
        lists: Keys from the top; a list at the end, perhaps lists on the way.
        parents: For each list on the way the number of its keys and what an entry of it is called.
        fields: Values of an entry.
    """

    name: str
    title: str
    lists: tuple[str, ...]
    parents: tuple[tuple[int, str], ...]
    fields: tuple[RowField, ...]

    @property
    def by_title(self) -> dict[str, RowField]:
        """Fields by the head of their column."""
        return {f.title: f for f in self.fields}


VALUES: Final = "values"
"""Kind of a sheet whose rows are single values: block, key, value."""


def _kinds() -> Iterator[Kind]:
    for key, field in ROOT.fields.items():
        if key not in ("galleyproof", "issued"):
            yield from _below((key,), field, ())


def _below(keys: tuple[str, ...], field: FieldShape, parents: tuple[tuple[int, str], ...]) -> Iterator[Kind]:
    shape = field.shape
    if is_single(shape) or isinstance(shape, PairsShape):
        return
    if isinstance(shape, ListShape):
        yield Kind(".".join(keys), _title(keys, parents), keys, parents, tuple(_fields((), shape.item)))
        inside = (*parents, (len(keys), JOB_WORDS.noun(keys[-1])))
        for key, inner in fields_of(shape.item).items():
            yield from _below((*keys, key), inner, inside)
        return
    for key, inner in fields_of(shape).items():
        yield from _below((*keys, key), inner, parents)


def _title(keys: tuple[str, ...], parents: tuple[tuple[int, str], ...]) -> str:
    own = title_of(keys[-1])
    if len(keys) == 1:
        return own.capitalize()
    above = parents[0][1] if parents else title_of(keys[0])
    if len(parents) > 1:
        above = f"{parents[0][1]} {parents[-1][1]}"
    return f"{own} of {above}"[:31].capitalize()


def _fields(keys: tuple[str, ...], shape: Shape) -> Iterator[RowField]:
    for key, field in fields_of(shape).items():
        place = (*keys, key)
        if is_single(field.shape):
            yield RowField(place, ": ".join(map(title_of, place)), field.shape)
        elif not isinstance(field.shape, ListShape):
            if field.nullable:
                yield RowField(place, f"{': '.join(map(title_of, place))}: there", None)
            yield from _fields(place, field.shape)


@cache
def _all() -> dict[str, Kind]:
    return {kind.name: kind for kind in _kinds()}


KINDS: Final = MappingProxyType(_all())
"""Every kind of row by its name, parents before what they hold."""


def kind_named(name: str) -> Kind | None:
    """A kind by its name or its title."""
    found = KINDS.get(name)
    return found or next((k for k in KINDS.values() if k.title.casefold() == name.strip().casefold()), None)
