"""Every recipe by one small kitchen: the exact connections, written down from the plan and the trade's practice.

A net is named by the device terminals it joins; places on strips are left out. ``CP1-K1`` is the controller, its relays
are 11 12 14 (the alarm's), 21 22 24 and so on, in the order of their uses.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.design.support import (
    DRY,
    LINES,
    Nets,
    ec,
    fan,
    hood,
    kitchen,
    landed,
    makeup,
    shutdown_system,
    starter,
    vfd,
)

from galleyproof.design.build import build_design, issue
from galleyproof.design.model import Design, EnergyClass, Role
from galleyproof.errors import DesignError
from galleyproof.findings import Severity
from galleyproof.job import model as m
from galleyproof.job.read import read_job


def made(job: m.Job) -> tuple[Design, Nets]:
    """The design of a job and its nets."""
    design = build_design(job)
    return design, Nets(design)


def types(design: Design) -> dict[str, str]:
    """Device types by tag."""
    return {d.tag: d.type for d in design.devices}


# panel ----------------------------------------------------------------------------------------------------------


def test_control_power() -> None:
    """Breaker 2 - protector - L bus - 24 V supply; neutral to the panelboard; + and - are the rails; all bonded."""
    _, nets = made(kitchen())
    assert nets.pair("LP-1/1:2", "CP1-F1:1")
    assert nets.pair("CP1-F1:2", "CP1-T1:L")
    assert {"CP1-T1:N", "LP-1:N"} <= nets["CP1-T1:N"]
    assert {"CP1-T1:PE", "LP-1:PE", "EF-1:PE"} <= nets["LP-1:PE"]
    assert {"CP1-T1:+", "CP1-K1:24V"} <= nets["CP1-T1:+"]
    assert {"CP1-T1:-", "CP1-K1:0V"} <= nets["CP1-T1:-"]
    assert not nets["CP1-T1:+"] & nets["CP1-T1:-"]
    assert nets["LP-1/1:1"] == nets["LP-1:L1"]


def test_control_power_from_two_lines_of_480_v() -> None:
    """A 480 V control circuit passes a transformer first; its secondary is grounded and feeds the same bus."""
    circuits = tuple(
        c.model_copy(update={"lines": ("L1", "L2")}) if c.tag == "LP-1/1" else c for c in kitchen().circuits
    )
    supplies = (m.Supply(tag="U1", system="480Y/277 V"),)
    drive = m.Ec(kind="EC", motor=m.EcMotor(volts=277.0, phases=1, nameplate_amps=2.0))
    design, nets = made(kitchen(drive, circuits=circuits, supplies=supplies))
    tag = next(t for t, k in types(design).items() if k == "control_transformer")
    assert nets.pair("LP-1/1:2", f"{tag}:1")
    assert nets.pair("LP-1/1:4", f"{tag}:2")
    assert nets.pair(f"{tag}:3", "CP1-F1:1")
    assert f"{tag}:PE" in nets["LP-1:PE"]
    supply = next(t for t, k in types(design).items() if k == "power_supply_24")
    assert nets.pair(f"{tag}:4", f"{supply}:N")
    assert design.device_by_tag[tag].ratings["input_v"] == 480.0


def test_alarm_horn() -> None:
    """The horn hangs on the first relay: +24 - 11, 14 - horn, horn - 0 V."""
    _, nets = made(kitchen())
    assert "CP1-K1:11" in nets["CP1-T1:+"]
    assert nets.pair("CP1-K1:14", "CP1-P1:1")
    assert "CP1-P1:2" in nets["CP1-T1:-"]


# exhaust fans ---------------------------------------------------------------------------------------------------


def test_ec_fan() -> None:
    """Power straight from the breaker over the disconnect; speed + to 0-10V, - to GND; its own +10 V stays unused."""
    design, nets = made(kitchen(ec()))
    assert types(design)["EF-1"] == "ec_fan_1"
    assert nets.pair("LP-1/2:2", "EF-1-QB:1")
    assert nets.pair("EF-1-QB:2", "EF-1:L1")
    assert nets.pair("EF-1-QB:4", "EF-1:L2")
    assert "EF-1-QB:3" in nets["LP-1:N"]
    assert nets.pair("CP1-K1:Y1+", "EF-1:0-10V")
    assert nets.pair("CP1-K1:Y1-", "EF-1:GND")
    assert landed(design, "EF-1:+10V") == []
    pair = [c for c in design.conductors if c.key in ("EF-1/speed/+", "EF-1/speed/-")]
    assert {c.energy_class for c in pair} == {EnergyClass.CLASS2}
    assert len({c.cable for c in pair}) == 1
    assert not any(c.key.startswith("EF-1/run") for c in design.conductors)


def test_ec_fan_without_a_disconnect() -> None:
    """No disconnect: the breaker's conductors land on the fan itself."""
    _, nets = made(kitchen(exhaust_fans=(fan(ec(), disconnect=False),)))
    assert nets.pair("LP-1/2:2", "EF-1:L1")
    assert "EF-1:L2" in nets["LP-1:N"]


def test_ec_fan_with_a_run_contact() -> None:
    """The panel's dry contact lies between run+ and run; the fan brings the voltage, nothing else touches the pair."""
    design, nets = made(kitchen(ec(run_contact=True)))
    assert types(design)["EF-1"] == "ec_fan_1_run"
    assert nets.pair("CP1-K1:21", "EF-1:run+")
    assert nets.pair("CP1-K1:24", "EF-1:run")
    assert landed(design, "CP1-K1:22") == []


def test_ec_fan_with_pwm_on_three_phases() -> None:
    """Three phases, no neutral; the signal lands on PWM."""
    drive = ec(volts=208.0, phases=3, signal="PWM")
    design, nets = made(kitchen(drive, LINES))
    assert types(design)["EF-1"] == "ec_fan_3_pwm"
    for n, end in enumerate(("L1", "L2", "L3")):
        assert nets.pair(f"LP-1/2:{2 * n + 2}", f"EF-1-QB:{2 * n + 1}")
        assert nets.pair(f"EF-1-QB:{2 * n + 2}", f"EF-1:{end}")
    assert not any(t.startswith("EF-1") for t in nets["LP-1:N"])
    assert nets.pair("CP1-K1:Y1+", "EF-1:PWM")
    assert nets.pair("CP1-K1:Y1-", "EF-1:GND")


