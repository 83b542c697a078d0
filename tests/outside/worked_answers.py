"""What Galleyproof answers to each worked example, through its public functions only.

``ANSWERS`` maps the id of an example to a call; ``NOT_APPLICABLE`` says why an example is not run. Expected values
stand in ``worked_examples_electrical.csv`` and nowhere here.
"""

from __future__ import annotations

import csv
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from tests.solver.bench_circuit import Circuit

from galleyproof.sizing import conductors as c
from galleyproof.sizing import control_power as cp
from galleyproof.sizing import drives, grounds, panel, power, raceways
from galleyproof.sizing import motors as m
from galleyproof.sizing import voltage_drop as vd
from galleyproof.sizing.conductors import Surroundings, Wire
from galleyproof.sizing.motors import Motor
from galleyproof.sizing.raceways import Filling
from galleyproof.sizing.voltage_drop import Run
from galleyproof.tables import clearances, protection, sensors
from galleyproof.tables import conductors as tables

Answer = Callable[[], object]
FILE = Path(__file__).with_name("worked_examples_electrical.csv")


@dataclass(frozen=True)
class Example:
    """One row of the file."""

    id: str
    topic: str
    given: str
    asked: str
    expected_value: str
    unit: str
    tolerance: str
    source: str
    confidence: str
    notes: str

    def met_by(self, value: object) -> bool:
        """Whether a value is the expected one, within the tolerance of the row."""
        if isinstance(value, str):
            return self.tolerance == "exact" and value == self.expected_value
        if not isinstance(value, int | float) or self.unit == "AWG":  # a size is a label, never a number
            return False
        # "exact" is of the printed number; what binary fractions leave is not a difference
        allowed = 1e-9 if self.tolerance == "exact" else float(self.tolerance)
        return abs(float(value) - float(self.expected_value)) <= allowed + 1e-12


def read_examples() -> tuple[Example, ...]:
    """All rows of the file."""
    with FILE.open(encoding="utf-8", newline="") as rows:
        return tuple(Example(**row) for row in csv.DictReader(rows))


def flc(hp: float, volts: float, phases: int) -> float:
    """Table current, as a plain number."""
    return m.full_load_a(Motor(hp, volts, phases)).value


def branch(hp: float, volts: float, phases: int, device: m.MotorDevice, kind: m.MotorKind | None = None) -> float:
    """Largest branch device."""
    motor = Motor(hp, volts, phases, kind=kind)
    return m.branch_ocpd_max_a(m.full_load_a(motor), device, motor.row_kind).value


def branch_ampacity(hp: float, volts: float, phases: int) -> float:
    """125 percent of the table current."""
    return m.branch_min_ampacity_a(m.full_load_a(Motor(hp, volts, phases))).value


def size(min_a: float, column: int, **rest: float) -> str:
    """Thinnest copper conductor."""
    return c.conductor_size(min_a, column, **rest).value  # type: ignore[arg-type]


def feeder(*currents: float) -> float:
    """125 percent of the largest, once, and the others."""
    return m.feeder_min_ampacity_a(currents).value


def feeder_device(*motors: tuple[float, float], device: m.MotorDevice) -> float:
    """Feeder device over motors of one voltage, three-phase: (hp, V) each."""
    devices = {motor: branch(*motor, 3, device) for motor in motors}
    largest = max(motors, key=lambda one: devices[one])
    others = list(motors)
    others.remove(largest)
    rated = "fuse" if device.endswith("fuse") else "inverse_time_breaker"
    return m.feeder_ocpd_max_a(devices[largest], [flc(*one, 3) for one in others], rated).value  # type: ignore[arg-type]


def overload(nameplate_a: float, service_factor: float | None = None, rise: float | None = None) -> float:
    """Overload setting."""
    motor = Motor(None, 230.0, 3, nameplate_a=nameplate_a, service_factor=service_factor, rise_degc=rise)
    return m.overload_max_a(motor).value


def winding(va: float, volts: float) -> float:
    """Rated current of a winding."""
    return cp.transformer_winding_a(va, volts).value


