"""What the tests of design, circuit and proof share: a small kitchen to vary, nets by name, changed designs."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from functools import cache
from pathlib import Path

from galleyproof.circuit.machine import Machine, State
from galleyproof.circuit.world import build_machine
from galleyproof.design.build import build_design
from galleyproof.design.model import Conductor, Design, TerminalId
from galleyproof.job import model as m
from galleyproof.job.read import read_job
from galleyproof.library.reader import load_library

EXAMPLES = Path(__file__).parents[2] / "examples"
GOOD = tuple(sorted(EXAMPLES.glob("*.yaml")))
WRONG = tuple(sorted((EXAMPLES / "wrong").glob("*.yaml")))
LIBRARY = load_library()
DRY = m.RunCommand(kind="dry", volts=24.0, owner="the unit")
LINES = ("L1", "L2", "L3")


@cache
def example(name: str) -> m.Job:
    """A job of the examples folder, by the stem of its file."""
    path = next(p for p in (*GOOD, *WRONG) if p.stem == name)
    return read_job(path.read_bytes(), path.name)


@cache
def design_of(name: str) -> Design:
    """The design of an example."""
    return build_design(example(name))


def ec(**more: object) -> m.Ec:
    """A single-phase EC fan of 4 A."""
    return m.Ec(kind="EC", motor=m.EcMotor(**{"volts": 120.0, "phases": 1, "nameplate_amps": 4.0, **more}))


def starter(phases: int = 3, volts: float = 200.0) -> m.Starter:
    """A motor of one horsepower on a starter."""
    return m.Starter(kind="starter", motor=m.Motor(hp=1.0, volts=volts, phases=phases))


def vfd(**more: object) -> m.Vfd:
    """A three-phase motor of two horsepower on a drive."""
    return m.Vfd(**{"kind": "VFD", "motor": m.Motor(hp=2.0, volts=200.0, phases=3), **more})


def fan(drive: m.Drive, **more: object) -> m.ExhaustFan:
    """EF-1 over H-1 on circuit LP-1/2."""
    return m.ExhaustFan(
        **{"tag": "EF-1", "serves": ("H-1",), "circuit": "LP-1/2", "drive": drive, "airflow": 2000.0, **more}
    )


def kitchen(drive: m.Drive | None = None, lines: tuple[str, ...] = ("L2",), **sections: object) -> m.Job:
    """One hood, one fan, one fire switch with a loop, one fan switch, on 208Y/120 V; any section can be replaced.

    Circuits: LP-1/1 panel, /2 fan, /5 make-up unit (three-phase), /8 shutdown coils, /9 hood lights, /10 griddle
    (two lines, shunt trip), /12 kettle (two lines).
    """
    circuits = (
        m.Circuit(tag="LP-1/1", panelboard="LP-1", lines=("L1",), breaker=15.0),
        m.Circuit(tag="LP-1/2", panelboard="LP-1", lines=lines, breaker=20.0),
        m.Circuit(tag="LP-1/5", panelboard="LP-1", lines=LINES, breaker=30.0),
        m.Circuit(tag="LP-1/8", panelboard="LP-1", lines=("L3",), breaker=15.0),
        m.Circuit(tag="LP-1/9", panelboard="LP-1", lines=("L2",), breaker=20.0),
        m.Circuit(tag="LP-1/10", panelboard="LP-1", lines=("L1", "L2"), breaker=40.0, shunt_trip=m.ShuntTrip()),
        m.Circuit(tag="LP-1/12", panelboard="LP-1", lines=("L2", "L3"), breaker=30.0),
    )
    loop = m.Pole(use="panel loop", side="armed side")
    base: dict[str, object] = {
        "galleyproof": 1,
        "job": m.Identity(name="Saltmarrow test kitchen", number="SM-T1"),
        "supplies": (m.Supply(tag="U1", system="208Y/120 V"),),
        "panelboards": (m.Panelboard(tag="LP-1", supply="U1"),),
        "circuits": circuits,
        "panel": m.PanelOptions(circuit="LP-1/1"),
        "hoods": (hood(),),
        "exhaust_fans": (fan(drive or ec()),),
        "fire_systems": (m.FireSystem(tag="FS-1", zone="Z1", poles=(loop,)),),
        "switches": (m.WallSwitch(tag="SW-1", kind="on-off", does="fans"),),
    }
    return m.Job(**{**base, **sections})


def hood(tag: str = "H-1", **more: object) -> m.Hood:
    """A wall canopy of zone Z1 with one sensor."""
    sensors = (m.HoodSensor(tag=f"TS-{tag[2:]}"),)
    given = {"tag": tag, "style": "wall canopy", "length": 96.0, "duty": "medium", "zone": "Z1", "sensors": sensors}
    return m.Hood(**{**given, **more})


def makeup(kind: str = "run pair", command: m.RunCommand = DRY, **more: object) -> m.MakeupUnit:
    """MAU-1 with its own controls, three-phase, on circuit LP-1/5."""
    control = m.MakeupByUnit(kind=kind, motor=m.Motor(hp=3.0, volts=200.0, phases=3), run_command=command, **more)
    return m.MakeupUnit(tag="MAU-1", tracks=("EF-1",), circuit="LP-1/5", control=control, airflow=1600.0)


def shutdown_system(side: str = "both sides") -> tuple[m.FireSystem, ...]:
    """FS-1 with a loop pole and a shutdown pole on circuit LP-1/8."""
    poles = (m.Pole(use="panel loop", side="armed side"), m.Pole(use="shutdown", side=side))
    return (m.FireSystem(tag="FS-1", zone="Z1", poles=poles, shutdown_circuit="LP-1/8"),)


# nets -----------------------------------------------------------------------------------------------------------


def is_strip(terminal: TerminalId) -> bool:
    """Whether a terminal is a place on a strip of the panel."""
    return terminal.device in ("CP1-X1", "CP1-X2", "CP1-X3", "CP1-X4")


class Nets:
    """Everything conductors and bridges join, by the names of the device terminals in it (strip places left out)."""

    def __init__(self, design: Design) -> None:
        self._parent: dict[TerminalId, TerminalId] = {}
        for x in (*design.conductors, *design.bridges):
            self._parent[self._root(x.a)] = self._root(x.b)
        self._members: dict[TerminalId, set[str]] = defaultdict(set)
        for t in list(self._parent):
            if not is_strip(t):
                self._members[self._root(t)].add(str(t))

    def _root(self, t: TerminalId) -> TerminalId:
        self._parent.setdefault(t, t)
        while self._parent[t] != t:
            t = self._parent[t]
        return t

    def __getitem__(self, name: str) -> set[str]:
        """Names of all device terminals on one terminal's net; only itself when nothing is landed there."""
        device, _, mark = name.rpartition(":")
        return self._members[self._root(TerminalId(device, mark))] | {name}

    def pair(self, a: str, b: str) -> bool:
        """Whether two terminals are joined with each other and with nothing else."""
        return self[a] == {a, b}