def test_three_phase_starter() -> None:
    """Line side in phase order; coil: +24 - relay - overload 95-96 - A1, A2 - 0 V; the auxiliary 13-14 is the proof."""
    design, nets = made(kitchen(starter(), LINES))
    assert types(design)["CP1-Q1"] == "motor_contactor_3"
    for n, (line, load, motor) in enumerate((("1/L1", "2/T1", "U1"), ("3/L2", "4/T2", "V1"), ("5/L3", "6/T3", "W1"))):
        assert nets.pair(f"LP-1/2:{2 * n + 2}", f"CP1-Q1:{line}")
        assert nets.pair(f"CP1-Q1:{load}", f"EF-1-QB:{2 * n + 1}")
        assert nets.pair(f"EF-1-QB:{2 * n + 2}", f"EF-1:{motor}")
    assert "CP1-K1:21" in nets["CP1-T1:+"]
    assert nets.pair("CP1-K1:24", "CP1-Q1:95")
    assert nets.pair("CP1-Q1:96", "CP1-Q1:A1")
    assert "CP1-Q1:A2" in nets["CP1-T1:-"]
    assert nets.pair("CP1-K1:D1+", "CP1-Q1:13")
    assert nets.pair("CP1-K1:D1-", "CP1-Q1:14")
    assert "EF-1:PE" in nets["LP-1:PE"]


def test_starter_of_a_fan_with_a_proving_switch() -> None:
    """A proving switch takes the place of the auxiliary contact as the proof."""
    proving = m.Proving(tag="PS-1", kind="current switch")
    design, nets = made(kitchen(starter(), LINES, exhaust_fans=(fan(starter(), proving=proving),)))
    assert landed(design, "CP1-Q1:13") == []
    assert nets.pair("CP1-K1:D1-", "PS-1:2")
    assert nets.pair("CP1-K1:D1+", "PS-1:1")
    # the switch is put around the first motor lead and set well under the least current, over nothing
    ratings = design.device_by_tag["PS-1"].ratings
    assert design.conductor_by_key[ratings["around"]].b.device == "EF-1-QB"
    assert 0.0 < ratings["least_a"] < 0.2 * 4.8  # 1 hp at 200 V takes 4.8 A (NFPA 70-2023 table 430.250)


def test_single_phase_starter_line_to_neutral() -> None:
    """One pole switches the line; the neutral goes past the contactor to the motor, over the disconnect."""
    design, nets = made(kitchen(starter(1, 115.0)))
    assert types(design)["CP1-Q1"] == "motor_contactor_1"
    assert nets.pair("LP-1/2:2", "CP1-Q1:1/L1")
    assert nets.pair("CP1-Q1:2/T1", "EF-1-QB:1")
    assert nets.pair("EF-1-QB:2", "EF-1:U1")
    assert nets.pair("EF-1-QB:4", "EF-1:U2")
    assert "EF-1-QB:3" in nets["LP-1:N"]


def test_single_phase_starter_line_to_line() -> None:
    """208 V on two lines: both are switched, no neutral."""
    design, nets = made(kitchen(starter(1, 200.0), ("L2", "L3")))
    assert types(design)["CP1-Q1"] == "motor_contactor_2"
    for line, breaker, load, switch in (("1/L1", 2, "2/T1", 1), ("3/L2", 4, "4/T2", 3)):
        assert nets.pair(f"LP-1/2:{breaker}", f"CP1-Q1:{line}")
        assert nets.pair(f"CP1-Q1:{load}", f"EF-1-QB:{switch}")
    assert nets.pair("EF-1-QB:4", "EF-1:U2")
    assert not any(t.startswith("EF-1") for t in nets["LP-1:N"])


def test_drive_three_phase_in() -> None:
    """Lines in, U V W out to the disconnect, dry run pair, speed + to ref+ and - to ref-, own +10 V unused."""
    design, nets = made(kitchen(vfd(), LINES))
    drive = next(t for t, k in types(design).items() if k == "vfd_3")
    for n, (line, out, motor) in enumerate((("L1", "U", "U1"), ("L2", "V", "V1"), ("L3", "W", "W1"))):
        assert nets.pair(f"LP-1/2:{2 * n + 2}", f"{drive}:{line}")
        assert nets.pair(f"{drive}:{out}", f"EF-1-QB:{2 * n + 1}")
        assert nets.pair(f"EF-1-QB:{2 * n + 2}", f"EF-1:{motor}")
    assert nets.pair("CP1-K1:21", f"{drive}:run+")
    assert nets.pair("CP1-K1:24", f"{drive}:run")
    assert nets.pair("CP1-K1:Y1+", f"{drive}:ref+")
    assert nets.pair("CP1-K1:Y1-", f"{drive}:ref-")
    assert landed(design, f"{drive}:+10V") == []
    assert {f"{drive}:PE", "EF-1:PE"} <= nets["LP-1:PE"]


def test_drive_single_phase_in() -> None:
    """Two lines in, three phases out; the input takes the root of three times the motor's current."""
    design, nets = made(kitchen(vfd(), ("L2", "L3")))
    drive = next(d for d in design.devices if d.type == "vfd_1")
    assert nets.pair("LP-1/2:2", f"{drive.tag}:L1")
    assert nets.pair("LP-1/2:4", f"{drive.tag}:L2")
    assert types(design)["EF-1"] == "motor_3"
    assert nets.pair("EF-1-QB:6", "EF-1:W1")
    # 2 hp at 200 V: 7.8 A (NFPA 70-2023 table 430.250)
    assert drive.ratings["output_a"] == pytest.approx(7.8)
    assert drive.ratings["input_a"] == pytest.approx(7.8 * 3**0.5, rel=1e-3)


