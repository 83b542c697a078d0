"""What a page of the line-up shows: tables and forms of cells, made from the job's model and its text."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from galleyproof.job.meanings import MEANINGS
from galleyproof.job.model import Job
from galleyproof.job.words import JOB_WORDS
from galleyproof.web.lineup.plan import COLUMNS, INNER, SECTIONS, Section
from galleyproof.web.lineup.shapes import (
    ROOT,
    default_of,
    field_at,
    fields_of,
    is_single,
    model_of,
    takes,
    title_of,
    variant,
)
from galleyproof.web.lineup.text import Text
from galleyproof.yamltext import Path
from galleyproof.yamltext.shapes import (
    ChoiceShape,
    FieldShape,
    LeafShape,
    ListShape,
    PairsShape,
    Shape,
    WordShape,
)
from galleyproof.yamltext.tree import Raw, at, label_of

__all__ = [
    "Adder",
    "Cell",
    "Column",
    "Form",
    "Known",
    "Row",
    "Table",
    "cell_at",
    "entry_of",
    "form_of",
    "known_tags",
    "name_of",
    "parse_path",
    "path_name",
    "section_view",
    "shown",
    "table_of",
    "wrong_by_path",
]


def path_name(path: Path) -> str:
    """A place as pages name it: ``hoods.0.length``."""
    return ".".join(map(str, path))


def parse_path(name: str) -> Path:
    """The place of a name from ``path_name``."""
    steps = name.split(".") if name else ()
    return tuple(int(step) if step.isascii() and step.isdecimal() and len(step) < 10 else step for step in steps)


@dataclass(frozen=True, slots=True)
class Cell:
    """One value to type or to choose.

    Attributes:
        name: Its place; empty where the entry cannot have this value.
        value: As it stands.
        kind: ``text``, ``choice``, ``lines`` or ``none``.
        options: What may be chosen: as the text says it, and as the page does.
        default: What holds where it is left out.
        needed: Whether it may not be left out.
        wrong: What is wrong with it.
        title: What it is called.
        about: What it means and how it is written.
        known: Name of the list of tags it takes one of.
    """

    name: str
    value: str = ""
    kind: str = "none"
    options: tuple[tuple[str, str], ...] = ()
    default: str = ""
    needed: bool = False
    wrong: str = ""
    title: str = ""
    about: str = ""
    known: str = ""

    @property
    def odd(self) -> bool:
        """Whether it is a choice and something else stands there."""
        return bool(self.value) and all(self.value != value for value, _ in self.options)


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table."""

    title: str
    about: str
    needed: bool


@dataclass(frozen=True, slots=True)
class Row:
    """One entry of a list."""

    name: str
    label: str
    cells: tuple[Cell, ...]
    wrong: str
    more: bool
    inside: int


@dataclass(frozen=True, slots=True)
class Group:
    """Entries that stand under one parent.

    Attributes:
        title: The parent in words; empty where the list is the job's own.
        name: Place of the list, where a new entry goes.
        rows: Entries.
        wrong: What is wrong with the list itself.
    """

    title: str
    name: str
    rows: tuple[Row, ...]
    wrong: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """A list as a table."""

    title: str
    noun: str
    about: str
    columns: tuple[Column, ...]
    groups: tuple[Group, ...]


@dataclass(frozen=True, slots=True)
class Adder:
    """An optional block that is not there."""

    name: str
    title: str
    about: str


@dataclass(frozen=True, slots=True)
class Form:
    """A block as fields.

    Attributes:
        name: Its place.
        title: What it is called.
        about: What it means.
        cells: Its single values.
        parts: Blocks and lists inside, and what can be added.
        removable: Whether it may be left out.
        wrong: What is wrong with the block itself.
    """

    name: str
    title: str
    about: str
    cells: tuple[Cell, ...]
    parts: tuple[Form | Table | Adder, ...]
    removable: bool
    wrong: str

    @property
    def up(self) -> str:
        """Place of the entry that this one stands in; empty at the top."""
        return path_name(above(parse_path(self.name)))

    @property
    def kinds(self) -> tuple[str, ...]:
        """What each part is, for the template."""
        return tuple(type(p).__name__ for p in self.parts)


