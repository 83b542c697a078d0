"""Reading and checking device types. Text in, types out; only ``load_library`` touches the package's own files."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import lru_cache
from importlib import resources

from galleyproof.errors import LibraryError, Problem
from galleyproof.library.model import DeviceType, Earth, Joint, Load3, TwoEnded
from galleyproof.yamltext import Document, load, validate



def read_types(text: str | bytes, file: str) -> tuple[DeviceType, ...]:
    """Read one type file: a list of device types.

    Raises:
        LibraryError: With every problem found, each with file, line and cure.
    """
    document = load(text, file, error=LibraryError)
    types = validate(document, tuple[DeviceType, ...], error=LibraryError)
    problems: list[Problem] = []
    for index, kind in enumerate(types):
        problems.extend(_check(kind, document, (index,)))
    if problems:
        raise LibraryError(problems)
    return types


def _check(kind: DeviceType, document: Document, at: tuple[int | str, ...]) -> Iterable[Problem]:
    where = f"device type {kind.type}"

    def problem(path: tuple[int | str, ...], what: str) -> Problem:
        return Problem(document.file, document.line(at + path), where, what)

    marks: set[str] = set()
    for i, terminal in enumerate(kind.terminals):
        if terminal.mark in marks:
            yield problem(
                ("terminals", i, "mark"),
                f"terminal {terminal.mark} is named twice; give each terminal of a type its own mark",
            )
        marks.add(terminal.mark)
    names: set[str] = set()
    for i, part in enumerate(kind.parts):
        ends = [part.a] if isinstance(part, Earth) else [part.a, part.b]
        if isinstance(part, Load3):
            ends.append(part.c)
        for end in ends:
            if not end.startswith("~") and end not in marks:
                yield problem(
                    ("parts", i),
                    f"part ends on {end}, which is no terminal of this type ({', '.join(sorted(marks))}); "
                    "add the terminal, or write ~name for an inner node",
                )
        if isinstance(part, (TwoEnded, Load3)):
            if part.name in names:
                yield problem(("parts", i, "name"), f"part {part.name} is named twice; rename one")
            names.add(part.name)
            if isinstance(part, Load3):
                names.update(f"{part.name}_{pair}" for pair in ("ab", "bc", "ca"))
        if not isinstance(part, (Joint, Earth)):
            for field, value in part:
                if isinstance(value, str) and value.startswith("$") and value[1:] not in kind.ratings:
                    yield problem(
                        ("parts", i, field),
                        f"{field} uses {value}, but the type has no rating {value[1:]}; "
                        f"its ratings are: {', '.join(kind.ratings) or 'none'}",
                    )
            if hasattr(part, "watts") and (part.watts is None) == (part.va is None):
                yield problem(("parts", i), f"part {part.name} needs watts or va, one of the two")
    for i, behaviour in enumerate(kind.behaviours):
        for role, value in behaviour.roles.items():
            for name in value if isinstance(value, (list, tuple)) else [value]:
                if role.endswith(("part", "parts")) and name not in names:
                    yield problem(
                        ("behaviours", i, role),
                        f"{role} names {name}, which is no part of this type ({', '.join(sorted(names))})",
                    )


def merge(libraries: Iterable[Iterable[DeviceType]]) -> dict[str, DeviceType]:
    """Join type lists; a later one replaces an earlier one of the same name."""
    return {kind.type: kind for library in libraries for kind in library}


@lru_cache(maxsize=1)
def _shipped() -> tuple[DeviceType, ...]:
    folder = resources.files("galleyproof.library") / "data"
    files = sorted((f for f in folder.iterdir() if f.name.endswith(".yaml")), key=lambda f: f.name)
    return tuple(kind for f in files for kind in read_types(f.read_bytes(), f.name))


def load_library(extra: Mapping[str, str | bytes] | None = None) -> dict[str, DeviceType]:
    """The shipped types, extended by the user's own files.

    Args:
        extra: File name -> text of the user's type files; same-named types replace shipped ones.

    Raises:
        LibraryError: All problems of all files at once.
    """
    problems: list[Problem] = []
    own: list[tuple[DeviceType, ...]] = []
    for name, text in sorted((extra or {}).items()):
        try:
            own.append(read_types(text, name))
        except LibraryError as error:
            problems.extend(error.problems)
    if problems:
        raise LibraryError(problems)
    return merge([_shipped(), *own])