def test_wet_run_command_of_a_drive() -> None:
    """The panel's 120 V goes through the panel's contact to an interposing relay; only its contact is at the drive."""
    command = m.RunCommand(kind="wet", volts=120.0, owner="the panel")
    design, nets = made(kitchen(vfd(run_command=command), LINES))
    drive = next(t for t, k in types(design).items() if k == "vfd_3")
    relay = next(t for t, k in types(design).items() if k == "relay_120")
    assert {"CP1-K1:21", "CP1-F1:2", "CP1-T1:L"} <= nets["CP1-K1:21"]
    assert nets.pair("CP1-K1:24", f"{relay}:A1")
    assert f"{relay}:A2" in nets["CP1-T1:N"]
    assert nets.pair(f"{relay}:11", f"{drive}:run+")
    assert nets.pair(f"{relay}:14", f"{drive}:run")


def test_wet_run_command_from_a_building_circuit() -> None:
    """The same with the voltage and the neutral of a circuit of the building, and of no other."""
    command = m.RunCommand(kind="wet", volts=120.0, owner="a building circuit", circuit="LP-1/8")
    design, nets = made(kitchen(vfd(run_command=command), LINES))
    relay = next(t for t, k in types(design).items() if k == "relay_120")
    assert nets.pair("LP-1/8:2", "CP1-K1:21")
    assert nets.pair("CP1-K1:24", f"{relay}:A1")
    assert f"{relay}:A2" in nets["LP-1:N"]


def test_exhaust_that_runs_without_the_panel() -> None:
    """A relay held in while the controller lives carries the panel's signal; fallen out it gives the drive its own 10 V
    and makes its run pair."""
    panel = m.PanelOptions(circuit="LP-1/1", on_control_power_loss="exhaust runs")
    design, nets = made(kitchen(vfd(), LINES, panel=panel))
    drive = next(t for t, k in types(design).items() if k == "vfd_3")
    relay = next(t for t, k in types(design).items() if k == "relay_24")
    assert nets.pair("CP1-K1:Y1+", f"{relay}:14")
    assert nets.pair(f"{relay}:12", f"{drive}:+10V")
    assert nets.pair(f"{relay}:11", f"{drive}:ref+")
    assert nets["CP1-K1:21"] == {"CP1-K1:21", f"{relay}:21", f"{drive}:run+"}
    assert nets["CP1-K1:24"] == {"CP1-K1:24", f"{relay}:22", f"{drive}:run"}
    assert "CP1-K1:31" in nets["CP1-T1:+"]
    assert nets.pair("CP1-K1:34", f"{relay}:A1")
    assert f"{relay}:A2" in nets["CP1-T1:-"]
    assert [o.on for o in design.program.outputs if o.relay == "EF-1/standby"] == ["alive"]


def test_a_starter_cannot_run_without_the_panel() -> None:
    """Its coil is held by the panel: refused, with what to take instead."""
    panel = m.PanelOptions(circuit="LP-1/1", on_control_power_loss="exhaust runs")
    with pytest.raises(DesignError, match=r"EF-1.*not offered with a starter.*take a VFD or EC drive"):
        build_design(kitchen(starter(), LINES, panel=panel))


def test_fire_switch_pole_forces_the_run() -> None:
    """The released side of the pole lies across the run pair, beside the panel's contact."""
    poles = (m.Pole(use="panel loop", side="armed side"), m.Pole(use="exhaust run", side="released side"))
    systems = (m.FireSystem(tag="FS-1", zone="Z1", poles=poles),)
    fans = (fan(vfd(), forced_by="FS-1"),)
    design, nets = made(kitchen(vfd(), LINES, exhaust_fans=fans, fire_systems=systems))
    drive = next(t for t, k in types(design).items() if k == "vfd_3")
    assert nets[f"{drive}:run+"] == {f"{drive}:run+", "CP1-K1:21", "FS-1:2C"}
    assert nets[f"{drive}:run"] == {f"{drive}:run", "CP1-K1:24", "FS-1:2R"}


def test_a_force_needs_its_pole() -> None:
    """A fan forced by a switch that has no pole for it is refused."""
    with pytest.raises(DesignError, match=r"EF-1.*no pole with use: exhaust run"):
        build_design(kitchen(vfd(), LINES, exhaust_fans=(fan(vfd(), forced_by="FS-1"),)))


FORCES = (m.Pole(use="panel loop", side="armed side"), *[m.Pole(use="exhaust run", side="released side")] * 2)


def forced_fans(*tags: str, poles: tuple[m.Pole, ...] = FORCES) -> m.Job:
    """Fans over one hood, each forced by the same switch."""
    fans = tuple(fan(vfd(), tag=tag, forced_by="FS-1") for tag in tags)
    systems = (m.FireSystem(tag="FS-1", zone="Z1", poles=poles),)
    return kitchen(vfd(), LINES, exhaust_fans=fans, fire_systems=systems)


def test_two_fans_forced_by_one_switch_have_a_pole_each() -> None:
    """One contact across two run pairs would join them: the panel's contact of one fan would start both."""
    design, nets = made(forced_fans("EF-1", "EF-2"))
    drives = {d.title.split()[-1]: d.tag for d in design.devices if d.type == "vfd_3"}
    runs = [nets[f"{tag}:run+"] for tag in drives.values()]
    assert len(runs) == 2
    assert not runs[0] & runs[1]
    assert [sorted(t for t in net if t.startswith("FS-1")) for net in runs] == [["FS-1:2C"], ["FS-1:3C"]]


def test_a_third_fan_on_two_poles_is_refused() -> None:
    with pytest.raises(DesignError, match=r"EF-3.*no further pole.*joins them.*add a pole"):
        build_design(forced_fans("EF-1", "EF-2", "EF-3"))


def test_a_fan_that_comes_later_takes_no_pole_of_another() -> None:
    """EF-2 has pole 2 by its issue; EF-1 stands before it in the job of the next revision and gets pole 3."""
    first = forced_fans("EF-2")
    both = forced_fans("EF-1", "EF-2").model_copy(update={"issued": issue(first, build_design(first)).issued})
    ends = {c.key: str(c.b) for c in build_design(both).conductors if c.key.endswith("/forced/1")}
    assert ends == {"EF-2/forced/1": "FS-1:2C", "EF-1/forced/1": "FS-1:3C"}


def test_airflow_switch() -> None:
    """An air-flow switch on a wetted input of its own."""
    proving = m.Proving(tag="PS-1", kind="air-flow switch")
    design, nets = made(kitchen(exhaust_fans=(fan(ec(), proving=proving),)))
    assert types(design)["PS-1"] == "airflow_switch"
    assert design.device_by_tag["PS-1"].ratings["fan"] == "EF-1"
    assert nets.pair("CP1-K1:D1-", "PS-1:2")