Known = Mapping[str, tuple[str, ...]]
"""Tags that a cell may name, by the name of their list."""

_KNOWN_LISTS = {
    "supply": "supplies",
    "panelboard": "panelboards",
    "circuit": "circuits",
    "shutdown_circuit": "circuits",
    "switch": "switches",
    "shut_down_by": "shutdowns",
    "forced_by": "fire_systems",
    "fan": "exhaust_fans",
    "serves": "hoods",
    "hoods": "hoods",
    "carries": "hoods",
    "tracks": "exhaust_fans",
    "zone": "zones",
    "to": "places",
}


def known_tags(text: Text) -> Known:
    """Tags of everything that others name."""
    found: dict[str, tuple[str, ...]] = {}
    for key in (
        "supplies",
        "panelboards",
        "circuits",
        "switches",
        "shutdowns",
        "fire_systems",
        "exhaust_fans",
        "hoods",
    ):
        entries = at(text.tree, (key,))
        found[key] = tuple(filter(None, map(label_of, entries))) if isinstance(entries, list) else ()
    systems = at(text.tree, ("fire_systems",))
    zones = [label_of(s, "zone") for s in systems] if isinstance(systems, list) else []
    found["zones"] = tuple(dict.fromkeys(filter(None, zones)))
    found["places"] = tuple(dict.fromkeys(["hood", "kitchen", "roof", "electrical room", *_places(text.tree)]))
    return found


def _places(tree: Raw) -> Iterator[str]:
    if isinstance(tree, dict):
        for key, value in tree.items():
            if key == "place" and isinstance(value, str):
                yield value
            yield from _places(value)
    elif isinstance(tree, list):
        for value in tree:
            yield from _places(value)


def wrong_by_path(text: Text) -> dict[str, str]:
    """What is wrong, by place; several of one place in one sentence each."""
    found: dict[str, list[str]] = {}
    for problem, path in text.paths.items():
        found.setdefault(path_name(path), []).append(problem.what)
    return {name: ". ".join(words) for name, words in found.items()}


def shown(value: Raw) -> str:
    """A value as a cell shows it."""
    if value is None:
        return ""
    if isinstance(value, str):
        return value
    if isinstance(value, list):
        return ", ".join(shown(v) for v in value)
    return "\n".join(f"{key}: {shown(v)}" for key, v in value.items())


def name_of(text: Text, path: Path) -> str:
    """A place in words: ``hood H-1: length``."""
    return "" if text.document is None else JOB_WORDS.place(text.document, path)


# --- making ------------------------------------------------------------------------------------------------


