"""Field cases whose answer is a finding, a number or the order of things: checked on the job, no search needed."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from tests.design.support import LIBRARY, LINES, example, fan, kitchen, makeup, shutdown_system, starter, vfd, wired
from tests.outside.field_kitchens import GAS, field

from galleyproof.air.job_air import check_air
from galleyproof.checkout.bench import standing
from galleyproof.checkout.diagnosis import Diagnosis
from galleyproof.checkout.doubts import doubt
from galleyproof.circuit.behaviours._curves import sensor_degc, sensor_ohm
from galleyproof.circuit.meter import LOW_IMPEDANCE_OHM, VOLTMETER_OHM
from galleyproof.circuit.world import build_machine
from galleyproof.design.build import build_design
from galleyproof.design.model import TerminalId
from galleyproof.errors import InputError
from galleyproof.findings import Finding
from galleyproof.job import model as m
from galleyproof.job.airside import MakeupAir
from galleyproof.job.read import read_job
from galleyproof.job.wiring import Raceway
from galleyproof.job.write import dump_job
from galleyproof.package.trades import QUESTIONS
from galleyproof.proof.model import Proof
from galleyproof.proof.prove import prove
from galleyproof.proof.reference import reference_state
from galleyproof.proof.slips import Change, apply
from galleyproof.proof.story import tell
from galleyproof.sizing import size
from galleyproof.sizing.model import Sizes
from galleyproof.sizing.shutdowns import never_substitutes

STATIC: dict[str, list[Callable[[], None]]] = {}


def case(number: str) -> Callable[[Callable[[], None]], Callable[[], None]]:
    """Register a check of a case."""

    def register(check: Callable[[], None]) -> Callable[[], None]:
        STATIC.setdefault(number, []).append(check)
        return check

    return register


def proof_of(job: m.Job) -> Proof:
    return prove(job, build_design(job), LIBRARY)


def sizes_of(job: m.Job) -> Sizes:
    return size(job, build_design(job), LIBRARY)


def codes(findings: tuple[Finding, ...]) -> set[str]:
    return {f.code for f in findings}


@case("F03")
def sequence_backwards() -> None:
    """A job that asks for it is refused, and the consequence is said in one line."""
    drive = starter()
    job = kitchen(
        drive,
        LINES,
        exhaust_fans=(fan(drive, on_release="stop"),),
        makeup_units=(makeup().model_copy(update={"on_release": "keeps running"}),),
    )
    found = proof_of(job).findings
    assert {"FIRE-SEQUENCE", "FIRE-MAKEUP"} <= codes(found)
    (backwards,) = [f for f in found if f.code == "FIRE-SEQUENCE"]
    assert "EF-1" in f"{backwards.item} {backwards.message}"


@case("F05")
def fan_downstream_of_the_shunt() -> None:
    """The fan is named, and so is what it is lost with."""
    job = example("fan-on-shunted-circuit")
    proof = proof_of(job)
    assert "FIRE-STARVED" in codes(proof.findings)
    assert any("released" in what for what in proof.lost_when["EF-1"])


@case("T01")
def latent_unless_supervised() -> None:
    """A note on the coil whose supply can be gone without a sign; none on a contactor, which fails safe."""
    (noted,) = [f.message for f in proof_of(field("shutdowns").job).findings if f.code == "SHUNT-LATENT"]
    assert "LP-1/10" in noted
    assert "LP-1/12" not in noted


@case("T02")
def coil_ohms() -> None:
    """Tens to hundreds of ohms between its leads, no way from them to line or load of its breaker."""
    kitchen_ = field("shunt")
    ohms = kitchen_.reading("nothing is wrong", "dead: ohms SD-1/coil/C1 SD-1/coil/C2")
    assert isinstance(ohms, float)
    assert 10.0 <= ohms <= 999.0
    bench = kitchen_.bench
    lifted = apply(bench.design, Change(opened=("SD-1/coil/C1", "SD-1/coil/C2")))
    stand = standing(bench.job, lifted, LIBRARY, bench.checkout.steps)
    dead = bench.checkout.preparation("dead").step
    assert 10.0 <= stand.ohms(dead, TerminalId("LP-1/10", "C1"), TerminalId("LP-1/10", "C2")) <= 999.0
    for coil in ("C1", "C2"):
        for main in ("1", "2", "3", "4"):
            assert stand.ohms(dead, TerminalId("LP-1/10", coil), TerminalId("LP-1/10", main)) == math.inf


@case("T09")
def shunt_trip_is_no_ground_fault_protection() -> None:
    """Both stand beside each other: the job's sizes ask for the one and say that the other does not replace it."""
    found = [f for f in sizes_of(field("shutdowns").job).findings if f.code == "GROUND-FAULT"]
    assert found
    assert any("the shunt trip stays" in f.cure for f in found)
    assert any("does not protect a person" in line for line in never_substitutes())