@pytest.mark.parametrize(("volts", "rail", "back"), [(24.0, "CP1-T1:+", "CP1-T1:-"), (120.0, "CP1-F1:2", "CP1-T1:N")])
def test_damper_with_an_end_switch(volts: float, rail: str, back: str) -> None:
    """A relay of the panel powers the damper; its end switch is an input that must be made before the fan runs."""
    dampers = (m.Damper(tag="D-1", fan="EF-1", volts=volts),)
    design, nets = made(kitchen(dampers=dampers))
    assert types(design)["D-1"] == f"damper_{volts:.0f}_end"
    assert "CP1-K1:21" in nets[rail]
    assert nets.pair("CP1-K1:24", "D-1:1")
    assert "D-1:2" in nets[back]
    assert nets.pair("CP1-K1:D1+", "D-1:3")
    assert nets.pair("CP1-K1:D1-", "D-1:4")
    logic = next(f for f in design.program.fans if f.fan == "EF-1")
    assert (logic.opens, logic.permit) == ("D-1/open", "D-1/end")


def test_damper_without_an_end_switch() -> None:
    """No end switch, no permit; the relay is the same."""
    design, nets = made(kitchen(dampers=(m.Damper(tag="D-1", fan="EF-1", end_switch=False),)))
    assert types(design)["D-1"] == "damper_24"
    assert nets.pair("CP1-K1:24", "D-1:1")
    assert next(f for f in design.program.fans if f.fan == "EF-1").permit == ""


# make-up units --------------------------------------------------------------------------------------------------


def test_makeup_unit_with_a_run_pair() -> None:
    """The unit's own voltage: the panel closes a dry contact between J1 and J2 and gives nothing else."""
    design, nets = made(kitchen(makeup_units=(makeup(),)))
    assert types(design)["MAU-1"] == "makeup_3"
    assert nets.pair("CP1-K1:21", "MAU-1:J1")
    assert nets.pair("CP1-K1:24", "MAU-1:J2")
    for n, end in enumerate(("L1", "L2", "L3")):
        assert nets.pair(f"LP-1/5:{2 * n + 2}", f"MAU-1-QB:{2 * n + 1}")
        assert nets.pair(f"MAU-1-QB:{2 * n + 2}", f"MAU-1:{end}")
    assert not any(k.startswith("MAU-1/speed") for k in design.conductor_by_key)


def test_makeup_unit_with_a_speed_pair() -> None:
    """Beside the run pair a 0-10 V pair, + to S+ and - to S-."""
    design, nets = made(kitchen(makeup_units=(makeup("run and speed pairs"),)))
    assert types(design)["MAU-1"] == "makeup_3_speed"
    assert nets.pair("CP1-K1:21", "MAU-1:J1")
    # Y1 is the fan's
    assert nets.pair("CP1-K1:Y2+", "MAU-1:S+")
    assert nets.pair("CP1-K1:Y2-", "MAU-1:S-")


def test_makeup_unit_with_a_wet_run_pair() -> None:
    """120 V of the panel through its contact to J1, back from J2 to the neutral; Class 1, not with the speed pair."""
    command = m.RunCommand(kind="wet", volts=120.0, owner="the panel")
    design, nets = made(kitchen(makeup_units=(makeup("run and speed pairs", command),)))
    assert types(design)["MAU-1"] == "makeup_3_wet_speed"
    assert {"CP1-K1:21", "CP1-F1:2"} <= nets["CP1-K1:21"]
    assert nets.pair("CP1-K1:24", "MAU-1:J1")
    assert "MAU-1:J2" in nets["CP1-T1:N"]
    by_key = design.conductor_by_key
    assert by_key["MAU-1/run/1"].energy_class is EnergyClass.CLASS1
    assert by_key["MAU-1/run/1"].cable != by_key["MAU-1/speed/+"].cable


def test_what_stops_a_unit_stands_in_series() -> None:
    """Panel - duct detector - thermostat - hand switch (auto) - J1, each from contact to contact."""
    masters = (
        m.SecondMaster(tag="DD-1", what="duct detector", may="stop"),
        m.SecondMaster(tag="TH-1", what="thermostat", may="stop"),
    )
    unit = makeup(second_masters=masters, hand_switch="in series with the run pair")
    _, nets = made(kitchen(makeup_units=(unit,)))
    assert nets.pair("MAU-1:J1", "MAU-1-S1:2")
    assert nets.pair("MAU-1-S1:1", "DD-1:2")
    assert nets.pair("DD-1:1", "TH-1:2")
    assert nets.pair("TH-1:1", "CP1-K1:21")
    assert nets.pair("CP1-K1:24", "MAU-1:J2")


def test_what_starts_a_unit_lies_beside_the_pair() -> None:
    """A building controller that may start the unit, and a hand contact around the pair, both across J1 and J2."""
    masters = (m.SecondMaster(tag="BC-1", what="building controller", may="start"),)
    unit = makeup(second_masters=masters, hand_switch="around the run pair")
    _, nets = made(kitchen(makeup_units=(unit,)))
    assert nets["MAU-1:J1"] == {"MAU-1:J1", "CP1-K1:21", "BC-1:1", "MAU-1-S1:3"}
    assert nets["MAU-1:J2"] == {"MAU-1:J2", "CP1-K1:24", "BC-1:2", "MAU-1-S1:4"}


def test_what_starts_a_wet_unit_takes_the_hot_to_j1() -> None:
    """With a wet pair the second command brings the panel's hot to J1, beside the panel's contact."""
    command = m.RunCommand(kind="wet", volts=120.0, owner="the panel")
    masters = (m.SecondMaster(tag="BC-1", what="building controller", may="start"),)
    _, nets = made(kitchen(makeup_units=(makeup(command=command, second_masters=masters),)))
    assert nets["MAU-1:J1"] == {"MAU-1:J1", "CP1-K1:24", "BC-1:1"}
    assert {"BC-1:2", "CP1-K1:21", "CP1-F1:2"} <= nets["CP1-F1:2"]


