"""Facts of the trade that every kitchen we design must keep, each with where it is known from."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import replace

import pytest
from tests.design.support import GOOD, LIBRARY, Nets, design_of, example, machine_of, without

from galleyproof.design.model import EnergyClass
from galleyproof.job.model import PanelOptions
from galleyproof.proof.reference import reference_state
from galleyproof.tables.clearances import working_depth_ft

pytestmark = pytest.mark.outside
NAMES = [path.stem for path in GOOD]


@pytest.mark.parametrize("condition", [1, 2, 3])
def test_36_inches_clear_in_front_at_120_v_to_ground(condition: int) -> None:
    """NFPA 70 Table 110.26(A)(1): 0 to 150 V to ground takes 3 ft, whatever stands opposite; so does our default."""
    assert working_depth_ft(120.0, condition).value * 12.0 == 36.0
    assert PanelOptions(circuit="LP-1/1").clear_in_front == 36.0


def test_48_inches_before_live_parts_at_277_v_to_ground() -> None:
    """The same table, 151 to 600 V: 3, 3.5 and 4 ft."""
    assert [working_depth_ft(277.0, c).value for c in (1, 2, 3)] == [3.0, 3.5, 4.0]


@pytest.mark.parametrize("name", NAMES)
def test_1200_w_on_a_light_contact_of_10_a_at_120_v(name: str) -> None:
    """Common practice: 10 A a contact, so 1200 W at 120 V; the watts of the job summed behind each contact."""
    job, design = example(name), design_of(name)
    contacts = [p for p in LIBRARY["light_contactor"].parts if p.part == "contact"]
    assert {p.numbers["rated_a"] if hasattr(p, "numbers") else p.rated_a for p in contacts} == {10}
    nets = Nets(design)
    watts: dict[str, float] = defaultdict(float)
    behind = {}
    for device in design.devices:
        if device.type == "light_contactor":
            for out in ("2", "4", "6", "8"):
                for end in nets[f"{device.tag}:{out}"]:
                    behind[end] = f"{device.tag}:{out}"
    for hood in job.hoods:
        if hood.lights:
            watts[behind[f"{hood.tag}-E1:L"]] += hood.lights.load
    assert watts
    assert max(watts.values()) <= 1200.0


def test_1450_w_take_two_contacts() -> None:
    """The school kitchen's three hoods: 600 + 450 + 400 W do not fit one contact."""
    nets = Nets(design_of("school-kitchen"))
    used = [t for t in ("CP1-Q2:2", "CP1-Q2:4", "CP1-Q2:6") if any(e.endswith("-E1:L") for e in nets[t])]
    assert len(used) == 2


@pytest.mark.parametrize("name", NAMES)
def test_sensors_are_never_chained(name: str) -> None:
    """Common practice: one sensor, one pair, one input. A sensor's nets hold its own wire and one controller point."""
    job, design = example(name), design_of(name)
    nets = Nets(design)
    points: Counter[str] = Counter()
    tags = [s.tag for h in job.hoods for s in h.sensors] + [s.tag for s in job.room_sensors]
    commons = set(nets["CP1-T1:-"])
    for tag in tags:
        plus, minus = nets[f"{tag}:1"] - {f"{tag}:1"}, nets[f"{tag}:2"] - {f"{tag}:2"}
        assert len(plus) == 1, (tag, plus)
        assert not (plus & commons)
        others = {e.split(":")[0] for e in minus} & set(tags)
        assert not others, (tag, others)
        points.update(plus)
    assert len(points) == len(tags)
    assert set(points.values()) == {1}


@pytest.mark.parametrize("name", NAMES)
def test_control_wiring_is_18_to_22_awg(name: str) -> None:
    """Common practice for Class 2 and data wiring in the field."""
    sizes = {
        c.awg
        for c in design_of(name).conductors
        if c.made == "field" and c.energy_class in (EnergyClass.CLASS2, EnergyClass.DATA)
    }
    assert sizes
    assert sizes <= {"18", "20", "22"}


@pytest.mark.parametrize("name", NAMES)
def test_an_armed_loop_left_open_is_an_alarm(name: str) -> None:
    """Common practice: the loop is closed while armed, so that a broken wire calls like a release and sounds."""
    job, design = example(name), design_of(name)
    whole = machine_of(job, design)
    assert not any(whole.get(reference_state(job, whole), f"{d.tag}.on") for d in design.devices if d.type == "horn")
    for system in job.fire_systems:
        loops = [c.key for c in design.conductors if c.of == system.tag and c.key.startswith(f"{system.tag}/loop")]
        field = [k for k in loops if design.conductor_by_key[k].made == "field"]
        assert field, system.tag
        broken = without(design, field[0])
        machine = machine_of(job, broken)
        state = reference_state(job, machine)
        assert machine.get(state, f"{system.zone}>released") is True
        horns = [d.tag for d in design.devices if d.type == "horn"]
        assert horns
        assert all(machine.get(state, f"{h}.on") for h in horns)
        for fan in job.exhaust_fans:
            zones = {h.zone for h in job.hoods if h.tag in fan.serves}
            if system.zone in zones and fan.on_release == "full speed":
                assert machine.get(state, f"{fan.tag}.speed") == pytest.approx(1.0, abs=0.01)


def test_the_jumper_stands_for_the_loop_until_it_is_landed() -> None:
    """The panel ships with the loop closed by a jumper; with the loop's wires off and the jumper in, no alarm."""
    job, design = example("ferry-cafe"), design_of("ferry-cafe")
    (jumper,) = design.jumpers
    field = [c for c in design.conductors if c.made == "field" and c.key.startswith("FS-1/loop")]
    like = replace(field[0], key="shipped jumper", a=jumper.a, b=jumper.b, length_ft=0.1)
    shipped = replace(design, conductors=(*(c for c in design.conductors if c not in field), like))
    machine = machine_of(job, shipped)
    assert machine.get(reference_state(job, machine), "Z1>released") is False