@case("G01")
def gas_waits_for_a_hand() -> None:
    """A gas circuit that opens again by itself is refused."""
    by_itself = GAS.model_copy(update={"reset": "by itself"})
    job = kitchen(fire_systems=shutdown_system(), shutdowns=(by_itself,))
    assert "GAS-REOPENS" in codes(proof_of(job).findings)
    assert "GAS-REOPENS" not in codes(proof_of(kitchen(fire_systems=shutdown_system(), shutdowns=(GAS,))).findings)


@case("G07")
def fed_from_switched_by_lost_when() -> None:
    """Printed for the valve: the shutdown circuit feeds it, and it is lost with that breaker and with a release."""
    made = field("shutdowns")
    proof = proof_of(made.job)
    machine = build_machine(made.job, made.design, LIBRARY)
    story = tell(
        made.design, machine, reference_state(made.job, machine), "GV-1", proof.lost_when["GV-1"], zones=("Z1",)
    )
    assert any("LP-1/8" in s for way in story.ways for s in way.sources)
    assert any("LP-1/8" in what for what in story.lost_when)
    assert any("Z1 released" in what for what in story.lost_when)


@case("G07")
def coils_on_a_circuit_that_trips() -> None:
    """The dependence itself is a finding where the release takes the coils' own supply."""
    assert "SHUTDOWN-TRIPS-ITSELF" in codes(proof_of(example("shutdown-trips-itself")).findings)


def _keeps_running(answer: str) -> m.Job:
    unit = makeup().model_copy(update={"on_release": "keeps running"})
    return kitchen(starter(), LINES, makeup_units=(unit,), authority=m.Authority(supply_air_near_hood=answer))


@case("M02")
def supply_air_is_the_authoritys() -> None:
    """Stops by default, which satisfies both readings; keeps running only when the authority has said so."""
    job = field("starter").job
    assert job.authority.supply_air_near_hood == "not yet confirmed"
    (stops,) = [v for v in proof_of(job).verdicts if v.promise.kind == "fire-makeup"]
    assert stops.situations
    assert not stops.broken
    assert stops.promise.clause.standard == "NFPA 96"
    assert "FIRE-MAKEUP" in codes(proof_of(_keeps_running("not yet confirmed")).findings)
    assert "FIRE-MAKEUP" not in codes(proof_of(_keeps_running("keeps running")).findings)
    question, drawn = QUESTIONS["supply_air_near_hood"]
    assert "make-up air" in question
    assert "both readings" in drawn


@case("D01")
def exhaust_starts_is_the_authoritys() -> None:
    """Drawn so that it starts, which meets both readings, with the number of the clause; the question stays open."""
    job = field("starter").job
    assert job.authority.exhaust_on_release == "not yet confirmed"
    (starts,) = [v for v in proof_of(job).verdicts if v.promise.kind == "fire-exhaust"]
    assert starts.situations
    assert not starts.broken
    assert (starts.promise.clause.standard, starts.promise.clause.place[:5]) == ("NFPA 96", "8.2.3")
    assert "exhaust_on_release" in QUESTIONS


@case("D04")
def every_requirement_names_its_source() -> None:
    """Fuel and power off, reset by hand: NFPA 96, never the electrical code."""
    for verdict in proof_of(field("shutdowns").job).verdicts:
        clause = verdict.promise.clause
        assert clause.standard
        if verdict.promise.kind in ("fire-appliance", "fire-gas", "reset-appliance", "hand-reset", "outage-gas"):
            assert (clause.standard, clause.place[:4]) == ("NFPA 96", "10.4")


@case("D06")
def class_2_beside_power() -> None:
    """Separate raceways as drawn; one for both is refused; reclassified, it is Class 1 and said so."""
    pair, power = "W-EF-1-S", "W-EF-1-P"
    job = kitchen()
    assert not {"RACEWAY-CLASSES"} & codes(sizes_of(job).findings)
    assert all(not {pair, power} <= set(r.cables) for r in sizes_of(job).raceways)
    shared = job.model_copy(update={"raceways": (Raceway(tag="RW-1", runs=(pair, power)),)})
    (refused,) = [f for f in sizes_of(shared).findings if f.code == "RACEWAY-CLASSES"]
    assert "725.136" in " ".join(str(c) for c in refused.basis)
    again = job.model_copy(update={"raceways": (Raceway(tag="RW-1", runs=(pair, power), reclassified=(pair,)),)})
    assert "RACEWAY-RECLASSIFIED" in codes(sizes_of(again).findings)


