"""Text to nodes: YAML 1.2 with what an input file has no need of refused.

Only parser events are read; nothing is resolved, so ``NO`` stays text and an alias can never expand. The
events come from libyaml through PyYAML when that is there (about twenty times faster) and else from
ruamel.yaml's parser; both have the same event classes and are tested to give the same nodes.
"""

from __future__ import annotations

import importlib
import re
from collections.abc import Callable, Iterator
from functools import cache
from typing import Any, Final, Literal

from galleyproof.errors import InputError, Problem
from galleyproof.yamltext.nodes import Broken, Document, Entry, Mapping, Node, Scalar, Sequence

MAX_BYTES: Final = 2_000_000
MAX_DEPTH: Final = 24
# One habit (tabs, aliases) repeated on every line is told this often, then counted.
MAX_SAME: Final = 20

EventSource = Callable[[str], Iterator[Any]]

# Outside the printable set of YAML 1.2 (5.1), or a line break in other versions of YAML only.
_UNPRINTABLE = re.compile("[^\t\n\r\x20-\x7e\xa0-\u2027\u202a-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def load(
    text: str | bytes,
    file: str,
    *,
    error: type[InputError] = InputError,
    parser: Literal["fastest", "pure"] = "fastest",
) -> Document:
    """Read one YAML file, keeping the place of every key and value.

    Args:
        text: The file; bytes must be UTF-8.
        file: Its name, for messages.
        error: What is raised.
        parser: ``pure`` keeps to the parser written in Python.

    Returns:
        The nodes; what was refused but could be read past stands in ``problems``.

    Raises:
        InputError: Empty, too large, too deep, not text, or not YAML.
    """
    try:
        return _load(text, file, _pure_events if parser == "pure" else _source())
    except InputError as found:
        raise error(found.problems) from None


def _load(text: str | bytes, file: str, events: EventSource) -> Document:
    body = _as_text(text, file)
    tabs = tuple(_tabs(body, file))
    builder = _Builder(file, body)
    readable = body.replace("\t", " ")
    try:
        root = builder.build(events(readable))
    except _Stop as stop:
        raise InputError([*tabs, *builder.problems(), stop.problem]) from None
    except _SyntaxStop as stop:
        # With tabs turned to single spaces the indents are wrong anyway: the tabs alone are the answer.
        syntax = [] if tabs else [_syntax(stop.error, readable, file)]
        raise InputError([*tabs, *builder.problems(), *syntax]) from None
    problems = (*tabs, *builder.problems())
    if root is None or (isinstance(root, Scalar) and root.empty):
        raise InputError([*problems, Problem(file, 0, "", _EMPTY)])
    return Document(file, body, root, problems)


_EMPTY = "the file is empty; it must hold keys with values, such as 'job:'"


# --- bytes to text ----------------------------------------------------------------------------------------


def _as_text(text: str | bytes, file: str) -> str:
    size = len(text) if isinstance(text, bytes) else len(text.encode("utf-8", "surrogatepass"))
    if size > MAX_BYTES:
        what = f"the file has {size:,} bytes, more than the {MAX_BYTES:,} that are read; split the job"
        raise InputError([Problem(file, 0, "", what)])
    if isinstance(text, bytes):
        text = _decode(text, file)
    text = text.removeprefix("\ufeff")
    found = _UNPRINTABLE.search(text)
    if found:
        line = text.count("\n", 0, found.start()) + 1
        what = (
            f"the character with code {ord(found[0])} does not belong in a text file; "
            "is this a binary file? Give a YAML text file in UTF-8"
        )
        raise InputError([Problem(file, line, "", what)])
    if not text.strip():
        raise InputError([Problem(file, 0, "", _EMPTY)])
    return text


def _decode(data: bytes, file: str) -> str:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise InputError([Problem(file, 0, "", "the file is in UTF-16; save it as UTF-8")])
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        what = (
            f"byte {data[error.start]:#04x} is not UTF-8 text; is this a binary file? "
            "Give a YAML text file and save it as UTF-8"
        )
        raise InputError([Problem(file, line, "", what)]) from None


def _tabs(text: str, file: str) -> Iterator[Problem]:
    if "\t" not in text:
        return
    lines = [n for n, line in enumerate(text.split("\n"), 1) if "\t" in line]
    for n in lines[:MAX_SAME]:
        yield Problem(file, n, "", "a tab; use spaces, for indents two per level")
    if len(lines) > MAX_SAME:
        yield Problem(file, lines[MAX_SAME], "", f"tabs in {len(lines) - MAX_SAME} more lines from here on")


