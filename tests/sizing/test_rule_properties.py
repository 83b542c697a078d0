"""What holds for every circuit: more load, length, heat or company never gives less; all is protected, by a named rule.

Two places where the code itself asks for less when there is more are shown at the end, so that nobody takes them for
slips: unmarked terminals above 100 A, and grounds that are raised in proportion.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from galleyproof.sizing import conductors as c
from galleyproof.sizing import control_wires, drives, grounds, raceways
from galleyproof.sizing import motors as m
from galleyproof.sizing import voltage_drop as vd
from galleyproof.sizing.conductors import Surroundings, Wire
from galleyproof.sizing.motors import Motor
from galleyproof.sizing.neutrals import CircuitWires
from galleyproof.sizing.raceways import RacewayCircuit
from galleyproof.sizing.steps import Reasoned, SizingError
from galleyproof.sizing.voltage_drop import Run
from galleyproof.tables.conductors import awg_index
from galleyproof.tables.motors import rated_hp_values
from galleyproof.tables.raceways import trade_size_index

few = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
some = settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.too_slow])

loads_a = st.floats(0.5, 60.0)
columns = st.sampled_from([60, 75])
wires = st.sampled_from([Wire(), Wire(insulation="THWN"), Wire(insulation="XHHW-2"), Wire(material="al")])
ambients_degc = st.floats(10.0, 55.0)
companions = st.integers(3, 40)
runs_ft = st.floats(5.0, 400.0)
devices = st.sampled_from(["inverse_time_breaker", "time_delay_fuse", "nontime_delay_fuse"])
three_phase_hp = st.sampled_from([hp for hp in rated_hp_values(3) if hp <= 40.0])
THREE_PHASE_V = st.sampled_from([208.0, 240.0, 480.0])


def light_size(load_a: float, column: int, wire: Wire, around: Surroundings) -> Reasoned[str]:
    """Conductor of a continuous load behind the smallest device that carries it."""
    needed = c.continuous_min_a(load_a)
    device = c.ocpd_for_load_a(needed)
    return c.conductor_size(needed, column, wire, around, load_a=load_a, ocpd_a=device.value)


def motor_size(flc_a: float, column: int, wire: Wire, around: Surroundings) -> Reasoned[str]:
    """Conductor of a motor behind the largest breaker it may have."""
    device = m.branch_ocpd_max_a(flc_a, "inverse_time_breaker")
    needed = m.branch_min_ampacity_a(flc_a)
    return c.conductor_size(needed, column, wire, around, ocpd_a=device.value, ocpd_by_article_430=True)


BEYOND = 10_000  # thicker than any size of the tables


def thickness(rule: Callable[..., Reasoned[str]], *args: Any, **rest: Any) -> int:
    """Place of the size a rule gives; where no size of the tables serves it is beyond them all."""
    try:
        return awg_index(rule(*args, **rest).value)
    except SizingError as refusal:
        if "no size" not in str(refusal):
            raise
        return BEYOND


BOTH = pytest.mark.parametrize("size_of", [light_size, motor_size], ids=["light", "motor"])


@BOTH
@few
@given(loads_a, st.floats(0.0, 40.0), columns, wires, ambients_degc, companions)
def test_more_load_never_gives_a_thinner_conductor(size_of, load_a, more_a, column, wire, ambient, count):
    around = Surroundings(ambient, count)
    less, more = (thickness(size_of, a, column, wire, around) for a in (load_a, load_a + more_a))
    assert more >= less


@BOTH
@few
@given(loads_a, columns, wires, ambients_degc, st.floats(0.0, 25.0), companions, st.integers(0, 20))
def test_heat_and_company_never_give_a_thinner_conductor(size_of, load_a, column, wire, ambient, hotter, count, added):
    here = thickness(size_of, load_a, column, wire, Surroundings(ambient, count))
    assert thickness(size_of, load_a, column, wire, Surroundings(min(ambient + hotter, 60.0), count)) >= here
    assert thickness(size_of, load_a, column, wire, Surroundings(ambient, count + added)) >= here


@BOTH
@few
@given(loads_a, wires, ambients_degc, companions)
def test_a_cooler_terminal_never_gives_a_thinner_conductor(size_of, load_a, wire, ambient, count):
    around = Surroundings(ambient, count)
    at_60, at_75 = (thickness(size_of, load_a, column, wire, around) for column in (60, 75))
    assert at_60 >= at_75


@few
@given(st.floats(0.5, 300.0), st.floats(0.0, 200.0), devices, st.sampled_from(["2020", "2023"]))
def test_more_load_never_lowers_a_device(load_a, more_a, device, edition):
    """The breaker ceiling of a motor, the device of a load, the feeder's device, the packaged unit's."""
    rated = "fuse" if device.endswith("fuse") else "inverse_time_breaker"
    bigger_a = load_a + more_a
    for rule in (
        lambda a: m.branch_ocpd_max_a(a, device, edition=edition).value,
        lambda a: c.ocpd_for_load_a(a, rated, edition=edition).value,
        lambda a: m.feeder_ocpd_max_a(30.0, [a], rated, edition=edition).value,
        lambda a: m.feeder_ocpd_max_a(15.0 + a, [5.0], rated, edition=edition).value,
        lambda a: m.packaged_ocpd_max_a(15.0 + a, rated, edition=edition).value,
        lambda a: c.ocpd_max_for_ampacity_a(15.0 + a, rated, edition=edition).value,
        lambda a: drives.drive_ocpd_max_a(a, rated, edition=edition).value,
    ):
        assert rule(bigger_a) >= rule(load_a)


@few
@given(three_phase_hp, three_phase_hp, THREE_PHASE_V, devices)
def test_a_bigger_motor_never_gets_less(one_hp, two_hp, volts, device):
    small, big = sorted((one_hp, two_hp))
    less, more = (m.full_load_a(Motor(hp, volts, 3)) for hp in (small, big))
    assert more.value >= less.value
    for rule in (
        m.branch_min_ampacity_a,
        m.contactor_min_ac3_a,
        lambda flc: m.disconnect_min_a([flc]),
        lambda flc: m.branch_ocpd_max_a(flc, device),
        lambda flc: m.feeder_min_ampacity_a([flc, 7.0]),
        drives.output_min_ampacity_a,
        drives.single_phase_min_output_a,
        lambda flc: drives.single_phase_input_a(flc, volts, volts),
    ):
        assert rule(more).value >= rule(less).value


@few
@given(
    st.floats(0.1, 40.0),
    st.floats(0.0, 20.0),
    runs_ft,
    st.floats(0.0, 400.0),
    st.sampled_from([("1-phase", 120.0, 1.0), ("1-phase", 208.0, 0.85), ("3-phase", 208.0, 0.85), ("dc", 24.0, 1.0)]),
    st.sampled_from(["14", "12", "10"]),
)
def test_longer_or_more_loaded_runs_never_give_a_thinner_conductor(load_a, more_a, run_ft, more_ft, system, start):
    form, volts, pf = system
    load_a, more_a = (a * volts / 208.0 for a in (load_a, more_a))
    run_ft, more_ft = (ft * min(1.0, volts / 120.0) for ft in (run_ft, more_ft))
    here = Run(run_ft, load_a, volts, form, pf)
    longer = replace(here, run_ft=run_ft + more_ft)
    first = thickness(vd.size_for_drop, start, here)
    assert first >= awg_index(start)
    assert thickness(vd.size_for_drop, start, longer) >= first
    assert thickness(vd.size_for_drop, start, replace(here, load_a=load_a + more_a)) >= first
    if first != BEYOND:  # what it returns holds, by the same rule asked again
        assert vd.drop_ratio(vd.size_for_drop(start, here).value, here).value <= vd.BRANCH_LIMIT_RATIO + 1e-9


@few
@given(st.floats(5.0, 400.0), st.floats(0.0, 400.0), st.floats(0.01, 1.0), st.floats(0.0, 0.5))
def test_a_coil_farther_away_never_gets_a_thinner_pair(run_ft, more_ft, load_a, more_a):
    def pair(ft: float, a: float) -> int:
        return thickness(vd.size_for_coil, "18", 24.0, ft, a, rated_v=24.0)

    assert pair(run_ft + more_ft, load_a) >= pair(run_ft, load_a)
    assert pair(run_ft, load_a + more_a) >= pair(run_ft, load_a)


@few
@given(st.floats(0.0, 30.0), st.floats(0.0, 30.0), st.sampled_from(["Class 1", "motor control", "Class 2"]))
def test_more_control_current_never_gives_a_thinner_wire(load_a, more_a, kind):
    less, more = (control_wires.control_wire_size(a, kind).value for a in (load_a, load_a + more_a))
    assert awg_index(more) >= awg_index(less)


# --- shared raceways ------------------------------------------------------------------------------------------


@st.composite
def raceway_circuits(draw, most: int = 5, drops: bool = False) -> list[RacewayCircuit]:
    """Motor and light circuits of one route, each with its device."""
    circuits = []
    for n in range(draw(st.integers(1, most))):
        load_a = draw(st.floats(1.0, 40.0))
        three = draw(st.booleans())
        run = Run(draw(runs_ft), load_a, 208.0, "3-phase", 0.85) if three else Run(draw(runs_ft), load_a, 120.0)
        limits = ((run, 0.03, "running"),) if drops else ()
        if three:
            device, needed = m.branch_ocpd_max_a(load_a, "inverse_time_breaker").value, 1.25 * load_a
            circuits.append(RacewayCircuit(f"F{n}", needed, CircuitWires(3), 75, device, True, drops=limits))
        else:
            needed = c.continuous_min_a(load_a).value
            device = c.ocpd_for_load_a(needed).value
            one = CircuitWires(1, "own", draw(st.booleans()))
            circuits.append(RacewayCircuit(f"L{n}", needed, one, 75, device, load_a=load_a, drops=limits))
    return circuits


def held(found: Reasoned[raceways.SharedRaceway]) -> tuple[dict[str, int], int, int]:
    """Places of the sizes by circuit, of the ground and of the trade size."""
    value = found.value
    by_name = {name: awg_index(size.value) for name, size in value.sizes}
    return by_name, awg_index(value.ground_size.value), trade_size_index(value.trade_size)


def grown(circuit: RacewayCircuit, by: float) -> RacewayCircuit:
    """The same circuit with more load and the device for it."""
    if circuit.ocpd_by_article_430:
        flc_a = circuit.min_a / 1.25 * by
        return replace(circuit, min_a=1.25 * flc_a, ocpd_a=m.branch_ocpd_max_a(flc_a, "inverse_time_breaker").value)
    load_a = (circuit.load_a or 0.0) * by
    needed = c.continuous_min_a(load_a).value
    return replace(circuit, min_a=needed, load_a=load_a, ocpd_a=c.ocpd_for_load_a(needed).value)


def not_less(before: Reasoned[raceways.SharedRaceway], after: Reasoned[raceways.SharedRaceway]) -> None:
    sizes, ground, trade = held(before)
    more_sizes, more_ground, more_trade = held(after)
    assert all(more_sizes[name] >= place for name, place in sizes.items())
    assert more_ground >= ground
    assert more_trade >= trade


def settle(circuits: list[RacewayCircuit], ambient: float = 30.0, kind: str = "EMT"):
    """Settled, or None where no trade size holds it."""
    try:
        return raceways.settle_shared_raceway(circuits, kind, Surroundings(ambient_degc=ambient))  # type: ignore[arg-type]
    except SizingError:
        return None


@some
@given(raceway_circuits(3), st.floats(1.0, 1.6), st.data())
def test_more_load_in_a_raceway_makes_nothing_smaller(circuits, by, data):
    n = data.draw(st.integers(0, len(circuits) - 1))
    more = [grown(one, by) if i == n else one for i, one in enumerate(circuits)]
    before, after = settle(circuits), settle(more)
    if before is None or after is None:
        assert before is None or after is None  # what did not fit never fits with more
        assert before is not None or after is None
        return
    not_less(before, after)


@some
@given(raceway_circuits(4), ambients_degc, st.floats(0.0, 15.0))
def test_heat_makes_nothing_in_a_raceway_smaller(circuits, ambient, hotter):
    before, after = settle(circuits, ambient), settle(circuits, min(ambient + hotter, 60.0))
    if before is None or after is None:
        assert after is None
        return
    not_less(before, after)


@some
@given(raceway_circuits(4))
def test_one_circuit_more_makes_nothing_in_a_raceway_smaller(circuits):
    before, after = settle(circuits[:-1]) if len(circuits) > 1 else None, settle(circuits)
    if before is None or after is None:
        assert len(circuits) == 1 or after is None
        return
    not_less(before, after)


@some
@given(raceway_circuits(3, drops=True), st.floats(1.0, 2.0))
def test_longer_runs_make_nothing_in_a_raceway_smaller(circuits, by):
    longer = [
        replace(one, drops=tuple((replace(run, run_ft=run.run_ft * by), a, b) for run, a, b in one.drops))
        for one in circuits
    ]
    before, after = settle(circuits), settle(longer)
    if before is None or after is None:
        assert after is None
        return
    not_less(before, after)


@some
@given(raceway_circuits(5, drops=True), st.randoms(use_true_random=False), st.sampled_from(["EMT", "PVC40"]))
def test_order_does_not_matter(circuits, random, kind):
    shuffled = list(circuits)
    random.shuffle(shuffled)
    assert settle(circuits, 30.0, kind) == settle(shuffled, 30.0, kind)
    currents = [one.min_a for one in circuits]
    assert m.feeder_min_ampacity_a(currents) == m.feeder_min_ampacity_a(currents[::-1])
    assert m.disconnect_min_a(currents) == m.disconnect_min_a(currents[::-1])


@some
@given(raceway_circuits(4, drops=True), ambients_degc)
def test_grounds_and_protection_in_a_raceway(circuits, ambient):
    """No ground above its phases; every conductor protected by its device, by a rule that its reasoning names."""
    found = settle(circuits, ambient)
    if found is None:
        return
    value = found.value
    around = Surroundings(ambient, value.current_carrying)
    by_name = dict(value.sizes)
    assert awg_index(value.ground_size.value) <= max(awg_index(s.value) for s in by_name.values())
    for circuit in circuits:
        size = by_name[circuit.name]
        own = grounds.egc_size(circuit.ocpd_a, size.value, c.sizes()[0])
        assert awg_index(own.value) <= awg_index(size.value)
        places = {cite.place for cite in size.basis}
        ampacity = c.usable_ampacity_a(size.value, circuit.terminal_degc, circuit.wire, around).value
        if circuit.ocpd_by_article_430:
            assert {"240.4(G)", "430.52", "430.32"} <= places
            flc_a = circuit.min_a / 1.25
            assert circuit.ocpd_a <= m.branch_ocpd_max_a(flc_a, "inverse_time_breaker").value
            # the overload at 125 percent at most never lets more through than the conductor carries
            assert ampacity >= 1.25 * flc_a - 1e-6
        else:
            assert "240.4" in places
            top = c.ocpd_max_for_conductor_a(size.value, circuit.terminal_degc, wire=circuit.wire, around=around)
            assert circuit.ocpd_a <= top.value
            assert ampacity >= (circuit.load_a or 0.0) - 1e-9
        # every chosen size tells why the thinner ones are not enough
        thinner = [s for s in c.sizes() if awg_index(s) < awg_index(size.value)]
        assert all(any(text.startswith(f"{s} ") for text in size.passed_over) for s in thinner)


@few
@given(
    st.sampled_from([15.0, 20.0, 30.0, 40.0, 60.0, 100.0, 200.0, 400.0]),
    st.sampled_from(c.sizes()),
    st.sampled_from(c.sizes()),
    st.sampled_from(["cu", "al"]),
)
def test_a_ground_never_exceeds_its_phase_conductors(ocpd_a, one, two, metal):
    needed, installed = sorted((one, two), key=awg_index)
    phase = "cu" if metal == "cu" else "al"
    found = grounds.egc_size(ocpd_a, installed, needed, metal, phase)
    assert awg_index(found.value) <= awg_index(installed)
    shared = grounds.shared_egc_size([found, grounds.egc_size(20.0, "12")], [installed, "12"])
    assert awg_index(shared.value) <= max(awg_index(installed), awg_index("12"))
    assert awg_index(shared.value) >= min(awg_index(found.value), awg_index(installed))


@few
@given(loads_a, columns, wires, ambients_degc, companions, st.sampled_from(["2020", "2023"]))
def test_every_number_cites_the_edition_and_its_steps_end_in_it(load_a, column, wire, ambient, count, edition):
    needed = c.continuous_min_a(load_a, edition=edition)
    try:
        found = c.conductor_size(needed, column, wire, Surroundings(ambient, count), edition=edition)
    except SizingError:
        assert count > 9  # only in a crowd does nothing up to 500 kcmil carry it
        return
    assert found.basis
    assert all(cite.edition == edition for cite in found.basis if cite.standard == "NFPA 70")
    assert found.steps[0] == needed.steps[0]
    assert any(found.value in step.text for step in found.steps)


# --- where the code asks for less -----------------------------------------------------------------------------


def test_unmarked_terminals_above_100_a_take_the_75_degc_column():
    """110.14(C)(1): 100 A goes by 60 degC (1 AWG, 110 A), 101 A by 75 degC (2 AWG, 115 A)."""
    sizes = []
    for need_a in (100.0, 101.0):
        column = c.terminal_column_degc(need_a)
        sizes.append(c.conductor_size(need_a, column).value)
    assert sizes == ["1", "2"]


def test_a_raised_ground_may_shrink_with_more_load():
    """250.122(B) goes by the ratio: 30 A raised from 10 to 6 takes a 6 AWG ground, 40 A from 8 to 6 an 8 AWG one."""
    assert grounds.egc_size(30.0, "6", "10").value == "6"
    assert grounds.egc_size(40.0, "6", "8").value == "8"


def test_the_cannot_start_ceiling_falls_at_100_a():
    """430.52(C)(1) exception 2: 400 percent up to 100 A, 300 percent above (from memory)."""
    at, above = (m.branch_ocpd_max_a(a, "inverse_time_breaker", cannot_start=True).value for a in (100.0, 101.0))
    assert (at, above) == (400.0, 300.0)
