"""Small kitchens in which the field cases are played: each simulated once per process, every slip at every probe.

Several small ones are quicker than a large one: the work grows with slips times probes.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache, cached_property

import pytest
from tests.design.support import DRY, LIBRARY, LINES, ec, fan, hood, kitchen, makeup, shutdown_system, starter, vfd

from galleyproof.checkout.complaints import complaint
from galleyproof.checkout.diagnosis import Diagnosis, Observation, Suspect
from galleyproof.checkout.model import Reading
from galleyproof.checkout.signatures import Signatures
from galleyproof.checkout.whole import Bench
from galleyproof.checkout.words import said
from galleyproof.circuit.behaviours import sensing
from galleyproof.design.build import build_design
from galleyproof.design.model import Design
from galleyproof.job import model as m
from galleyproof.proof.slips import Slip, all_slips

__all__ = ["DRY", "Field", "field"]


class Field:
    """One kitchen on the bench.

    Args:
        job: The job.
    """

    def __init__(self, job: m.Job) -> None:
        self.job = job
        self.design: Design = build_design(job)
        self.bench = Bench(job, self.design, LIBRARY)
        self.slips: tuple[Slip, ...] = all_slips(self.design, LIBRARY)
        self.at = {p.key: i for i, p in enumerate(self.bench.checkout.probes)}
        self.place = {s.key: n for n, s in enumerate(self.slips)}

    @cached_property
    def table(self) -> Signatures:
        """What every slip reads."""
        return self.bench.signatures(self.slips)

    def probe(self, text: str) -> int:
        """A probe by its key, the leads by terminal (``KM-1:A1``) or by the near end of a conductor (``KM-1/coil/1``).

        So a case names what is measured, whatever number its place on the strip has.
        """
        prep, _, rest = text.partition(": ")
        words = rest.split(" ")
        ends = [self.end(w) if w in self.design.conductor_by_key else w for w in words[-2:]]
        tries = (text, f"{prep}: {' '.join([*words[:-2], *ends])}", f"{prep}: {' '.join([*words[:-2], *ends[::-1]])}")
        found = next((t for t in tries if t in self.at), None)
        assert found is not None, f"no probe {text!r} ({tries[1]})"
        return self.at[found]

    def end(self, conductor: str) -> str:
        """The end of a conductor that stands in the panel, else the one at its breaker."""
        c = self.design.conductor_by_key[conductor]
        tags = self.design.device_by_tag
        near = [t for t in (c.a, c.b) if tags[t.device].parent == self.design.panel]
        near += [t for t in (c.a, c.b) if tags[t.device].type.startswith(("breaker_", "panelboard"))]
        return str((*near, c.a)[0])

    def slip(self, key: str) -> int:
        """A slip by its key; -1 for the right wiring."""
        return -1 if key == RIGHT else self.place[key]

    def reading(self, key: str, probe: str) -> Reading:
        """What one reads with a slip in place."""
        return self.table.reading(self.slip(key), self.probe(probe))

    def shown(self, key: str, probe: str) -> str:
        """The same in words, for messages."""
        return said(self.bench.checkout.probes[self.probe(probe)].kind, self.reading(key, probe))

    def search(self, taken: dict[str, Reading] | None = None, complaints: tuple[str, ...] = ()) -> Diagnosis:
        """A diagnosis from complaints and readings of single slips."""
        found = Diagnosis(self.table, self.slips)
        for text in complaints:
            found.observe(complaint(self.bench.checkout, text))
        for probe, reading in (taken or {}).items():
            found.observe(Observation(((self.probe(probe), reading),)))
        return found

    def first(self, taken: dict[str, Reading] | None = None, complaints: tuple[str, ...] = ()) -> Suspect:
        """The likeliest hypothesis, with all that no probe tells from it."""
        return self.search(taken, complaints).suspects(1)[0]


RIGHT = "nothing is wrong"
KITCHENS: dict[str, Callable[[], m.Job]] = {}
DEGREES = {"two sensors at 70": (70.0, 160.0), "curve 3 at 120": (70.0, 120.0), "curve 3 at 200": (70.0, 200.0)}
"""Temperatures of a kitchen, where a case states them: hood at rest, hood at work. [degF], [degF]"""


@cache
def field(name: str) -> Field:
    """A kitchen by its name, at the temperatures of its case."""
    cold, hot = DEGREES.get(name, (sensing.COLD_DEGF, sensing.HOT_DEGF))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sensing, "COLD_DEGF", cold)
        patch.setattr(sensing, "HOT_DEGF", hot)
        made = Field(KITCHENS[name]())
        if name in DEGREES:
            _ = made.table
    return made


def of(name: str) -> Callable[[Callable[[], m.Job]], Callable[[], m.Job]]:
    """Register a kitchen."""

    def register(make: Callable[[], m.Job]) -> Callable[[], m.Job]:
        KITCHENS[name] = make
        return make

    return register


FANS = m.WallSwitch(tag="SW-1", kind="on-off", does="fans")
LIGHTS = m.WallSwitch(tag="SW-2", kind="on-off", does="lights")
GRIDDLE = m.Appliance(
    tag="A-1", kind="griddle", duty="medium", fuel="electric", load=4000.0, circuit="LP-1/10", shut_down_by="SD-1"
)
KETTLE = m.Appliance(
    tag="A-2", kind="kettle", duty="medium", fuel="electric", load=3000.0, circuit="LP-1/12", shut_down_by="KM-1"
)
RANGE = m.Appliance(tag="A-3", kind="range", duty="medium", fuel="gas", shut_down_by="GV-1")
SHUNT = m.ShuntShutdown(kind="shunt trip", tag="SD-1", zone="Z1", circuit="LP-1/10")
HELD = m.ContactorShutdown(kind="held-in contactor", tag="KM-1", zone="Z1", circuit="LP-1/12")
GAS = m.GasShutdown(kind="gas valve", tag="GV-1", zone="Z1")


def circuits(*tags: str, lines: tuple[str, ...] = ("L2",)) -> tuple[m.Circuit, ...]:
    """Some of the test kitchen's circuits; ``lines`` are those of the fan's."""
    return tuple(c for c in kitchen(lines=lines).circuits if c.tag in tags)


@of("shutdowns")
def shutdowns() -> m.Job:
    """A griddle behind a shunt trip, a kettle behind a held-in contactor, a range behind a gas valve."""
    return kitchen(
        circuits=circuits("LP-1/1", "LP-1/2", "LP-1/8", "LP-1/10", "LP-1/12"),
        hoods=(hood(appliances=(GRIDDLE, KETTLE, RANGE)),),
        fire_systems=shutdown_system(),
        shutdowns=(SHUNT, HELD, GAS),
    )


@of("shunt")
def shunt_only() -> m.Job:
    """A griddle behind a shunt trip, and nothing else on the shutdown circuit."""
    return kitchen(
        circuits=circuits("LP-1/1", "LP-1/2", "LP-1/8", "LP-1/10"),
        hoods=(hood(appliances=(GRIDDLE,)),),
        fire_systems=shutdown_system("released side"),
        shutdowns=(SHUNT,),
    )


@of("starter")
def on_a_starter() -> m.Job:
    """A three-phase exhaust fan on a starter; a make-up unit that the panel calls by a dry contact."""
    return kitchen(
        starter(), LINES, circuits=circuits("LP-1/1", "LP-1/2", "LP-1/5", lines=LINES), makeup_units=(makeup(),)
    )


@of("lights")
def lit() -> m.Job:
    """A lamp of 100 W on a circuit of its own, and the building link."""
    return kitchen(
        circuits=circuits("LP-1/1", "LP-1/2", "LP-1/9"),
        hoods=(hood(lights=m.Lights(load=100.0, circuit="LP-1/9")),),
        switches=(FANS, LIGHTS),
        building_link=m.BuildingLink(tag="BL-1"),
    )


@of("drive")
def on_a_drive() -> m.Job:
    """A three-phase fan on a drive; three sensors of curve 3 in its hood."""
    sensors = tuple(m.HoodSensor(tag=f"TS-{i}", kind="NTC 10k curve 3") for i in (1, 2, 3))
    return kitchen(vfd(), LINES, circuits=circuits("LP-1/1", "LP-1/2", lines=LINES), hoods=(hood(sensors=sensors),))


@of("three easy fans")
def three_easy_fans() -> m.Job:
    """Three EC fans whose inputs one output drives easily, and three together do not: 2.2 kohm each."""
    return _fans(2.2)


@of("three fans")
def three_fans() -> m.Job:
    """Three EC fans whose speed inputs take a lot: 600 ohm each."""
    return _fans(0.6)


def _fans(input_kohm: float) -> m.Job:
    fans = tuple(
        fan(ec(nameplate_amps=2.0, input_impedance_kohm=input_kohm), tag=f"EF-{i}", circuit=c)
        for i, c in ((1, "LP-1/2"), (2, "LP-1/8"), (3, "LP-1/9"))
    )
    return kitchen(circuits=circuits("LP-1/1", "LP-1/2", "LP-1/8", "LP-1/9"), exhaust_fans=fans)


def _two_legs(system: str) -> m.Job:
    """A lamp of 100 W on L1 and one of 500 W on L2, each over a hood of its own."""
    lines = {"LP-1/1": ("L1",), "LP-1/2": ("L2",), "LP-1/8": ("L1",), "LP-1/9": ("L2",)}
    hoods = (
        hood("H-1", lights=m.Lights(load=100.0, circuit="LP-1/8")),
        hood("H-2", lights=m.Lights(load=500.0, circuit="LP-1/9")),
    )
    return kitchen(
        circuits=tuple(c.model_copy(update={"lines": lines[c.tag]}) for c in circuits(*lines)),
        hoods=hoods,
        switches=(FANS, LIGHTS),
        supplies=(m.Supply(tag="U1", system=system),),
        exhaust_fans=(fan(ec(), serves=("H-1", "H-2")),),
    )


@of("two legs")
def two_legs() -> m.Job:
    """On 120/240 V."""
    return _two_legs("120/240 V 1-phase")


@of("two phases")
def two_phases() -> m.Job:
    """On 208Y/120 V."""
    return _two_legs("208Y/120 V")


@of("high leg")
def high_leg() -> m.Job:
    """A lamp of 100 W on a high-leg delta; everything to neutral on L1 or L3."""
    lines = {"LP-1/1": ("L1",), "LP-1/2": ("L3",), "LP-1/9": ("L1",)}
    return kitchen(
        circuits=tuple(c.model_copy(update={"lines": lines[c.tag]}) for c in circuits(*lines)),
        hoods=(hood(lights=m.Lights(load=100.0, circuit="LP-1/9")),),
        switches=(FANS, LIGHTS),
        supplies=(m.Supply(tag="U1", system="120/240 V high-leg delta"),),
    )


@of("wet run")
def wet_run() -> m.Job:
    """A make-up unit that the panel calls with 120 V of its own."""
    command = m.RunCommand(kind="wet", volts=120.0, owner="the panel")
    return kitchen(
        circuits=circuits("LP-1/1", "LP-1/2", "LP-1/5"),
        makeup_units=(makeup(command=command),),
    )


@of("belt drive")
def belt_drive() -> m.Job:
    """An exhaust fan with a nameplate of 8.8 A; its overload is set to 115 percent of that."""
    motor = m.Motor(hp=3.0, volts=200.0, phases=3, nameplate_amps=8.8)
    drive = m.Starter(kind="starter", motor=motor, overload_set=10.1)
    return kitchen(drive, LINES, circuits=circuits("LP-1/1", "LP-1/2", lines=LINES))


@of("two sensors at 70")
def two_sensors() -> m.Job:
    """Two sensors in one hood, at 70 degF."""
    sensors = (m.HoodSensor(tag="TS-1"), m.HoodSensor(tag="TS-2"))
    return kitchen(circuits=circuits("LP-1/1", "LP-1/2"), hoods=(hood(sensors=sensors),))


def _curve_3() -> m.Job:
    sensors = (m.HoodSensor(tag="TS-1", kind="NTC 10k curve 3"),)
    return kitchen(circuits=circuits("LP-1/1", "LP-1/2"), hoods=(hood(sensors=sensors),))


@of("curve 3 at 120")
def curve_3_at_120() -> m.Job:
    """One sensor of curve 3; the cup of water is at 120 degF."""
    return _curve_3()


@of("curve 3 at 200")
def curve_3_at_200() -> m.Job:
    """One sensor of curve 3; the cup of water is at 200 degF."""
    return _curve_3()


@of("proved")
def proved() -> m.Job:
    """An EC fan proven by an air-flow switch; a make-up unit follows the proof."""
    fans = (fan(ec(), proving=m.Proving(tag="AF-1", kind="air-flow switch")),)
    return kitchen(circuits=circuits("LP-1/1", "LP-1/2", "LP-1/5"), exhaust_fans=fans, makeup_units=(makeup(),))
