"""Slips that come to the same: recognised by what the devices do, without a run of their own.

An island acts on the job only through its readings. If every rule that reads them would have answered the same with
the new readings, at every act it did in a run already known, then the new run is that run, act by act: nothing else
can tell the two apart. So a slip is solved in the few states its island was in, held against the known runs of the
same islands, the right wiring first, and only if it fits none of them is it run itself.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from galleyproof.circuit.rules import After
from galleyproof.proof.ripple import Act, IslandUnit

Values = tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class Watched:
    """One act of a rule that reads an island.

    Attributes:
        act: The rule.
        read: What it read.
        now: How it stood.
        answer: What it answered.
        swaps: Place among what it read, place among what the island gives.
        states: In which of the run's states the island may have been.
    """

    act: Callable[[Values, Values], Values]
    read: Values
    now: Values
    answer: Values
    swaps: tuple[tuple[int, int], ...]
    states: tuple[int, ...]


@dataclass
class Run:
    """A known run of some islands.

    Attributes:
        over: Courses that differ from the right wiring.
        keys: States the island was in; the first is the dark one.
        given: What it gave in each.
        acts: What the rules that read it did.
    """

    over: Mapping[int, int]
    keys: Sequence[Values]
    given: Sequence[Values]
    acts: Sequence[Watched]
    hits: int = field(default=0)

    def fits(self, unit: IslandUnit) -> bool:
        """Whether an island in the place of the run's comes to the same."""
        given, keys = self.given, self.keys
        if unit.given(keys[0]) != given[0]:
            return False
        now = [unit.given(key) for key in keys]
        moved = {i for i, (a, b) in enumerate(zip(now, given, strict=True)) if a != b}
        if not moved:
            return True
        for w in self.acts:
            for i in w.states:
                if i not in moved:
                    continue
                read = list(w.read)
                for place, out in w.swaps:
                    read[place] = now[i][out]
                seen = tuple(read)
                if seen != w.read and w.act(seen, w.now) != w.answer:
                    return False
        return True


def standing(act: Callable[[Values, Values], Values], acts: Iterable[Act]) -> set[tuple[Values, Values, Values]]:
    """Acts, and with each how the rule stands after it.

    A rule acts only when something it reads changes. Where the new readings change and the known ones did not, it acts
    once more than in the known run, and must then answer that it stays as it is.
    """
    found = {(read, now, answer) for _, read, now, answer in acts}
    for read, now, answer in list(found):
        settled = tuple([n if isinstance(a, After) else a for n, a in zip(now, answer, strict=True)])
        found.add((read, settled, act(read, settled)))
    return found


def watched(
    unit: IslandUnit,
    given: Sequence[Values],
    readers: Iterable[tuple[Callable[[Values, Values], Values], Sequence[int], Iterable[Act]]],
) -> list[Watched] | None:
    """Acts of the rules that read an island, each with the states in which it may have been.

    Args:
        unit: The island's unit.
        given: What it gave in each state of the run.
        readers: Rules with their inputs and what they did.

    Returns:
        The acts, or None if one of them cannot be placed.
    """
    place = {s: i for i, s in enumerate(unit.outputs)}
    found: list[Watched] = []
    for act, inputs, acts in readers:
        swaps = tuple((i, place[s]) for i, s in enumerate(inputs) if s in place)
        at: dict[Values, list[int]] = {}
        for n, values in enumerate(given):
            at.setdefault(tuple([values[o] for _, o in swaps]), []).append(n)
        for read, now, answer in standing(act, acts):
            states = at.get(tuple([read[i] for i, _ in swaps]))
            if states is None:
                return None
            found.append(Watched(act, read, now, answer, swaps, tuple(states)))
    return found
