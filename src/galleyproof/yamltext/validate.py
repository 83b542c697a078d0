"""A document against a model: every problem at once, each with its line, its place in words and its cure."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Any, Generic, TypeVar

from pydantic import TypeAdapter, ValidationError

from galleyproof.errors import InputError, Problem
from galleyproof.yamltext import nodes
from galleyproof.yamltext.nodes import Document, Node, Path
from galleyproof.yamltext.shapes import (
    BlockShape,
    ChoiceShape,
    EitherShape,
    LeafShape,
    ListShape,
    PairsShape,
    Shape,
    WordShape,
    shape_of,
)
from galleyproof.yamltext.words import Words, cut, either, hint, nearest

T = TypeVar("T")

_TRUE, _FALSE = frozenset({"true", "True", "TRUE", "yes"}), frozenset({"false", "False", "FALSE", "no"})
_INT = re.compile(r"[-+]?[0-9]{1,18}")
_FLOAT = re.compile(r"[-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]{1,3})?")
_BAD = object()
_PLAIN_WORDS = {
    "text": "a text",
    "int": "a whole number",
    "float": "a number",
    "bool": "'true' or 'false'",
    "any": "a value",
}


def validate(
    document: Document, model: type[T], words: Words | None = None, *, error: type[InputError] = InputError
) -> T:
    """The document as a value of a type.

    Args:
        document: From ``load``.
        model: A pydantic model that refuses unknown keys, or a tuple of such models.
        words: Vocabulary for places.
        error: What is raised.

    Returns:
        The value.

    Raises:
        InputError: With every problem, those of ``document.problems`` included.
    """
    outcome = collect(document, model, words)
    if outcome.value is None or outcome.problems:
        raise error(outcome.problems)
    return outcome.value


@dataclass(frozen=True, slots=True)
class Outcome(Generic[T]):
    """What came of checking a document.

    Attributes:
        value: The instance when nothing is wrong.
        problems: Everything found, those of the document included.
        data: Values read so far as dicts and lists; wrong ones are left out, or None in a list.
        wrong: Paths of the wrong values.
    """

    value: T | None
    problems: tuple[Problem, ...]
    data: Any
    wrong: tuple[Path, ...]


def collect(document: Document, model: type[T], words: Words | None = None) -> Outcome[T]:
    """As ``validate``, without raising: what could be read is kept for further checks."""
    walker = _Walker(document, words or Words())
    data = walker.value((), document.root, shape_of(model))
    if not walker.wrong:
        try:
            value = TypeAdapter(model).validate_python(data)
        except ValidationError as error:
            walker.own_validators(error, data)
        else:
            return Outcome(value, document.problems, data, ())
    problems = (*document.problems, *walker.problems)
    return Outcome(None, problems, None if data is _BAD else data, tuple(walker.wrong))


def read_value(document: Document, node: Node, shape: Shape) -> tuple[bool, Any]:
    """One node by itself: whether it can be read, and its value (None when it cannot)."""
    walker = _Walker(document, Words())
    if isinstance(node, nodes.Scalar) and node.empty:
        return True, None
    value = walker.value((), node, shape)
    return (False, None) if walker.wrong else (True, value)


def wrong_with(value: str | list[str], shape: Shape, words: Words) -> str:
    """What is wrong with a text, or a list of texts, by itself at a place of a shape; empty when nothing is."""
    node: Node = nodes.Scalar(value, False, 1, 0, 0) if isinstance(value, str) else _sequence(value)
    document = Document("", "", node)
    walker = _Walker(document, words)
    walker.value((), node, shape)
    return ". ".join(problem.what for problem in walker.problems)


def _sequence(texts: list[str]) -> nodes.Sequence:
    return nodes.Sequence(tuple(nodes.Scalar(t, False, 1, 0, 0) for t in texts), 1, 0, 0, True)


@dataclass(slots=True)
class _Walker:
    document: Document
    words: Words
    problems: list[Problem] = field(default_factory=list)
    wrong: list[Path] = field(default_factory=list)

    # --- what is said --------------------------------------------------------------------------------------

    def _say(self, path: Path, what: str, line: int | None = None) -> Any:
        if line is None:
            line = self.document.line(path)
        self.problems.append(Problem(self.document.file, line, self.words.place(self.document, path), what))
        self.wrong.append(path)
        return _BAD

    # --- one method per shape ------------------------------------------------------------------------------

    def value(self, path: Path, node: Node, shape: Shape) -> Any:
        if isinstance(node, nodes.Broken):
            self.wrong.append(path)
            return _BAD
        if isinstance(shape, BlockShape):
            return self.block(path, node, shape)
        if isinstance(shape, ListShape):
            return self._list(path, node, shape)
        if isinstance(shape, ChoiceShape):
            return self._choice(path, node, shape)
        if isinstance(shape, EitherShape):
            return self._either(path, node, shape)
        if isinstance(shape, PairsShape):
            return self._pairs(path, node, shape)
        if not isinstance(node, nodes.Scalar):
            if isinstance(shape, LeafShape) and shape.plain == "any":
                return self._leaf(path, _anything(node), shape, "")
            kind = "list" if isinstance(node, nodes.Sequence) else "block of keys"
            return self._say(path, f"is a {kind}; {self._wanted(shape)} is expected")
        if node.empty:
            return self._say(path, f"is empty; {self._wanted(shape)} is expected")
        if isinstance(shape, WordShape):
            return self._word(path, node.text, shape)
        return self._leaf(path, node.text, shape, node.text)

    def _mapping(self, path: Path, node: Node, keys: str) -> nodes.Mapping | None:
        if isinstance(node, nodes.Mapping):
            return node
        if isinstance(node, nodes.Scalar) and node.empty:
            self._say(path, f"is empty; write {keys} below it, or leave it out")
        elif isinstance(node, nodes.Scalar):
            self._say(path, f"{cut(node.text)!r} is a single value; write {keys}")
        else:
            self._say(path, f"is a list; write {keys}, without '- '")
        return None

    def block(self, path: Path, node: Node, shape: BlockShape) -> Any:
        if isinstance(node, nodes.Broken):
            self.wrong.append(path)
            return _BAD
        mapping = self._mapping(path, node, f"keys with values ({_keys(shape)})")
        if mapping is None:
            return _BAD
        explained = self._unknown_keys(path, mapping, shape)
        data: dict[str, Any] = {}
        for key, one in shape.fields.items():
            entry = mapping.entries.get(key)
            if entry is None:
                if one.required and key in explained:
                    self.wrong.append((*path, key))
                elif one.required:
                    self._say((*path, key), f"is missing; {self._wanted(one.shape)} is expected")
                continue
            if isinstance(entry.value, nodes.Scalar) and entry.value.empty and one.nullable:
                data[key] = None
                continue
            value = self.value((*path, key), entry.value, one.shape)
            if value is not _BAD:
                data[key] = value
        return data

    def _unknown_keys(self, path: Path, mapping: nodes.Mapping, shape: BlockShape) -> set[str]:
        """Report unknown keys; the known ones that they were probably meant to be."""
        explained: set[str] = set()
        free = [key for key in shape.fields if key not in mapping.entries]
        for key, entry in mapping.entries.items():
            if key in shape.fields:
                continue
            close = nearest(key, free) or nearest(key, shape.fields)
            near = f"; nearest: {close!r}" if close else ""
            what = f"unknown key {cut(key)!r}{near}. Known keys here: {', '.join(shape.fields)}"
            self._say(path, what, entry.key.line)
            if close in free:
                explained.add(close)
        return explained

    def _list(self, path: Path, node: Node, shape: ListShape) -> Any:
        if isinstance(node, nodes.Mapping):
            return self._say(path, "is a block of keys; write a list, each entry begun with '- '")
        if isinstance(node, nodes.Scalar):
            if node.empty:
                return self._say(path, "is empty; write a list below it, or leave it out")
            return self._say(path, f"{cut(node.text)!r} is a single value; write a list: [{cut(node.text)}]")
        assert isinstance(node, nodes.Sequence)  # Broken ends in value()
        values = []
        for n, item in enumerate(node.items):
            value = self.value((*path, n), item, shape.item)
            values.append(None if value is _BAD else value)
        if len(values) < shape.least:
            return self._say(path, f"has {len(values)} entries; at least {shape.least} needed")
        if shape.most is not None and len(values) > shape.most:
            return self._say(path, f"has {len(values)} entries; at most {shape.most} allowed")
        return values

    def _pairs(self, path: Path, node: Node, shape: PairsShape) -> Any:
        mapping = self._mapping(path, node, "your own keys, each with a value")
        if mapping is None:
            return _BAD
        data: dict[Any, Any] = {}
        for key, entry in mapping.entries.items():
            name = self.value((*path, key), entry.key, shape.key)
            value = self.value((*path, key), entry.value, shape.value)
            if value is not _BAD and name is not _BAD:
                data[name] = value
        if len(mapping.entries) < shape.least:
            return self._say(path, f"has {len(mapping.entries)} keys; at least {shape.least} needed")
        return data

    def _choice(self, path: Path, node: Node, shape: ChoiceShape) -> Any:
        options = either(shape.blocks)
        mapping = self._mapping(path, node, f"keys with values, first {shape.by} ({options})")
        if mapping is None:
            return _BAD
        entry = mapping.entries.get(shape.by)
        if entry is None:
            close = nearest(shape.by, [key for key in mapping.entries if nearest(key, [shape.by])])
            near = f"; nearest key here: {close!r}" if close else ""
            return self._say((*path, shape.by), f"is missing; {options} is expected{near}")
        word = entry.value
        if isinstance(word, nodes.Broken):
            self.wrong.append(path)
            return _BAD
        if not isinstance(word, nodes.Scalar) or word.empty:
            return self._say((*path, shape.by), f"{options} is expected")
        block = shape.blocks.get(word.text)
        if block is None:
            return self._word((*path, shape.by), word.text, WordShape(dict.fromkeys(shape.blocks)))
        return self.block(path, node, block)

    def _either(self, path: Path, node: Node, shape: EitherShape) -> Any:
        if not isinstance(node, nodes.Mapping):
            return self.block(path, node, shape.blocks[0])

        def misfit(block: BlockShape) -> tuple[int, int]:
            given, known = set(node.entries), set(block.fields)
            missing = {k for k, f in block.fields.items() if f.required} - given
            return len(given - known), len(missing)

        return self.block(path, node, min(shape.blocks, key=misfit))

    def _word(self, path: Path, text: str, shape: WordShape) -> Any:
        if text in shape.values:
            return shape.values[text]
        allowed = either(shape.values)
        return self._say(path, f"{cut(text)!r} is not one of {allowed}{hint(text, shape.values)}")

    def _leaf(self, path: Path, given: Any, shape: LeafShape, text: str) -> Any:
        value = given
        if shape.plain == "bool":
            if text in _TRUE or text in _FALSE:
                return text in _TRUE
            return self._say(path, f"{cut(text)!r} is not one of 'true' or 'false'")
        if shape.plain == "int":
            if not _INT.fullmatch(text):
                return self._say(path, f"{cut(text)!r} is not a whole number; write digits only, without a unit")
            value = int(text)
        elif shape.plain == "float":
            if not _FLOAT.fullmatch(text):
                return self._say(path, f"{cut(text)!r} is not a number; write digits and a point, without a unit")
            value = float(text)
        elif shape.plain == "any" and isinstance(given, str):
            value = _plain(given)
        try:
            return shape.check.validate_python(value)
        except ValidationError as error:
            return self._say(path, self._wording(error.errors()[0], text, shape.kind))

    def _wording(self, error: Any, text: str, kind: str | None = None) -> str:
        """One of pydantic's errors about a single value, in our words."""
        shown, context = repr(cut(text)), error.get("ctx", {})
        bare = self.words.missing_unit(text, kind)
        if bare:
            return bare
        match error["type"]:
            case "value_error" | "assertion_error":
                return str(context["error"])
            case "string_pattern_mismatch":
                wanted = self.words.patterns.get(context["pattern"], f"it must match {context['pattern']}")
                return f"{shown} is not allowed: {wanted}"
            case "string_too_long":
                return f"{shown} has {len(text)} characters; at most {context['max_length']} allowed"
            case "string_too_short":
                return f"{shown} is too short; at least {context['min_length']} character needed"
            case "greater_than":
                return f"{shown} must be greater than {context['gt']:g}"
            case "greater_than_equal":
                return f"{shown} must be at least {context['ge']:g}"
            case "less_than":
                return f"{shown} must be less than {context['lt']:g}"
            case "less_than_equal":
                return f"{shown} must be at most {context['le']:g}"
            case "finite_number":
                return f"{shown} is not a finite number"
        return f"{shown} cannot be taken here"

    def own_validators(self, error: ValidationError, data: Any) -> None:
        """Problems found by a model's own validators, after every single value was right."""
        for one in error.errors():
            path: Path = ()
            node = data
            for step in one["loc"]:
                inside = (isinstance(node, dict) and step in node) or (
                    isinstance(node, list) and isinstance(step, int) and step < len(node)
                )
                if inside:
                    path, node = (*path, step), node[step]
            self._say(path, self._wording(one, "" if isinstance(node, (dict, list)) else str(node)))

    def _wanted(self, shape: Shape) -> str:
        """What a shape expects, in a few words."""
        if isinstance(shape, WordShape):
            return either(shape.values)
        if isinstance(shape, ListShape):
            return f"a list of at least {shape.least}" if shape.least else "a list"
        if isinstance(shape, (BlockShape, EitherShape)):
            block = shape if isinstance(shape, BlockShape) else shape.blocks[0]
            return f"a block with {_keys(block)}"
        if isinstance(shape, ChoiceShape):
            return f"a block with {shape.by} ({either(shape.blocks)})"
        if isinstance(shape, PairsShape):
            return "a block of keys with values"
        if shape.kind is not None:
            return self.words.quantities.get(shape.kind, "a number with its unit")
        return _PLAIN_WORDS[shape.plain]


def _keys(shape: BlockShape) -> str:
    needed = [key for key, one in shape.fields.items() if one.required]
    return ", ".join(needed or shape.fields)


def _plain(text: str) -> Any:
    """A value by the YAML 1.2 core schema, for places whose type does not decide."""
    if text in nodes.NULL_WORDS:
        return None
    if text in (_TRUE | _FALSE) - {"yes", "no"}:
        return text in _TRUE
    if _INT.fullmatch(text):
        return int(text)
    return float(text) if _FLOAT.fullmatch(text) else text


def _anything(node: Node) -> Any:
    if isinstance(node, nodes.Mapping):
        return {key: _anything(entry.value) for key, entry in node.entries.items()}
    if isinstance(node, nodes.Sequence):
        return [_anything(item) for item in node.items]
    if isinstance(node, nodes.Scalar):
        return _plain(node.text) if node.plain else node.text
    return None
