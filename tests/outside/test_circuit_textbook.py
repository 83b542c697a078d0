"""Circuits whose answer is known in closed form: the engine, and a circuit simulator beside it.

Each test names where the circuit comes from. "First course" stands for what every introductory text on electric
circuits derives (series and parallel, divider, bridge, ladder, theorems of superposition, Thevenin, Norton, Millman,
phasors, three-phase); the formulas are from memory and short enough to be checked by hand. "Field case" stands for a
fault that electricians report; its figures are computed from the closed form beside it.
"""

from __future__ import annotations

import cmath
import math

import pytest
from tests.outside.spice import spice
from tests.solver.bench_circuit import Circuit, Settled

from galleyproof.circuit.export import export_network
from galleyproof.tables.sensors import ntc_10k_curve

pytestmark = pytest.mark.outside

EXACT = 1e-9
ROOT3 = math.sqrt(3.0)


class Both:
    """A settled circuit that answers for the engine only where the simulator says the same."""

    def __init__(self, settled: Settled, form: str) -> None:
        self.settled = settled
        self.form = form
        network = settled.machine.network
        part = export_network(network, lambda slot: settled.machine.get(settled.state, slot), form)  # type: ignore[arg-type]
        frequency = network.frequency_hz
        self._names = part.node_of
        self._simulated = spice().solve(part.text(), form, frequency, set(part.node_of.values()))
        self._tied = part.tied

    def volts(self, a: str, b: str = "earth") -> complex:
        """Voltage from ``b`` to ``a`` [V]; both programs must agree on it."""
        ours = self.settled.volts(self.form, a, b)
        names = [self._names[self.settled.circuit.nodes[n]] for n in (a, b)]
        groups = {self._tied.get(n, "0") for n in names}
        assert len(groups) == 1, f"{a} and {b} do not hang together: their difference means nothing"
        theirs = self._simulated[names[0]] - self._simulated[names[1]]
        largest = max(abs(v) for v in self._simulated.values())
        assert abs(ours - theirs) <= EXACT * largest
        return ours

    def amps(self, name: str) -> complex:
        """The engine's current through an element [A], held against Ohm's law on the agreed voltage."""
        ours = self.settled.amps(self.form, name)
        circuit = self.settled.circuit
        node = {number: word for word, number in circuit.nodes.items()}
        for branch in circuit.branches:
            if branch.name == name and not branch.slot:
                y = branch.y_ac if self.form == "ac" else branch.g_dc
                assert ours == pytest.approx(y * self.volts(node[branch.a], node[branch.b]), rel=EXACT, abs=1e-12)
        return ours


def ac(circuit: Circuit, **values: object) -> Both:
    return Both(circuit.settle(values), "ac")


def dc(circuit: Circuit, **values: object) -> Both:
    return Both(circuit.settle(values), "dc")


def close(value: complex, rel: float = EXACT) -> object:
    """Equal to within rounding; zero means a picovolt."""
    return pytest.approx(value, rel=rel, abs=1e-9)


# ---- neutrals and supplies ------------------------------------------------------------------------------------
def split_phase() -> Circuit:
    """120/240 V, three wires, grounded centre."""
    c = Circuit()
    c.ac("one", "L1", "earth", 120)
    c.ac("two", "L2", "earth", 120, 180)
    return c


@pytest.mark.parametrize(("watts", "volts"), [((100, 500), (200, 40)), ((100, 400), (192, 48)), ((60, 60), (120, 120))])
def test_open_neutral_on_120_240(watts: tuple[float, float], volts: tuple[float, float]):
    """Field case (common practice): the shared neutral opens and two 120 V loads stand in series across 240 V."""
    c = split_phase()
    c.load("a", "L1", "n", 120, watts[0])
    c.load("b", "L2", "n", 120, watts[1])
    c.contact("neutral", "n", "earth")
    whole = ac(c, neutral=True)
    assert abs(whole.volts("L1", "n")) == close(120)
    assert abs(whole.volts("L2", "n")) == close(120)
    broken = ac(c)
    assert abs(broken.volts("L1", "n")) == close(volts[0])
    assert abs(broken.volts("L2", "n")) == close(volts[1])
    assert abs(broken.amps("a")) == close(abs(broken.amps("b")))


