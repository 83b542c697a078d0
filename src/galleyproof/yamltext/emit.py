"""Values to YAML text: short blocks in braces on one line, everything else indented by two."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any, Final, TypeAlias

from pydantic import BaseModel

from galleyproof.yamltext.nodes import NULL_WORDS
from galleyproof.yamltext.shapes import (
    ChoiceShape,
    EitherShape,
    FieldShape,
    LeafShape,
    ListShape,
    PairsShape,
    Shape,
    block_shape,
)

Tree: TypeAlias = "str | int | float | bool | list[Tree] | dict[str, Tree] | None"
Quantity: TypeAlias = Callable[[Any, str], str]

WIDTH: Final = 100

_WORD = re.compile(r"""[^\s\x00-\x20!-/:;<=>?@\[\]^`{|}~"'][^\x00-\x1f\x7f-\x9f\u2028\u2029\ufeff\ufffe\uffff]*""")
_NUMBER_LIKE = re.compile(r"[-+.0-9][-+.0-9eExXoO_a-fA-F]*|[-+]?\.(?:inf|nan)", re.IGNORECASE)
_BOOL_LIKE = frozenset({"true", "false", "yes", "no", "on", "off", "y", "n", "null"})


class Spelled(str):
    """A text that stood or was typed without quotes and is written so, although it looks like a number."""

    __slots__ = ()


# --- values to trees ----------------------------------------------------------------------------------------


def tree_of(value: Any, shape: Shape, quantity: Quantity) -> Tree:
    """A value of a model as texts, numbers, lists and dicts; what equals its default is left out.

    Args:
        value: Instance, list or leaf.
        shape: What the model expects there.
        quantity: Writes a quantity of a kind with its unit.
    """
    if isinstance(value, BaseModel):
        block = block_shape(type(value))
        return {
            key: tree_of(getattr(value, key), one.shape, quantity)
            for key, one in block.fields.items()
            if not is_default(value, key, one)
        }
    if isinstance(shape, ListShape):
        return [tree_of(item, shape.item, quantity) for item in value]
    if isinstance(shape, PairsShape):
        return {str(k): tree_of(v, shape.value, quantity) for k, v in value.items()}
    return leaf_of(value, shape, quantity)


def leaf_of(value: Any, shape: Shape, quantity: Quantity) -> Tree:
    """One single value, a quantity with its unit."""
    if isinstance(shape, LeafShape) and shape.kind is not None and value is not None:
        return quantity(value, shape.kind)
    if isinstance(value, (str, int, float, bool)) or value is None:
        return value
    return str(value)


def is_default(block: BaseModel, key: str, one: FieldShape) -> bool:
    """Whether a key of a block need not be written."""
    if one.required:
        return False
    info = type(block).model_fields[key]
    return bool(getattr(block, key) == info.get_default(call_default_factory=True, validated_data={}))


def shape_for(value: Any, shape: Shape) -> Shape:
    """The branch of a union that a value takes."""
    if isinstance(shape, (ChoiceShape, EitherShape)) and isinstance(value, BaseModel):
        return block_shape(type(value))
    return shape


# --- trees to text ------------------------------------------------------------------------------------------


def scalar(value: Tree) -> str:
    """A single value, quoted where YAML (of any version) would take it for something else."""
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
    if isinstance(value, int):
        return str(value)
    assert isinstance(value, str)
    if _plain_enough(value) or (isinstance(value, Spelled) and (number_like(value) or value.lower() in _BOOL_LIKE)):
        return value
    if all(ch.isprintable() for ch in value):
        return "'" + value.replace("'", "''") + "'"
    return '"' + "".join(_escaped(ch) for ch in value) + '"'


def number_like(text: str) -> bool:
    """Whether YAML would take a text for a number."""
    return _NUMBER_LIKE.fullmatch(text) is not None


def _plain_enough(text: str) -> bool:
    return (
        _WORD.fullmatch(text) is not None
        and text.isprintable()
        and text == text.strip()
        and not any(mark in text for mark in (": ", " #", ",", "[", "]", "{", "}"))
        and not text.endswith(":")
        and text not in NULL_WORDS
        and text.lower() not in _BOOL_LIKE
        and _NUMBER_LIKE.fullmatch(text) is None
    )


def _escaped(ch: str) -> str:
    if ch in '"\\':
        return "\\" + ch
    if ch.isprintable():
        return ch
    code = ord(ch)
    if code < 0x100:
        return f"\\x{code:02x}"
    return f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"


def flow(tree: Tree) -> str:
    """On one line, in braces and brackets."""
    if isinstance(tree, dict):
        return "{" + ", ".join(f"{scalar(k)}: {flow(v)}" for k, v in tree.items()) + "}"
    if isinstance(tree, list):
        return "[" + ", ".join(flow(v) for v in tree) + "]"
    return scalar(tree)


def entry(key: str, tree: Tree, column: int, *, top: bool = False) -> str:
    """``key: value`` with its first line at ``column``; no line break at the end.

    Args:
        key: The key.
        tree: Its value.
        column: Spaces before the key, which stand there already. [-]
        top: A section of the file: never put on one line.
    """
    name = scalar(key)
    if not isinstance(tree, (dict, list)) or not tree:
        return f"{name}: {flow(tree)}"
    if not top and _short(tree, column + len(name) + 2):
        return f"{name}: {flow(tree)}"
    inner = column + 2
    return f"{name}:\n{' ' * inner}{block(tree, inner)}"


def block(tree: dict[str, Tree] | list[Tree], column: int) -> str:
    """A collection over several lines; its first line begins at ``column``, where the writer already is."""
    new_line = "\n" + " " * column
    if isinstance(tree, dict):
        return new_line.join(entry(k, v, column) for k, v in tree.items())
    return new_line.join(f"- {item(v, column + 2)}" for v in tree)


def item(tree: Tree, column: int) -> str:
    """An entry of a list after its dash."""
    if not isinstance(tree, (dict, list)) or not tree or _short(tree, column):
        return flow(tree)
    return block(tree, column)


def _short(tree: dict[str, Tree] | list[Tree], column: int) -> bool:
    """Whether a collection holds single values only (or lists of them) and fits on the line."""
    values = tree.values() if isinstance(tree, dict) else tree
    for value in values:
        if isinstance(value, dict) or (isinstance(value, list) and isinstance(tree, list)):
            return False
        if isinstance(value, list) and any(isinstance(v, (dict, list)) for v in value):
            return False
    return column + len(flow(tree)) <= WIDTH


def document(sections: dict[str, Tree]) -> str:
    """A whole file."""
    return "".join(entry(key, tree, 0, top=True) + "\n" for key, tree in sections.items())


__all__ = [
    "Quantity",
    "Spelled",
    "Tree",
    "block",
    "document",
    "entry",
    "flow",
    "is_default",
    "item",
    "leaf_of",
    "number_like",
    "scalar",
    "shape_for",
    "tree_of",
]
