"""Changes of a job as values: where, and what shall stand there."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Any, Final, TypeAlias, cast

from pydantic import BaseModel

from galleyproof.job.model import Job
from galleyproof.job.words import JOB_WORDS
from galleyproof.job.write import quantity
from galleyproof.yamltext import emit
from galleyproof.yamltext.shapes import BlockShape, ChoiceShape, EitherShape, ListShape, PairsShape, Shape, shape_of

__all__ = ["GONE", "NEW", "Edit", "Move", "Path", "applied", "at", "place_words", "value_words"]

Path: TypeAlias = tuple[str | int, ...]
"""A place in a job: keys of blocks; entries of a list by their tag, or by their number where they have none."""


class _Mark(Enum):
    GONE = "left out"


GONE: Final = _Mark.GONE
"""The new value of an entry of a list that is taken away."""

NEW: Final = "+"
"""The step that stands for a new entry behind the others; no tag is written so."""


@dataclass(frozen=True, slots=True)
class Edit:
    """One value of the job that changes.

    Attributes:
        path: Where it stands, or shall stand.
        value: What shall stand there; ``GONE`` takes the entry of a list away.
    """

    path: Path
    value: Any


@dataclass(frozen=True, slots=True)
class Move:
    """Edits that make sense only together, for one purpose.

    Attributes:
        edits: At least one; no two of one place.
        why: What it does, in words.
        weight: How much has to be done on site or decided by others; among changes of equally many values the
            lightest is proposed. A setting 1, another landing 2, another part 3, a new run of wire 4. [-]
    """

    edits: tuple[Edit, ...]
    why: str
    weight: float = 1.0


def one(path: Path, value: Any, why: str, weight: float = 1.0) -> Move:
    """A move of one value."""
    return Move((Edit(path, value),), why, weight)


# --- reading and changing ---------------------------------------------------------------------------------------


def at(job: Job, path: Path) -> Any:
    """What stands at a place; None for an entry that is not there."""
    here: Any = job
    for step in path:
        if here is None:
            return None
        if isinstance(here, tuple):
            n = _number(here, step)
            here = here[n] if n < len(here) else None
        else:
            here = getattr(here, str(step))
    return here


def applied(job: Job, edits: Iterable[Edit]) -> Job:
    """The job with some values changed, in the order of the edits.

    Raises:
        LookupError: A path that leads nowhere.
    """
    for edit in edits:
        job = cast(Job, _with(job, edit.path, edit.value))
    return job


def _with(here: Any, path: Path, value: Any) -> Any:
    if not path:
        return value
    step, rest = path[0], path[1:]
    if isinstance(here, tuple):
        n = _number(here, step)
        if value is GONE and not rest:
            if n == len(here):
                raise LookupError(f"no entry {step} to take away")
            return (*here[:n], *here[n + 1 :])
        if n == len(here) and rest:
            raise LookupError(f"no entry {step} to change")
        return (*here[:n], _with(here[n] if n < len(here) else None, rest, value), *here[n + 1 :])
    if not isinstance(here, BaseModel) or str(step) not in type(here).model_fields:
        raise LookupError(f"nothing called {step} there")
    return here.model_copy(update={str(step): _with(getattr(here, str(step)), rest, value)})


def _number(entries: tuple[Any, ...], step: str | int) -> int:
    """Place of an entry in its list; the length of the list for one that is not there."""
    if isinstance(step, int):
        return min(step, len(entries))
    return next((n for n, entry in enumerate(entries) if getattr(entry, "tag", None) == step), len(entries))


# --- words ------------------------------------------------------------------------------------------------------


def place_words(job: Job, path: Path) -> str:
    """A place for people: ``exhaust fan EF-2: drive: motor: volts``."""
    said: list[str] = []
    here: Any = job
    for step in path:
        if isinstance(here, tuple) or step == NEW:
            noun = JOB_WORDS.noun(said[-1])
            entry = None if step == NEW else at_entry(here, step)
            use = getattr(entry, "use", None)
            name = getattr(entry, "tag", None) or (f"for {use}" if use else str(step))
            said[-1] = f"{noun} {name}" if entry is not None else f"another {noun}"
            here = entry
        else:
            said.append(str(step))
            here = getattr(here, str(step), None)
    return ": ".join(said)


def at_entry(entries: tuple[Any, ...], step: str | int) -> Any:
    """An entry of a list, None when it is not there."""
    n = _number(entries, step)
    return entries[n] if n < len(entries) else None


def value_words(path: Path, value: Any) -> str:
    """A value as the job file writes it."""
    if value is GONE:
        return str(GONE.value)
    if value is None:
        return "not stated"
    shape = shape_of(type(value)) if isinstance(value, BaseModel) else _down((shape_of(Job),), path)
    tree = emit.tree_of(value, shape, quantity)
    if tree == {} and isinstance(shape, BlockShape):  # all as usual: say what is usual
        tree = {k: emit.tree_of(getattr(value, k), f.shape, quantity) for k, f in shape.fields.items()}
    return emit.flow(tree)


def _down(shapes: Sequence[Shape], path: Path) -> Shape:
    """The shape at a place; where a block may be of several kinds, of the first that has the key."""
    if not path:
        return shapes[0]
    step, rest = path[0], path[1:]
    found: list[Shape] = []
    for shape in shapes:
        match shape:
            case ListShape():
                found.append(shape.item)
            case PairsShape():
                found.append(shape.value)
            case _:
                found += [b.fields[str(step)].shape for b in _blocks(shape) if str(step) in b.fields]
    return _down(found, rest)


def _blocks(shape: Shape) -> Iterator[BlockShape]:
    if isinstance(shape, BlockShape):
        yield shape
    elif isinstance(shape, ChoiceShape):
        yield from shape.blocks.values()
    elif isinstance(shape, EitherShape):
        yield from shape.blocks