def dc_circuit(volts: float, *ohms: float, series: bool = False) -> tuple[float, list[float]]:
    """Current of a source and voltages of the resistors, from the circuit engine."""
    circuit = Circuit()
    circuit.dc("source", "top", "earth", volts)
    nodes = ["top"]
    for n, ohm in enumerate(ohms):
        below = "earth" if not series or n == len(ohms) - 1 else f"node {n}"
        circuit.ohm(f"R{n}", nodes[-1] if series else "top", below, ohm)
        nodes.append(below)
    settled = circuit.settle({})
    total = abs(settled.amps("dc", "R0")) if series else sum(abs(settled.amps("dc", f"R{n}")) for n in range(len(ohms)))
    across = [
        abs(settled.volts("dc", nodes[n] if series else "top", nodes[n + 1] if series else "earth"))
        for n in range(len(ohms))
    ]
    return total, across


def heater_ohm(volts: float, watts: float) -> float:
    """Resistance of a load by its rating, from voltage and current in a solved circuit."""
    circuit = Circuit()
    circuit.ac("source", "L", "earth", volts)
    circuit.load("heater", "L", "earth", volts, watts)
    settled = circuit.settle({})
    return abs(settled.volts("ac", "L", "earth")) / abs(settled.amps("ac", "heater"))


def divider(pull_up_ohm: float, sensor_ohm: float) -> float:
    """Voltage of an input with a pull-up to 5 V."""
    return dc_circuit(5.0, pull_up_ohm, sensor_ohm, series=True)[1][1]


def in_emt(number: int) -> str:
    """A trade size for the mixed filling of the two fill examples."""
    kind = ("EMT", "RMC")[number]
    return raceways.trade_size_for(FILLINGS[number], kind).value  # type: ignore[arg-type]


FILLINGS = (
    [Filling("12", 3, "THWN"), Filling("10", 4, "THWN"), Filling("8", 8, "THWN")],
    [Filling("12", 1, "THHN"), Filling("10", 1, "THHN"), Filling("8", 3, "THHN")],
)

THHN = Wire(insulation="THHN")
FUSE: m.MotorDevice = "time_delay_fuse"
ONE_TIME_FUSE: m.MotorDevice = "nontime_delay_fuse"
BREAKER: m.MotorDevice = "inverse_time_breaker"

