"""Reading and checking device types. Text in, types out; only the shipped files are opened here."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from functools import lru_cache
from importlib import resources

from galleyproof.errors import LibraryError, Problem
from galleyproof.library.model import (
    BehaviourSpec,
    Coil,
    DeviceType,
    Earth,
    Load,
    Load3,
    PartSpec,
    TwoEnded,
)
from galleyproof.yamltext import Path, Words, load, validate

_WORDS = Words(
    nouns={"": "device type"},
    labels=("type", "mark", "name", "do"),
    patterns={
        r"^[a-z][a-z0-9_]*$": "write small letters, digits and _, beginning with a letter",
        r"^[A-Za-z0-9+\-/.]+$": "write letters, digits and + - / . only, without a space",
        r"^\$[a-z][a-z0-9_]*$": "write a number, or $ and the name of a rating",
        r"^[A-Z]{1,2}$": "write one or two capital letters of IEC 81346-2",
    },
)


def read_types(text: str | bytes, file: str) -> tuple[DeviceType, ...]:
    """Read one type file: a list of device types.

    Args:
        text: The file; bytes must be UTF-8.
        file: Its name, for messages.

    Raises:
        LibraryError: With every problem found, each with file, line and cure.
    """
    document = load(text, file, error=LibraryError)
    try:
        types = validate(document, tuple[DeviceType, ...], _WORDS, error=LibraryError)
    except LibraryError as error:
        raise LibraryError([_with_cure(p) for p in error.problems]) from None
    problems: list[Problem] = []
    first: dict[str, int] = {}
    for i, kind in enumerate(types):
        if kind.type in first:
            line = document.line((first[kind.type], "type"))
            what = f"type {kind.type} stands in line {line} already; rename one of the two, or take one out"
            problems.append(document.problem((i, "type"), f"device type {kind.type}", what))
        first.setdefault(kind.type, i)
        problems += [document.problem((i, *path), f"device type {kind.type}", what) for path, what in _check(kind)]
    if problems:
        raise LibraryError(problems)
    return types


def _with_cure(problem: Problem) -> Problem:
    """A value that may be of two forms is refused without a cure; only this room knows the forms."""
    if not problem.what.endswith("cannot be taken here"):
        return problem
    if problem.where.endswith("size_inch"):
        what = "is not a size; write width, height and depth as three plain numbers of inches, as in [4, 3, 2.5]"
    else:
        what = f"{problem.what}; write a number without a unit, or $ and the name of a rating"
    return replace(problem, what=what)


def _check(kind: DeviceType) -> Iterator[tuple[Path, str]]:
    """What one type's terminals, parts, ratings and behaviours say about each other, by path."""
    marks: set[str] = set()
    for i, terminal in enumerate(kind.terminals):
        if terminal.mark in marks:
            what = f"terminal {terminal.mark} is named twice; give each terminal of a type its own mark"
            yield ("terminals", i, "mark"), what
        marks.add(terminal.mark)
    names: set[str] = set()
    for i, part in enumerate(kind.parts):
        for path, what in _check_part(kind, part, marks):
            yield ("parts", i, *path), what
        for name in part_names(part):
            if name in names:
                yield ("parts", i, "name"), f"part {name} is named twice; rename one of the two"
            names.add(name)
    for field in ("heat_w", "sccr_a"):
        yield from _check_rating(kind, field, getattr(kind, field))
    for i, behaviour in enumerate(kind.behaviours):
        for role, what in _check_roles(kind, behaviour, names):
            yield ("behaviours", i, role), what


def part_names(part: PartSpec) -> tuple[str, ...]:
    """Names a behaviour can use for a part: none for joints and earths, four for a three-phase load."""
    if isinstance(part, Load3):
        return (part.name, *(f"{part.name}_{pair}" for pair in ("ab", "bc", "ca")))
    return (part.name,) if isinstance(part, TwoEnded) else ()


def _check_part(kind: DeviceType, part: PartSpec, marks: set[str]) -> Iterator[tuple[Path, str]]:
    ends = {"a": part.a}
    if not isinstance(part, Earth):
        ends["b"] = part.b
    if isinstance(part, Load3):
        ends["c"] = part.c
    for field, end in ends.items():
        if not end.startswith("~") and end not in marks:
            yield (
                (field,),
                f"{field} is {end}, which is no terminal of this type (it has {_listed(marks)}); "
                "add the terminal, or write ~name for a node inside the device",
            )
    for field, value in part:
        yield from _check_rating(kind, field, value)
    if isinstance(part, (Load, Load3, Coil)) and (part.watts is None) == (part.va is None):
        has = "neither watts nor va" if part.watts is None else "both watts and va"
        yield (), f"part {part.name} has {has}; give one of the two"


def _check_rating(kind: DeviceType, field: str, value: object) -> Iterator[tuple[Path, str]]:
    if isinstance(value, str) and value.startswith("$") and value[1:] not in kind.ratings:
        yield (
            (field,),
            f"{field} uses {value}, but the type has no rating {value[1:]} (it has {_listed(kind.ratings)}); "
            "add the rating, or use one of these",
        )


def _check_roles(kind: DeviceType, behaviour: BehaviourSpec, names: set[str]) -> Iterator[tuple[str, str]]:
    for role, value in behaviour.roles.items():
        if not role.endswith(("_part", "_parts")):
            continue
        for name in [value] if isinstance(value, str) else value:
            if name not in names:
                yield (
                    role,
                    f"{role} names {name}, which is no part of this type (it has {_listed(names)}); "
                    "add the part, or name one of these",
                )
    if behaviour.volts is not None and behaviour.volts not in kind.ratings:
        yield (
            "volts",
            f"volts names {behaviour.volts}, which is no rating of this type "
            f"(it has {_listed(kind.ratings)}); add the rating, or name one of these",
        )


def _listed(words: Iterable[str]) -> str:
    return ", ".join(sorted(words)) or "none"


def merge(libraries: Iterable[Iterable[DeviceType]]) -> dict[str, DeviceType]:
    """Join type lists; a later one replaces an earlier one of the same name."""
    return {kind.type: kind for library in libraries for kind in library}


def shipped_files() -> dict[str, bytes]:
    """The package's own type files by name."""
    folder = resources.files("galleyproof.library") / "data"
    files = sorted((f for f in folder.iterdir() if f.name.endswith(".yaml")), key=lambda f: f.name)
    return {f.name: f.read_bytes() for f in files}


@lru_cache(maxsize=1)
def _shipped() -> tuple[DeviceType, ...]:
    return tuple(kind for name, text in shipped_files().items() for kind in read_types(text, name))


def load_library(extra: Mapping[str, str | bytes] | None = None) -> dict[str, DeviceType]:
    """The shipped types, extended by the user's own files.

    Args:
        extra: File name -> text of the user's type files; same-named types replace shipped ones.

    Raises:
        LibraryError: All problems of all files at once; also a type that two of the user's files hold.
    """
    problems: list[Problem] = []
    own: list[tuple[DeviceType, ...]] = []
    file_of: dict[str, str] = {}
    for name, text in sorted((extra or {}).items()):
        try:
            types = read_types(text, name)
        except LibraryError as error:
            problems.extend(error.problems)
            continue
        for kind in types:
            if kind.type in file_of:
                what = f"{file_of[kind.type]} holds type {kind.type} too; keep it in one of the two files"
                problems.append(Problem(name, 0, f"device type {kind.type}", what))
            file_of.setdefault(kind.type, name)
        own.append(types)
    if problems:
        raise LibraryError(problems)
    return merge([_shipped(), *own])
