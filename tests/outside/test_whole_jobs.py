"""Worked examples as whole jobs: the motors, drives and loads of a row stand in a job, and sizing the job answers it.

Expected values stand in ``worked_examples_electrical.csv``. The rows of Annex D example D9 and the sum of D10 go by the
elevator rules (620.14 and its demand factors), which no kitchen has; D10's drive current and the pattern of its feeder,
drives and continuous controllers on one line, are run under 430.24 instead, with the figure worked out by hand.
"""

from __future__ import annotations

from functools import cache

import pytest
from tests.design.support import LIBRARY, LINES, ec, fan, hood, kitchen
from tests.outside.worked_answers import read_examples

from galleyproof.design.build import build_design
from galleyproof.job import model as m
from galleyproof.job.wiring import Feeder, Wiring
from galleyproof.sizing import Sizes, size

pytestmark = pytest.mark.outside

ROWS = {e.id: e for e in read_examples()}
# name -> (system, lines of a motor's circuit)
SYSTEMS = {
    "460": ("480Y/277 V", LINES),
    "208": ("208Y/120 V", LINES),
    "230 3-phase": ("240 V delta", LINES),
    "230": ("120/240 V 1-phase", ("L1", "L2")),
    "115": ("120/240 V 1-phase", ("L1",)),
}