def test_open_neutral_on_208():
    """Field case (common practice): the same on 208Y/120 V: 173 V and 35 V."""
    c = Circuit()
    c.ac("a", "L1", "earth", 120)
    c.ac("b", "L2", "earth", 120, -120)
    c.load("small", "L1", "n", 120, 100)
    c.load("large", "L2", "n", 120, 500)
    c.contact("neutral", "n", "earth")
    broken = ac(c)
    assert abs(broken.volts("L1", "n")) == close(120 * ROOT3 * 5 / 6)
    assert abs(broken.volts("L2", "n")) == close(120 * ROOT3 / 6)
    assert abs(broken.volts("L1", "n")) == pytest.approx(173, abs=0.5)
    assert abs(broken.volts("L2", "n")) == pytest.approx(35, abs=0.5)


def test_neutral_current_of_a_three_wire_system():
    """First course: on 120/240 V the neutral carries the difference of the two legs."""
    c = split_phase()
    c.load("a", "L1", "n", 120, 1200)
    c.load("b", "L2", "n", 120, 480)
    c.ohm("neutral", "n", "earth", 1e-3)
    both = ac(c)
    assert abs(both.amps("neutral")) == pytest.approx(10 - 4, rel=1e-3)


def test_high_leg_of_a_delta():
    """NFPA 70 110.15, 408.3(E) (from memory): a 240 V delta grounded at one coil's middle has a leg at 208 V."""
    c = Circuit()
    c.ac("a", "A", "earth", 120)
    c.ac("c", "C", "earth", 120, 180)
    # the third corner of the triangle stands on the middle of the opposite side, at right angles
    c.ac("b", "B", "earth", 120 * ROOT3, 90)
    c.ohm("lamp", "B", "earth", 144)
    c.ohm("right", "A", "earth", 144)
    both = ac(c)
    for x, z in (("A", "B"), ("B", "C"), ("C", "A")):
        assert abs(both.volts(x, z)) == close(240)
    assert abs(both.volts("A")) == close(120)
    assert abs(both.volts("B")) == pytest.approx(208, abs=0.2)
    # a 120 V, 100 W part on that leg takes three times its watts
    assert abs(both.amps("lamp")) ** 2 * 144 == close(3 * abs(both.amps("right")) ** 2 * 144)


def test_two_feeds_on_one_wire():
    """Millman's theorem, first course; field case of a back-fed switch leg (common practice)."""
    c = Circuit()
    c.ac("near", "n1", "earth", 120, 0, 0.5)
    c.ac("far", "n2", "earth", 120, -120, 0.25)
    c.ohm("lamp", "wire", "earth", 144)
    c.contact("switch", "n1", "wire")
    c.contact("second feed", "n2", "wire")
    expected = (120 / 0.5 + cmath.rect(120, math.radians(-120)) / 0.25) / (1 / 0.5 + 1 / 0.25 + 1 / 144)
    assert ac(c, **{"switch": True, "second feed": True}).volts("wire") == close(expected)
    # with its own breaker off the wire is still live
    alone = ac(c, **{"second feed": True})
    assert abs(alone.volts("wire")) == close(120 * 144 / 144.25)


def test_lost_common_finds_a_sneak_path():
    """Field case (common practice): the common of two coils is lost and a pilot lamp feeds them in series."""
    c = Circuit()
    c.ac("hot", "L", "earth", 120)
    c.contact("s1", "L", "x")
    c.ohm("coil 1", "x", "common", 600)
    c.ohm("coil 2", "y", "common", 600)
    c.ohm("lamp", "y", "earth", 1200)
    both = ac(c, s1=True)
    assert both.volts("common") == close(120 * 1800 / 2400)
    assert abs(both.volts("common", "y")) == close(30)