@dataclass
class _Maker:
    text: Text
    wrong: Mapping[str, str]

    def below(self, name: str) -> str:
        """The first thing wrong at a place that no cell shows or anywhere below it."""
        if name in self.wrong:
            return self.wrong[name]
        return next((w for n, w in self.wrong.items() if n.startswith(f"{name}.")), "")

    def inside(self, name: str) -> int:
        return sum(n == name or n.startswith(f"{name}.") for n in self.wrong)

    def cell(self, path: Path, owner: Shape, field: FieldShape, value: Raw) -> Cell:
        key = str(path[-1])
        name = path_name(path)
        model = model_of(owner, key)
        meaning = _meaning(model, key)
        how = takes(field.shape)
        about = f"{meaning}; {how}" if how and meaning else meaning or how
        kind = "text"
        options: tuple[tuple[str, str], ...] = ()
        if isinstance(field.shape, WordShape):
            kind, options = "choice", tuple((word, word) for word in field.shape.values)
        elif isinstance(field.shape, LeafShape) and field.shape.plain == "bool":
            kind, options = "choice", (("true", "yes"), ("false", "no"))
        elif isinstance(field.shape, PairsShape):
            kind = "lines"
        wrong = self.wrong.get(name, "")
        if not wrong and isinstance(field.shape, (ListShape, PairsShape)):
            wrong = self.below(name)
        known = _KNOWN_LISTS.get(key, "") if isinstance(field.shape, LeafShape) else ""
        default = "" if model is None or field.required else default_of(model, key)
        default = dict(options).get(default, default)
        return Cell(name, shown(value), kind, options, default, field.required, wrong, title_of(key), about, known)

    def cell_in(self, path: Path, entry: Raw, shape: Shape, keys: tuple[str, ...]) -> Cell:
        """A cell some blocks down from an entry; none where the entry cannot have it."""
        here, tree = shape, entry
        for n, key in enumerate(keys):
            block = variant(here, tree)
            if isinstance(here, ChoiceShape) and key == here.by:
                return self.cell((*path, *keys), here, fields_of(here)[key], _in(tree, key))
            field = fields_of(block).get(key)
            if field is None:
                return Cell("")
            if n == len(keys) - 1:
                return self.cell((*path, *keys), block, field, _in(tree, key))
            here, tree = field.shape, _in(tree, key)
        raise AssertionError("a column without a key")

    # --- tables ---------------------------------------------------------------------------------------------

    def table(self, key: str, lists: list[tuple[str, Path]], shape: ListShape) -> Table:
        columns = tuple(tuple(c.split(".")) for c in COLUMNS.get(key, "").split()) or tuple(
            (k,) for k, f in fields_of(shape.item).items() if is_single(f.shape)
        )
        inner_only = {c[0] for c in columns}
        more = any(k not in inner_only or (k,) not in columns for k in fields_of(shape.item))
        heads = tuple(self._column(shape.item, c) for c in columns)
        groups = []
        for title, path in lists:
            entries = at(self.text.tree, path)
            rows = []
            for n, entry in enumerate(entries if isinstance(entries, list) else []):
                place = (*path, n)
                cells = tuple(self.cell_in(place, entry, shape.item, c) for c in columns)
                name = path_name(place)
                label = label_of(entry) or label_of(entry, "name") or str(n + 1)
                rows.append(Row(name, label, cells, self.wrong.get(name, ""), more, self.inside(name)))
            groups.append(Group(title, path_name(path), tuple(rows), self.wrong.get(path_name(path), "")))
        about = _meaning(Job, key) if lists and len(lists[0][1]) == 1 else ""
        return Table(title_of(key), JOB_WORDS.noun(key), about, heads, tuple(groups))

    def _column(self, shape: Shape, keys: tuple[str, ...]) -> Column:
        here, title, needed = shape, [], True
        for n, key in enumerate(keys):
            field = fields_of(here)[key]
            needed = needed and field.required
            if n == len(keys) - 1:
                model = model_of(here, key)
                about = _meaning(model, key)
                how = takes(field.shape)
                title.append(title_of(key))
                return Column(" ".join(title), f"{about}; {how}" if how else about, needed)
            if key not in ("drive", "control"):
                title.append(title_of(key))
            here = field.shape
        raise AssertionError("a column without a key")

    # --- forms ----------------------------------------------------------------------------------------------

    def form(self, path: Path, shape: Shape, tree: Raw, title: str, about: str, removable: bool) -> Form:
        block = variant(shape, tree)
        cells: list[Cell] = []
        parts: list[Form | Table | Adder] = []
        fields = dict(fields_of(block))
        if isinstance(shape, ChoiceShape):
            fields = {shape.by: fields_of(shape)[shape.by], **{k: f for k, f in fields.items() if k != shape.by}}
            if isinstance(block, ChoiceShape):  # nobody has chosen yet
                fields = {shape.by: fields[shape.by]}
        for key, field in fields.items():
            owner = shape if isinstance(shape, ChoiceShape) and key == shape.by else block
            place, value = (*path, key), _in(tree, key)
            if is_single(field.shape):
                cells.append(self.cell(place, owner, field, value))
                continue
            model = model_of(owner, key)
            meaning = _meaning(model, key)
            if isinstance(field.shape, ListShape):
                parts.append(self.table(key, [("", place)], field.shape))
            elif value is None and field.nullable:
                parts.append(Adder(path_name(place), title_of(key), meaning))
            else:
                parts.append(self.form(place, field.shape, value, title_of(key), meaning, field.nullable))
        return Form(
            path_name(path), title, about, tuple(cells), tuple(parts), removable, self.wrong.get(path_name(path), "")
        )