def motor(hp: float, on: str, **more: object) -> m.Motor:
    """A nameplate without a service factor or a rise, unless the row says one."""
    volts = float(on.split()[0])
    return m.Motor(
        **{"hp": hp, "volts": volts, "phases": len(SYSTEMS[on][1]) // 3 * 2 + 1, "service_factor": 1.0, **more}
    )


def job(
    on: str,
    drives: list[m.Drive],
    *,
    device: str = "breaker",
    breaker: float = 400.0,
    terminals: str = "75 degC",
    appliances: tuple[float, ...] = (),
) -> m.Job:
    """Fans of one board with a feeder; the panel's own circuits sit on another board and do not load it."""
    system, lines = SYSTEMS[on]
    numbers = range(1, len(drives) + 1)
    circuits = [
        m.Circuit(tag=f"MP-1/{n}", panelboard="MP-1", lines=lines, breaker=breaker, device=device) for n in numbers
    ]
    hoods = [hood(f"H-{n}") for n in numbers]
    for n, watts in enumerate(appliances, start=1):
        tag = f"MP-1/{100 + n}"
        circuits.append(m.Circuit(tag=tag, panelboard="MP-1", lines=LINES, breaker=20.0))
        one = m.Appliance(tag=f"A-{n}", kind="controller", duty="light", fuel="electric", load=watts, circuit=tag)
        hoods[0] = hoods[0].model_copy(update={"appliances": (*hoods[0].appliances, one)})
    base = kitchen(ec())
    fans = [fan(d, tag=f"EF-{n}", serves=(f"H-{n}",), circuit=f"MP-1/{n}") for n, d in enumerate(drives, start=1)]
    return base.model_copy(
        update={
            "supplies": (*base.supplies, m.Supply(tag="U2", system=system)),
            "panelboards": (
                *base.panelboards,
                m.Panelboard(tag="MP-1", supply="U2", feeder=Feeder(length=10.0, device=device)),
            ),
            "circuits": (*base.circuits, *circuits),
            "hoods": tuple(hoods),
            "exhaust_fans": tuple(fans),
            "wiring": Wiring(terminals=terminals),
            # short runs in the temperature of the tables: no row asks for drop or derating
            "routes": (m.Route(tag="R-1", to="roof", length=5.0), m.Route(tag="R-2", to="electrical room", length=5.0)),
            "site": m.Site(roof_ambient=86.0),
        }
    )


@cache
def started(
    on: str,
    powers: tuple[float, ...],
    device: str = "breaker",
    terminals: str = "75 degC",
    plate: tuple[tuple[str, object], ...] = (),
) -> Sizes:
    """Motors on starters, sized whole."""
    drives: list[m.Drive] = [m.Starter(kind="starter", motor=motor(hp, on, **dict(plate))) for hp in powers]
    return sized(job(on, drives, device=device, terminals=terminals))


def sized(whole: m.Job) -> Sizes:
    return size(whole, build_design(whole), LIBRARY)


DELAY, ONCE = "dual-element fuse", "non-time-delay fuse"
WOUND = (("rotor", "wound"),)
AMPACITY, WIRE, BREAKER = "MP-1/1 least ampacity", "MP-1/1 branch conductor by ampacity", "MP-1/1 largest breaker"
OVERLOAD = "EF-1 largest overload setting"
FEED, FEED_WIRE = "MP-1 feeder least ampacity", "MP-1 feeder conductor"

# id -> (what `started` takes, the number that answers)
MOTORS: dict[str, tuple[tuple[object, ...], str]] = {
    "motor_branch_conductor_01": (("230 3-phase", (7.5,)), "EF-1 full-load current"),
    "motor_branch_conductor_02": (("230 3-phase", (7.5,)), AMPACITY),
    "motor_branch_conductor_03": (("230 3-phase", (7.5,)), WIRE),
    "motor_branch_ocpd_02": (("230 3-phase", (7.5,)), BREAKER),
    "motor_branch_conductor_04": (("115", (1.0,)), AMPACITY),
    "motor_branch_conductor_05": (("115", (1.0,)), WIRE),
    "motor_branch_conductor_06": (("115", (1.0,), "breaker", "60 degC"), WIRE),
    "motor_overload_01": (("115", (1.0,), "breaker", "75 degC", (("nameplate_amps", 14.0),)), OVERLOAD),
    "motor_branch_ocpd_03": (("115", (1.0,)), BREAKER),
    "motor_feeder_conductor_01": (("230", (7.5, 5.0)), FEED),
    "motor_feeder_conductor_02": (("230", (7.5, 5.0)), FEED_WIRE),
    "motor_branch_conductor_07": (("230", (5.0,)), AMPACITY),
    "motor_branch_conductor_08": (("230", (5.0,), "breaker", "60 degC"), WIRE),
    "motor_feeder_conductor_03": (("230", (5.0, 5.0, 5.0, 5.0)), FEED),
    "motor_feeder_conductor_04": (("230", (5.0, 5.0, 5.0, 5.0), "breaker", "60 degC"), FEED_WIRE),
    "motor_branch_ocpd_04": (("230", (5.0,)), BREAKER),
    "motor_branch_conductor_09": (("208", (5.0,)), AMPACITY),
    "motor_branch_conductor_10": (("208", (5.0,)), WIRE),
    "motor_branch_ocpd_05": (("208", (5.0,)), f"MP-1/1 largest {DELAY}"),
    "motor_branch_ocpd_06": (("208", (5.0,)), BREAKER),
    "motor_branch_conductor_11": (("460", (40.0,)), AMPACITY),
    "motor_branch_conductor_12": (("460", (40.0,)), WIRE),
    "motor_branch_ocpd_07": (("460", (40.0, 10.0, 5.0), DELAY), f"MP-1/1 largest {DELAY}"),
    "motor_branch_ocpd_08": (("460", (40.0, 10.0, 5.0), DELAY), f"MP-1/3 largest {DELAY}"),
    "motor_branch_ocpd_09": (("460", (40.0, 10.0, 5.0), DELAY), f"MP-1/2 largest {DELAY}"),
    "motor_feeder_conductor_05": (("460", (40.0, 10.0, 5.0), DELAY), FEED),
    "motor_feeder_conductor_06": (("460", (40.0, 10.0, 5.0), DELAY), FEED_WIRE),
    "motor_feeder_ocpd_01": (("460", (40.0, 10.0, 5.0), DELAY), f"MP-1 largest feeder {DELAY}"),
    "motor_feeder_conductor_07": (("460", (20.0, 10.0)), FEED),
    "motor_feeder_conductor_08": (("460", (20.0, 10.0)), FEED_WIRE),
    "motor_branch_ocpd_10": (("460", (20.0, 10.0)), BREAKER),
    "motor_branch_ocpd_11": (("460", (20.0, 10.0)), "MP-1/2 largest breaker"),
    "motor_feeder_ocpd_02": (("460", (20.0, 10.0)), "MP-1 largest feeder breaker"),
    "motor_feeder_conductor_09": (("460", (25.0, 20.0, 10.0)), FEED),
    "motor_feeder_ocpd_03": (("460", (25.0, 20.0, 10.0), ONCE), f"MP-1 largest feeder {ONCE}"),
    "motor_feeder_ocpd_04": (("460", (25.0, 20.0, 10.0), DELAY), f"MP-1 largest feeder {DELAY}"),
    "motor_feeder_ocpd_05": (("460", (25.0, 20.0, 10.0)), "MP-1 largest feeder breaker"),
    "motor_branch_ocpd_12": (("208", (10.0,)), BREAKER),
    "motor_branch_ocpd_13": (("208", (15.0,)), BREAKER),
    "motor_overload_02": (
        ("230", (5.0,), "breaker", "75 degC", (("nameplate_amps", 28.0), ("service_factor", 1.15))),
        OVERLOAD,
    ),
    "motor_overload_04": (
        (
            "460",
            (15.0,),
            "breaker",
            "75 degC",
            (("nameplate_amps", 18.0), ("service_factor", 1.12), ("temperature_rise_kelvin", 40.0)),
        ),
        OVERLOAD,
    ),
    "motor_annex_D8_01": (("460", (25.0,)), AMPACITY),
    "motor_annex_D8_02": (("460", (30.0,), "breaker", "75 degC", WOUND), AMPACITY),
    "motor_annex_D8_04": (("460", (25.0, 30.0, 30.0)), FEED),
    "motor_annex_D8_05": (
        ("460", (25.0,), "breaker", "75 degC", (("nameplate_amps", 32.0), ("service_factor", 1.15))),
        OVERLOAD,
    ),
    "motor_annex_D8_06": (
        (
            "460",
            (30.0,),
            "breaker",
            "75 degC",
            (*WOUND, ("nameplate_amps", 38.0), ("temperature_rise_kelvin", 40.0)),
        ),
        OVERLOAD,
    ),
    "motor_annex_D8_07": (("460", (25.0,), ONCE), f"MP-1/1 largest {ONCE}"),
    "motor_annex_D8_08": (("460", (30.0,), ONCE, "75 degC", WOUND), f"MP-1/1 largest {ONCE}"),
}


@pytest.mark.parametrize("name", MOTORS)
def test_motor_example_as_a_whole_job(name: str) -> None:
    arguments, key = MOTORS[name]
    value = started(*arguments).by_key[key].result.value
    assert ROWS[name].met_by(value), (ROWS[name].given, ROWS[name].asked, value, ROWS[name].expected_value)


def test_annex_d8_feeder_with_its_two_kinds_of_motor() -> None:
    """motor_annex_D8_09: one 25 hp squirrel cage, two 30 hp wound rotor, on fuses without time delay."""
    cage = m.Starter(kind="starter", motor=motor(25.0, "460"))
    wound = m.Starter(kind="starter", motor=motor(30.0, "460", rotor="wound"))
    sizes = sized(job("460", [cage, wound, wound], device=ONCE))
    row = ROWS["motor_annex_D8_09"]
    assert row.met_by(sizes.by_key[f"MP-1 largest feeder {ONCE}"].result.value)
    assert ROWS["motor_annex_D8_04"].met_by(sizes.by_key[FEED].result.value)


def test_group_of_motors_on_one_breaker() -> None:
    """motor_group_ocpd_01: 15, 10, 10 and 7.5 hp at 208 V on one branch breaker (430.53(C))."""
    drives: list[m.Drive] = [m.Starter(kind="starter", motor=motor(hp, "208")) for hp in (15.0, 10.0, 10.0, 7.5)]
    whole = job("208", drives, breaker=200.0)
    fans = tuple(f.model_copy(update={"circuit": "MP-1/1"}) for f in whole.exhaust_fans)
    sizes = sized(whole.model_copy(update={"exhaust_fans": fans}))
    number = sizes.by_key[BREAKER]
    assert ROWS["motor_group_ocpd_01"].met_by(number.result.value)
    assert number.ok


@pytest.mark.parametrize(("name", "rated_a"), [("vfd_01", 406.0), ("vfd_02", 400.0), ("vfd_03", 2.5)])
def test_drive_supply_as_a_whole_job(name: str, rated_a: float) -> None:
    drive = m.Vfd(kind="VFD", motor=motor(1.0, "460"), rated_input_amps=rated_a)
    sizes = sized(job("460", [drive]))
    assert ROWS[name].met_by(sizes.by_key[AMPACITY].result.value)


def test_drives_and_continuous_loads_of_annex_d10_under_430_24() -> None:
    """Six drives of 133 A (feeder_annex_D10_01, rounded) and six controllers of 10 A, continuous.

    430.24: 1.25 x 133 A + 5 x 133 A = 831.25 A; 1.25 x 60 A = 75 A as in feeder_annex_D9_05; together 906.25 A.
    """
    drive_a = float(ROWS["feeder_annex_D10_01"].expected_value)
    drives: list[m.Drive] = [m.Vfd(kind="VFD", motor=motor(100.0, "460"), rated_input_amps=drive_a) for _ in range(6)]
    watts = 10.0 * 480.0 * 3**0.5  # 10 A in each line of the 480 V system
    sizes = sized(job("460", drives, appliances=(watts,) * 6))
    assert sizes.by_key[FEED].result.value == pytest.approx(906.25, abs=1e-6)
    text = " ".join(sizes.by_key[FEED].result.lines())
    assert text.count("125% of the largest motor") == 1


def test_lights_as_a_whole_job() -> None:
    """continuous_load_01 and _02: nine ballasts of 1.5 A at 120 V, 13.5 A, burning three hours and more."""
    base = kitchen(ec())
    lit = hood(lights=m.Lights(load=13.5 * 120.0, circuit="LP-1/9", lamps="incandescent"))
    switches = (*base.switches, m.WallSwitch(tag="SW-2", kind="on-off", does="lights"))
    sizes = sized(base.model_copy(update={"hoods": (lit,), "switches": switches}))
    assert ROWS["continuous_load_01"].met_by(sizes.by_key["LP-1/9 least ampacity"].result.value)
    assert ROWS["continuous_load_02"].met_by(sizes.by_key["LP-1/9 smallest breaker"].result.value)


def test_ground_grows_with_its_conductors_as_a_whole_job() -> None:
    """egc_03: a 20 A circuit whose conductors are 6 AWG where 12 AWG would serve."""
    base = kitchen(ec())
    lit = hood(lights=m.Lights(load=1200.0, circuit="LP-1/9", lamps="incandescent"))
    circuits = tuple(c.model_copy(update={"awg": "6"}) if c.tag == "LP-1/9" else c for c in base.circuits)
    switches = (*base.switches, m.WallSwitch(tag="SW-2", kind="on-off", does="lights"))
    sizes = sized(base.model_copy(update={"hoods": (lit,), "switches": switches, "circuits": circuits}))
    assert sizes.by_key["LP-1/9 branch conductor by ampacity"].result.value == "12"
    assert ROWS["egc_03"].met_by(sizes.by_key["LP-1/9 equipment ground"].result.value)