MOTORS: dict[str, Answer] = {
    "motor_branch_conductor_01": lambda: flc(7.5, 230, 3),
    "motor_branch_conductor_02": lambda: branch_ampacity(7.5, 230, 3),
    "motor_branch_conductor_03": lambda: size(27.5, 75),
    "motor_branch_ocpd_01": lambda: protection.motor_ocpd_ratio(BREAKER).value * flc(7.5, 230, 3),
    "motor_branch_ocpd_02": lambda: branch(7.5, 230, 3, BREAKER),
    "motor_branch_conductor_04": lambda: branch_ampacity(1, 120, 1),
    "motor_branch_conductor_05": lambda: size(20, 75, ocpd_a=40.0, ocpd_by_article_430=True),
    "motor_branch_conductor_06": lambda: size(20, 60, ocpd_a=40.0, ocpd_by_article_430=True),
    "motor_overload_01": lambda: overload(14.0),
    "motor_branch_ocpd_03": lambda: branch(1, 115, 1, BREAKER),
    "motor_feeder_conductor_01": lambda: feeder(flc(7.5, 230, 1), flc(5, 230, 1)),
    "motor_feeder_conductor_02": lambda: size(78, 75),
    "motor_branch_conductor_07": lambda: branch_ampacity(5, 230, 1),
    "motor_branch_conductor_08": lambda: size(35, 60),
    "motor_feeder_conductor_03": lambda: feeder(*[flc(5, 230, 1)] * 4),
    "motor_feeder_conductor_04": lambda: size(119, 60),
    "motor_branch_ocpd_04": lambda: branch(5, 230, 1, BREAKER),
    "motor_branch_conductor_09": lambda: branch_ampacity(5, 208, 3),
    "motor_branch_conductor_10": lambda: size(20.875, 75),
    "motor_branch_ocpd_05": lambda: branch(5, 208, 3, FUSE),
    "motor_branch_ocpd_06": lambda: branch(5, 208, 3, BREAKER),
    "motor_branch_conductor_11": lambda: branch_ampacity(40, 460, 3),
    "motor_branch_conductor_12": lambda: size(65, 75),
    "motor_branch_ocpd_07": lambda: branch(40, 460, 3, FUSE),
    "motor_branch_ocpd_08": lambda: branch(5, 460, 3, FUSE),
    "motor_branch_ocpd_09": lambda: branch(10, 460, 3, FUSE),
    "motor_feeder_conductor_05": lambda: feeder(*(flc(hp, 460, 3) for hp in (5, 10, 40))),
    "motor_feeder_conductor_06": lambda: size(86.6, 75),
    "motor_feeder_ocpd_01": lambda: feeder_device((40, 460), (10, 460), (5, 460), device=FUSE),
    "motor_feeder_conductor_07": lambda: feeder(flc(20, 460, 3), flc(10, 460, 3)),
    "motor_feeder_conductor_08": lambda: size(48, 75),
    "motor_branch_ocpd_10": lambda: branch(20, 460, 3, BREAKER),
    "motor_branch_ocpd_11": lambda: branch(10, 460, 3, BREAKER),
    "motor_feeder_ocpd_02": lambda: feeder_device((20, 460), (10, 460), device=BREAKER),
    "motor_feeder_conductor_09": lambda: feeder(*(flc(hp, 460, 3) for hp in (25, 20, 10))),
    "motor_feeder_ocpd_03": lambda: feeder_device((25, 460), (20, 460), (10, 460), device=ONE_TIME_FUSE),
    "motor_feeder_ocpd_04": lambda: feeder_device((25, 460), (20, 460), (10, 460), device=FUSE),
    "motor_feeder_ocpd_05": lambda: feeder_device((25, 460), (20, 460), (10, 460), device=BREAKER),
    "motor_group_ocpd_01": lambda: (
        m.group_ocpd_max_a(
            branch(15, 208, 3, BREAKER), [flc(10, 208, 3), flc(10, 208, 3), flc(7.5, 208, 3)], "inverse_time_breaker"
        ).value
    ),
    "motor_branch_ocpd_12": lambda: branch(10, 208, 3, BREAKER),
    "motor_branch_ocpd_13": lambda: branch(15, 208, 3, BREAKER),
    "motor_overload_02": lambda: overload(28.0, 1.15),
    "motor_overload_03": lambda: (
        100.0 * m.overload_max_ratio(Motor(5, 460, 3, service_factor=1.12), cannot_start=True).value
    ),
    "motor_overload_04": lambda: overload(18.0, 1.12, 40.0),
    "motor_annex_D8_01": lambda: branch_ampacity(25, 460, 3),
    "motor_annex_D8_02": lambda: branch_ampacity(30, 460, 3),
    "motor_annex_D8_04": lambda: feeder(*(flc(hp, 460, 3) for hp in (25, 30, 30))),
    "motor_annex_D8_05": lambda: overload(32.0, 1.15),
    "motor_annex_D8_06": lambda: overload(38.0, None, 40.0),
    "motor_annex_D8_07": lambda: branch(25, 460, 3, ONE_TIME_FUSE),
    "motor_annex_D8_08": lambda: branch(30, 460, 3, ONE_TIME_FUSE, "wound_rotor"),
    "motor_annex_D8_09": lambda: (
        m.feeder_ocpd_max_a(branch(25, 460, 3, ONE_TIME_FUSE), [flc(30, 460, 3)] * 2, "fuse").value
    ),
    "feeder_annex_D9_01": lambda: m.branch_min_ampacity_a(40.0, duty_ratio=1.4).value,
    "feeder_annex_D9_02": lambda: m.branch_min_ampacity_a(52.0, duty_ratio=1.4).value,
    # the caller applies a demand factor; the controllers' 125 percent is the feeder rule's
    "feeder_annex_D9_05": lambda: (
        m.feeder_min_ampacity_a([], other_noncontinuous_a=279.0, other_continuous_a=6 * 10.0).value
    ),
    "feeder_annex_D10_01": lambda: power.line_a(95_000, 460, 3, efficiency_ratio=0.9).value,
    "feeder_annex_D10_02": lambda: (
        m.feeder_min_ampacity_a([], other_noncontinuous_a=0.79 * 6 * 133.0, other_continuous_a=60.0).value
    ),
    "rounding_annex_D_01": lambda: power.rounded_load_a(power.line_a(18_600, 240, 1).value).value,
    "vfd_01": lambda: drives.supply_min_ampacity_a(406.0).value,
    "vfd_02": lambda: drives.supply_min_ampacity_a(400.0).value,
    "vfd_03": lambda: drives.supply_min_ampacity_a(2.5).value,
    "vfd_04": lambda: flc(300, 460, 3),
    "vfd_05": lambda: drives.single_phase_input_a(124.0, 230.0, 230.0).value,
}