# ---- three phases ---------------------------------------------------------------------------------------------
def three_phase(line_v: float) -> Circuit:
    c = Circuit()
    for name, degrees in (("A", 0), ("B", -120), ("C", 120)):
        c.ac(f"phase {name}", name, "earth", line_v / ROOT3, degrees)
        c.contact(f"line {name}", name, f"T{name}")
    return c


LINES = {"line A": True, "line B": True, "line C": True}


def power(both: Both, names: tuple[str, ...], ohm: float) -> float:
    return sum(abs(both.amps(n)) ** 2 * ohm for n in names)


def test_line_current_of_three_line_to_line_loads():
    """First course: balanced delta, line current is root 3 times the current of one side."""
    c = Circuit()
    for name, degrees in (("A", 0), ("B", -120), ("C", 120)):
        c.ac(f"phase {name}", name, "earth", 480 / ROOT3, degrees)
        c.ohm(f"line {name}", name, f"T{name}", 1e-6)
    for x, z in (("A", "B"), ("B", "C"), ("C", "A")):
        c.ohm(x + z, f"T{x}", f"T{z}", 48)
    both = ac(c)
    assert abs(both.amps("AB")) == pytest.approx(10, rel=1e-6)
    assert abs(both.amps("line A")) == pytest.approx(10 * ROOT3, rel=1e-6)


def test_delta_with_a_phase_lost():
    """First course: half the power is left, and the dead terminal floats midway between the live ones."""
    c = three_phase(480)
    sides = (("A", "B"), ("B", "C"), ("C", "A"))
    for x, z in sides:
        c.ohm(x + z, f"T{x}", f"T{z}", 48)
    names = tuple(x + z for x, z in sides)
    whole = ac(c, **LINES)
    lost = ac(c, **(LINES | {"line C": False}))
    assert power(whole, names, 48) == close(3 * 480**2 / 48)
    assert power(lost, names, 48) == close(power(whole, names, 48) / 2)
    assert lost.volts("TC") == close((lost.volts("TA") + lost.volts("TB")) / 2)
    assert abs(lost.volts("TB", "TC")) == close(240)
    # a voltmeter from the dead terminal to earth shows half a phase voltage, not 0
    assert abs(lost.volts("TC")) == close(480 / ROOT3 / 2)


def test_wye_without_neutral_with_a_phase_lost():
    """First course: two legs stand in series across the line; each has 0.866 of its voltage, half the power is left."""
    c = three_phase(208)
    for x in "ABC":
        c.ohm(x, f"T{x}", "star", 12)
    whole = ac(c, **LINES)
    lost = ac(c, **(LINES | {"line C": False}))
    assert abs(whole.volts("star")) == close(0)
    assert abs(lost.volts("TA", "star")) == close(104)
    assert abs(lost.volts("TA", "star")) / abs(whole.volts("TA", "star")) == close(ROOT3 / 2)
    assert power(lost, ("A", "B", "C"), 12) == close(power(whole, ("A", "B", "C"), 12) / 2)
    assert abs(lost.amps("C")) == close(0)


def test_wye_with_neutral_with_a_phase_lost():
    """First course: the others keep their voltage and the neutral carries a full phase current."""
    c = three_phase(208)
    for x in "ABC":
        c.ohm(x, f"T{x}", "star", 12)
    c.contact("neutral", "star", "earth")
    lost = ac(c, **(LINES | {"line C": False, "neutral": True}))
    assert abs(lost.volts("TA", "star")) == close(208 / ROOT3)
    assert abs(lost.amps("A") + lost.amps("B")) == close(208 / ROOT3 / 12)


def test_unbalanced_wye_by_millman():
    """Millman's theorem, first course: where the open star point of unequal loads goes."""
    c = three_phase(480)
    ohms = {"A": 10 + 5j, "B": 40 + 0j, "C": 25 + 30j}
    for x, ohm in ohms.items():
        c.ohm(x, f"T{x}", "star", ohm)
    phases = {x: cmath.rect(480 / ROOT3, math.radians(d)) for x, d in (("A", 0), ("B", -120), ("C", 120))}
    expected = sum(phases[x] / ohms[x] for x in "ABC") / sum(1 / ohms[x] for x in "ABC")
    both = ac(c, **LINES)
    assert both.volts("star") == close(expected)
    assert abs(sum(both.amps(x) for x in "ABC")) == close(0)