# --- where events come from -------------------------------------------------------------------------------


@cache
def _source() -> EventSource:
    return _libyaml_events if _libyaml() else _pure_events


@cache
def _libyaml() -> Any:
    try:
        return importlib.import_module("yaml._yaml").CParser
    except ImportError:
        return None


class _SyntaxStop(Exception):  # noqa: N818 (never leaves this module)
    """What the YAML parser stopped at, whichever parser it is."""

    def __init__(self, error: Exception) -> None:
        self.error = error


def _libyaml_events(text: str) -> Iterator[Any]:
    parser = _libyaml()(text)
    yaml_error = importlib.import_module("yaml.error").YAMLError
    try:
        while (event := parser.get_event()) is not None:
            yield event
    except yaml_error as error:
        raise _SyntaxStop(error) from None


def _pure_events(text: str) -> Iterator[Any]:
    ruamel = importlib.import_module("ruamel.yaml")
    try:
        yield from ruamel.YAML(typ="safe", pure=True).parse(text)
    except ruamel.error.YAMLError as error:
        raise _SyntaxStop(error) from None


# --- events to nodes --------------------------------------------------------------------------------------


class _Stop(Exception):  # noqa: N818 (never leaves this module)
    def __init__(self, problem: Problem) -> None:
        self.problem = problem


class _Open:
    """A collection whose end has not come yet."""

    __slots__ = ("entries", "flow", "items", "key", "last", "line", "mapping", "start")

    def __init__(self, event: Any, mapping: bool) -> None:
        self.mapping = mapping
        self.line: int = event.start_mark.line + 1
        self.start: int = event.start_mark.index
        self.flow = bool(event.flow_style) if event.flow_style is not None else False
        self.items: list[Node] = []
        self.entries: dict[str, Entry] = {}
        self.key: Scalar | None = None
        self.last = self.start


class _Builder:
    def __init__(self, file: str, text: str) -> None:
        self._file = file
        self._text = text
        self._said: dict[str, list[Problem]] = {}
        self._stack: list[_Open] = []
        self._root: Node | None = None

    def problems(self) -> tuple[Problem, ...]:
        told: list[Problem] = []
        for problems in self._said.values():
            told += problems[:MAX_SAME]
            if len(problems) > MAX_SAME:
                first = problems[MAX_SAME]
                told.append(Problem(first.file, first.line, "", f"{len(problems) - MAX_SAME} more of the same"))
        return tuple(told)

    def build(self, events: Iterator[Any]) -> Node | None:
        documents = 0
        for event in events:
            kind = type(event).__name__
            if kind == "ScalarEvent":
                self._extras(event)
                mark, end = event.start_mark, event.end_mark
                plain = bool(event.implicit[0])
                line, start, stop = mark.line + 1, mark.index, end.index
                key = self._stack[-1].key if self._stack else None
                if plain and not event.value and key is not None:
                    # parsers differ in where "nothing" stands: here it is right behind the key's colon
                    line, start = key.line, self._text.find(":", key.end) + 1
                    stop = start
                self._add(Scalar(event.value, plain, line, start, stop))
            elif kind in ("MappingStartEvent", "SequenceStartEvent"):
                self._extras(event)
                if len(self._stack) >= MAX_DEPTH:
                    raise _Stop(self._problem(event, f"nested deeper than the {MAX_DEPTH} levels that are read"))
                self._stack.append(_Open(event, kind.startswith("M")))
            elif kind in ("MappingEndEvent", "SequenceEndEvent"):
                self._close(event)
            elif kind == "AliasEvent":
                self._say("alias", event, f"the alias *{event.anchor} is refused: write the values out here")
                self._add(Broken(event.start_mark.line + 1, event.start_mark.index, event.end_mark.index))
            elif kind == "DocumentStartEvent":
                documents += 1
                if documents > 1:
                    what = "a second document begins with '---': remove the line or split the file"
                    raise _Stop(self._problem(event, what))
        return self._root

    def _extras(self, event: Any) -> None:
        if event.anchor is not None:
            what = f"the anchor &{event.anchor} is refused: write the values out where they are needed"
            self._say("anchor", event, what)
        tag = event.tag
        if tag is not None and not (type(event).__name__ == "ScalarEvent" and str(tag) == "!" and event.value):
            self._say("tag", event, f"the tag {_short_tag(str(tag))} is refused: the key alone says what a value is")

    def _close(self, event: Any) -> None:
        done = self._stack.pop()
        end = event.end_mark.index if done.flow else done.last
        if done.mapping:
            self._add(Mapping(done.entries, done.line, done.start, end, done.flow))
        else:
            self._add(Sequence(tuple(done.items), done.line, done.start, end, done.flow))

    def _add(self, node: Node) -> None:
        if not self._stack:
            self._root = node
            return
        top = self._stack[-1]
        top.last = max(top.last, node.end)
        if not top.mapping:
            top.items.append(node)
        elif top.key is None:
            top.key = self._as_key(node)
        else:
            key, top.key = top.key, None
            self._enter(top, key, node)

    def _as_key(self, node: Node) -> Scalar:
        if isinstance(node, Scalar):
            return node
        if not isinstance(node, Broken):
            what = "a list or block cannot be a key; write 'key: value' with the key in plain words"
            self._said.setdefault("key", []).append(Problem(self._file, node.line, "", what))
        return Scalar(f"\0{node.start}", True, node.line, node.start, node.end)

    def _enter(self, top: _Open, key: Scalar, value: Node) -> None:
        if key.text.startswith("\0"):
            return
        if key.text == "<<" and key.plain:
            what = "the merge key '<<' is refused: write the values out here"
            self._said.setdefault("merge", []).append(Problem(self._file, key.line, "", what))
        elif key.text in top.entries:
            first = top.entries[key.text].key.line
            what = f"the key {key.text!r} stands here a second time (first in line {first}); keep one"
            self._said.setdefault("twice", []).append(Problem(self._file, key.line, "", what))
        else:
            top.entries[key.text] = Entry(key, value)

    def _say(self, kind: str, event: Any, what: str) -> None:
        self._said.setdefault(kind, []).append(self._problem(event, what))

    def _problem(self, event: Any, what: str) -> Problem:
        return Problem(self._file, event.start_mark.line + 1, "", what)