def landed(design: Design, name: str) -> list[Conductor]:
    """Conductors landed on a terminal."""
    device, _, mark = name.rpartition(":")
    return list(design.conductors_at.get(TerminalId(device, mark), ()))


# changed designs ------------------------------------------------------------------------------------------------


def without(design: Design, *keys: str) -> Design:
    """The design with conductors left off."""
    known = {c.key for c in design.conductors}
    assert set(keys) <= known, set(keys) - known
    return replace(design, conductors=tuple(c for c in design.conductors if c.key not in keys))


def moved(design: Design, key: str, end: str, to: str) -> Design:
    """The design with one end (``a`` or ``b``) of a conductor landed elsewhere."""
    device, _, mark = to.rpartition(":")
    assert key in design.conductor_by_key
    return replace(
        design,
        conductors=tuple(
            replace(c, **{end: TerminalId(device, mark)}) if c.key == key else c for c in design.conductors
        ),
    )


def swapped(design: Design, first: str, second: str, end: str = "b") -> Design:
    """The design with the same end of two conductors exchanged."""
    by_key = design.conductor_by_key
    a, b = getattr(by_key[first], end), getattr(by_key[second], end)
    return moved(moved(design, first, end, str(b)), second, end, str(a))


def wired(design: Design, key: str, a: str, b: str, length_ft: float = 3.0) -> Design:
    """The design with one conductor too many, of 14 AWG."""
    like = design.conductors[0]
    ends = [TerminalId(*x.rsplit(":", 1)) for x in (a, b)]
    extra = replace(like, key=key, number=9999, a=ends[0], b=ends[1], awg="14", length_ft=length_ft)
    return replace(design, conductors=(*design.conductors, extra))


def machine_of(job: m.Job, design: Design | None = None) -> Machine:
    """The machine of a job, or of a changed design of it."""
    return build_machine(job, design or build_design(job), LIBRARY)


def supplied(job: m.Job, machine: Machine) -> State:
    """Everything supplied, every reset pressed and let go; nothing else has happened."""
    live = machine.apply(machine.dark(), {f"supply {c.tag}": "present" for c in job.circuits})
    return machine.apply(machine.apply(live, {"reset": True}), {"reset": False})