DROP: dict[str, Answer] = {
    "voltage_drop_01": lambda: vd.dc_drop_v("16", 4, 100).value,
    "voltage_drop_02": lambda: 100.0 * vd.drop_ratio("16", Run(100, 4, 24, "dc")).value,
    "voltage_drop_03": lambda: vd.dc_drop_v("12", 20, 100, by_k=True).value,
    "voltage_drop_04": lambda: 100.0 * vd.dc_drop_v("12", 20, 100, by_k=True).value / 120.0,
    "voltage_drop_05": lambda: vd.dc_drop_v("8", 20, 100, by_k=True).value,
    "voltage_drop_06": lambda: vd.dc_drop_v("8", 10, 140, by_k=True).value,
    "voltage_drop_07": lambda: vd.size_for_drop("14", Run(140, 10, 120)).value,
    "voltage_drop_08": lambda: vd.conductor_ohm(2.57, 20).value,
    "voltage_drop_09": lambda: vd.drop_over_resistance_v(vd.conductor_ohm(2.57, 20), 12).value,
    "effective_impedance_01": lambda: vd.effective_ohm_per_kft("12", 0.85, "pvc").value,
    "effective_impedance_02": lambda: vd.effective_ohm_per_kft("10", 0.85, "steel").value,
    "effective_impedance_03": lambda: vd.effective_ohm_per_kft("8", 0.85, "steel").value,
    "effective_impedance_04": lambda: vd.effective_ohm_per_kft("3/0", 0.85, "steel").value,
    "effective_impedance_05": lambda: vd.effective_ohm_per_kft("250", 0.85, "steel").value,
    "effective_impedance_06": lambda: vd.effective_ohm_per_kft("250", 0.85, "pvc").value,
    "effective_impedance_07": lambda: vd.effective_ohm_per_kft("500", 0.85, "steel").value,
    "effective_impedance_08": lambda: vd.effective_ohm_per_kft("4/0", 0.85, "pvc", "al").value,
    "voltage_drop_10": lambda: vd.ac_drop_v("8", 27, 250, 3, 0.85).value,
    "voltage_drop_11": lambda: vd.ac_drop_v("12", 4.6, 150, 3, 0.85).value,
    "voltage_drop_12": lambda: vd.dc_drop_v("12", 8, 80).value,
}

RACEWAYS: dict[str, Answer] = {
    "conduit_fill_01": lambda: raceways.conductors_area_sqin(FILLINGS[0]).value,
    "conduit_fill_02": lambda: in_emt(0),
    "conduit_fill_03": lambda: raceways.conductors_area_sqin(FILLINGS[1]).value,
    "conduit_fill_04": lambda: in_emt(1),
    "conduit_fill_05": lambda: raceways.max_count("RMC", "3/4", "12").value,
    "conduit_count_01": lambda: raceways.max_count("EMT", "1/2", "14").value,
    "conduit_count_02": lambda: raceways.max_count("EMT", "1/2", "12").value,
    "conduit_count_03": lambda: raceways.max_count("EMT", "1/2", "10").value,
    "conduit_count_04": lambda: raceways.max_count("EMT", "1/2", "8").value,
    "conduit_count_05": lambda: raceways.max_count("EMT", "3/4", "14").value,
    "conduit_count_06": lambda: raceways.max_count("EMT", "3/4", "12").value,
    "conduit_count_07": lambda: raceways.max_count("EMT", "3/4", "8").value,
    "conduit_count_08": lambda: raceways.max_count("EMT", "1", "2").value,
    "conduit_count_09": lambda: raceways.max_count("RMC", "1/2", "14").value,
    "conduit_count_10": lambda: raceways.max_count("RMC", "1/2", "10").value,
    "conduit_count_11": lambda: raceways.max_count("PVC40", "1/2", "12").value,
    "conduit_count_12": lambda: raceways.max_count("FMC", "1/2", "10").value,
    "conduit_count_13": lambda: raceways.max_count("FMC", "3/4", "12").value,
    "conduit_count_14": lambda: raceways.max_count("EMT", "1-1/4", "12").value,
}

