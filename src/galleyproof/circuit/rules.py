"""Rules: how devices behave. A rule turns slot values into slot values and remembers through its own outputs."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

Values = tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class After:
    """An output that comes later: ``value`` once ``seconds`` have passed without the rule changing its mind."""

    seconds: float
    value: Any


@dataclass(frozen=True, slots=True)
class Levels:
    """Levels a rule compares one reading with; where between them it lies, and on which of them, is all that counts.

    Attributes:
        bounds: In ascending order, above zero. [the reading's unit]
        signed: False where only the magnitude counts.
    """

    bounds: tuple[float, ...]
    signed: bool = False

    def __call__(self, value: Any) -> float:
        """The one value that stands for all that are to it as this one is."""
        size = value if self.signed else abs(value)
        bounds = self.bounds
        i = bisect_right(bounds, size)
        if i == 0:
            return 0.0
        low = bounds[i - 1]
        if size == low:
            return low
        return 0.5 * (low + bounds[i]) if i < len(bounds) else 2.0 * low

    def among(self, other: Levels) -> Levels:
        """Levels of both."""
        return Levels(tuple(sorted({*self.bounds, *other.bounds})), self.signed)


@dataclass(frozen=True, slots=True)
class Turning:
    """How a three-phase motor looks at the volts of its three pairs of leads: which way they turn it, and how fast.

    Only the compiled walk of slips makes use of it (proof/walk.c, ``turned``), where all three are read at once.

    Attributes:
        pairs: Slots of the three readings, in the order of the phases.
        rated_v: [V]
        on_drive: Whether its speed follows the volts.
    """

    pairs: tuple[str, str, str]
    rated_v: float
    on_drive: bool

    def __call__(self, value: Any) -> complex:
        """One of the readings by itself: as it is."""
        return complex(value)


@dataclass(frozen=True, slots=True)
class Rule:
    """One behaviour of one device.

    Attributes:
        owner: Device tag.
        name: What it is: ``relay``.
        inputs: Slots it reads.
        outputs: Slots it alone writes.
        initial: Values of the outputs from dark.
        act: ``act(inputs, outputs_now) -> outputs_next``; pure. An output may be an After.
        looks: Input -> what stands for all its values that the rule answers alike; inputs taken as they are left out.
    """

    owner: str
    name: str
    inputs: tuple[str, ...]
    outputs: tuple[str, ...]
    initial: Values
    act: Callable[[Values, Values], Values]
    looks: Mapping[str, Callable[[Any], Any]] = field(default_factory=dict)