def test_makeup_fan_driven_from_the_panel() -> None:
    """A make-up fan on a starter is wired like an exhaust fan and follows its exhaust."""
    control = m.MakeupByPanel(kind="driven from the panel", drive=starter())
    unit = m.MakeupUnit(tag="MAU-1", tracks=("EF-1",), circuit="LP-1/5", control=control, airflow=1600.0)
    design, nets = made(kitchen(makeup_units=(unit,)))
    assert nets.pair("LP-1/5:2", "CP1-Q1:1/L1")
    assert nets.pair("CP1-K1:24", "CP1-Q1:95")
    logic = next(f for f in design.program.fans if f.fan == "MAU-1")
    assert (logic.follows, logic.hoods, logic.on_release) == (("EF-1",), (), "stop")


# fire -----------------------------------------------------------------------------------------------------------


def loop_kitchen(**system: object) -> m.Job:
    """A kitchen whose fire system is given."""
    loop = m.Pole(use="panel loop", side="armed side")
    return kitchen(fire_systems=(m.FireSystem(**{"tag": "FS-1", "zone": "Z1", "poles": (loop,), **system}),))


def test_supervised_loop() -> None:
    """F1+ - common, armed side - F1-; a factory jumper lies across the two places and is told to come out."""
    design, nets = made(loop_kitchen())
    assert nets.pair("CP1-K1:F1+", "FS-1:1C")
    assert nets.pair("CP1-K1:F1-", "FS-1:1A")
    assert landed(design, "FS-1:1R") == []
    (jumper,) = design.jumpers
    ends = {c.key for c in (*landed(design, str(jumper.a)), *landed(design, str(jumper.b)))}
    assert {"FS-1/loop1/+/in", "FS-1/loop1/-/in", "FS-1/loop1/+/1", "FS-1/loop1/-/1"} == ends
    assert "take it out" in jumper.purpose
    assert design.program.fire_inputs == {"Z1": ("FS-1/loop1",)}


def test_several_switches_in_series() -> None:
    """The armed sides one after the other: any switch that goes opens the loop."""
    _, nets = made(loop_kitchen(switches=3))
    assert nets.pair("CP1-K1:F1+", "FS-1:1C")
    assert nets.pair("FS-1:1A", "FS-1/2:1C")
    assert nets.pair("FS-1/2:1A", "FS-1/3:1C")
    assert nets.pair("FS-1/3:1A", "CP1-K1:F1-")


def test_switches_in_parallel_as_asked() -> None:
    """Joined in parallel, as the job says (the proof calls it a mistake): all commons together, all armed sides."""
    _, nets = made(loop_kitchen(switches=2, switches_joined="in parallel"))
    assert nets["CP1-K1:F1+"] == {"CP1-K1:F1+", "FS-1:1C", "FS-1/2:1C"}
    assert nets["CP1-K1:F1-"] == {"CP1-K1:F1-", "FS-1:1A", "FS-1/2:1A"}


@pytest.mark.parametrize(("side", "mark"), [("NC", "1R"), ("NO", "1A"), ("released side", "1R")])
def test_letters_on_the_switch(side: str, mark: str) -> None:
    """In an armed release the plunger is pressed: NC read off the bare switch is the released side, NO the armed side
    (common practice)."""
    _, nets = made(loop_kitchen(poles=(m.Pole(use="panel loop", side=side),)))
    assert nets.pair("CP1-K1:F1-", f"FS-1:{mark}")


def test_hand_contact_around_the_fire_contact() -> None:
    """As the job asks (a mistake): the hand contact lies across the loop of every zone."""
    switch = m.WallSwitch(tag="SW-1", kind="hand-off-auto", does="fans", wired="around the fire contact")
    _, nets = made(kitchen(switches=(switch,)))
    assert nets["CP1-K1:F1+"] == {"CP1-K1:F1+", "FS-1:1C", "SW-1:3"}
    assert nets["CP1-K1:F1-"] == {"CP1-K1:F1-", "FS-1:1A", "SW-1:4"}


def test_building_alarm_from_the_switches() -> None:
    """The module's pair goes from switch to switch: commons on Z1, released sides on Z2; the panel is not in it."""
    poles = (m.Pole(use="panel loop", side="armed side"), m.Pole(use="building alarm", side="released side"))
    systems = tuple(m.FireSystem(tag=f"FS-{n}", zone=f"Z{n}", poles=poles) for n in (1, 2, 3))
    hoods = tuple(hood(f"H-{n}", zone=f"Z{n}") for n in (1, 2, 3))
    fans = (fan(ec(), serves=("H-1", "H-2", "H-3")),)
    alarm = m.BuildingAlarm(tag="FA-1", taken_from="fire switch")
    design, nets = made(kitchen(hoods=hoods, exhaust_fans=fans, fire_systems=systems, building_alarm=alarm))
    assert nets["FA-1:Z1"] == {"FA-1:Z1", "FS-1:2C", "FS-2:2C", "FS-3:2C"}
    assert nets["FA-1:Z2"] == {"FA-1:Z2", "FS-1:2R", "FS-2:2R", "FS-3:2R"}
    assert [len(landed(design, t)) for t in ("FA-1:Z1", "FS-1:2C", "FS-2:2C", "FS-3:2C")] == [1, 2, 2, 1]


def test_building_alarm_from_the_panel() -> None:
    """As the job asks (a mistake): a relay of the panel, made in a release, across the module."""
    alarm = m.BuildingAlarm(tag="FA-1", taken_from="panel contact")
    design, nets = made(kitchen(building_alarm=alarm))
    assert nets.pair("FA-1:Z1", "CP1-K1:21")
    assert nets.pair("FA-1:Z2", "CP1-K1:24")
    assert [o.on for o in design.program.outputs if o.relay == "FS-1/alarm"] == ["fire Z1"]


def test_fire_output() -> None:
    """All three terminals of a free contact on the strip, for others to use."""
    design, _ = made(kitchen(fire_outputs=(m.FireOutput(tag="FO-1", use="alarm", zone="Z1", to="lobby"),)))
    for mark, role in (("21", "c"), ("22", "nc"), ("24", "no")):
        (conductor,) = landed(design, f"CP1-K1:{mark}")
        assert conductor.key == f"FO-1/{role}"
        assert str(conductor.b).startswith("CP1-X3:")
        assert len(design.conductors_at[conductor.b]) == 1


