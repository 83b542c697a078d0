"""What a YAML file holds, with the place of every key and value: text only, nothing is guessed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import NamedTuple, TypeAlias

from galleyproof.errors import Problem

Path: TypeAlias = tuple[str | int, ...]
"""Keys and zero-based list places from the top of the file: ``("hoods", 0, "tag")``."""

NULL_WORDS = frozenset({"", "~", "null", "Null", "NULL"})
"""Spellings of "nothing" in the YAML 1.2 core schema."""


class Scalar(NamedTuple):
    """A single value as it stands in the file.

    Attributes:
        text: Its characters, quotes and escapes undone.
        plain: Whether it was written without quotes and not as a text block.
        line: Line it begins in; the first is 1. [-]
        start: Place of its first character in the text. [-]
        end: Place after its last character. [-]
    """

    text: str
    plain: bool
    line: int
    start: int
    end: int

    @property
    def empty(self) -> bool:
        """Whether it says "nothing"."""
        return self.plain and self.text in NULL_WORDS


class Broken(NamedTuple):
    """Something already reported (an alias); what depends on it is not reported again."""

    line: int
    start: int
    end: int


class Entry(NamedTuple):
    """One ``key: value``."""

    key: Scalar
    value: Node


class Mapping(NamedTuple):
    """Keys with values; ``flow`` is the form in braces."""

    entries: dict[str, Entry]
    line: int
    start: int
    end: int
    flow: bool


class Sequence(NamedTuple):
    """A list; ``flow`` is the form in brackets."""

    items: tuple[Node, ...]
    line: int
    start: int
    end: int
    flow: bool


Node: TypeAlias = Scalar | Mapping | Sequence | Broken


@dataclass(frozen=True, slots=True)
class Document:
    """One file that YAML could take.

    Attributes:
        file: Name of the file as the user gave it.
        text: The whole file, without a byte-order mark.
        root: The node at its top.
        problems: What was refused but could be read past: ``validate`` reports them with its own.
    """

    file: str
    text: str
    root: Node
    problems: tuple[Problem, ...] = field(default=())

    def node(self, path: Path) -> Node | None:
        """The node at a path, or None."""
        node: Node | None = self.root
        for step in path:
            node = _child(node, step)
            if node is None:
                return None
        return node

    def line(self, path: Path) -> int:
        """Line of the value at a path; of the key of a block; of the nearest parent when it is missing.

        Args:
            path: From the top of the file.

        Returns:
            Line number, the first is 1. [-]
        """
        node, line = self.root, self.root.line
        for step in path:
            child = _child(node, step)
            if child is None:
                break
            if isinstance(node, Mapping) and not isinstance(child, Scalar):
                line = node.entries[str(step)].key.line
            else:
                line = child.line
            node = child
        return line

    def key_line(self, path: Path) -> int:
        """Line of the key that ends a path; as ``line`` when it has none."""
        parent = self.node(path[:-1])
        if isinstance(parent, Mapping) and str(path[-1]) in parent.entries:
            return parent.entries[str(path[-1])].key.line
        return self.line(path)

    def problem(self, path: Path, where: str, what: str) -> Problem:
        """A problem with the line of a path."""
        return Problem(self.file, self.line(path), where, what)


def walk(node: Node, path: Path = ()) -> Iterator[tuple[Path, Node]]:
    """Every node with its path, parents first."""
    yield path, node
    if isinstance(node, Mapping):
        for key, entry in node.entries.items():
            yield from walk(entry.value, (*path, key))
    elif isinstance(node, Sequence):
        for place, item in enumerate(node.items):
            yield from walk(item, (*path, place))


def _child(node: Node | None, step: str | int) -> Node | None:
    if isinstance(node, Mapping):
        entry = node.entries.get(str(step))
        return entry.value if entry else None
    if isinstance(node, Sequence) and isinstance(step, int) and 0 <= step < len(node.items):
        return node.items[step]
    return None