@case("M07")
def the_signal_stays_above_what_the_burner_needs() -> None:
    """A burner that needs 85 % of the air: the panel never asks for less, and the pair never falls below 8.5 V."""
    unit = makeup("run and speed pairs").model_copy(update={"air": MakeupAir(least_airflow=1360.0)})
    job = kitchen(makeup_units=(unit,))
    floor = 1360.0 / unit.airflow
    (logic,) = [f for f in build_design(job).program.fans if f.fan == "MAU-1"]
    assert logic.min_speed == pytest.approx(floor)
    (row,) = check_air(job).units
    assert row.limits.idle_cfm == pytest.approx(1360.0)
    assert row.limits.clipped_at_idle
    design = build_design(job)
    machine = build_machine(job, design, LIBRARY)
    state = machine.apply(machine.dark(), {f"supply {c.tag}": "present" for c in job.circuits})
    state = machine.apply(state, {"switch SW-1": "on"})
    volts = [machine.volts(state, machine.network.terminals[TerminalId("MAU-1", mark)])[1] for mark in ("S+", "S-")]
    assert volts[0] - volts[1] == pytest.approx(10.0 * floor, abs=0.1)


@case("M11")
def normal_sequence_time() -> None:
    """Called at once, running 30 s later; the sheet says how long to wait."""
    made = field("starter")
    machine = build_machine(made.job, made.design, LIBRARY)
    state = machine.apply(machine.dark(), {f"supply {c.tag}": "present" for c in made.job.circuits})
    moments: list = []
    machine.apply(state, {"switch SW-1": "on"}, history=moments)
    story = [(s.time_s, machine.get(s, "MAU-1.called"), machine.get(s, "MAU-1.speed")) for s in moments]
    assert story[0] == (0.0, True, 0.0)
    assert story[-1] == (30.0, True, 1.0)
    probe = made.bench.checkout.probes[made.probe("on: look MAU-1.speed")]
    assert "allow it 30 s" in probe.words


@case("P02")
def no_neutral_load_on_the_high_leg() -> None:
    """The drawing refuses what the site then does by mistake."""
    job = field("high leg").job
    wild = tuple(c.model_copy(update={"lines": ("L2",)}) if c.tag == "LP-1/9" else c for c in job.circuits)
    with pytest.raises(InputError, match="high leg"):
        read_job(dump_job(job.model_copy(update={"circuits": wild})))


@case("P10")
def control_power_is_added_up() -> None:
    """Control power from two lines over a transformer of 50 VA: an error before anything is built."""
    lines = tuple(c.model_copy(update={"lines": ("L1", "L2")}) if c.tag == "LP-1/1" else c for c in kitchen().circuits)
    panel = m.PanelOptions(circuit="LP-1/1", control_transformer=50.0)
    (over,) = [f for f in sizes_of(kitchen(circuits=lines, panel=panel)).findings if f.code == "CONTROL-POWER-OVER"]
    assert "50" in over.message


@case("P16")
def two_breakers_on_one_net() -> None:
    """Where a drawing joins two feeds, both are named for the lock-out."""
    made = field("lights")
    joined = wired(made.design, "joined", "LP-1/2:2", "LP-1/9:2")
    (named,) = [f for f in prove(made.job, joined, LIBRARY).findings if f.code == "TWO-SOURCES"]
    assert named.item == "LP-1/2, LP-1/9"


@case("V10")
def three_currents() -> None:
    """Supply wires by the drive's rated input, leads by the motor's table current, overload by its nameplate."""
    motor = m.Motor(hp=2.0, volts=200.0, phases=3, nameplate_amps=5.6)
    numbers = sizes_of(kitchen(vfd(rated_input_amps=16.0, motor=motor), LINES)).by_key
    assert numbers["LP-1/2 least ampacity"].result.value == pytest.approx(1.25 * 16.0)
    # NFPA 70 Table 430.250: 2 hp at 208 V takes 7.5 A
    assert numbers["EF-1 full-load current"].result.value == 7.5
    assert numbers["EF-1 largest overload setting"].result.value == pytest.approx(1.25 * 5.6)