def _short_tag(tag: str) -> str:
    return "!!" + tag.removeprefix("tag:yaml.org,2002:") if tag.startswith("tag:yaml.org,2002:") else tag


# --- syntax errors in plain words -------------------------------------------------------------------------

_SYNTAX: tuple[tuple[str, str], ...] = (
    (
        r"mapping values are not allowed",
        "a second ': ' in the line, an indent that does not fit, or no space after the colon above; "
        "put a text with ': ' in quotes and indent the key like its neighbours",
    ),
    (r"expected ',' or '([\]}])'", "a bracket is not closed: {opened}add the missing '{0}' or comma"),
    (r"unexpected end of stream", "a quote is not closed: {opened}add the missing quote"),
    (r"unexpected document (?:indicator|separator)", "a quote is not closed: {opened}add the missing quote"),
    (
        r"character (?:.* )?that cannot start any token",
        "{char} cannot begin a value; put the value in quotes",
    ),
    (
        r"expected '-' indicator",
        "a key stands among list entries; begin it with '- ' or indent it like a key",
    ),
    (
        r"did not find expected key|expected <block end>",
        "the indent does not fit the lines above, or a quote is out of place",
    ),
    (
        r"expected ':'|could not find expected",
        "'key: value' is expected; put a colon and a space after the key",
    ),
    (r"unknown escape", "a backslash in double quotes has a meaning of its own; use single quotes"),
    (r"maximum nesting depth", f"nested deeper than the {MAX_DEPTH} levels that are read"),
    (
        r"sequence entries are not allowed",
        "a list entry '- ' cannot begin here; start a new line below the key",
    ),
)


def _syntax(error: Exception, text: str, file: str) -> Problem:
    """One problem for what the YAML parser stopped at."""
    said = str(getattr(error, "problem", None) or error)
    mark, context = getattr(error, "problem_mark", None), getattr(error, "context_mark", None)
    at = min(mark.index, len(text)) if mark is not None else 0
    line = min(mark.line + 1, text.rstrip().count("\n") + 1) if mark is not None else 0
    opened = f"opened in line {context.line + 1}, " if context is not None else ""
    char = repr(text[at]) if at < len(text) else "the end of the file"
    for pattern, words in _SYNTAX:
        found = re.search(pattern, said)
        if found:
            what = words.format(*found.groups(), opened=opened, char=char)
            break
    else:
        what = f"{said[:100]}; check the indent, the quotes and the brackets here"
    return Problem(file, line, "", f"not YAML: {what}")