def test_delta_and_its_equivalent_wye():
    """Delta-wye transformation, first course: both draw the same line currents, balanced or not."""
    ab, bc, ca = 30 + 4j, 50 - 20j, 20 + 0j
    total = ab + bc + ca
    delta, wye = three_phase(480), three_phase(480)
    for x, z, ohm in (("A", "B", ab), ("B", "C", bc), ("C", "A", ca)):
        delta.ohm(x + z, f"T{x}", f"T{z}", ohm)
    for x, ohm in (("A", ab * ca / total), ("B", ab * bc / total), ("C", bc * ca / total)):
        wye.ohm(x, f"T{x}", "star", ohm)
    one, two = ac(delta, **LINES), ac(wye, **LINES)
    assert one.amps("AB") - one.amps("CA") == close(two.amps("A"))
    assert one.amps("BC") - one.amps("AB") == close(two.amps("B"))
    assert one.amps("CA") - one.amps("BC") == close(two.amps("C"))


# ---- signals and sensors --------------------------------------------------------------------------------------
def thermistor_input() -> Circuit:
    """A 5 V input with a 10 kohm pull-up, and two thermistors that may hang on it."""
    c = Circuit()
    c.dc("reference", "ref", "earth", 5)
    c.ohm("pull-up", "ref", "input", 10_000)
    c.sensor("near", "input", "middle")
    c.sensor("far", "middle", "earth")
    c.sensor("beside", "input", "earth")
    return c


INF = math.inf


@pytest.mark.parametrize(
    ("degc", "printed_ohm"), [(-40, 335_671.0), (-20, 97_006.9), (0, 32_650.9)], ids=["-40 degC", "-20 degC", "0 degC"]
)
def test_divider_with_a_thermistor(degc: float, printed_ohm: float):
    """Voltage divider, first course, on resistances printed in two public tables of the 10 kohm curve 2."""
    both = dc(thermistor_input(), near=ntc_10k_curve("2").ohm(degc), far=0.0, beside=INF)
    # the printed values and the curve part by up to 0.12 %
    assert both.volts("input").real == pytest.approx(5 * printed_ohm / (10_000 + printed_ohm), rel=1.2e-3)


def test_thermistor_at_its_nominal_point():
    """Every 10 kohm thermistor: 10 kohm at 25 degC, so a 10 kohm pull-up halves the reference."""
    for curve in ("2", "3"):
        both = dc(thermistor_input(), near=ntc_10k_curve(curve).ohm(25), far=0.0, beside=INF)  # type: ignore[arg-type]
        assert both.volts("input").real == pytest.approx(2.5, rel=1e-4)


def test_thermistor_open_and_shorted():
    """First course: an open sensor leaves the reference on the input, a shorted one leaves nothing."""
    assert dc(thermistor_input(), near=INF, far=0.0, beside=INF).volts("input") == close(5)
    shorted = dc(thermistor_input(), near=0.0, far=0.0, beside=INF).volts("input")
    # a short counts as 0.1 milliohm, twice in series here
    assert shorted.real == pytest.approx(5 * 2e-4 / 10_000, rel=1e-6)


def test_two_thermistors_on_one_input():
    """Field case (common practice): two 11.9 kohm sensors (70 degF) in parallel read 5.9 kohm, in series 23.8 kohm."""
    ohm = ntc_10k_curve("2").ohm((70 - 32) / 1.8)
    assert ohm == pytest.approx(11_900, rel=0.01)
    parallel = dc(thermistor_input(), near=ohm, far=0.0, beside=ohm)
    volts = parallel.volts("input").real
    assert 10_000 * volts / (5 - volts) == pytest.approx(5_900, rel=0.01)
    assert ntc_10k_curve("2").degc(10_000 * volts / (5 - volts)) * 1.8 + 32 == pytest.approx(99, abs=1.0)
    series = dc(thermistor_input(), near=ohm, far=ohm, beside=INF).volts("input").real
    assert series == close(5 * 2 * ohm / (10_000 + 2 * ohm))