# shutdowns ------------------------------------------------------------------------------------------------------


def griddle(by: str, circuit: str) -> m.Hood:
    """A hood over one electric griddle."""
    unit = m.Appliance(
        tag="A-1", kind="griddle", duty="medium", fuel="electric", load=5000.0, circuit=circuit, shut_down_by=by
    )
    return hood(appliances=(unit,))


def test_shunt_trip_with_its_own_supply() -> None:
    """Shutdown circuit - common; released side - C1; C2 - neutral. The breaker's own poles have no part in it."""
    shutdowns = (m.ShuntShutdown(kind="shunt trip", tag="SD-1", zone="Z1", circuit="LP-1/10"),)
    job = kitchen(fire_systems=shutdown_system(), shutdowns=shutdowns, hoods=(griddle("SD-1", "LP-1/10"),))
    design, nets = made(job)
    assert types(design)["LP-1/10"] == "breaker_2_shunt"
    assert nets.pair("LP-1/8:2", "FS-1:2C")
    assert nets.pair("FS-1:2R", "LP-1/10:C1")
    assert "LP-1/10:C2" in nets["LP-1:N"]
    assert nets.pair("LP-1/10:2", "A-1:L1")
    assert nets.pair("LP-1/10:4", "A-1:L2")
    # nothing hangs on the armed side, but it is brought in, ready for a held-in contactor
    assert nets["FS-1:2A"] == {"FS-1:2A"}
    assert not any(c.key.startswith("SD-1") and "CP1-K1" in f"{c.a}{c.b}" for c in design.conductors)


def test_shunt_trip_without_a_cut_off_contact() -> None:
    """The accessory without the contact is another type of breaker."""
    circuits = tuple(
        c.model_copy(update={"shunt_trip": m.ShuntTrip(cut_off_contact=False)}) if c.shunt_trip else c
        for c in kitchen().circuits
    )
    assert types(build_design(kitchen(circuits=circuits)))["LP-1/10"] == "breaker_2_shunt_plain"


def test_shunt_trip_from_its_own_load_side() -> None:
    """As the job asks (a mistake): load side - panel relay - C1."""
    shutdowns = (
        m.ShuntShutdown(
            kind="shunt trip", tag="SD-1", zone="Z1", circuit="LP-1/10", fed_from="load side of its own breaker"
        ),
    )
    job = kitchen(fire_systems=shutdown_system(), shutdowns=shutdowns, hoods=(griddle("SD-1", "LP-1/10"),))
    _, nets = made(job)
    assert nets["LP-1/10:2"] == {"LP-1/10:2", "A-1:L1", "CP1-K1:21"}
    assert nets.pair("LP-1/10:C1", "CP1-K1:24")


def test_held_in_contactor_with_a_reset_by_hand() -> None:
    """Line - contactor - appliance; the coil hangs on the bus behind the reset relay, its return on the shutdown
    circuit's neutral."""
    shutdowns = (m.ContactorShutdown(kind="held-in contactor", tag="KM-1", zone="Z1", circuit="LP-1/12"),)
    job = kitchen(fire_systems=shutdown_system(), shutdowns=shutdowns, hoods=(griddle("KM-1", "LP-1/12"),))
    design, nets = made(job)
    assert types(design)["KM-1"] == "contactor_held_2"
    for line, breaker, load, end in (("1/L1", 2, "2/T1", "L1"), ("3/L2", 4, "4/T2", "L2")):
        assert nets.pair(f"LP-1/12:{breaker}", f"KM-1:{line}")
        assert nets.pair(f"KM-1:{load}", f"A-1:{end}")
    relay = next(t for t, k in types(design).items() if k == "relay_120")
    assert nets.pair(f"{relay}:24", "KM-1:A1")
    assert "KM-1:A2" in nets["LP-1:N"]


def test_gas_valve_with_a_relay_that_seals_itself_in() -> None:
    """Armed bus: shutdown circuit over the armed side. Button - A1, beside it the relay's own contact 11-14; the second
    contact 21-24 feeds the valve. After a release or an outage only the button brings it back."""
    shutdowns = (m.GasShutdown(kind="gas valve", tag="GV-1", zone="Z1"),)
    design, nets = made(kitchen(fire_systems=shutdown_system(), shutdowns=shutdowns))
    relay = next(t for t, k in types(design).items() if k == "relay_120")
    button = next(t for t, k in types(design).items() if k == "push_button")
    assert nets.pair("LP-1/8:2", "FS-1:2C")
    assert nets["FS-1:2A"] == {"FS-1:2A", f"{button}:13", f"{relay}:11", f"{relay}:21"}
    assert nets[f"{relay}:A1"] == {f"{relay}:A1", f"{relay}:14", f"{button}:14"}
    assert nets.pair(f"{relay}:24", "GV-1:1")
    assert {f"{relay}:A2", "GV-1:2"} <= nets["LP-1:N"]
    assert "GV-1:PE" in nets["LP-1:PE"]


def test_gas_valve_that_opens_by_itself() -> None:
    """As the job asks (a mistake): straight on the armed side, no relay, no button."""
    shutdowns = (m.GasShutdown(kind="gas valve", tag="GV-1", zone="Z1", reset="by itself"),)
    design, nets = made(kitchen(fire_systems=shutdown_system(), shutdowns=shutdowns))
    assert nets.pair("FS-1:2A", "GV-1:1")
    assert not {"relay_120", "push_button"} & set(types(design).values())


def test_shutdown_without_a_pole_of_its_own() -> None:
    """No second pole: a panel relay held in while armed makes the buses, make contact armed, break contact released."""
    shutdowns = (
        m.GasShutdown(kind="gas valve", tag="GV-1", zone="Z1", reset="by itself"),
        m.ShuntShutdown(kind="shunt trip", tag="SD-1", zone="Z1", circuit="LP-1/10"),
    )
    job = kitchen(shutdowns=shutdowns, hoods=(griddle("SD-1", "LP-1/10"),))
    design, nets = made(job)
    assert {"CP1-K1:21", "CP1-F1:2"} <= nets["CP1-F1:2"]
    assert nets.pair("CP1-K1:24", "GV-1:1")
    assert nets.pair("CP1-K1:22", "LP-1/10:C1")
    assert {"GV-1:2", "LP-1/10:C2"} <= nets["CP1-T1:N"]
    assert [o.on for o in design.program.outputs if o.relay == "Z1/armed"] == ["armed Z1"]


