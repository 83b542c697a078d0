"""What sizing a whole job gives: numbers with their reasoning, sizes of conductors and raceways, findings.

A number's key is stable and readable: the item it is about, then what it is (``LP-2/8 branch conductor``,
``EF-1 largest branch breaker``). ``size JOB --why KEY`` takes it, and drawings and documents print its clauses.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from galleyproof.findings import Citation, Finding
from galleyproof.reasoning import Reasoned, shown
from galleyproof.sizing.raceways import Filling

__all__ = ["Number", "RacewaySize", "SizedConductor", "Sizes"]


@dataclass(frozen=True, slots=True)
class Number:
    """One result that a reviewer may question.

    Attributes:
        key: Stable readable name, unique in a job.
        circuit: Tag of the circuit it belongs to, the panel's tag for what belongs to none; groups the table.
        item: Tag of the device, circuit, conductor group, raceway or cable it is about.
        what: What the number is: ``branch conductor``.
        result: The value with its unit, steps and clauses.
        given: What the job or the design has (``25 A``, ``12 AWG``); empty where nothing is given to compare with.
        ok: False when what is given does not satisfy the number; a finding then says so.
    """

    key: str
    circuit: str
    item: str
    what: str
    result: Reasoned[Any]
    given: str = ""
    ok: bool = True

    @property
    def text(self) -> str:
        """The value as a table shows it: ``10 AWG``."""
        value, unit = self.result.value, self.result.unit
        if isinstance(value, float):
            value = round(value, 4)
        if isinstance(value, bool):
            return "yes" if value else "no"
        return shown(value, unit) if isinstance(value, int | float | str) else str(value)

    @property
    def basis(self) -> tuple[Citation, ...]:
        """Clauses it rests on."""
        return self.result.basis


@dataclass(frozen=True, slots=True)
class SizedConductor:
    """What one conductor of the design has to be.

    Attributes:
        key: Key of the conductor in the design.
        awg: Size that satisfies every rule. [AWG or kcmil]
        insulation: Type letters.
        material: ``cu`` or ``al``.
        ampacity_a: Usable in its surroundings and at its terminals; None for equipment grounds and for conductors
            limited by a Class 2 source. [A]
        protected_a: Rating of the device that protects it; None where its source limits itself. [A]
        protected_by: The rule by which it is protected, in words with its clause.
        why_key: Key of the number that says why.
        raceway: Tag of the raceway it runs in; empty inside the panel.
    """

    key: str
    awg: str
    insulation: str
    material: str
    ampacity_a: float | None
    protected_a: float | None
    protected_by: str
    why_key: str
    raceway: str = ""


@dataclass(frozen=True, slots=True)
class RacewaySize:
    """One raceway, or one open cable, with everything in it.

    Attributes:
        tag: ``RW-EF-1-P``.
        kind: ``EMT``, ``RMC``, ``PVC40``, ``FMC``, ``LFMC``, or ``open cable``.
        trade_size: Label; empty for an open cable. [in]
        fill_ratio: Area of its contents over its whole inside. [-]
        max_fill_ratio: What Table 1 permits for the number of conductors. [-]
        energy_class: Common to everything in it, in words.
        from_place: Where it starts.
        to_place: Where it ends.
        length_ft: One way. [ft]
        contents: Equal conductors together, grounds included.
        current_carrying: Conductors that count for the derating. [-]
        circuits: Tags of the circuits whose conductors run in it.
        cables: Tags of the design's cables that run in it.
        conductors: Keys of the design's conductors in it.
        why_key: Key of the number that says why.
    """

    tag: str
    kind: str
    trade_size: str
    fill_ratio: float
    max_fill_ratio: float
    energy_class: str
    from_place: str
    to_place: str
    length_ft: float
    contents: tuple[Filling, ...]
    current_carrying: int
    circuits: tuple[str, ...]
    cables: tuple[str, ...]
    conductors: tuple[str, ...]
    why_key: str


@dataclass(frozen=True)
class Sizes:
    """Everything electrical of a job that has a size.

    Attributes:
        numbers: Every number, by circuit and in the order a reviewer reads them.
        findings: What does not hold, each with its cure and its clauses.
        raceways: Every raceway and open cable.
        conductors: Sizes by the key of the design's conductor; every conductor of the design is in it.
        edition: Edition of NFPA 70 all numbers go by.
    """

    numbers: tuple[Number, ...]
    findings: tuple[Finding, ...]
    raceways: tuple[RacewaySize, ...] = ()
    conductors: Mapping[str, SizedConductor] = field(default_factory=dict)
    edition: str = "2023"

    @cached_property
    def by_key(self) -> Mapping[str, Number]:
        """Numbers by key."""
        return {n.key: n for n in self.numbers}

    @cached_property
    def of_item(self) -> Mapping[str, tuple[Number, ...]]:
        """Numbers by the item they are about."""
        return _grouped((n.item, n) for n in self.numbers)

    @cached_property
    def of_circuit(self) -> Mapping[str, tuple[Number, ...]]:
        """Numbers by circuit, for the table."""
        return _grouped((n.circuit, n) for n in self.numbers)

    @cached_property
    def raceway_by_tag(self) -> Mapping[str, RacewaySize]:
        """Raceways by tag."""
        return {r.tag: r for r in self.raceways}

    def citations(self) -> tuple[Citation, ...]:
        """Every clause used anywhere, once, in order of first use."""
        return tuple(dict.fromkeys(c for n in self.numbers for c in n.basis))

    def matching(self, item: str) -> tuple[Number, ...]:
        """Numbers that a person may mean: of that key, else of that item or circuit, else whose key holds the words."""
        if item in self.by_key:
            return (self.by_key[item],)
        exact = {n.key: n for n in (*self.of_item.get(item, ()), *self.of_circuit.get(item, ()))}
        if exact:
            return tuple(exact.values())
        words = item.lower().split()
        return tuple(n for n in self.numbers if words and all(w in n.key.lower() for w in words))

    def __iter__(self) -> Iterator[Number]:
        return iter(self.numbers)


def _grouped(pairs: Iterable[tuple[str, Number]]) -> Mapping[str, tuple[Number, ...]]:
    groups: dict[str, list[Number]] = {}
    for key, number in pairs:
        groups.setdefault(key, []).append(number)
    return {key: tuple(numbers) for key, numbers in groups.items()}
