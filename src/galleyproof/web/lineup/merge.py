"""Two changes of one text beside each other, value by value, and one text of both.

Entries of lists are matched by their tags, so that a new hood above does not make every hood below another one.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal, TypeAlias

from galleyproof.job.words import JOB_WORDS
from galleyproof.web.lineup.text import Text
from galleyproof.yamltext.emit import flow
from galleyproof.yamltext.tree import Raw, label_of

__all__ = ["Difference", "Step", "compare", "merged", "words_of"]

Step: TypeAlias = "str | tuple[str, str]"
"""A key, or the tag of an entry of a list."""

Who = Literal["mine", "theirs", "both"]


class _Absent:
    def __repr__(self) -> str:
        return "ABSENT"


ABSENT = _Absent()
_Value: TypeAlias = "Raw | _Absent"


@dataclass(frozen=True, slots=True)
class Difference:
    """One value that somebody changed.

    Attributes:
        path: Where.
        base: What stood there before.
        mine: What stands there in the one text.
        theirs: What stands there in the other.
        who: Who changed it; ``both``: each to something else.
    """

    path: tuple[Step, ...]
    base: _Value
    mine: _Value
    theirs: _Value
    who: Who

    @property
    def where(self) -> str:
        """The place in words."""
        return words_of(self.path)

    def said(self, side: Literal["base", "mine", "theirs"]) -> str:
        """A value as the job writes it."""
        value = getattr(self, side)
        if value is ABSENT:
            return "left out"
        return "nothing" if value is None else flow(value).strip("'")


def words_of(path: tuple[Step, ...]) -> str:
    """A place in words: ``hood H-1: length``."""
    said: list[str] = []
    for step in path:
        if isinstance(step, tuple):
            said[-1:] = [f"{JOB_WORDS.noun(said[-1])} {step[1]}"] if said else [step[1]]
        else:
            said.append(step)
    return ": ".join(said)


def compare(base: Raw, mine: Raw, theirs: Raw) -> tuple[Difference, ...]:
    """Every value that one of two changes of a tree changed, in the order of the tree."""
    return tuple(_compare((), base, mine, theirs))


def _compare(path: tuple[Step, ...], base: _Value, mine: _Value, theirs: _Value) -> Iterator[Difference]:
    if _same(mine, theirs):
        return
    kinds = [v for v in (base, mine, theirs) if not isinstance(v, _Absent)]
    if len(kinds) == 3 and all(isinstance(v, dict) for v in kinds):
        parts: list[dict[Step, Raw]] = [dict(v) for v in kinds]  # type: ignore[arg-type]
    elif len(kinds) == 3 and all(_tagged(v) for v in kinds):
        parts = [{("tag", label_of(e)): e for e in v} for v in kinds]  # type: ignore[union-attr]
    else:
        who: Who = "mine" if _same(base, theirs) else "theirs" if _same(base, mine) else "both"
        yield Difference(path, base, mine, theirs, who)
        return
    for step in dict.fromkeys(s for part in parts for s in part):
        yield from _compare((*path, step), *(part.get(step, ABSENT) for part in parts))


def _tagged(value: Raw) -> bool:
    """Whether a list's entries can be told apart by their tags."""
    if not isinstance(value, list) or not value:
        return False
    tags = [label_of(entry) for entry in value]
    return all(tags) and len(set(tags)) == len(tags)


def _same(one: _Value, other: _Value) -> bool:
    if isinstance(one, _Absent) or isinstance(other, _Absent):
        return one is other
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(_same(one[k], other[k]) for k in one)
    return one == other


def merged(theirs: Text, rows: tuple[Difference, ...], take_mine: Mapping[int, bool]) -> Text:
    """Their text with some values of the other one.

    Args:
        theirs: The text that stands.
        rows: From ``compare``.
        take_mine: Number of a row -> whether the value is mine; what is not there: mine where only I changed it.
    """
    tree = theirs.tree
    for n, row in enumerate(rows):
        if take_mine.get(n, row.who == "mine"):
            tree = _put(tree, row.path, row.mine)
    return theirs.changed(tree)


def _put(tree: Raw, path: tuple[Step, ...], value: _Value) -> Raw:
    step, rest = path[0], path[1:]
    if isinstance(step, tuple):
        items = list(tree) if isinstance(tree, list) else []
        n = next((i for i, entry in enumerate(items) if label_of(entry) == step[1]), len(items))
        if rest:
            items[n : n + 1] = [_put(items[n] if n < len(items) else {"tag": step[1]}, rest, value)]
        else:
            items[n : n + 1] = [] if isinstance(value, _Absent) else [value]
        return items
    entries = dict(tree) if isinstance(tree, dict) else {}
    if rest:
        entries[step] = _put(entries.get(step), rest, value)
    elif isinstance(value, _Absent):
        entries.pop(step, None)
    else:
        entries[step] = value
    return entries
