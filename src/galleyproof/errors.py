"""Every exception a user can meet.

GalleyproofError
├── UnitError          (units)    a quantity that cannot be read; also a ValueError
├── TableError         (tables)   a row or column a published table does not have; also a LookupError
├── InputError                    a file that cannot be taken: carries every Problem found in it
│   ├── JobError       (job)
│   ├── LibraryError   (library)
│   └── WeatherError   (savings)
├── DesignError        (design)   a job no recipe can build; carries Problems
└── CircuitError       (circuit)  a network that has no solution; names the device

A message gives the place, the rule, the value received and what to do.
"""

from __future__ import annotations

from dataclasses import dataclass


class GalleyproofError(Exception):
    """Base of every error raised on purpose."""


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One thing wrong in an input file.

    Attributes:
        file: Name of the file as the user gave it.
        line: Line number, first line is 1; 0 when the file has no lines to point at. [-]
        where: The item and key, in words: ``fan EF-2: voltage``.
        what: What is wrong, what is allowed and how to cure it.
    """

    file: str
    line: int
    where: str
    what: str

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}" if self.line else self.file
        return f"{place}: {self.where}: {self.what}" if self.where else f"{place}: {self.what}"


class InputError(GalleyproofError):
    """A file that cannot be taken; every problem found in it is listed at once."""

    def __init__(self, problems: tuple[Problem, ...] | list[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(sorted(set(problems)))
        super().__init__("\n".join(str(p) for p in self.problems))


class JobError(InputError, ValueError):
    """A job file that cannot be taken."""


class LibraryError(InputError, ValueError):
    """A device type file that cannot be taken."""


class WeatherError(InputError, ValueError):
    """A weather file that cannot be taken."""


class DesignError(InputError, ValueError):
    """A job that reads well but that no recipe can build."""


class CircuitError(GalleyproofError, ArithmeticError):
    """A network without a solution; the message names the device."""