@pytest.mark.parametrize(
    ("inputs", "ohm", "volts"), [(1, 600, 60 / 7), (3, 600, 20 / 3), (6, 100_000, 10 / 1.006), (6, 1200, 20 / 3)]
)
def test_parallel_inputs_pull_an_output_down(inputs: int, ohm: float, volts: float):
    """Field case (common practice): 0-10 V inputs in parallel on an output of 100 ohm; three of 600 ohm: 6.7 V."""
    c = Circuit()
    c.dc("output", "signal", "common", 10, 100)
    for i in range(inputs):
        c.ohm(f"input {i}", "signal", "common", ohm)
    assert dc(c).volts("signal", "common") == close(volts)


@pytest.mark.parametrize(("ends", "ohm"), [(1, 120), (2, 60), (3, 40)])
def test_end_resistors_of_a_serial_pair(ends: int, ohm: float):
    """Field case (common practice): 60 ohm with two end resistors of 120 ohm, 120 with one, 40 with three."""
    c = Circuit()
    # an ohmmeter: a known current from a high voltage behind a high resistance
    c.dc("meter", "A", "B", 1000, 1e6)
    for i in range(ends):
        c.ohm(f"end {i}", "A", "B", 120)
    volts = dc(c).volts("A", "B").real
    assert volts / ((1000 - volts) / 1e6) == close(ohm)


def test_unbalanced_bridge():
    """Bridge of four resistors, first course: the meter's current by Thevenin's theorem."""
    c = Circuit()
    c.dc("battery", "top", "earth", 12)
    r1, r2, r3, r4, meter = 1000.0, 1500.0, 1200.0, 900.0, 50.0
    for name, a, b, ohm in (
        ("1", "top", "x", r1),
        ("2", "x", "earth", r2),
        ("3", "top", "y", r3),
        ("4", "y", "earth", r4),
    ):
        c.ohm(name, a, b, ohm)
    c.ohm("meter", "x", "y", meter)
    open_v = 12 * (r2 / (r1 + r2) - r4 / (r3 + r4))
    behind = r1 * r2 / (r1 + r2) + r3 * r4 / (r3 + r4)
    assert dc(c).amps("meter") == close(open_v / (behind + meter))


def test_balanced_bridge():
    """First course: r1/r2 = r3/r4 leaves the meter at rest, whatever it is."""
    c = Circuit()
    c.dc("battery", "top", "earth", 12)
    for name, a, b, ohm in (
        ("1", "top", "x", 100),
        ("2", "x", "earth", 300),
        ("3", "top", "y", 220),
        ("4", "y", "earth", 660),
        ("meter", "x", "y", 5),
    ):
        c.ohm(name, a, b, ohm)
    both = dc(c)
    assert abs(both.amps("meter")) < 1e-12
    assert both.volts("x") == close(9)


def rectifier(grounded: bool) -> Circuit:
    """A full bridge on a 24 V winding with no transformer between; each half wave is a pair of closed contacts."""
    c = Circuit()
    peak = 24 * math.sqrt(2)
    c.dc("positive half", "hot", "return", peak, 0.1)
    c.contact("hot up", "hot", "plus")
    c.contact("return down", "minus", "return")
    c.contact("return up", "return", "plus")
    c.contact("hot down", "minus", "hot")
    c.ohm("load", "plus", "minus", 99.9)
    if grounded:
        c.contact("bond", "return", "earth")
    return c


