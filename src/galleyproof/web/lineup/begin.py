"""A new job: the least that reads, designs and proves, to go on from."""

from __future__ import annotations

from galleyproof.job.model import (
    Appliance,
    Circuit,
    Ec,
    EcMotor,
    ExhaustFan,
    FireSystem,
    GasShutdown,
    Hood,
    HoodSensor,
    Identity,
    Job,
    Line,
    MakeupByUnit,
    MakeupUnit,
    Panelboard,
    PanelOptions,
    Pole,
    Proving,
    Route,
    RunCommand,
    Supply,
    SystemName,
    WallSwitch,
)
from galleyproof.job.write import dump_job

__all__ = ["SYSTEMS", "new_job", "new_text"]

SYSTEMS: tuple[SystemName, ...] = ("208Y/120 V", "120/240 V 1-phase", "120/240 V high-leg delta")
"""Supplies a new job can begin with: those that carry the 120 V of its panel, fan and unit."""


def new_job(name: str, number: str, system: SystemName) -> Job:
    """A job with one hood over one gas appliance, one fan, one make-up unit and one fire system.

    Its nameplates are examples to be written over; a remark says so in the text.

    Args:
        name: Name of the job.
        number: The shop's job number.
        system: Supply of the building.
    """
    lines: tuple[Line, ...] = ("L1", "L3") if system == "120/240 V high-leg delta" else ("L1", "L2")
    uses = ("control panel", "EF-1", "MAU-1", "shutdown coils")
    circuits = tuple(
        Circuit(
            tag=f"LP-1/{2 * n + 1}",
            panelboard="LP-1",
            lines=(lines[n % len(lines)],),
            breaker=20.0 if use == "MAU-1" else 15.0,
            note=use,
        )
        for n, use in enumerate(uses)
    )
    return Job(
        galleyproof=1,
        job=Identity(name=name, number=number),
        supplies=(Supply(tag="U1", system=system),),
        panelboards=(Panelboard(tag="LP-1", supply="U1"),),
        circuits=circuits,
        panel=PanelOptions(circuit="LP-1/1"),
        hoods=(
            Hood(
                tag="H-1",
                style="wall canopy",
                length=96.0,
                duty="medium",
                zone="Z1",
                idle_below=95.0,
                sensors=(HoodSensor(tag="TS-1"),),
                appliances=(
                    Appliance(
                        tag="A-1", kind="range", duty="medium", fuel="gas", heat_input=100_000.0, shut_down_by="GV-1"
                    ),
                ),
            ),
        ),
        exhaust_fans=(
            ExhaustFan(
                tag="EF-1",
                serves=("H-1",),
                circuit="LP-1/3",
                drive=Ec(kind="EC", motor=EcMotor(volts=120.0, phases=1, nameplate_amps=7.0)),
                airflow=2400.0,
                proving=Proving(tag="AF-1", kind="air-flow switch"),
            ),
        ),
        makeup_units=(
            MakeupUnit(
                tag="MAU-1",
                tracks=("EF-1",),
                circuit="LP-1/5",
                control=MakeupByUnit(
                    kind="run pair",
                    motor=EcMotor(volts=120.0, phases=1, nameplate_amps=9.0),
                    run_command=RunCommand(kind="dry", volts=24.0, owner="the unit"),
                ),
                airflow=1000.0,
            ),
        ),
        fire_systems=(
            FireSystem(
                tag="FS-1",
                zone="Z1",
                poles=(Pole(use="panel loop", side="armed side"), Pole(use="shutdown", side="both sides")),
                shutdown_circuit="LP-1/7",
            ),
        ),
        shutdowns=(GasShutdown(kind="gas valve", tag="GV-1", zone="Z1"),),
        switches=(WallSwitch(tag="SW-1", kind="on-off", does="fans"),),
        routes=(
            Route(tag="R-1", to="electrical room", length=50.0),
            Route(tag="R-2", to="roof", length=40.0),
            Route(tag="R-3", to="hood", length=20.0),
            Route(tag="R-4", to="gas room", length=60.0),
        ),
    )


def new_text(name: str, number: str, system: SystemName) -> str:
    """The same as text."""
    return (
        "# Begun from a job with one hood. Sizes, nameplates and lengths are examples: write over them.\n"
        + dump_job(new_job(name, number, system))
    )
