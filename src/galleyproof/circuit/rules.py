"""Rules: how devices behave. A rule turns slot values into slot values and remembers through its own outputs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

Values = tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class After:
    """An output that comes later: ``value`` once ``seconds`` have passed without the rule changing its mind."""

    seconds: float
    value: Any


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
    """

    owner: str
    name: str
    inputs: tuple[str, ...]
    outputs: tuple[str, ...]
    initial: Values
    act: Callable[[Values, Values], Values]
