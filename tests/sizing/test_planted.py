"""One error planted in a kitchen that sizes cleanly, and exactly its finding comes out."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from tests.sizing.job_support import (
    LINES,
    circuit,
    codes,
    ec,
    example,
    fan,
    hood,
    kitchen,
    motor_job,
    routed,
    serious,
    shutdown_system,
    sized,
    with_circuit,
)

from galleyproof.job import model as m
from galleyproof.job.wiring import Enclosure, Feeder, Raceway, Wiring

SCHOOL = example("school-kitchen")
HOSPITAL = example("hospital")


def change_fan(job: m.Job, tag: str, **changes: object) -> m.Job:
    """A job with one exhaust fan changed."""
    fans = tuple(f.model_copy(update=changes) if f.tag == tag else f for f in job.exhaust_fans)
    return job.model_copy(update={"exhaust_fans": fans})


def change_drive(job: m.Job, tag: str, **changes: object) -> m.Job:
    """A job with the drive of one exhaust fan changed."""
    drive = next(f.drive for f in job.exhaust_fans if f.tag == tag)
    return change_fan(job, tag, drive=drive.model_copy(update=changes))


def change_motor(job: m.Job, tag: str, **changes: object) -> m.Job:
    """A job with the motor of one exhaust fan changed."""
    drive = next(f.drive for f in job.exhaust_fans if f.tag == tag)
    return change_drive(job, tag, motor=drive.motor.model_copy(update=changes))


def panel(job: m.Job, **changes: object) -> m.Job:
    """A job with its panel changed."""
    return job.model_copy(update={"panel": job.panel.model_copy(update=changes)})


def wiring(job: m.Job, **changes: object) -> m.Job:
    """A job with its wiring changed."""
    return job.model_copy(update={"wiring": job.wiring.model_copy(update=changes)})


def site(job: m.Job, **changes: object) -> m.Job:
    """A job with its temperatures changed."""
    return job.model_copy(update={"site": job.site.model_copy(update=changes)})


def feeder(job: m.Job, **values: object) -> m.Job:
    """A job with a feeder of its first panelboard."""
    first, *rest = job.panelboards
    board = first.model_copy(update={"feeder": Feeder(**values)})
    return job.model_copy(update={"panelboards": (board, *rest)})


def small(**sections: object) -> m.Job:
    """A kitchen with an EC fan of 4 A on 10 A."""
    return with_circuit(kitchen(ec(), **sections), "LP-1/2", breaker=10.0)


def lit(*watts: float) -> m.Job:
    """A kitchen with lights over every hood, all on one switch."""
    hoods = tuple(hood(f"H-{n}", lights=m.Lights(load=w, circuit="LP-1/9")) for n, w in enumerate(watts, start=1))
    switches = (
        m.WallSwitch(tag="SW-1", kind="on-off", does="fans"),
        m.WallSwitch(tag="SW-2", kind="on-off", does="lights"),
    )
    return small(hoods=hoods, switches=switches, exhaust_fans=(fan(ec(), serves=tuple(h.tag for h in hoods)),))


def transformer(va: float) -> m.Job:
    """A kitchen whose control power comes from two lines over a transformer."""
    job = with_circuit(small(), "LP-1/1", lines=("L1", "L2"))
    return panel(job, control_transformer=va)


def damper(load_va: float, roof_ft: float, control_awg: str | None) -> m.Job:
    """A kitchen with a 24 V damper on the roof."""
    dampers = (m.Damper(tag="D-1", fan="EF-1", volts=24.0, load=load_va, end_switch=True),)
    drive = m.Starter(kind="starter", motor=m.Motor(hp=1.0, volts=208.0, phases=3))
    job = with_circuit(kitchen(drive, LINES, dampers=dampers), "LP-1/2", breaker=15.0)
    return panel(routed(job, "roof", roof_ft), control_awg=control_awg)


def gas_valve(load_va: float, gas_ft: float, control_awg: str | None) -> m.Job:
    """A kitchen with a 120 V gas valve on the shutdown circuit."""
    valve = m.GasShutdown(kind="gas valve", tag="GV-1", zone="Z1", load=load_va)
    job = small(fire_systems=shutdown_system(), shutdowns=(valve,))
    return panel(routed(job, "gas room", gas_ft), control_awg=control_awg)


def roof_fan(**circuit_more: object) -> m.Job:
    """A kitchen with a 10 hp fan, 30.8 A by Table 430.250, on a hot roof."""
    return site(motor_job(10.0, breaker=80.0, route_ft=20.0, **circuit_more), roof_ambient=125.0)


def single_phase_drive(**more: object) -> m.Job:
    """A 2 hp, 208 V motor, 7.5 A, on a drive that is fed from two lines."""
    drive = m.Vfd(kind="VFD", motor=m.Motor(hp=2.0, volts=208.0, phases=3), input_phases=1, **more)
    return with_circuit(kitchen(drive, ("L1", "L2")), "LP-1/2", breaker=25.0)


def three_motors(**values: object) -> m.Job:
    """Three 5 hp motors on a fed board."""
    one = circuit(kitchen(ec()), "LP-1/2", lines=LINES, breaker=40.0)
    circuits = tuple(one.model_copy(update={"tag": f"LP-1/{n}"}) for n in (21, 22, 23))
    base = kitchen(ec())
    motor = m.Starter(kind="starter", motor=m.Motor(hp=5.0, volts=208.0, phases=3))
    fans = tuple(fan(motor, tag=f"EF-{n}", serves=(f"H-{n}",), circuit=f"LP-1/{20 + n}") for n in (1, 2, 3))
    hoods = tuple(hood(f"H-{n}") for n in (1, 2, 3))
    job = base.model_copy(
        update={
            "circuits": (*(c for c in base.circuits if c.tag != "LP-1/2"), *circuits),
            "exhaust_fans": fans,
            "hoods": hoods,
        }
    )
    return feeder(job, **values) if values else job


SOUND: dict[str, m.Job] = {
    "motor": motor_job(5.0, breaker=40.0),
    "lights": lit(700.0, 500.0),
    "transformer": transformer(100.0),
    "damper": damper(8.0, 60.0, None),
    "gas valve": gas_valve(20.0, 60.0, None),
    "roof fan": roof_fan(),
    "single-phase drive": single_phase_drive(rated_input_amps=18.0),
    "fed board": three_motors(length=50.0, protection=70.0),
}


@pytest.mark.parametrize("name", SOUND)
def test_the_kitchens_are_clean_before_anything_is_planted(name: str) -> None:
    assert codes(sized(SOUND[name])) == []


# name: (job with one error, code, item, words of the message, words of the cure)
PLANTED: dict[str, tuple[Callable[[], m.Job], str, str, tuple[str, ...], tuple[str, ...]]] = {
    # 5 hp at 208 V: 16.7 A, 20.875 A needed; 14 AWG carries 20 A at 75 degC
    "undersized wire": (
        lambda: motor_job(5.0, breaker=40.0, awg="14"),
        "WIRE-THIN",
        "LP-1/2",
        ("14 AWG", "20 A", "20.875 A"),
        ("12 AWG",),
    ),
    # 12 AWG carries 25 A at 75 degC, 20 A at 60 degC
    "75 degC column on 60 degC terminals": (
        lambda: motor_job(5.0, breaker=40.0, awg="12", terminals="60 degC"),
        "WIRE-TERMINAL",
        "LP-1/2",
        ("12 AWG", "60 degC terminal column", "75 degC column only"),
        ("10 AWG",),
    ),
    # 8 AWG THWN-2, 55 A x 0.76 at 125 degF (51.7 degC) = 41.8 A is enough; see the next for what is not
    "hot roof": (
        lambda: site(roof_fan(awg="10"), roof_ambient=140.0),
        "WIRE-THIN",
        "LP-1/2",
        ("10 AWG", "38.5 A"),
        ("8 AWG",),
    ),
    # 3 x 20.4 A of lights and appliances on 12 AWG: the 25 A breaker needs 10 AWG by 240.4(D)
    "breaker above the small conductor": (
        lambda: with_circuit(lit(700.0, 500.0), "LP-1/9", breaker=25.0, awg="12"),
        "WIRE-PROTECTION",
        "LP-1/9",
        ("12 AWG", "20 A at most", "25 A"),
        ("10 AWG",),
    ),
    "240 V motor on 208 V": (
        lambda: change_motor(SCHOOL, "EF-1", volts=240.0),
        "MOTOR-VOLTS",
        "EF-1",
        ("240 V", "208 V", "-13%"),
        ("208 V",),
    ),
    "1,450 W of lights on one contact": (
        lambda: lit(1450.0),
        "LIGHTS-OVER",
        "H-1",
        ("1450 W", "1200 W"),
        ("split",),
    ),
    "Class 2 pair in a power raceway": (
        lambda: SCHOOL.model_copy(update={"raceways": (Raceway(tag="RW-1", runs=("W-EF-1-P", "W-EF-1-S")),)}),
        "RACEWAY-CLASSES",
        "RW-1",
        ("line voltage", "Class 2"),
        ("separate raceway", "barrier", "run as Class 1"),
    ),
    # the 24 V supply's input is 60 VA: 120 %
    "transformer at 120 percent": (
        lambda: transformer(50.0),
        "CONTROL-POWER-OVER",
        "CP1-T2",
        ("50 VA", "120%"),
        ("75 VA",),
    ),
    # 60 VA of 75 VA is 80 %; the horn's relay adds nothing there, so a damper of 8 VA at 120 V makes it 91 %
    "transformer above 80 percent": (
        lambda: transformer(75.0).model_copy(
            update={"dampers": (m.Damper(tag="D-1", fan="EF-1", volts=120.0, load=8.0, end_switch=False),)}
        ),
        "CONTROL-POWER-TIGHT",
        "CP1-T2",
        ("75 VA", "91%", "80%"),
        ("100 VA",),
    ),
    # the least possible on one phase is sqrt(3) x 7.5 A = 13 A
    "single-phase drive not derated": (
        lambda: single_phase_drive(rated_input_amps=8.0),
        "DRIVE-SINGLE-PHASE",
        "EF-1",
        ("8 A", "12.99 A"),
        ("single-phase input",),
    ),
    # common practice: half the output on one phase
    "single-phase drive by its three-phase output": (
        lambda: single_phase_drive(rated_output_amps=8.0),
        "DRIVE-SINGLE-PHASE",
        "EF-1",
        ("8 A", "half"),
        ("15 A",),
    ),
    "drive too small": (
        lambda: change_drive(SCHOOL, "EF-2", rated_output_amps=9.6),
        "DRIVE-SMALL",
        "EF-2",
        ("9.6 A", "10.6 A"),
        ("10.6 A",),
    ),
    # 2 hp at 208 V, 7.5 A: 225 % is 16.875 A, so 15 A stays the most when it does not start
    "fuse over the cannot-start ceiling": (
        lambda: with_circuit(
            change_motor(SCHOOL, "EF-1", starts_hard=True), "LP-2/2", breaker=20.0, device="dual-element fuse"
        ),
        "OCPD-HIGH",
        "LP-2/2",
        ("20 A dual-element fuse", "15 A"),
        ("15 A",),
    ),
    # 5 hp, 16.7 A: 250 % is 41.75 A, 45 A by the next size up
    "breaker over its maximum": (
        lambda: motor_job(5.0, breaker=50.0),
        "OCPD-HIGH",
        "LP-1/2",
        ("50 A", "45 A"),
        ("45 A",),
    ),
    # 3 hp, 10.6 A
    "breaker that trips while all is well": (
        lambda: motor_job(3.0, breaker=10.0),
        "OCPD-LOW",
        "LP-1/2",
        ("10 A", "13.25 A"),
        ("15 A",),
    ),
    # 14.4 kW at 208 V three-phase is 39.97 A, continuous: 49.96 A
    "appliance on a small breaker": (
        lambda: with_circuit(SCHOOL, "LP-2/20", breaker=45.0),
        "OCPD-LOW",
        "LP-2/20",
        ("45 A", "below the 49.96 A that"),
        ("50 A",),
    ),
    "breaker of no standard rating": (
        lambda: motor_job(5.0, breaker=38.0),
        "OCPD-RATING",
        "LP-1/2",
        ("38 A",),
        ("35 A or 40 A",),
    ),
    "breaker that cannot open the fault": (
        lambda: motor_job(5.0, breaker=40.0, interrupting_rating=5000.0),
        "OCPD-INTERRUPT",
        "LP-1/2",
        ("5000 A", "10000 A"),
        ("10000 A",),
    ),
    "panel rated 5 kA on 10 kA": (
        lambda: panel(SCHOOL, short_circuit_rating=5000.0),
        "SCCR-LOW",
        "CP1",
        ("5000 A", "10000 A"),
        ("10000 A",),
    ),
    # 16.7 A over 240 ft of 12 AWG
    "voltage drop of a stated size": (
        lambda: motor_job(5.0, breaker=40.0, route_ft=200.0, awg="12"),
        "DROP-HIGH",
        "LP-1/2",
        ("12 AWG", "running", "3.0%"),
        ("8 AWG",),
    ),
    # 8 VA is 0.333 A; over 1500 ft of 18 AWG both ways 1 ohm/kft x 7.95 x 3 kft x 0.333 A = 7.9 V
    "coil that does not pull in": (
        lambda: damper(8.0, 1500.0, "18"),
        "COIL-PICKUP",
        "D-1",
        ("18 AWG", "20.4 V"),
        ("14 AWG",),
    ),
    "coil that no size helps": (
        lambda: damper(60.0, 700.0, None),
        "COIL-PICKUP",
        "D-1",
        ("would be needed", "20.4 V"),
        ("interposing relay",),
    ),
    # 18 AWG is protected by 7 A at most; the shutdown circuit has 15 A
    "control wire behind a power breaker": (
        lambda: gas_valve(20.0, 60.0, "16"),
        "CONTROL-THIN",
        "LP-1/8",
        ("16 AWG", "15 A"),
        ("14 AWG",),
    ),
    "raceway overfilled": (
        lambda: SCHOOL.model_copy(
            update={"raceways": (Raceway(tag="RW-1", runs=("W-A-1-P", "W-A-3-P"), trade_size="1/2"),)}
        ),
        "RACEWAY-FULL",
        "RW-1",
        ("EMT 1/2", "7 conductors"),
        ("EMT 1",),
    ),
    "raceway with a run that is not there": (
        lambda: SCHOOL.model_copy(update={"raceways": (Raceway(tag="RW-1", runs=("W-EF-1-P", "W-EF-7-P")),)}),
        "RACEWAY-RUN",
        "RW-1",
        ("W-EF-7-P",),
        ("W-",),
    ),
    # nameplate 7 A, service factor 1.15: 125 % is 8.75 A
    "overload set too high": (
        lambda: change_drive(change_motor(SCHOOL, "EF-1", nameplate_amps=7.0), "EF-1", overload_set=9.5),
        "OVERLOAD-HIGH",
        "EF-1",
        ("9.5 A", "8.75 A"),
        ("8.75 A",),
    ),
    "overload set below the nameplate": (
        lambda: change_drive(change_motor(SCHOOL, "EF-1", nameplate_amps=7.0), "EF-1", overload_set=6.0),
        "OVERLOAD-LOW",
        "EF-1",
        ("6 A", "7 A"),
        ("8.75 A",),
    ),
    "contactor too small": (
        lambda: change_drive(SCHOOL, "EF-1", contactor_amps=7.0),
        "CONTACTOR-SMALL",
        "EF-1",
        ("7 A", "7.5 A"),
        ("7.5 A",),
    ),
    # 115 % of 7.5 A is 8.625 A
    "disconnect too small": (
        lambda: change_fan(SCHOOL, "EF-1", disconnect_amps=8.0),
        "DISCONNECT-SMALL",
        "EF-1-QB",
        ("8 A", "8.625 A"),
        ("8.625 A",),
    ),
    # 250.122: 40 A asks for 10 AWG
    "ground too thin": (
        lambda: motor_job(5.0, breaker=40.0, awg="8", ground_awg="12"),
        "GROUND-THIN",
        "LP-1/2",
        ("12 AWG", "grows with them"),
        ("AWG",),
    ),
    "terminal too small": (
        lambda: with_circuit(example("ferry-cafe"), "LP-1/3", awg="6"),
        "TERMINAL-SMALL",
        "LP-1/3",
        ("6 AWG", "8 AWG", "EF-1"),
        ("larger terminals",),
    ),
    "clearance": (
        lambda: panel(HOSPITAL, clear_in_front=36.0),
        "CLEARANCE",
        "CP1",
        ("36 in", "42 in", "277 V"),
        ("42 in",),
    ),
    "small hot enclosure": (
        lambda: panel(SCHOOL, enclosure=Enclosure(width=16.0, height=20.0, depth=8.0)),
        "PANEL-HOT",
        "CP1",
        ("122 degF",),
        ("larger enclosure",),
    ),
    "THHN on the roof": (
        lambda: wiring(motor_job(5.0, breaker=40.0), insulation="THHN"),
        "INSULATION-WET",
        "LP-1/2",
        ("THHN", "outdoors"),
        ("THWN-2",),
    ),
    "roof hotter than the tables": (
        lambda: site(motor_job(5.0, breaker=40.0), roof_ambient=200.0),
        "AMBIENT-HOT",
        "LP-1/2",
        ("93.3",),
        ("cooler place",),
    ),
    # a unit marked 25 A at most
    "packaged unit above its nameplate": (
        lambda: SCHOOL.model_copy(
            update={
                "makeup_units": tuple(
                    u.model_copy(update={"control": u.control.model_copy(update={"max_protection": 20.0})})
                    for u in SCHOOL.makeup_units
                )
            }
        ),
        "OCPD-HIGH",
        "LP-2/14",
        ("25 A", "20 A"),
        ("MAU-1",),
    ),
    # three 16.7 A motors: 45 A + 2 x 16.7 A + 0.78 A of control = 79.2 A, so 70 A is the most; the load needs 55 A
    "feeder device too large": (
        lambda: three_motors(length=50.0, protection=125.0),
        "FEEDER-HIGH",
        "LP-1",
        ("125 A",),
        ("at most",),
    ),
    "feeder device too small": (
        lambda: three_motors(length=50.0, protection=50.0),
        "FEEDER-LOW",
        "LP-1",
        ("50 A",),
        ("60 A",),
    ),
    "feeder conductor too thin": (
        lambda: three_motors(length=50.0, protection=70.0, awg="8"),
        "WIRE-THIN",
        "LP-1",
        ("8 AWG",),
        ("AWG",),
    ),
    "nameplate that rules and is not known": (
        lambda: change_motor(SCHOOL, "EF-1", current_by="multispeed"),
        "NAMEPLATE-NEEDED",
        "EF-1",
        ("multispeed",),
        ("nameplate_amps",),
    ),
    # 430.248/430.250 hold 3 and 5 hp, not 4
    "motor that the table does not have": (
        lambda: change_motor(motor_job(5.0, breaker=30.0), "EF-1", hp=4.0, nameplate_amps=13.0),
        "MOTOR-ROW",
        "EF-1",
        ("4 hp", "nearest: 3 hp, 5 hp"),
        ("table",),
    ),
}


@pytest.mark.parametrize("name", PLANTED)
def test_exactly_the_planted_error_is_found(name: str) -> None:
    make, code, item, said, cured = PLANTED[name]
    sizes = sized(make())
    assert codes(sizes) == [(code, item)], [str(f.message) for f in serious(sizes)]
    (finding,) = serious(sizes)
    for words in said:
        assert words in finding.message, finding.message
    if name != "packaged unit above its nameplate":
        for words in cured:
            assert words in finding.cure, finding.cure
    assert finding.cure
    assert code in ("RACEWAY-RUN", "LIGHTS-OVER") or finding.basis, "a finding names its clause"


def test_the_reclassified_pair_may_share_and_is_told_its_conditions() -> None:
    raceway = Raceway(tag="RW-1", runs=("W-EF-1-P", "W-EF-1-S"), reclassified=("W-EF-1-S",))
    sizes = sized(SCHOOL.model_copy(update={"raceways": (raceway,)}))
    assert codes(sizes) == []
    note = next(f for f in sizes.findings if f.code == "RACEWAY-RECLASSIFIED")
    assert "Class 2 marking off" in note.cure
    assert sizes.raceway_by_tag["RW-1"].energy_class == "line voltage and Class 1"


def test_a_size_that_nobody_stated_is_raised_instead_and_says_why() -> None:
    sizes = sized(motor_job(5.0, breaker=40.0, route_ft=200.0))
    assert codes(sizes) == []
    number = sizes.by_key["LP-1/2 branch conductor"]
    assert number.result.value == "8"
    assert any("raised from 12 AWG for voltage drop" in s.text for s in number.result.steps)
    assert any(text.startswith("12 AWG: running") for text in number.result.passed_over)


def test_a_coil_raises_its_run_and_says_why() -> None:
    sizes = sized(damper(8.0, 1500.0, None))
    assert codes(sizes) == []
    number = sizes.by_key["W-D-1-S conductors"]
    # 16 AWG, 4.99 ohm/kft: 24 V - 2 x 1.5 kft x 4.99 x 0.333 A = 19 V; 14 AWG, 3.14: 20.9 V
    assert number.result.value == "14"
    assert any("coil D-1 lies at its end" in s.text for s in number.result.steps)


def test_wiring_defaults_are_the_usual_ones() -> None:
    usual = Wiring()
    assert (usual.branch_drop, usual.total_drop, usual.insulation, usual.terminals) == (0.03, 0.05, "THWN-2", "75 degC")


# --- what a person may write that no rule can take ----------------------------------------------------------------


def test_a_run_of_miles_is_refused_with_its_length() -> None:
    sizes = sized(damper(8.0, 12000.0, None))
    found = {f.code: f for f in serious(sizes)}
    assert set(found) == {"RUN-LONG", "COIL-PICKUP"}
    # 12,000 ft to the roof, 50 ft to the board, 15 ft beside the fan
    assert "12065 ft" in found["RUN-LONG"].message
    assert "longer than a mile" in found["COIL-PICKUP"].message


def test_a_load_above_every_conductor_says_what_to_do() -> None:
    """150 hp at 208 V takes 396 A: 125 percent is above the 380 A of 500 kcmil."""
    sizes = sized(motor_job(150.0, breaker=600.0))
    found = {f.code: f for f in serious(sizes)}
    assert "CONDUCTOR-NONE" in found
    assert "parallel" in found["CONDUCTOR-NONE"].message
    assert "split the load" in found["CONDUCTOR-NONE"].cure


def test_a_raceway_that_no_trade_size_holds_says_so() -> None:
    sizes = sized(motor_job(125.0, breaker=600.0))
    full = [f for f in serious(sizes) if f.code == "RACEWAY-FULL"]
    assert full
    assert all("trade size 2" in f.message and "split" in f.cure for f in full)


def test_a_voltage_between_the_columns_goes_by_the_nameplate_and_says_why() -> None:
    """277 V single-phase motors stand in no table (hospital, EF-10)."""
    number = sized(HOSPITAL).by_key["EF-10 full-load current"]
    assert number.result.value == 6.6
    assert any("is not a column" in s.text for s in number.result.steps)
