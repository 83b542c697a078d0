"""A realistic job of any size, the same each time; for benches, documents and tests.

The kitchens of Saltmarrow are invented; loads, sizes and airflows are of the usual order (common practice).
"""

from __future__ import annotations

from dataclasses import dataclass, field

from galleyproof.job.model import (
    Appliance,
    BuildingAlarm,
    Circuit,
    Display,
    Drive,
    Ec,
    EcMotor,
    ExhaustFan,
    FireSystem,
    GasShutdown,
    Hood,
    HoodSensor,
    Identity,
    Job,
    Lights,
    Line,
    MakeupByUnit,
    MakeupUnit,
    Motor,
    Panelboard,
    PanelOptions,
    Pole,
    Proving,
    RoomSensor,
    Route,
    RunCommand,
    ShuntShutdown,
    ShuntTrip,
    Starter,
    Supply,
    Vfd,
    WallSwitch,
)

MAX_HOODS = 64
HOODS_PER_ZONE = 6
HOODS_PER_MAKEUP = 2
POLES_PER_BOARD = 42

_LINES: tuple[Line, ...] = ("L1", "L2", "L3")


@dataclass(slots=True)
class _Boards:
    """Hands out the places of panelboards one after the other."""

    poles: int = 0
    circuits: list[Circuit] = field(default_factory=list)

    def take(self, poles: int, breaker_a: float, note: str, *, shunt: bool = False) -> str:
        """A new circuit on the next free places; its tag."""
        left = POLES_PER_BOARD - self.poles % POLES_PER_BOARD
        if left < poles:
            self.poles += left
        board, place = divmod(self.poles, POLES_PER_BOARD)
        lines = tuple(_LINES[(place + n) % 3] for n in range(poles))
        tag = f"LP-{board + 1}/{place + 1}"
        accessory = ShuntTrip() if shunt else None
        self.circuits.append(
            Circuit(
                tag=tag,
                panelboard=f"LP-{board + 1}",
                lines=tuple(sorted(lines)),
                breaker=breaker_a,
                shunt_trip=accessory,
                note=note,
            )
        )
        self.poles += poles
        return tag