def test_bridge_without_a_transformer():
    """First course, full-wave bridge: the load sees one polarity, but its common swings by the winding's peak.

    Field case (common practice): two boards of which one has a full bridge cannot share one grounded winding.
    """
    peak = 24 * math.sqrt(2) * 99.9 / 100
    one = {"hot up": True, "return down": True, "bond": True}
    other = {"return up": True, "hot down": True, "bond": True}
    first = dc(rectifier(True), **one)
    assert first.volts("plus", "minus") == close(peak)
    assert first.volts("minus") == close(0)
    # while the same end of the winding is up, the crossed pair turns the load's polarity round
    crossed = dc(rectifier(True), **other)
    assert crossed.volts("plus", "minus") == close(-peak)
    assert crossed.volts("minus") == close(peak)
    # ungrounded, only the difference means anything
    floating = rectifier(False)
    assert dc(floating, **{"hot up": True, "return down": True}).volts("plus", "minus") == close(peak)
    # a second board's half bridge ties its common to the return: the crossed pair then shorts the winding
    both_boards = rectifier(True)
    both_boards.ohm("common of the other board", "minus", "return", 0.01)
    assert dc(both_boards, **one).volts("plus", "minus") == close(peak)
    shorted = dc(both_boards, **other)
    assert abs(shorted.amps("positive half")) == close(24 * math.sqrt(2) / (0.1 + 1 / (1 / 0.01 + 1 / 99.9)))


# ---- phasors --------------------------------------------------------------------------------------------------
def test_resistor_and_capacitor():
    """RC low-pass, first course: |V| = 1/sqrt(1 + (wRC)^2), phase -atan(wRC)."""
    c = Circuit()
    c.ac("source", "in", "earth", 120)
    c.ohm("r", "in", "out", 1000)
    c.farad("c", "out", "earth", 2.2e-6)
    wrc = 2 * math.pi * 60 * 1000 * 2.2e-6
    out = ac(c).volts("out")
    assert abs(out) == close(120 / math.sqrt(1 + wrc**2))
    assert cmath.phase(out) == close(-math.atan(wrc))


def test_resistor_and_inductor():
    """RL series, first course: I = V / sqrt(R^2 + (wL)^2), lagging by atan(wL/R)."""
    c = Circuit(50.0)
    c.ac("source", "in", "earth", 230)
    c.ohm("coil", "in", "out", 40 + 2j * math.pi * 50 * 0.2)
    c.ohm("shunt", "out", "earth", 2)
    wl = 2 * math.pi * 50 * 0.2
    amps = ac(c).amps("shunt")
    assert abs(amps) == close(230 / math.hypot(42, wl))
    assert cmath.phase(amps) == close(-math.atan(wl / 42))


def test_series_resonance():
    """RLC series, first course: at resonance the source sees R alone and the capacitor has Q times its voltage."""
    c = Circuit(60.0)
    henry = 0.1
    farad = 1 / ((2 * math.pi * 60) ** 2 * henry)
    c.ac("source", "in", "earth", 10)
    c.ohm("r", "in", "a", 5)
    c.henry("l", "a", "b", henry)
    c.farad("c", "b", "earth", farad)
    both = ac(c)
    assert both.amps("r") == close(2)
    assert abs(both.volts("b")) == close(2 * 2 * math.pi * 60 * henry)


def test_power_factor_correction():
    """First course: a 1 kW load of power factor 0.8 draws 10.4 A; a capacitor for its vars leaves 8.33 A."""
    c = Circuit()
    c.ac("source", "bus", "earth", 120)
    c.load("motor", "bus", "earth", 120, 1000, 0.8)
    vars_ = 1000 * math.tan(math.acos(0.8))
    c.farad("capacitor", "bus", "earth", vars_ / (2 * math.pi * 60 * 120**2))
    both = ac(c)
    assert abs(both.amps("motor")) == close(1000 / 0.8 / 120)
    assert cmath.phase(both.amps("motor")) == close(-math.acos(0.8))
    assert both.amps("motor") + both.amps("capacitor") == close(1000 / 120)