def test_one_circuit_for_lights_and_shutdown() -> None:
    """A circuit that feeds line-voltage loads and Class 1 coils comes in once and reaches the other strip inside."""
    lights = m.Lights(load=300.0, circuit="LP-1/8")
    switches = (*kitchen().switches, m.WallSwitch(tag="SW-2", kind="on-off", does="lights"))
    shutdowns = (m.GasShutdown(kind="gas valve", tag="GV-1", zone="Z1", reset="by itself"),)
    job = kitchen(hoods=(hood(lights=lights),), switches=switches, fire_systems=shutdown_system(), shutdowns=shutdowns)
    design, nets = made(job)
    assert nets["LP-1/8:2"] == {"LP-1/8:2", "FS-1:2C", "CP1-Q1:1"}
    assert len(landed(design, "LP-1/8:2")) == 1
    across = {c.key for c in design.conductors if {c.a.device, c.b.device} == {"CP1-X1", "CP1-X2"}}
    assert {k for k in across if k.startswith("LP-1/8")} == {"LP-1/8/L3/X1", "LP-1/8/N/X1"}


# hoods, lights, people, building --------------------------------------------------------------------------------


def test_sensors_are_home_runs() -> None:
    """Each sensor on a pair of its own, 1 to the point's +, 2 to its -; no sensor terminal takes two conductors."""
    sensors = tuple(m.HoodSensor(tag=f"TS-{n}") for n in (1, 2, 3))
    rooms = (m.RoomSensor(tag="RT-1"),)
    design, nets = made(kitchen(hoods=(hood(sensors=sensors),), room_sensors=rooms))
    for tag, point in (("TS-1", "B1"), ("TS-2", "B2"), ("TS-3", "B3"), ("RT-1", "R1")):
        assert nets.pair(f"{tag}:1", f"CP1-K1:{point}+")
        assert nets.pair(f"{tag}:2", f"CP1-K1:{point}-")
        assert [len(landed(design, f"{tag}:{n}")) for n in (1, 2)] == [1, 1]
        assert len({c.cable for n in (1, 2) for c in landed(design, f"{tag}:{n}")}) == 1
    cables = {c.cable for n in (1, 2, 3) for c in landed(design, f"TS-{n}:1")}
    assert len(cables) == 3
    assert design.program.hoods[0].sensors == ("TS-1", "TS-2", "TS-3")


def lit(*loads: float, circuits: tuple[str, ...] = ()) -> m.Job:
    """Hoods with lights on one switch, on LP-1/9 unless told otherwise."""
    named = circuits or ("LP-1/9",) * len(loads)
    hoods = tuple(
        hood(f"H-{n}", lights=m.Lights(load=load, circuit=c))
        for n, (load, c) in enumerate(zip(loads, named, strict=True), 1)
    )
    fans = (fan(ec(), serves=tuple(h.tag for h in hoods)),)
    switches = (*kitchen().switches, m.WallSwitch(tag="SW-2", kind="on-off", does="lights"))
    return kitchen(hoods=hoods, exhaust_fans=fans, switches=switches)


def grouped(design: Design) -> list[set[str]]:
    """Hoods by the light contact that feeds them, in the order of the contacts."""
    nets = Nets(design)
    found = []
    for device in (d for d in design.devices if d.type == "light_contactor"):
        for out in (2, 4, 6, 8):
            lamps = {t.split(":")[0][:-3] for t in nets[f"{device.tag}:{out}"] if t.endswith("-E1:L")}
            if lamps:
                found.append(lamps)
    return found


def test_lights_on_one_contact() -> None:
    """Breaker - contact - lamp, neutral and ground to the lamp; coil on +24 V through the panel's relay."""
    _, nets = made(lit(500.0))
    assert nets.pair("LP-1/9:2", "CP1-Q1:1")
    assert nets.pair("CP1-Q1:2", "H-1-E1:L")
    assert "H-1-E1:N" in nets["LP-1:N"]
    assert "H-1-E1:PE" in nets["LP-1:PE"]
    assert "CP1-K1:21" in nets["CP1-T1:+"]
    assert nets.pair("CP1-K1:24", "CP1-Q1:A1")
    assert "CP1-Q1:A2" in nets["CP1-T1:-"]


def test_lights_fill_contacts_to_1200_w() -> None:
    """600 + 600 W fill a contact (1200 W, 10 A at 120 V), one watt more does not; hoods keep their order."""
    assert grouped(build_design(lit(600.0, 600.0, 600.0))) == [{"H-1", "H-2"}, {"H-3"}]
    assert grouped(build_design(lit(600.0, 601.0, 599.0))) == [{"H-1", "H-3"}, {"H-2"}]
    assert grouped(build_design(lit(600.0, 450.0, 400.0))) == [{"H-1", "H-2"}, {"H-3"}]


def test_lights_of_two_circuits_never_share_a_contact() -> None:
    """A contact belongs to one circuit."""
    design = build_design(lit(100.0, 100.0, 100.0, circuits=("LP-1/9", "LP-1/8", "LP-1/9")))
    assert grouped(design) == [{"H-1", "H-3"}, {"H-2"}]
    assert Nets(design).pair("LP-1/8:2", "CP1-Q1:3")


def test_a_fifth_contact_needs_a_second_contactor() -> None:
    """Four contacts each; the second coil follows the first one, so the relay's terminal has one conductor."""
    design, nets = made(lit(*(900.0,) * 5))
    assert grouped(design) == [{f"H-{n}"} for n in range(1, 6)]
    assert nets["CP1-K1:24"] == {"CP1-K1:24", "CP1-Q1:A1", "CP1-Q2:A1"}
    assert len(landed(design, "CP1-K1:24")) == 1
    assert {"CP1-Q1:A2", "CP1-Q2:A2"} <= nets["CP1-T1:-"]


