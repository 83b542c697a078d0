"""A job's text as it is stored: read as far as it can be, its problems at their places."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from threading import Lock

from galleyproof.errors import InputError, Problem
from galleyproof.job.model import Job
from galleyproof.job.read import read_document
from galleyproof.job.words import JOB_WORDS
from galleyproof.store.errors import RefusedError
from galleyproof.yamltext import MAX_BYTES, Document, Path, load, nodes, walk
from galleyproof.yamltext.tree import Raw, at, change_raw, raw_of

__all__ = ["NAME", "NAME_MAX", "Text", "read_text", "text_of_file"]

NAME = "job"
"""What messages call the text, since it is no file."""

NAME_MAX, REVISION_MAX = 400, 8


@dataclass(frozen=True)
class Text:
    """A text of a job, right or wrong.

    Attributes:
        text: All of it.
        document: Its keys and values; None when it is no YAML.
        job: The job; None when there are problems.
        problems: What is wrong, by line.
    """

    text: str
    document: Document | None
    job: Job | None
    problems: tuple[Problem, ...]

    @property
    def tables(self) -> bool:
        """Whether it can be shown and changed as tables and forms: a block of keys, with nothing read past."""
        return (
            self.document is not None and not self.document.problems and isinstance(self.document.root, nodes.Mapping)
        )

    @cached_property
    def tree(self) -> Raw:
        """Keys and values as written."""
        return {} if self.document is None else raw_of(self.document.root, self._kept)

    @cached_property
    def _kept(self) -> dict[int, Raw]:
        return {}

    def titles(self, name: str = "Job without a name", number: str = "") -> tuple[str, str, str]:
        """Name, number and revision for lists; what the text does not say from the arguments."""
        said = [at(self.tree, ("job", key)) for key in ("name", "number", "revision")]
        words = [str(s).strip() if isinstance(s, str) and s.strip() else "" for s in said]
        return (words[0] or name)[:NAME_MAX], (words[1] or number)[:NAME_MAX], (words[2] or "A")[:REVISION_MAX]

    def changed(self, tree: Raw) -> Text:
        """The text made to hold another tree.

        Raises:
            InputError: It cannot be written so.
        """
        assert self.document is not None
        document = change_raw(self.document, tree, self._kept)
        return read_text(document.text, document)

    @cached_property
    def paths(self) -> Mapping[Problem, Path]:
        """Where each problem stands, of those that have a place."""
        return dict(self._placed())

    def _placed(self) -> Iterator[tuple[Problem, Path]]:
        if self.document is None or not self.problems:
            return
        known = _places(self.document)
        for problem in self.problems:
            found = _nearest(problem, known, self.document)
            if found is not None:
                yield problem, found


def _nearest(problem: Problem, known: Mapping[str, list[Path]], document: Document) -> Path | None:
    """Place of a problem: what its words name, else the missing key of what they begin with."""
    where = problem.where
    if where in known:
        paths = known[where]
        return next((p for p in paths if document.line(p) == problem.line), paths[0])
    head, _, key = where.rpartition(": ")
    if head in known and key:
        paths = known[head]
        return (*next((p for p in paths if document.line(p) == problem.line), paths[0]), key)
    return (where,) if where in Job.model_fields else None


def _places(document: Document) -> dict[str, list[Path]]:
    """Every place of a text by its words, as messages have them."""
    found: dict[str, list[Path]] = {}
    for path, node in walk(document.root):
        if path:
            found.setdefault(JOB_WORDS.place(document, path), []).append(path)
        if isinstance(node, nodes.Broken):
            continue
    return found


KEPT = 64
"""Texts that stay read. [-]"""
_READ: OrderedDict[str, Text] = OrderedDict()
_LOCK = Lock()


def read_text(text: str, document: Document | None = None) -> Text:
    """Read a text as far as it goes; never raises.

    Args:
        text: The whole text.
        document: The same, where it was loaded already.
    """
    with _LOCK:
        known = _READ.get(text)
        if known is not None:
            _READ.move_to_end(text)
            return known
    made = _read(text, document)
    with _LOCK:
        _READ[text] = made
        while len(_READ) > KEPT:
            _READ.popitem(last=False)
    return made


def _read(text: str, document: Document | None) -> Text:
    try:
        document = document or load(text, NAME)
    except InputError as error:
        return Text(text, None, None, error.problems)
    try:
        return Text(text, document, read_document(document), ())
    except InputError as error:
        return Text(text, document, None, error.problems)


def text_of_file(name: str, content: bytes) -> str:
    """The text of a file, as it stands.

    Raises:
        RefusedError: It is no text, or too long.
    """
    if len(content) > MAX_BYTES:
        raise RefusedError(f"{name} has {len(content):,} bytes, more than the {MAX_BYTES:,} of a job's text")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise RefusedError(f"{name} is no text in UTF-8; choose a YAML file, or a table as XLSX or CSV") from None
    odd = next((c for c in text if not c.isprintable() and c not in "\t\n\r"), None)
    if odd is not None and ord(odd) < 0xA0:
        raise RefusedError(f"{name} holds the sign with code {ord(odd)}, which no text has; is it a text file?")
    if not text.strip():
        raise RefusedError(f"{name} is empty")
    return text