def _meaning(model: Any, key: str) -> str:
    """What a key means; where the page of the job file is referred to, the page here shows it already."""
    said = MEANINGS[model.__name__].get(key, "") if model is not None else ""
    return re.sub(r": see [a-z- ]+$|^see [a-z- ]+$", "", said)


def _in(tree: Raw, key: str) -> Raw:
    return tree.get(key) if isinstance(tree, dict) else None


def section_view(text: Text, section: Section) -> tuple[Form | Table | Adder, ...]:
    """Everything one page of the line-up shows."""
    maker = _Maker(text, wrong_by_path(text))
    found: list[Form | Table | Adder] = []
    for key in section.parts:
        field, value = ROOT.fields[key], at(text.tree, (key,))
        about = _meaning(Job, key)
        if isinstance(field.shape, ListShape):
            found.append(maker.table(key, [("", (key,))], field.shape))
            entries = value if isinstance(value, list) else []
            for inner in INNER.get(key, ()):
                shape = fields_of(field.shape.item)[inner].shape
                assert isinstance(shape, ListShape)
                noun = JOB_WORDS.noun(key)
                lists: list[tuple[str, Path]] = [
                    (f"{noun} {label_of(entry) or n + 1}", (key, n, inner)) for n, entry in enumerate(entries)
                ]
                found.append(maker.table(inner, lists, shape))
        elif value is None and field.nullable:
            found.append(Adder(key, title_of(key), about))
        else:
            found.append(maker.form((key,), field.shape, value, title_of(key), about, field.nullable))
    return tuple(found)


def table_of(text: Text, path: Path) -> Table | None:
    """One list as a table, for its page after a change of it."""
    field = field_at(text.tree, path)
    if field is None or not isinstance(field.shape, ListShape):
        return None
    return _Maker(text, wrong_by_path(text)).table(str(path[-1]), [("", path)], field.shape)


def form_of(text: Text, path: Path) -> Form | None:
    """Everything about one entry of a list, or one block."""
    field = field_at(text.tree, path) if path else None
    if field is None or is_single(field.shape) or isinstance(field.shape, ListShape):
        return None
    tree = at(text.tree, path)
    if tree is None:
        return None
    noun = JOB_WORDS.noun(str(path[-2])) if isinstance(path[-1], int) else title_of(str(path[-1]))
    if isinstance(path[-1], int):
        title = f"{noun} {label_of(tree) or label_of(tree, 'name') or path[-1] + 1}"
    else:
        title = noun
    return _Maker(text, wrong_by_path(text)).form(path, field.shape, tree, title, "", False)


def entry_of(text: Text, path: Path, section: Section) -> Path:
    """The entry of a list that a place is in and that has more to it than its row shows; nothing without one."""
    if not path or path[0] not in section.parts:
        return ()
    for n in range(len(path), 1, -1):
        field = field_at(text.tree, path[:n]) if isinstance(path[n - 1], int) else None
        if field is not None and any(not is_single(f.shape) for f in fields_of(field.shape).values()):
            return path[:n]
    return ()


def above(path: Path) -> Path:
    """The entry of a list that an entry stands in; nothing for one of the job's own lists."""
    return next((path[:n] for n in range(len(path) - 1, 1, -1) if isinstance(path[n - 1], int)), ())


def cell_at(text: Text, path: Path) -> str:
    """A value as its cell shows it."""
    return shown(at(text.tree, path))


def counts(text: Text) -> dict[str, int]:
    """Problems of each section that have a place."""
    found = dict.fromkeys((s.key for s in SECTIONS), 0)
    for path in text.paths.values():
        for section in SECTIONS:
            if path and path[0] in section.parts:
                found[section.key] += 1
    return found