# ---- theorems -------------------------------------------------------------------------------------------------
def test_maximum_power():
    """First course: a source of 8 ohm gives most, V^2/4R, to a load of 8 ohm."""

    def watts(load_ohm: float) -> float:
        c = Circuit()
        c.dc("source", "a", "earth", 24, 8)
        c.ohm("load", "a", "earth", load_ohm)
        return abs(dc(c).amps("load")) ** 2 * load_ohm

    assert watts(8) == close(24**2 / 32)
    assert watts(7.9) < watts(8) > watts(8.1)


def test_superposition():
    """First course: two sources together do what each does alone, added."""

    def at_node(first: float, second: float) -> complex:
        c = Circuit()
        c.dc("one", "a", "earth", first, 2)
        c.dc("two", "b", "earth", second, 3)
        c.ohm("ab", "a", "b", 5)
        c.ohm("load", "b", "earth", 7)
        return dc(c).volts("b")

    assert at_node(12, 9) == close(at_node(12, 0) + at_node(0, 9))
    # by hand, Millman at b: (12/7 + 9/3) / (1/7 + 1/3 + 1/7)
    assert at_node(12, 9) == close((12 / 7 + 9 / 3) / (1 / 7 + 1 / 3 + 1 / 7))


def test_ladder_of_equal_resistors():
    """Ladder, first course: with 1 ohm everywhere the node voltages go as every second Fibonacci number."""
    c = Circuit()
    rungs = 10
    c.dc("source", "n0", "earth", 1)
    for i in range(rungs):
        c.ohm(f"series {i}", f"n{i}", f"n{i + 1}", 1)
        c.ohm(f"shunt {i}", f"n{i + 1}", "earth", 1)
    fibonacci = [1, 1]
    while len(fibonacci) < 2 * rungs + 1:
        fibonacci.append(fibonacci[-1] + fibonacci[-2])
    both = dc(c)
    for i in range(rungs + 1):
        # from the far end: 1, 2, 5, 13, 34 ...
        assert both.volts(f"n{i}") == close(fibonacci[2 * (rungs - i)] / fibonacci[2 * rungs])


def test_r_2r_ladder():
    """R-2R ladder, first course: each step halves the voltage, and the source sees 2R."""
    c = Circuit()
    c.dc("source", "n0", "earth", 10)
    for i in range(8):
        c.ohm(f"shunt {i}", f"n{i}", "earth", 2000)
        c.ohm(f"series {i}", f"n{i}", f"n{i + 1}", 1000)
    c.ohm("end", "n8", "earth", 1000)
    both = dc(c)
    for i in range(9):
        assert both.volts(f"n{i}") == pytest.approx(10 / 2**i, rel=1e-9)


@pytest.mark.parametrize(("corner", "ohm"), [("001", 7 / 12), ("011", 3 / 4), ("111", 5 / 6)])
def test_cube_of_resistors(corner: str, ohm: float):
    """Cube of twelve 1 ohm edges, first course: 7/12, 3/4 and 5/6 ohm along an edge, a face and through the body."""
    c = Circuit()
    corners = [f"{i:03b}" for i in range(8)]
    for x in corners:
        for bit in range(3):
            z = x[:bit] + "1" + x[bit + 1 :]
            if x[bit] == "0":
                c.ohm(f"{x}-{z}", x, z, 1)
    # 1 V behind 1 ohm; nothing of it is earthed
    c.dc("source", "000", corner, 1, 1)
    assert dc(c).volts("000", corner) == close(ohm / (1 + ohm))


def test_conductor_drop():
    """NFPA 70 Chapter 9 Table 8: 12 AWG stranded copper has 1.98 ohm per 1000 ft; 150 ft there and back at 16 A."""
    c = Circuit()
    one_way = 1.98 * 150 / 1000
    c.ac("source", "L", "earth", 120)
    c.ohm("out", "L", "hot", one_way)
    c.ohm("back", "neutral", "earth", one_way)
    c.ohm("load", "hot", "neutral", 120 / 16 - 2 * one_way)
    both = ac(c)
    assert abs(both.amps("load")) == close(16)
    assert 120 - abs(both.volts("hot", "neutral")) == close(2 * 16 * one_way)