AMPACITY: dict[str, Answer] = {
    "ampacity_adjustment_01": lambda: c.adjusted_ampacity_a("12", THHN, Surroundings(current_carrying=9)).value,
    "ampacity_adjustment_02": lambda: c.adjusted_ampacity_a("12", THHN, Surroundings(current_carrying=8)).value,
    "ampacity_adjustment_03": lambda: (
        c.adjusted_ampacity_a("2", Wire(insulation="THWN"), Surroundings(current_carrying=6)).value
    ),
    "ampacity_adjustment_04": lambda: (
        c.adjusted_ampacity_a("10", THHN, Surroundings(ambient_degc=c.degc_of_degf(120))).value
    ),
    "ampacity_adjustment_05": lambda: tables.ambient_factor(55, 90).value,
    "ampacity_adjustment_06": lambda: c.adjusted_ampacity_a("12", THHN, Surroundings(ambient_degc=55)).value,
    "ampacity_adjustment_07": lambda: c.adjusted_ampacity_a("12", THHN, Surroundings(current_carrying=4)).value,
    "ocpd_next_size_01": lambda: c.ocpd_max_for_conductor_a("6", 75).value,
    "ocpd_next_size_02": lambda: c.ocpd_max_for_conductor_a("6", 60).value,
    "ocpd_next_size_03": lambda: c.ocpd_max_for_ampacity_a(1100.0).value,
    "continuous_load_01": lambda: c.continuous_min_a(9 * 1.5).value,
    "continuous_load_02": lambda: c.ocpd_for_load_a(c.continuous_min_a(9 * 1.5)).value,
    "continuous_load_03": lambda: c.ocpd_for_load_a(c.continuous_min_a(14.7)).value,
    "continuous_load_04": lambda: c.continuous_min_a(18).value,
    "continuous_load_05": lambda: c.ocpd_for_load_a(c.continuous_min_a(18)).value,
    "continuous_load_06": lambda: power.line_a(15_000, 230, 1).value,
    "continuous_load_07": lambda: c.continuous_min_a(65.2).value,
    "continuous_load_08": lambda: size(81.5, 75),
    "continuous_load_09": lambda: c.ocpd_for_load_a(81.5).value,
    "continuous_load_10": lambda: power.line_a(9 * 4 * 50, 115, 1).value,
    "egc_01": lambda: grounds.egc_required_cmil("4", "250", "350").value,
    "egc_02": lambda: grounds.egc_size(300, "350", "250").value,
    "egc_03": lambda: grounds.egc_size(20, "6", "12").value,
    "egc_04": lambda: grounds.egc_required_cmil("10", "8", "1").value,
    "egc_05": lambda: grounds.egc_size(50, "1", "8").value,
    "egc_06": lambda: grounds.egc_size(200, "500", "3/0").value,
    "egc_07": lambda: grounds.egc_size(100, "3").value,
    "egc_08": lambda: grounds.egc_size(30, "10").value,
}

POWER: dict[str, Answer] = {
    "power_01": lambda: power.real_w(20, 400, 3).value,
    "power_02": lambda: power.real_w(20, 415, 3).value,
    "power_03": lambda: power.apparent_va(20, 208, 3).value,
    "power_04": lambda: power.apparent_va(20, 120, 1).value,
    "power_05": lambda: power.line_a(225_000, 480, 3).value,
    "power_06": lambda: power.line_to_neutral_v(480).value,
    "power_07": lambda: power.line_to_neutral_v(208).value,
    "power_08": lambda: power.delta_lines_a(14, 14, 14).value[0],
    "power_09": lambda: power.real_w(20, 240, 1).value,
    "power_10": lambda: heater_ohm(240, power.real_w(20, 240, 1).value),
    "power_11": lambda: power.apparent_va(flc(5, 460, 3), 460, 3).value,
    "power_12": lambda: power.vector_va(350, 550).value,
    "power_13": lambda: power.power_factor(350, 550).value,
}

