"""Where checks enrol."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from galleyproof.errors import Problem
from galleyproof.job.register import Register

CheckFunction = Callable[[Register], Iterator[Problem]]


@dataclass(frozen=True, slots=True)
class Check:
    """One rule.

    Attributes:
        name: Of its function.
        run: The rule itself.
        whole: Sections that must have been read completely before it can say anything.
    """

    name: str
    run: CheckFunction
    whole: tuple[str, ...]


CHECKS: list[Check] = []
"""Every rule, in the order of its module."""


def check(*whole: str) -> Callable[[CheckFunction], CheckFunction]:
    """Enrol a rule; ``whole`` names the sections whose absence it judges."""

    def enrol(run: CheckFunction) -> CheckFunction:
        CHECKS.append(Check(run.__name__, run, whole))
        return run

    return enrol


def check_register(register: Register) -> tuple[Problem, ...]:
    """Every problem of every rule that can run."""
    found: list[Problem] = []
    for one in CHECKS:
        if register.whole(*one.whole):
            found.extend(one.run(register))
    return tuple(dict.fromkeys(found))
