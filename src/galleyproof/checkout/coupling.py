"""What the conductors of a raceway couple into one that hangs on nothing: the ghost volts of an ordinary meter."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from galleyproof.design.model import Conductor, TerminalId

COUPLING_F_PER_FT = 30e-12
"""Capacitance between two conductors of one raceway (common practice: some tens of picofarads a foot). [F/ft]"""
TO_RACEWAY_F_PER_FT = 15e-12
"""Capacitance of a conductor to its grounded raceway or the equipment ground in it (common practice). [F/ft]"""


@dataclass(frozen=True, slots=True)
class _Run:
    """One conductor in a raceway: its ends as nodes."""

    key: str
    cable: str
    a: int
    b: int
    length_ft: float


@dataclass(frozen=True, slots=True)
class Coupled:
    """What a part that hangs on nothing feels.

    Attributes:
        from_nodes: Node and the capacitance to it. [-], [F]
        farads: All capacitance together, the grounded raceway's included. [F]
    """

    from_nodes: tuple[tuple[int, float], ...]
    farads: float


class Coupling:
    """Conductors that share a raceway.

    Args:
        conductors: Of the design.
        node: Node of a terminal.
    """

    def __init__(self, conductors: Iterable[Conductor], node: Callable[[TerminalId], int]) -> None:
        self._runs = {
            c.key: _Run(c.key, c.cable, node(c.a), node(c.b), c.length_ft) for c in conductors if c.cable
        }  # fmt: skip
        self._known: dict[frozenset[int], Coupled] = {}
        self._at: dict[int, list[str]] = {}
        self._in: dict[str, list[str]] = {}
        for run in self._runs.values():
            self._in.setdefault(run.cable, []).append(run.key)
            for n in {run.a, run.b}:
                self._at.setdefault(n, []).append(run.key)

    def other(self, changed: Mapping[str, tuple[int, int] | None]) -> Coupling:
        """The same with some conductors left off or landed elsewhere.

        Args:
            changed: Key of a conductor -> its nodes now, None where it carries nothing on.
        """
        mine = {k: n for k, n in changed.items() if k in self._runs}
        if not mine:
            return self
        made = object.__new__(Coupling)
        made._runs = dict(self._runs)
        made._known = {}
        made._at = dict(self._at)
        made._in = dict(self._in)
        for key, nodes in mine.items():
            run = made._runs.pop(key)
            for n in {run.a, run.b}:
                made._at[n] = [k for k in made._at[n] if k != key]
            if nodes is None:
                made._in[run.cable] = [k for k in made._in[run.cable] if k != key]
                continue
            made._runs[key] = _Run(key, run.cable, nodes[0], nodes[1], run.length_ft)
            for n in set(nodes):
                made._at[n] = [*made._at.get(n, ()), key]
        return made

    def into(self, cluster: frozenset[int]) -> Coupled:
        """What some nodes that hang together feel.

        Args:
            cluster: The nodes.
        """
        found = self._known.get(cluster)
        if found is None:
            found = self._known[cluster] = self._into(cluster)
        return found

    def _into(self, cluster: frozenset[int]) -> Coupled:
        from_nodes: dict[int, float] = {}
        farads = 0.0
        for key in dict.fromkeys(k for n in sorted(cluster) for k in self._at.get(n, ())):
            run = self._runs[key]
            farads += TO_RACEWAY_F_PER_FT * run.length_ft
            for other in self._in[run.cable]:
                mate = self._runs[other]
                if other != key and mate.b not in cluster:
                    from_nodes[mate.b] = from_nodes.get(mate.b, 0.0) + COUPLING_F_PER_FT * run.length_ft
                    farads += COUPLING_F_PER_FT * run.length_ft
        return Coupled(tuple(from_nodes.items()), farads)


def hanging_together(
    node: int, pairs: Iterable[tuple[int, int]], stop: Sequence[int]
) -> frozenset[int]:  # fmt: skip
    """Nodes that hang together with one.

    Args:
        node: Where to begin.
        pairs: Nodes that are joined.
        stop: Nodes that lead no further.
    """
    edges: dict[int, list[int]] = {}
    for a, b in pairs:
        edges.setdefault(a, []).append(b)
        edges.setdefault(b, []).append(a)
    found, queue = {node}, [node]
    while queue:
        for n in edges.get(queue.pop(), ()):
            if n not in found and n not in stop:
                found.add(n)
                queue.append(n)
    return frozenset(found)
