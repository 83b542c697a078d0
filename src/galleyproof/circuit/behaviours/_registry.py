"""The registry of behaviours and what each of them is handed."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from galleyproof.circuit.network import STRIP_TYPE, number, rating
from galleyproof.circuit.rules import Rule
from galleyproof.design.model import Design, Device
from galleyproof.errors import CircuitError
from galleyproof.library.model import DeviceType


@dataclass(frozen=True, slots=True)
class Made:
    """A device with its type, as behaviours see it."""

    device: Device
    kind: DeviceType
    design: Design

    @property
    def tag(self) -> str:
        """Device tag."""
        return self.device.tag

    def slot(self, name: str) -> str:
        """Slot of one of the device's parts or signals."""
        return f"{self.device.tag}.{name}"

    def slots(self, names: Iterable[str], suffix: str = "") -> tuple[str, ...]:
        """Slots of several parts."""
        return tuple(f"{self.device.tag}.{n}{suffix}" for n in names)

    def number(self, name: str) -> float:
        """A numeric rating."""
        return number(self.device, self.kind, f"${name}")

    def word(self, name: str) -> str:
        """A rating that is a word."""
        return str(rating(self.device, self.kind, name))


Behaviour = Callable[[Made, Mapping[str, Any]], Iterable[Rule]]
BEHAVIOURS: dict[str, Behaviour] = {}


def behaviour(name: str) -> Callable[[Behaviour], Behaviour]:
    """Register a behaviour under its name."""

    def register(function: Behaviour) -> Behaviour:
        if name in BEHAVIOURS:
            raise ValueError(f"behaviour {name} is registered twice")
        BEHAVIOURS[name] = function
        return function

    return register


def rules_of(design: Design, library: Mapping[str, DeviceType]) -> tuple[Rule, ...]:
    """All rules of a design's devices.

    Raises:
        CircuitError: If a type names an unknown behaviour; the message lists the known ones.
    """
    rules: list[Rule] = []
    for device in design.devices:
        if device.type == STRIP_TYPE:
            continue
        kind = library[device.type]
        for spec in kind.behaviours:
            make = BEHAVIOURS.get(spec.do)
            if make is None:
                raise CircuitError(
                    f"{device.tag}: type {kind.type} names the behaviour {spec.do}, which does not exist; "
                    f"known: {', '.join(sorted(BEHAVIOURS))}"
                )
            rules.extend(make(Made(device, kind, design), spec.roles))
    return tuple(rules)
