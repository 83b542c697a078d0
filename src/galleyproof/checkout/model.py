"""What a check-out is made of: preparations, probes, readings, expectations. Values only."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from typing import Literal, TypeAlias

from galleyproof.checkout.called import Thing
from galleyproof.design.model import TerminalId
from galleyproof.proof.model import Step

Reading: TypeAlias = float | str
"""Volts, amperes, hertz, ohms (infinity: open), degrees Fahrenheit on the display, or what a person sees, in words."""

LEAST_DIFFERENCE = 1e-6
"""Readings no further apart are one: no meter shows a millionth of a volt, of an ampere or of an ohm; what is left of
two large values that cancel each other is rounding. [V], [A], [ohm]"""


class Stage(StrEnum):
    """The order in which a panel is brought to life; each stage has its cautions."""

    DEAD = "dead"
    CONTROL = "control power"
    LINE = "line power"
    FUNCTION = "functional"


CAUTIONS: Mapping[Stage, str] = {
    Stage.DEAD: (
        "Lock out and tag out every breaker named, and test dead with a meter that was tried on a known live source "
        "before and after. Tell the fire-alarm and suppression contractors before the fire switch is moved; the "
        "suppression system's own wiring belongs to its licensed contractor."
    ),
    Stage.CONTROL: (
        "The panel's own circuit is live: line voltage stands in the panel. Qualified persons only, with protective "
        "equipment. All other breakers stay locked out."
    ),
    Stage.LINE: (
        "Line voltage at every device. Qualified persons only, with protective equipment and a meter rated for the "
        "place. Fans can start: keep clear of wheels and belts."
    ),
    Stage.FUNCTION: (
        "Everything is live and moves. Tell the fire-alarm and suppression contractors before a release is simulated, "
        "and the people in the kitchen before fuel and power are taken away."
    ),
}

Kind = Literal["ohms", "volts AC", "volts DC", "amps AC", "hertz", "display", "look"]


@dataclass(frozen=True, slots=True)
class Preparation:
    """A state the installation is brought into before something is read.

    Attributes:
        key: ``released Z1``.
        stage: See Stage.
        step: Index of the step of the script that reaches it.
        words: What a person does to get there from the preparation before it.
        minutes: How long that takes. [min]
        after: Key of the preparation it starts from; empty from dark.
        needs: Who has to be there: the suppression system's contractor for a release.
    """

    key: str
    stage: Stage
    step: int
    words: str
    minutes: float
    after: str = ""
    needs: str = ""


@dataclass(frozen=True, slots=True)
class Probe:
    """One measurement, with everything that makes its reading mean something.

    Attributes:
        key: ``dead: ohms CP1-X3:1 CP1-X3:2``.
        preparation: Key of its preparation.
        stage: The preparation's.
        kind: Range of the meter, or what a person looks at.
        red: Terminal of the red lead, or where the clamp is put around a conductor; None for a look.
        black: Terminal of the black lead.
        slot: Slot that a look or the display shows; key of the conductor in a clamp; use of a speed signal.
        about: Tag of the device or cable it is about.
        place: Where the person stands.
        meter_ohm: Input resistance of a voltmeter. [ohm]
        minutes: Once the preparation stands. [min]
        hazard: 0 none, 1 extra-low voltage, 3 line voltage up to 150 V to ground, 5 above. [-]
        lifted: Key of the conductor whose end at ``red`` is lifted first and read instead; empty: leads stay landed.
        words: The whole instruction: range, terminals, leads landed, load, polarity.
        caution: For this probe; empty when its stage says it all.
        rises: Whether what a display reads rises with the ohms of its sensor, as with a Pt1000; with a thermistor it
            falls.
    """

    key: str
    preparation: str
    stage: Stage
    kind: Kind
    red: TerminalId | None
    black: TerminalId | None
    slot: str
    about: str
    place: str
    meter_ohm: float
    minutes: float
    hazard: float
    words: str
    caution: str = ""
    lifted: str = ""
    rises: bool = False


@dataclass(frozen=True, slots=True)
class Expectation:
    """The reading on the right wiring, and how far it may lie off.

    Attributes:
        value: The reading.
        low: Least acceptable; equal to ``value`` for words.
        high: Largest acceptable.
    """

    value: Reading
    low: Reading
    high: Reading

    def holds(self, reading: Reading) -> bool:
        """Whether a reading is as expected."""
        if isinstance(reading, str) or isinstance(self.low, str) or isinstance(self.high, str):
            return reading == self.value
        return self.low <= reading <= self.high


@dataclass(frozen=True)
class Checkout:
    """Everything one could do on one job.

    Attributes:
        steps: The script of all preparations, as one tree.
        preparations: In the order of the work.
        probes: All possible probes, in the order of the work.
        things: What people call the things of the job.
    """

    steps: tuple[Step, ...]
    preparations: tuple[Preparation, ...]
    probes: tuple[Probe, ...]
    things: tuple[Thing, ...] = ()

    def preparation(self, key: str) -> Preparation:
        """One by its key."""
        return self._by_key[key]

    @cached_property
    def _by_key(self) -> dict[str, Preparation]:
        return {p.key: p for p in self.preparations}
