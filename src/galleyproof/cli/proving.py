"""Proving jobs with progress shown, for every command that needs a proof."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager

from galleyproof.cli.files import Loaded
from galleyproof.errors import CircuitError, Problem
from galleyproof.library.model import DeviceType
from galleyproof.proof.model import Proof
from galleyproof.proof.prove import prove

PATIENCE_S = 0.5
"""Time after which a person wants to know how far it is. [s]"""


def prove_all(loaded: Sequence[Loaded], library: Mapping[str, DeviceType]) -> tuple[dict[str, Proof], list[Problem]]:
    """The proof of each job by its name, and what could not be solved."""
    proofs: dict[str, Proof] = {}
    problems: list[Problem] = []
    with progress(len(loaded)) as tell:
        for done, one in enumerate(loaded):
            told = within(tell, one.name, done, len(loaded))
            try:
                proofs[one.name] = prove(one.job, one.design, library, progress=told)
            except CircuitError as error:
                problems.append(Problem(one.name, 0, "circuit", " ".join(str(error).split())))
    return proofs, problems


Tell = Callable[[str, float], None]


def within(tell: Tell, name: str, done: int, jobs: int) -> Callable[[int, int], None]:
    """Progress of one job as a share of all."""
    return lambda at, of: tell(name, (done + at / of) / jobs)


@contextmanager
def progress(jobs: int, doing: str = "proving") -> Iterator[Tell]:
    """A bar on the error output, only for a person and only once it takes long."""
    if jobs == 0 or sys.stderr is None or not sys.stderr.isatty():
        yield lambda name, share: None
        return
    started = time.monotonic()
    bar = None

    def tell(name: str, share: float) -> None:
        nonlocal bar
        if bar is None:
            if time.monotonic() - started < PATIENCE_S:
                return
            from rich.console import Console
            from rich.progress import Progress

            bar = Progress(console=Console(stderr=True), transient=True)
            bar.add_task(doing, total=1.0)
            bar.start()
        bar.update(bar.tasks[0].id, completed=share, description=name)

    try:
        yield tell
    finally:
        if bar is not None:
            bar.stop()