def job_of(n_hoods: int) -> Job:
    """A whole job with so many hoods.

    One fan per hood, in turn on a starter, on a VFD and with an EC motor, each with a current switch; a
    make-up unit per two hoods; a fire zone per six hoods with a gas valve, one electric appliance on a
    shunt-trip breaker and a shutdown circuit of its own; lights, switches, alarm, display.

    Args:
        n_hoods: Number of hoods, 1 to 64. [-]

    Returns:
        The job; ``read_job(dump_job(job))`` equals it.

    Raises:
        ValueError: Not between 1 and 64.
    """
    if not 1 <= n_hoods <= MAX_HOODS:
        raise ValueError(f"n_hoods={n_hoods} is not between 1 and {MAX_HOODS}")
    boards = _Boards()
    panel = boards.take(1, 20.0, "control panel")
    numbers = range(1, n_hoods + 1)
    zones = sorted({_zone(n) for n in numbers})
    lights = {z: boards.take(1, 20.0, f"hood lights, zone Z{z}") for z in zones}
    shutdown = {z: boards.take(1, 15.0, f"shutdown circuit, zone Z{z}") for z in zones}
    griddle = {z: boards.take(3, 30.0, f"griddle, zone Z{z}", shunt=True) for z in zones}
    hoods = tuple(_hood(n, lights[_zone(n)], griddle[_zone(n)]) for n in numbers)
    fans = tuple(_fan(n, boards) for n in numbers)
    units = tuple(_makeup(k, n_hoods, boards) for k in range(1, -(-n_hoods // HOODS_PER_MAKEUP) + 1))
    shutdowns: list[ShuntShutdown | GasShutdown] = []
    for z in zones:
        shutdowns.append(ShuntShutdown(kind="shunt trip", tag=f"SH-{z}", zone=f"Z{z}", circuit=griddle[z]))
        shutdowns.append(GasShutdown(kind="gas valve", tag=f"GV-{z}", zone=f"Z{z}"))
    board_count = -(-boards.poles // POLES_PER_BOARD)
    return Job(
        galleyproof=1,
        job=Identity(name=f"Saltmarrow kitchens, {n_hoods} hoods", number=f"SM-{n_hoods:03d}"),
        supplies=(Supply(tag="SRV-1", system="208Y/120 V"),),
        panelboards=tuple(Panelboard(tag=f"LP-{b + 1}", supply="SRV-1") for b in range(board_count)),
        circuits=tuple(boards.circuits),
        panel=PanelOptions(circuit=panel),
        hoods=hoods,
        exhaust_fans=fans,
        makeup_units=units,
        fire_systems=tuple(_fire_system(z, shutdown[z]) for z in zones),
        shutdowns=tuple(shutdowns),
        building_alarm=BuildingAlarm(tag="FAM-1", taken_from="fire switch"),
        room_sensors=(RoomSensor(tag="RT-1"),),
        switches=(
            WallSwitch(tag="SW-1", kind="on-off", does="fans"),
            WallSwitch(tag="SW-2", kind="on-off", does="lights"),
        ),
        display=Display(tag="OP-1"),
        routes=(
            Route(tag="R-1", to="roof", length=45.0),
            Route(tag="R-2", to="hood", length=30.0),
            Route(tag="R-3", to="electrical room", length=80.0),
            Route(tag="R-4", to="gas room", length=60.0),
            Route(tag="R-5", to="fire alarm panel", length=120.0),
        ),
    )


def _zone(hood: int) -> int:
    return (hood - 1) // HOODS_PER_ZONE + 1


def _hood(n: int, lights: str, griddle: str) -> Hood:
    zone, place = _zone(n), (n - 1) % HOODS_PER_ZONE
    appliances = [
        Appliance(
            tag=f"A-{n}",
            kind="fryer",
            duty="medium",
            fuel="gas",
            heat_input=120000.0,
            shut_down_by=f"GV-{zone}",
        )
    ]
    if place == 0:
        appliances.append(
            Appliance(
                tag=f"A-{n}E",
                kind="electric griddle",
                duty="light",
                fuel="electric",
                load=8000.0,
                circuit=griddle,
                shut_down_by=f"SH-{zone}",
            )
        )
    return Hood(
        tag=f"H-{n}",
        style="wall canopy",
        length=96.0 + 12.0 * (n % 3),
        duty="medium",
        zone=f"Z{zone}",
        sensors=(HoodSensor(tag=f"TS-{n}"),),
        lights=Lights(load=200.0, circuit=lights),
        appliances=tuple(appliances),
    )


def _fan(n: int, boards: _Boards) -> ExhaustFan:
    drive: Drive
    match n % 3:
        case 1:
            circuit = boards.take(3, 20.0, f"exhaust fan EF-{n}")
            drive = Starter(kind="starter", motor=Motor(hp=1.5, volts=200.0, phases=3))
        case 2:
            circuit = boards.take(3, 25.0, f"exhaust fan EF-{n}")
            drive = Vfd(kind="VFD", motor=Motor(hp=3.0, volts=200.0, phases=3), rated_input_amps=12.0)
        case _:
            circuit = boards.take(1, 15.0, f"exhaust fan EF-{n}")
            drive = Ec(kind="EC", motor=EcMotor(volts=120.0, phases=1, nameplate_amps=4.2))
    return ExhaustFan(
        tag=f"EF-{n}",
        serves=(f"H-{n}",),
        circuit=circuit,
        drive=drive,
        airflow=1800.0 + 300.0 * (n % 3),
        proving=Proving(tag=f"CS-{n}", kind="current switch"),
    )


def _makeup(k: int, n_hoods: int, boards: _Boards) -> MakeupUnit:
    first = HOODS_PER_MAKEUP * (k - 1) + 1
    tracked = range(first, min(first + HOODS_PER_MAKEUP, n_hoods + 1))
    return MakeupUnit(
        tag=f"MAU-{k}",
        tracks=tuple(f"EF-{n}" for n in tracked),
        circuit=boards.take(3, 30.0, f"make-up unit MAU-{k}"),
        control=MakeupByUnit(
            kind="run and speed pairs" if k % 2 else "run pair",
            motor=Motor(hp=5.0, volts=200.0, phases=3),
            run_command=RunCommand(kind="dry", volts=24.0, owner="the unit"),
        ),
        airflow=1600.0 * len(tracked),
    )


def _fire_system(zone: int, circuit: str) -> FireSystem:
    return FireSystem(
        tag=f"FS-{zone}",
        zone=f"Z{zone}",
        poles=(
            Pole(use="panel loop", side="armed side"),
            Pole(use="shutdown", side="both sides"),
            Pole(use="building alarm", side="released side"),
        ),
        shutdown_circuit=circuit,
    )