@case("S05")
def right_at_room_temperature_only() -> None:
    """A sensor of curve 2 read with the table of curve 3: 0.6 degF off at 70, 3.8 at 120, 11 at 200."""
    for degf, off, within in ((70.0, 0.6, 0.1), (120.0, 3.8, 0.15), (200.0, 11.0, 0.5)):
        shown = sensor_degc("NTC 10k curve 3", sensor_ohm("NTC 10k curve 2", (degf - 32.0) / 1.8)) * 1.8 + 32.0
        assert abs(shown - degf) == pytest.approx(off, abs=within)
    assert sensor_ohm("NTC 10k curve 2", (200.0 - 32.0) / 1.8) == pytest.approx(827.0, rel=0.01)
    assert sensor_ohm("NTC 10k curve 3", (200.0 - 32.0) / 1.8) == pytest.approx(985.0, rel=0.01)


@case("S05")
def a_cup_at_120_shows_it_too() -> None:
    """3.8 degF: what the display of the kitchen shows with 120 degF at the sensor."""
    made = field("curve 3 at 120")
    shown = made.reading("wrong-thermistor-curve/TS-1", "control, H-1 warmed: display TS-1>reads")
    assert shown == pytest.approx(123.8, abs=0.2)


@case("N02")
def no_termination_at_all() -> None:
    """Both ends without their resistor: no reading near any of the others, only what biases the line."""
    made = field("lights")
    both = [made.slips[made.place[f"end-of-line-resistor-missing/{tag}"]] for tag in ("BL-1", "CP1-R1")]
    read = made.bench.pair(*both)
    assert read is not None
    found = read[made.probe("dead: ohms BL-1/A BL-1/B")]
    assert isinstance(found, float)
    assert found > 1000.0


@case("L04")
def glow_of_coupled_volts() -> None:
    """An open conductor beside a live one: 20 to 100 V on an ordinary meter, nothing on a low-impedance one."""
    made = field("shunt")
    wrong = apply(made.design, Change(opened=("SD-1/coil/C1",)))
    bench = made.bench
    stand = standing(bench.job, wrong, LIBRARY, bench.checkout.steps)
    step = bench.checkout.preparation("line").step
    open_end, neutral = TerminalId("FS-1", "2R"), TerminalId("LP-1", "N")
    assert 20.0 <= stand.volts(step, open_end, neutral, "ac", VOLTMETER_OHM) <= 100.0
    assert stand.volts(step, open_end, neutral, "ac", LOW_IMPEDANCE_OHM) < 1.0


@case("X05")
def the_other_range_shows_nothing() -> None:
    """A 0-10 V pair on AC and a coil on DC read about 0, and the range is asked for before the wiring is blamed."""
    made = field("shutdowns")
    bench = made.bench
    stand = standing(bench.job, bench.design, LIBRARY, bench.checkout.steps)
    cooking = bench.checkout.preparation("cooking").step
    signal = (TerminalId("EF-1", "0-10V"), TerminalId("EF-1", "GND"))
    coil = (TerminalId("KM-1", "A1"), TerminalId("KM-1", "A2"))
    assert stand.volts(cooking, *signal, "ac", VOLTMETER_OHM) < 0.1
    assert abs(stand.volts(cooking, *coil, "dc", VOLTMETER_OHM)) < 0.1
    for key, asked in (
        ("cooking: volts DC EF-1:0-10V EF-1:GND", "stand on DC volts"),
        ("cooking: volts AC KM-1:A1 KM-1:A2", "stand on AC volts"),
    ):
        i = made.probe(key)
        probe, expected = bench.checkout.probes[i], made.table.expected[i]
        assert asked in doubt(probe, expected, 0.0)
        assert doubt(probe, expected, bench.right[i]) == ""
        assert f"{probe.kind.removeprefix('volts ')} volts" in probe.words
        # read again on the right range, the first reading is taken for a slip of the hand
        search = Diagnosis(made.table, made.slips)
        for value in (0.0, bench.right[i], bench.right[i]):
            search.add(i, value)
        assert search.suspects(1)[0].slips == ()


@case("X02")
def not_every_ghost_is_harmless() -> None:
    """68 V between the leads: the low-impedance range is asked for; there it is next to nothing, and the unit runs."""
    made = field("wet run")
    i = made.probe("line: volts AC, ordinary meter MAU-1:J1 MAU-1:J2")
    assert "low-impedance" in doubt(made.bench.checkout.probes[i], made.table.expected[i], 68.0)