CONTROL: dict[str, Answer] = {
    "control_transformer_01": lambda: winding(100, 120),
    "control_transformer_02": lambda: winding(300, 600),
    "control_transformer_03": lambda: cp.inrush_withstand_a(cp.transformer_winding_a(300, 600)).value,
    "control_transformer_04": lambda: winding(100, 480),
    "control_transformer_05": lambda: winding(500, 480),
    "control_transformer_06": lambda: cp.transformer_primary_max_a(winding(1500, 480), "primary_and_secondary").value,
    "control_transformer_07": lambda: cp.transformer_primary_ocpd_a(winding(1500, 480), "primary_and_secondary").value,
    "control_transformer_08": lambda: cp.selection_inrush_va(60, 240).value,
    "control_transformer_09": lambda: cp.transformer_secondary_max_a(winding(150, 120)).value,
    "class2_01": lambda: cp.class2_limits("dc", 50, inherently_limited=False).value.nameplate_a,
    "class2_02": lambda: cp.class2_ocpd_max_a("ac", 24).value,
    "working_space_01": lambda: clearances.working_depth_ft(panel.v_to_ground("480Y/277 V").value, 2).value,
    "working_space_02": lambda: max(
        panel.working_space(panel.v_to_ground("208Y/120 V"), facing).value.depth_inch / 12.0
        for facing in ("open room", "grounded wall", "live parts")
    ),
}

SENSORS: dict[str, Answer] = {
    "resistors_01": lambda: 30.0 / dc_circuit(30.0, 15, 15, 15)[0],
    "resistors_02": lambda: dc_circuit(120.0, 150)[0],
    "resistors_03": lambda: power.real_w(10, 4.5, 1).value,
    "resistors_04": lambda: dc_circuit(20.0, 2, 4, 5)[0],
    "resistors_05": lambda: vd.drop_over_resistance_v(12.0, 5).value,
    "resistors_06": lambda: 9.0 / dc_circuit(9.0, 10_000, 2_000, 1_000)[0],
    "resistors_07": lambda: 1e3 * dc_circuit(9.0, 10_000, 2_000, 1_000)[0],
    "resistors_08": lambda: 1e6 * dc_circuit(9.0, 3_000, 10_000, 5_000, series=True)[0],
    "resistors_09": lambda: dc_circuit(9.0, 3_000, 10_000, 5_000, series=True)[1][1],
    "rtd_01": lambda: sensors.pt_ohm(-40, 100).value,
    "rtd_02": lambda: sensors.pt_ohm(-20, 100).value,
    "rtd_03": lambda: sensors.pt_ohm(20, 100).value,
    "rtd_04": lambda: sensors.pt_ohm(100, 100).value,
    "rtd_05": lambda: sensors.pt_ohm(150, 100).value,
    "rtd_06": lambda: sensors.pt_ohm(300, 100).value,
    "rtd_07": lambda: sensors.pt_ohm(150).value,
    "rtd_08": lambda: sensors.pt_tolerance_k(100, "b").value,
    "rtd_09": lambda: (
        sensors.pt_degc(
            sensors.pt_ohm(150).value + vd.conductor_ohm(tables.dc_resistance_ohm_per_kft("18").value, 2 * 100).value
        ).value
        - 150.0
    ),
    "ntc_01": lambda: sensors.ntc_10k_curve("2").degc(335_671),
    "ntc_02": lambda: sensors.ntc_10k_curve("2").degc(242_195),
    "ntc_03": lambda: sensors.ntc_10k_curve("2").degc(32_650.9),
    "ntc_04": lambda: sensors.beta_curve(10_000, 3950).ohm(50),
    "divider_01": lambda: divider(10_000, 10_000),
    "divider_02": lambda: divider(10_000, 3_601),
    "awg_01": lambda: tables.awg_diameter_inch("12").value,
    "awg_02": lambda: tables.awg_diameter_inch("4/0").value,
    "awg_03": lambda: (1000.0 * tables.awg_diameter_inch("18").value) ** 2,
}

ANSWERS: dict[str, Answer] = {**MOTORS, **DROP, **RACEWAYS, **AMPACITY, **POWER, **CONTROL, **SENSORS}

NOT_APPLICABLE: dict[str, str] = {
    "motor_annex_D8_03": (
        "secondary conductors of a wound-rotor motor (430.23): no kitchen fan has one, and the rules carry none; "
        "its table row and protection are run (D8_02, D8_06, D8_08)"
    ),
    "feeder_annex_D9_03": "a plain sum of elevator currents at 140 percent each (620.13), which no fan feeder uses",
    "feeder_annex_D9_04": "demand factor of elevators (620.14); the rules leave demand factors to the caller",
}
