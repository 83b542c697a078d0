"""A file as plain values, changed at any place whether or not what it says is right.

A draft may hold wrong values; they are text like all others here. Keys, lists and texts only: nothing is read as a
number or a quantity, so what a person typed comes back as typed.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, TypeAlias

from galleyproof.errors import InputError
from galleyproof.yamltext import emit, nodes
from galleyproof.yamltext.change import _Changer
from galleyproof.yamltext.emit import Spelled
from galleyproof.yamltext.nodes import Document, Mapping, Node, Path, Scalar, Sequence
from galleyproof.yamltext.reader import load
from galleyproof.yamltext.shapes import LeafShape, Shape, WordShape

__all__ = ["Raw", "at", "change_raw", "label_of", "put", "raw_of", "spelled", "take"]

Raw: TypeAlias = "str | list[Raw] | dict[str, Raw] | None"
"""A node without its place: texts (``Spelled`` where they stood without quotes), lists, dicts, None for nothing."""

_ANY = LeafShape(None, "any", None)  # type: ignore[arg-type]  # only its being a leaf is looked at


def raw_of(node: Node, kept: dict[int, Raw] | None = None) -> Raw:
    """What a node holds, as plain values.

    Args:
        node: The node.
        kept: Takes every list and dict by the ``id`` of its node: ``change_raw`` passes over those that are the same.
    """
    made: Raw
    if isinstance(node, Mapping):
        made = {key: raw_of(entry.value, kept) for key, entry in node.entries.items()}
    elif isinstance(node, Sequence):
        made = [raw_of(item, kept) for item in node.items]
    elif isinstance(node, Scalar) and not node.empty:
        return Spelled(node.text) if node.plain else node.text
    else:
        return None
    if kept is not None:
        kept[id(node)] = made
    return made


def spelled(text: str, shape: Shape) -> str:
    """A text a person typed for a place of a shape: without quotes where the place takes a word or a number."""
    if isinstance(shape, WordShape) and text in shape.values and not isinstance(shape.values[text], str):
        return Spelled(text)
    if isinstance(shape, LeafShape):
        if shape.plain == "bool" and text in ("true", "false"):
            return Spelled(text)
        if shape.plain in ("int", "float") and emit.number_like(text):
            return Spelled(text)
    return text


# --- places -------------------------------------------------------------------------------------------------


def at(tree: Raw, path: Path) -> Raw:
    """What stands at a place; None when there is nothing."""
    here: Raw = tree
    for step in path:
        if isinstance(here, dict):
            here = here.get(str(step))
        elif isinstance(here, list) and isinstance(step, int) and 0 <= step < len(here):
            here = here[step]
        else:
            return None
    return here


def put(tree: Raw, path: Path, value: Raw, *, insert: bool = False) -> Raw:
    """The tree with a value at a place; blocks on the way are made where they are missing.

    Args:
        tree: The tree; it is left as it is.
        path: Where. A list takes a place behind its last entry as a new one.
        value: What shall stand there.
        insert: Whether entries of the list move down to make room, instead of being replaced.

    Raises:
        LookupError: A place that a list does not have.
    """
    if not path:
        return value
    step, rest = path[0], path[1:]
    if isinstance(step, int):
        items = list(tree) if isinstance(tree, list) else []
        if not 0 <= step <= len(items):
            raise LookupError(f"the list has {len(items)} entries, none at {step}")
        inner = put(items[step] if step < len(items) and not (insert and not rest) else None, rest, value)
        if step < len(items) and not (insert and not rest):
            items[step] = put(items[step], rest, value, insert=insert)
        else:
            items.insert(step, inner)
        return items
    entries = dict(tree) if isinstance(tree, dict) else {}
    entries[step] = put(entries.get(step), rest, value, insert=insert)
    return entries


def take(tree: Raw, path: Path) -> Raw:
    """The tree without what stands at a place; a list that loses its last entry stays empty.

    Raises:
        LookupError: Nothing stands there.
    """
    step, rest = path[0], path[1:]
    if isinstance(tree, list) and isinstance(step, int) and 0 <= step < len(tree):
        items = list(tree)
        if rest:
            items[step] = take(items[step], rest)
        else:
            del items[step]
        return items
    if isinstance(tree, dict) and str(step) in tree:
        entries = dict(tree)
        if rest:
            entries[str(step)] = take(entries[str(step)], rest)
        else:
            del entries[str(step)]
        return entries
    raise LookupError(f"nothing stands at {step}")


def label_of(tree: Raw, key: str = "tag") -> str:
    """What names an entry of a list; empty without one."""
    name = tree.get(key) if isinstance(tree, dict) else None
    return name if isinstance(name, str) else ""


# --- writing ------------------------------------------------------------------------------------------------


def change_raw(document: Document, tree: Raw, kept: dict[int, Raw] | None = None) -> Document:
    """A document whose text was changed to hold a tree; comments and layout of all else stay.

    Args:
        document: The text as it is, without problems.
        tree: What it shall hold; at its top a block.
        kept: From ``raw_of`` of the document: parts of ``tree`` that come from it need not be looked at.

    Returns:
        The new document.

    Raises:
        InputError: The text cannot be changed so; nothing was.
    """
    assert isinstance(tree, dict)
    if not document.problems:
        changer = _RawChanger(document, lambda value, kind: str(value))
        changer.kept = kept or {}
        if changer.value(document.root, tree, _ANY, flow=False):
            new = _holding(changer.applied(0, len(document.text)), document.file, tree)
            if new is not None:
                return new
    new = _holding(emit.document(tree), document.file, tree)  # type: ignore[arg-type]  # Raw is a Tree without numbers
    if new is not None:
        return new
    problem = document.problem((), "", "this change cannot be written into the text of the job; nothing was changed")
    raise InputError([problem])


def _holding(text: str, file: str, tree: Raw) -> Document | None:
    """The document of a text, when it holds a tree."""
    try:
        document = load(text, file)
    except InputError:
        return None
    return document if not document.problems and _equal(raw_of(document.root), tree) else None


def _equal(one: Raw, other: Raw) -> bool:
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(_equal(one[k], other[k]) for k in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(_equal, one, other))
    return one == other


@dataclass(slots=True)
class _RawChanger(_Changer):
    """As its base, by what stands in the text instead of by a model."""

    kept: dict[int, Raw] = field(default_factory=dict)

    def value(self, node: Node, value: Any, shape: Shape, *, flow: bool) -> bool:
        if value is not None and self.kept.get(id(node)) is value:
            return True
        if isinstance(value, dict):
            return isinstance(node, Mapping) and self._keys(node, {k: (v, _ANY) for k, v in value.items()})
        if isinstance(value, list):
            return isinstance(node, Sequence) and self._list(node, tuple(value), _ANY)
        if not isinstance(node, Scalar):
            return False
        if (value is None and node.empty) or (not node.empty and value == node.text):
            return True
        if node.start == node.end or self.text[node.start] in "|>":
            return False
        self._edit(node.start, node.end, emit.scalar(value))
        return True

    def _tree(self, value: Any, shape: Shape) -> Any:
        return value

    def _says(self, node: Node, shape: Shape) -> Any:
        return None if isinstance(node, nodes.Broken) else raw_of(node)

    def _item_shape(self, shape: Shape) -> Shape:
        return shape
