"""A text made to say something else, with nothing else in it touched.

Only the characters of changed values are replaced; a value that still reads the same keeps its spelling, and
comments, blank lines, quotes and layout stay. New keys and list entries go below their neighbours, removed
ones take their own lines with them.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from difflib import SequenceMatcher
from typing import Any

from pydantic import BaseModel, ValidationError

from galleyproof.yamltext import emit, nodes
from galleyproof.yamltext.emit import Quantity, Tree
from galleyproof.yamltext.nodes import Document, Mapping, Node, Scalar, Sequence
from galleyproof.yamltext.shapes import FieldShape, LeafShape, ListShape, PairsShape, Shape, shape_of
from galleyproof.yamltext.validate import read_value


def change(document: Document, value: BaseModel, quantity: Quantity) -> str:
    """The text of a document, changed to say ``value``.

    Args:
        document: The text as it is.
        value: What it shall say; an instance of the model the document is read with.
        quantity: Writes a quantity of a kind with its unit.

    Returns:
        The new text.
    """
    changer = _Changer(document, quantity)
    changer.value(document.root, value, shape_of(type(value)), flow=False)
    return changer.applied(0, len(document.text))


@dataclass(slots=True)
class _Edit:
    start: int
    end: int
    text: str


@dataclass(slots=True)
class _Changer:
    document: Document
    quantity: Quantity
    edits: list[_Edit] = field(default_factory=list)

    @property
    def text(self) -> str:
        return self.document.text

    @property
    def newline(self) -> str:
        return "\r\n" if "\r\n" in self.text else "\n"

    def applied(self, start: int, end: int) -> str:
        """The text between two places with the edits noted so far that lie there."""
        parts, at = [], start
        # stable: of two insertions at one place the inner one, noted first, comes first
        for edit in sorted((e for e in self.edits if start <= e.start <= e.end <= end), key=lambda e: e.start):
            parts += [self.text[at : edit.start], edit.text]
            at = edit.end
        parts.append(self.text[at:end])
        return "".join(parts)

    def _edit(self, start: int, end: int, text: str) -> None:
        self.edits.append(_Edit(start, end, text.replace("\n", self.newline)))

    # --- places in the text -----------------------------------------------------------------------------

    def _line_start(self, at: int) -> int:
        return self.text.rfind("\n", 0, at) + 1

    def _line_end(self, at: int) -> int:
        """Place of the line break that ends what ends at ``at``; a text block ends behind its own."""
        end = at - 1 if at and self.text[at - 1] == "\n" else self.text.find("\n", at)
        if end < 0:
            return len(self.text)
        return end - 1 if self.text[end - 1 : end] == "\r" else end

    def _column(self, node: Mapping | Sequence) -> int:
        return node.start - self._line_start(node.start)

    # --- one value --------------------------------------------------------------------------------------

    def value(self, node: Node, value: Any, shape: Shape, *, flow: bool) -> bool:
        """Note what turns ``node`` into ``value``; False when it must be written afresh by its parent."""
        shape = emit.shape_for(value, shape)
        if isinstance(value, BaseModel):
            return isinstance(node, Mapping) and self._block(node, value)
        if isinstance(shape, ListShape):
            return isinstance(node, Sequence) and self._list(node, tuple(value), shape)
        if isinstance(shape, PairsShape):
            return isinstance(node, Mapping) and self._pairs(node, value, shape)
        if not isinstance(node, Scalar):
            return False
        if read_value(self.document, node, shape) == (True, value):
            return True
        if node.start == node.end or self.text[node.start] in "|>":
            return False
        self._edit(node.start, node.end, emit.scalar(emit.leaf_of(value, shape, self.quantity)))
        return True

    def _tree(self, value: Any, shape: Shape) -> Tree:
        return emit.tree_of(value, shape, self.quantity)

    def _says(self, node: Node, shape: Shape) -> Any:
        return _says(self.document, node, shape)

    def _item_shape(self, shape: Shape) -> Shape:
        assert isinstance(shape, ListShape)
        return shape.item

    # --- blocks and pairs -------------------------------------------------------------------------------

    def _block(self, node: Mapping, value: BaseModel) -> bool:
        shape = shape_of(type(value))
        wanted: dict[str, tuple[Any, Shape]] = {}
        for key, one in shape.fields.items():  # type: ignore[union-attr]
            mine = getattr(value, key)
            entry = node.entries.get(key)
            if entry is None:
                if not emit.is_default(value, key, one):
                    wanted[key] = (mine, one.shape)
            elif not self._better_left_out(value, key, one, entry.value):
                wanted[key] = (mine, one.shape)
        return self._keys(node, wanted)

    def _better_left_out(self, value: BaseModel, key: str, one: FieldShape, node: Node) -> bool:
        """A key whose block or list is now the default, or whose value is now nothing."""
        mine = getattr(value, key)
        if one.required or not emit.is_default(value, key, one):
            return mine is None and not (isinstance(node, Scalar) and node.empty)
        if isinstance(node, Scalar):
            return mine is None and not node.empty
        return not isinstance(one.shape, LeafShape) and not _equal(_says(self.document, node, one.shape), mine)

    def _pairs(self, node: Mapping, value: dict[str, Any], shape: PairsShape) -> bool:
        return self._keys(node, {str(k): (v, shape.value) for k, v in value.items()})

    def _keys(self, node: Mapping, wanted: dict[str, tuple[Any, Shape]]) -> bool:
        kept = [key for key in node.entries if key in wanted]
        gone = [key for key in node.entries if key not in wanted]
        new = [key for key in wanted if key not in node.entries]
        if not wanted or not kept:
            return not wanted and not node.entries
        for key in kept:
            mine, shape = wanted[key]
            old = node.entries[key]
            if not self.value(old.value, mine, shape, flow=node.flow):
                self._again(node, key, self._tree(mine, shape))
        if node.flow:
            if gone or new:
                texts = {k: self.applied(e.key.start, e.value.end) for k, e in node.entries.items()}
                order = [texts[k] for k in kept]
                order += [f"{emit.scalar(k)}: {emit.flow(self._tree(*wanted[k]))}" for k in new]
                self._replace_flow(node, order, "{}")
            return True
        column = self._column(node)
        starts = [entry.key.start for entry in node.entries.values()]
        ends = [entry.value.end for entry in node.entries.values()]
        places = {key: n for n, key in enumerate(node.entries)}
        self._remove(starts, ends, [places[key] for key in gone])
        last = places[kept[-1]]
        for key in new:
            text = emit.entry(key, self._tree(*wanted[key]), column)
            at = self._line_end(ends[last])
            self._edit(at, at, f"\n{' ' * column}{text}")
        return True

    def _again(self, node: Mapping, key: str, tree: Tree) -> None:
        """Write one entry afresh over what stands there."""
        old = node.entries[key]
        start, end = old.key.start, old.value.end
        self.edits = [e for e in self.edits if not (start <= e.start and e.end <= end)]
        if node.flow:
            self._edit(start, end, f"{emit.scalar(key)}: {emit.flow(tree)}")
            return
        text = emit.entry(key, tree, self._column(node))
        # A text block ends behind its line break, which must stay.
        self._edit(start, self._line_end(end) if self.text[end - 1 : end] == "\n" else end, text)

    def _replace_flow(self, node: Mapping | Sequence, texts: list[str], braces: str) -> None:
        self.edits = [e for e in self.edits if not (node.start <= e.start and e.end <= node.end)]
        self._edit(node.start, node.end, braces[0] + ", ".join(texts) + braces[1])

    def _remove(self, starts: list[int], ends: list[int], gone: list[int]) -> None:
        """Take whole entries of a block away, with their lines."""
        left = set(gone)
        first_kept = next(n for n in range(len(starts)) if n not in left)
        for n in gone:
            start, line = starts[n], self._line_start(starts[n])
            if not self.text[line:start].strip():
                end = min(self._line_end(ends[n]) + len(self.newline), len(self.text))
                self._edit(line, end, "")
                continue
            # It shares its line with the dash or key of its parent, which stays.
            between = self.text[start : starts[first_kept]]
            if "#" not in between:
                self._edit(start, starts[first_kept], "")
                left -= set(range(n, first_kept))
                self.edits = [e for e in self.edits if not (start < e.start and e.end <= starts[first_kept]) or e.text]
                for other in [g for g in gone if g > first_kept]:
                    self._remove_line(starts[other], ends[other])
                return
            self._edit(start, self._line_end(ends[n]), "")

    def _remove_line(self, start: int, end: int) -> None:
        stop = min(self._line_end(end) + len(self.newline), len(self.text))
        self._edit(self._line_start(start), stop, "")

    # --- lists ------------------------------------------------------------------------------------------

    def _list(self, node: Sequence, values: tuple[Any, ...], shape: Shape) -> bool:
        if not values or not node.items:
            return not values and not node.items
        pairs, gone, new = self._aligned(node, values, shape)
        if not pairs:
            return False
        for n, at in pairs:
            old = node.items[n]
            if not self.value(old, values[at], self._item_shape(shape), flow=node.flow):
                self._item_again(node, n, self._tree(values[at], self._item_shape(shape)))
        if node.flow:
            if gone or new:
                texts: dict[int, str] = {}
                for n, at in pairs:
                    texts[at] = self.applied(node.items[n].start, node.items[n].end)
                for at in new:
                    texts[at] = emit.flow(self._tree(values[at], self._item_shape(shape)))
                self._replace_flow(node, [texts[at] for at in sorted(texts)], "[]")
            return True
        column = self._column(node)
        starts = self._dashes(node, column)
        ends = [item.end for item in node.items]
        self._remove(starts, ends, gone)
        for at in new:
            text = f"- {emit.item(self._tree(values[at], self._item_shape(shape)), column + 2)}"
            before = [n for n, other in pairs if other < at]
            if before:
                place = self._line_end(ends[before[-1]])
                self._edit(place, place, f"\n{' ' * column}{text}")
            else:
                place = starts[pairs[0][0]]
                self._edit(place, place, f"{text}\n{' ' * column}")
        return True

    def _item_again(self, node: Sequence, n: int, tree: Tree) -> None:
        old = node.items[n]
        self.edits = [e for e in self.edits if not (old.start <= e.start and e.end <= old.end)]
        if node.flow:
            self._edit(old.start, old.end, emit.flow(tree))
            return
        column = self._column(node)
        start = self._dashes(node, column)[n]
        end = self._line_end(old.end) if self.text[old.end - 1 : old.end] == "\n" else old.end
        self._edit(start, end, f"- {emit.item(tree, column + 2)}")

    def _dashes(self, node: Sequence, column: int) -> list[int]:
        """Place of the dash of each entry."""
        dash = re.compile(rf"^ {{{column}}}-(?=\s)", re.MULTILINE)
        found, at = [node.start], node.items[0].end
        for item in node.items[1:]:
            marks = [m.end() - 1 for m in dash.finditer(self.text, self._line_start(at), item.start)]
            found.append(next(m for m in reversed(marks) if m >= at))
            at = max(item.end, item.start)
        return found

    def _aligned(
        self, node: Sequence, values: tuple[Any, ...], shape: Shape
    ) -> tuple[list[tuple[int, int]], list[int], list[int]]:
        """Which old entry becomes which new one (in order), which go, which come."""
        old = [_identity(self._says(item, self._item_shape(shape))) for item in node.items]
        new = [_identity(value) for value in values]
        pairs: list[tuple[int, int]] = []
        gone: list[int] = []
        come: list[int] = []
        for kind, i, i_end, j, j_end in SequenceMatcher(None, old, new, autojunk=False).get_opcodes():
            same = min(i_end - i, j_end - j) if kind in ("equal", "replace") else 0
            pairs += [(i + n, j + n) for n in range(same)]
            gone += range(i + same, i_end)
            come += range(j + same, j_end)
        return pairs, gone, come


def _identity(value: Any) -> Any:
    """What makes a list entry the same one: its tag, or all of it."""
    tag = value.get("tag") if isinstance(value, dict) else getattr(value, "tag", None)
    if tag is not None:
        return ("tag", tag)
    return repr(value) if isinstance(value, (dict, list, BaseModel)) else value


def _equal(data: Any, value: Any) -> bool:
    """Whether what was read (dicts and lists) is a value of the model."""
    if isinstance(value, BaseModel):
        try:
            return type(value).model_validate(data) == value
        except ValidationError:
            return False
    return list(data or ()) == list(value) if isinstance(value, tuple) else bool(data == value)


def _says(document: Document, node: Node, shape: Shape) -> Any:
    """What a node says now; None when it cannot be read."""
    if isinstance(node, nodes.Broken):
        return None
    return read_value(document, node, shape)[1]