def test_lights_beyond_one_contact_are_told() -> None:
    """One hood over 1200 W: a finding with both figures."""
    (found,) = [f for f in build_design(lit(1300.0)).findings if f.code == "LIGHTS-OVER"]
    assert (found.item, found.severity) == ("H-1", Severity.ERROR)
    assert "1300 W" in found.message
    assert "1200 W" in found.message
    assert not [f for f in build_design(lit(1200.0)).findings if f.code == "LIGHTS-OVER"]


def test_lights_need_a_switch() -> None:
    """A hood whose lights no switch turns is refused."""
    job = lit(500.0)
    with pytest.raises(DesignError, match=r"H-1: lights.*no wall switch"):
        build_design(job.model_copy(update={"switches": kitchen().switches}))


def test_wall_switches() -> None:
    """On-off on one input; hand-off-auto on two, auto on the first."""
    switches = (
        m.WallSwitch(tag="SW-1", kind="hand-off-auto", does="fans"),
        m.WallSwitch(tag="SW-2", kind="on-off", does="fans"),
    )
    design, nets = made(kitchen(switches=switches))
    # uses in order: SW-1/hand, SW-1/on, SW-2/on
    for point, first, second in (("D1", "SW-1:3", "SW-1:4"), ("D2", "SW-1:1", "SW-1:2"), ("D3", "SW-2:1", "SW-2:2")):
        assert nets.pair(f"CP1-K1:{point}+", first)
        assert nets.pair(f"CP1-K1:{point}-", second)
    logic = design.program.switches
    assert [(s.on_input, s.hand_input) for s in logic] == [("SW-1/on", "SW-1/hand"), ("SW-2/on", "")]


def test_display_on_its_patch_cable() -> None:
    """Port P1 to P4 to the display's 1 to 4; the cord comes with it, nothing is landed on site."""
    design, nets = made(kitchen(display=m.Display(tag="OP-1")))
    cord = [c for c in design.conductors if c.of == "OP-1"]
    assert {(str(c.a), str(c.b)) for c in cord} == {(f"CP1-K1:P{n}", f"OP-1:{n}") for n in (1, 2, 3, 4)}
    assert {c.made for c in cord} == {"factory"}
    assert nets.pair("CP1-K1:P3", "OP-1:3")
    assert design.device_by_tag["OP-1"].supplied_by == "panel"


@pytest.mark.parametrize(
    ("ends", "near", "far"), [("both ends", 1, 1), ("panel only", 1, 0), ("far end only", 0, 1), ("none", 0, 0)]
)
def test_building_link(ends: str, near: int, far: int) -> None:
    """A to A, B to B, signal ground to signal ground; a resistor in the panel across A and B, one in the station."""
    design, nets = made(kitchen(building_link=m.BuildingLink(tag="BL-1", end_of_line=ends)))
    kinds = types(design)
    assert list(kinds.values()).count("end_resistor") == near
    assert kinds["BL-1"] == ("link_station_end" if far else "link_station")
    at_panel = {"CP1-R1:1"} if near else set()
    assert nets["BL-1:A"] == {"BL-1:A", "CP1-K1:A"} | at_panel
    assert nets["BL-1:B"] == {"BL-1:B", "CP1-K1:B"} | ({"CP1-R1:2"} if near else set())
    assert nets.pair("BL-1:SG", "CP1-K1:SG")
    pair = [design.conductor_by_key[f"BL-1/{mark}"] for mark in ("A", "B", "SG")]
    assert {c.energy_class for c in pair} == {EnergyClass.DATA}
    assert len({c.cable for c in pair}) == 1


def test_gas_appliance_follows_its_valve() -> None:
    """A gas appliance has no power of its own; without a name it follows the valve of its zone."""
    shutdowns = (m.GasShutdown(kind="gas valve", tag="GV-1", zone="Z1"),)
    unit = m.Appliance(tag="A-2", kind="range", duty="heavy", fuel="gas", heat_input=100000.0)
    design, _ = made(kitchen(hoods=(hood(appliances=(unit,)),), fire_systems=shutdown_system(), shutdowns=shutdowns))
    assert design.device_by_tag["A-2"].ratings["valve"] == "GV-1"


def test_phases_keep_their_colours() -> None:
    """208Y/120 V: black, red, blue, white, green; 480Y/277 V: brown, orange, yellow, gray (common practice)."""
    design, _ = made(kitchen(starter(), LINES))
    colours = [design.conductor_by_key[f"LP-1/2/{line}"].colour for line in LINES]
    assert colours == ["black", "red", "blue"]
    assert {c.colour for c in design.conductors if c.role is Role.GROUND and c.made == "field"} == {"green"}
    drive = m.Starter(kind="starter", motor=m.Motor(hp=1.0, volts=460.0, phases=3))
    circuits = tuple(
        c.model_copy(update={"lines": ("L1", "L2")}) if c.tag == "LP-1/1" else c for c in kitchen(drive, LINES).circuits
    )
    supplies = (m.Supply(tag="U1", system="480Y/277 V"),)
    design, _ = made(kitchen(drive, LINES, circuits=circuits, supplies=supplies))
    assert [design.conductor_by_key[f"LP-1/2/{line}"].colour for line in LINES] == ["brown", "orange", "yellow"]


def test_a_drive_fed_from_two_lines_gives_its_motor_the_phases_of_its_system() -> None:
    """480 V from two lines: no lead of the motor takes the blue of 208 V, nor the gray of a neutral (200.7)."""
    path = Path(__file__).parents[2] / "examples" / "hospital.yaml"
    job = read_job(path.read_bytes(), path.name)
    design = build_design(job)
    assert len(next(c for c in job.circuits if c.tag == "HP-1/9").lines) == 2
    for end in ("", "/2", "/in"):
        found = [design.conductor_by_key[f"EF-5/motor/{lead}{end}"].colour for lead in ("U", "V", "W")]
        assert found == ["brown", "orange", "yellow"]


def test_wet_command_of_another_voltage_is_refused() -> None:
    """A wet run pair of a unit is 120 V or not offered."""
    command = m.RunCommand(kind="wet", volts=208.0, owner="a building circuit", circuit="LP-1/8")
    with pytest.raises(DesignError, match=r"MAU-1.*208 V is not offered.*120 V"):
        build_design(kitchen(makeup_units=(makeup(command=command),)))
    assert DRY.kind == "dry"
