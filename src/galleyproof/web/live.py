"""A job's wiring kept ready, so that a drawing can be asked for any situation and answers at once.

Everything here is computed by the core: states by the machine, readings by the bench's meters, what a slip does by the
machine of the design with the slip in it.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Mapping
from functools import cached_property

from galleyproof.design.build import build_design
from galleyproof.design.model import Conductor, Design, Role, TerminalId
from galleyproof.job.model import Job
from galleyproof.job.read import read_job
from galleyproof.library.reader import load_library
from galleyproof.proof.slips import Slip, all_slips, apply
from galleyproof.proof.slips.model import landing
from galleyproof.sizing.model import Sizes
from galleyproof.sizing.whole_job import size
from galleyproof.store.errors import NotFoundError
from galleyproof.web.wired import Wired

__all__ = ["Live"]

WRONG = 6
"""Wirings with a slip kept of each job. [-]"""


class Live:
    """One text of a job, ready for questions.

    Args:
        text: The job.

    Raises:
        InputError: The text cannot be taken.
        CircuitError: The network has no solution.
    """

    def __init__(self, text: str) -> None:
        self.job: Job = read_job(text, "job")
        self.design: Design = build_design(self.job)
        self.library = load_library()
        self.returns = {c.key: self._return_of(c) for c in self.design.conductors}
        self.right = Wired(self.job, self.design, self.library, self.returns, self.design.conductors)
        self.lock = threading.RLock()
        self._wrong: OrderedDict[str, Wired] = OrderedDict()

    @cached_property
    def sizes(self) -> Sizes:
        """Sizes with their reasons."""
        return size(self.job, self.design, self.library)

    @cached_property
    def by_number(self) -> Mapping[int, Conductor]:
        """Conductors by the number on their label."""
        return {c.number: c for c in self.design.conductors}

    @cached_property
    def slips(self) -> Mapping[str, Slip]:
        """Every slip by its key."""
        return {s.key: s for s in all_slips(self.design, self.library)}

    @cached_property
    def slips_of(self) -> Mapping[str, tuple[Slip, ...]]:
        """Slips that touch each conductor, by its key."""
        at: dict[TerminalId, list[str]] = {}
        for c in self.design.conductors:
            at.setdefault(c.a, []).append(c.key)
            at.setdefault(c.b, []).append(c.key)
        found: dict[str, dict[str, Slip]] = {}
        for slip in self.slips.values():
            change = slip.change
            keys = [*change.opened, *(k for k, _ in change.loose), *(m.conductor for m in change.moved)]
            joined = [(b.a, b.b) for b in change.bridged] + [(b.a, b.b) for b in change.unbridged]
            for a, b in joined:
                keys += [*at.get(a, ()), *at.get(b, ())]
            for key in dict.fromkeys(keys):
                found.setdefault(key, {})[slip.key] = slip
        return {key: tuple(slips.values()) for key, slips in found.items()}

    def conductor(self, number: int) -> Conductor:
        """A conductor by its number.

        Raises:
            NotFoundError: There is none.
        """
        found = self.by_number.get(number)
        if found is None:
            raise NotFoundError(f"this job has no conductor {number}; its number may be of an older revision")
        return found

    def slip(self, key: str) -> Slip:
        """A slip by its key.

        Raises:
            NotFoundError: There is none.
        """
        found = self.slips.get(key)
        if found is None:
            raise NotFoundError(f"this job has no slip {key}; choose it again from the list of slips")
        return found

    def wrong(self, key: str) -> Wired:
        """The wiring with a slip in it.

        Raises:
            NotFoundError: There is no such slip.
            CircuitError: Such a network has no solution.
        """
        slip = self.slip(key)
        if key not in self._wrong:
            ends = [landing(c, slip.change.moved) for c in self.design.conductors]
            self._wrong[key] = Wired(self.job, apply(self.design, slip), self.library, self.returns, ends)
            while len(self._wrong) > WRONG:
                self._wrong.popitem(last=False)
        self._wrong.move_to_end(key)
        return self._wrong[key]

    def _return_of(self, c: Conductor) -> TerminalId | None:
        """The conductor that belongs to it as its return: neutral or common of its cable, at the same device."""
        if c.role in (Role.NEUTRAL, Role.GROUND, Role.COMMON) or not c.cable:
            return None
        for other in self._cables.get(c.cable, ()):
            if other.role in (Role.NEUTRAL, Role.COMMON):
                for mine, end in ((c.a, other.a), (c.a, other.b), (c.b, other.b), (c.b, other.a)):
                    if mine.device == end.device:
                        return end
                return other.a
        return None

    @cached_property
    def _cables(self) -> Mapping[str, tuple[Conductor, ...]]:
        found: dict[str, list[Conductor]] = {}
        for c in self.design.conductors:
            if c.cable:
                found.setdefault(c.cable, []).append(c)
        return {tag: tuple(cs) for tag, cs in found.items()}

    def cable_of(self, c: Conductor) -> tuple[Conductor, ...]:
        """Conductors of the same cable, itself included."""
        return self._cables.get(c.cable, (c,))
