"""What must hold for the design of any job, on jobs drawn at random."""

from __future__ import annotations

import random
from collections import Counter
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.design.support import GOOD, LIBRARY, WRONG, design_of, ec, fan, hood, is_strip
from tests.strategies import jobs, small_jobs

from galleyproof.design.build import build_design, issue
from galleyproof.design.model import Design, EnergyClass, Role, TerminalId
from galleyproof.errors import DesignError
from galleyproof.job import model as m
from galleyproof.job.sample import job_of

QUICK = settings(max_examples=25, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
CHECKED = [p.stem for p in (*GOOD, *WRONG)]
POWER_LIMITED = {EnergyClass.CLASS2, EnergyClass.DATA}
IN_ORDER = {"lines", "poles", "promises"}
"""Lists whose order means something: phase rotation, the poles of a switch, the numbering of own promises."""


def built(job: m.Job) -> Design | None:
    """The design, or nothing for a job whose starters cannot run without the panel: the one refusal of such jobs."""
    needs_panel = any(f.drive.kind == "starter" for f in job.exhaust_fans)
    if needs_panel and job.panel.on_control_power_loss == "exhaust runs":
        with pytest.raises(DesignError, match="exhaust runs is not offered with a starter"):
            build_design(job)
        return None
    return build_design(job)


def shuffled(value: Any, rng: random.Random, name: str = "") -> Any:
    """Every list of a job, down to the sensors of a hood, in another order."""
    if isinstance(value, tuple):
        items = [shuffled(v, rng) for v in value]
        if name not in IN_ORDER:
            rng.shuffle(items)
        return tuple(items)
    if isinstance(value, m.Part):
        return value.model_copy(update={k: shuffled(getattr(value, k), rng, k) for k in type(value).model_fields})
    return value


def bars(design: Design) -> set[frozenset[TerminalId]]:
    """Groups of terminals that bridges join."""
    parent: dict[TerminalId, TerminalId] = {}

    def root(t: TerminalId) -> TerminalId:
        parent.setdefault(t, t)
        while parent[t] != t:
            t = parent[t]
        return t

    for bridge in design.bridges:
        parent[root(bridge.a)] = root(bridge.b)
    groups: dict[TerminalId, set[TerminalId]] = {}
    for t in list(parent):
        groups.setdefault(root(t), set()).add(t)
    return {frozenset(g) for g in groups.values()}


@QUICK
@given(jobs(), st.randoms(use_true_random=False))
def test_order_of_the_job_file_does_not_matter(job: m.Job, rng: random.Random) -> None:
    """Every list of the job shuffled: the same devices, conductors with the same numbers and landings, cables, points,
    program, findings and bars."""
    one = built(job)
    if one is None:
        return
    other = build_design(shuffled(job, rng))
    for part in ("conductors", "devices", "cables", "points", "jumpers", "program", "findings", "landings", "names"):
        assert getattr(other, part) == getattr(one, part), part
    assert bars(other) == bars(one)


def terminals(design: Design) -> dict[TerminalId, tuple[int, str]]:
    """Capacity and energy class of every terminal of a design; a strip place takes one conductor from each side."""
    found: dict[TerminalId, tuple[int, str]] = {}
    for device in design.devices:
        if device.type == "terminal_strip":
            for n in range(1, device.ratings["last"] + 1):
                found[TerminalId(device.tag, str(n))] = (2, device.ratings["energy"])
            continue
        for spec in LIBRARY[device.type].terminals:
            found[TerminalId(device.tag, spec.mark)] = (spec.capacity, spec.energy)
    return found


def check_landings(design: Design) -> None:
    """Every landing exists, is within its capacity and of the right energy class."""
    known = terminals(design)
    count: Counter[TerminalId] = Counter()
    for c in design.conductors:
        for t in (c.a, c.b):
            assert t in known, f"{c.key}: there is no terminal {t}"
            count[t] += 1
            energy = known[t][1]
            if energy == "any" or c.role is Role.GROUND:
                continue  # the ground bar belongs to every class
            said = f"{c.key} ({c.energy_class}) lands on {t}, which is for {energy}"
            if c.made == "factory" and is_strip(t):
                # inside the panel line voltage and Class 1 meet where they belong to one function (NFPA 70 725.48(B))
                assert (c.energy_class in POWER_LIMITED) == (energy in POWER_LIMITED), said
            else:
                assert energy == c.energy_class, said
    over = {str(t): (n, known[t][0]) for t, n in count.items() if n > known[t][0]}
    assert not over, f"landed on beyond capacity: {over}"
    for bridge in design.bridges:
        assert bridge.a in known
        assert bridge.b in known
    assert {j.a for j in design.jumpers} | {j.b for j in design.jumpers} <= set(known)


@QUICK
@given(jobs())
def test_every_terminal_exists_and_is_landed_within_its_capacity(job: m.Job) -> None:
    """Both ends of every conductor are terminals of the library or places of a strip; none carries more conductors than
    it takes; no conductor lands where its energy class does not belong."""
    if (design := built(job)) is not None:
        check_landings(design)


@pytest.mark.parametrize("name", CHECKED)
def test_landings_of_the_examples(name: str) -> None:
    """The same for every example, right and wrong."""
    check_landings(design_of(name))


def check_numbers_and_cables(design: Design) -> None:
    """Keys and numbers are unique; every field conductor runs in one cable of its class, no factory one in any."""
    numbers = [c.number for c in design.conductors]
    assert len(set(numbers)) == len(numbers)
    assert len(design.conductor_by_key) == len(design.conductors)
    places = list(design.landings.values())
    assert len(set(places)) == len(places)
    tags = [d.tag for d in design.devices]
    assert len(set(tags)) == len(tags)
    runs = Counter(key for cable in design.cables for key in cable.conductors)
    assert len({cable.tag for cable in design.cables}) == len(design.cables)
    for c in design.conductors:
        assert runs[c.key] == (1 if c.made == "field" else 0), c.key
        assert bool(c.cable) == (c.made == "field")
    for cable in design.cables:
        for key in cable.conductors:
            c = design.conductor_by_key[key]
            assert (c.cable, c.energy_class) == (cable.tag, cable.energy_class)
    # a ground alone in a raceway protects nothing: it runs with its circuit (NFPA 70 300.3(B))
    lonely = [
        cable.tag
        for cable in design.cables
        if all(design.conductor_by_key[k].role is Role.GROUND for k in cable.conductors)
    ]
    assert not lonely


@QUICK
@given(jobs())
def test_numbers_are_unique_and_field_conductors_have_a_cable(job: m.Job) -> None:
    """No number and no key twice; every field conductor in exactly one cable, and that of its own energy class; no
    equipment ground in a raceway without its circuit."""
    if (design := built(job)) is not None:
        check_numbers_and_cables(design)


@pytest.mark.parametrize("name", CHECKED)
def test_numbers_and_cables_of_the_examples(name: str) -> None:
    """The same for every example."""
    check_numbers_and_cables(design_of(name))


def grown(job: m.Job, tag: str, own_zone: bool, lit: bool) -> m.Job:
    """The job with one more hood, its sensors, its lights and its own EC fan with a proving switch."""
    number = f"{len(job.circuits) + 90}"
    board = job.panelboards[0].tag
    circuit = m.Circuit(tag=f"{board}/{number}", panelboard=board, lines=("L1",), breaker=15.0)
    zone = f"Z-{tag}" if own_zone else job.hoods[0].zone
    lights = next((h.lights for h in job.hoods if h.lights), None)
    sensors = (m.HoodSensor(tag=f"TS-{tag}a"), m.HoodSensor(tag=f"TS-{tag}b", kind="Pt1000"))
    more = hood(f"H-{tag}", zone=zone, sensors=sensors, lights=lights if lit else None)
    proving = m.Proving(tag=f"PS-{tag}", kind="current switch")
    turns = fan(ec(run_contact=True), tag=f"EF-{tag}", serves=(more.tag,), circuit=circuit.tag, proving=proving)
    poles = [m.Pole(use="panel loop", side="armed side")]
    if job.building_alarm and job.building_alarm.taken_from == "fire switch":
        poles.append(m.Pole(use="building alarm", side="released side"))
    system = m.FireSystem(tag=f"FS-{tag}", zone=zone, poles=tuple(poles))
    return job.model_copy(
        update={
            "circuits": (*job.circuits, circuit),
            "hoods": (more, *job.hoods),
            "exhaust_fans": (turns, *job.exhaust_fans),
            "fire_systems": (system, *job.fire_systems) if own_zone else job.fire_systems,
        }
    )


@QUICK
@given(jobs(), st.sampled_from(("0", "1.5", "99")), st.booleans(), st.booleans())
def test_a_new_hood_moves_nothing_that_was_issued(job: m.Job, tag: str, own_zone: bool, lit: bool) -> None:
    """A hood with its fan, sensors and lights added after an issue, before, between or after the old ones, in an old
    zone or one of its own: every conductor there was keeps its number and both landings, every device its tag, every
    point its place."""
    before = built(job)
    if before is None:
        return
    after = build_design(grown(issue(job, before), tag, own_zone, lit))
    for c in before.conductors:
        now = after.conductor_by_key[c.key]
        assert (now.number, now.a, now.b) == (c.number, c.a, c.b), c.key
    assert {k: after.landings[k] for k in before.landings} == before.landings
    assert {k: after.names[k] for k in before.names} == before.names
    assert {d.tag for d in before.devices} <= {d.tag for d in after.devices}
    added = [c.number for c in after.conductors if c.key not in before.conductor_by_key]
    assert min(added) > max(c.number for c in before.conductors)
    check_landings(after)
    check_numbers_and_cables(after)


@QUICK
@given(small_jobs())
def test_issuing_changes_nothing(job: m.Job) -> None:
    """A design built again from its issued job is the same design, and issuing it again adds nothing."""
    design = built(job)
    if design is None:
        return
    issued = issue(job, design)
    again = build_design(issued)
    assert (again.conductors, again.landings, again.names) == (design.conductors, design.landings, design.names)
    assert issue(issued, again) == issued


@QUICK
@given(small_jobs())
def test_a_number_once_issued_is_never_given_again(job: m.Job) -> None:
    """Numbers of conductors that are gone (the job's issued block may hold some) stay theirs."""
    design = built(job)
    if design is None:
        return
    keys = design.conductor_by_key
    gone = {n for key, n in job.issued.conductors.items() if key not in keys}
    assert not gone & {c.number for c in design.conductors}


def test_a_removed_hood_leaves_its_numbers_behind() -> None:
    """Hood 2 of two is taken out in revision B and another comes in revision C: none of the old numbers returns."""
    two, three = job_of(2), job_of(3)
    first = build_design(two)
    issued = issue(two, first).issued
    one = job_of(1).model_copy(update={"issued": issued})
    second = build_design(one)
    gone = {c.number for c in first.conductors} - {c.number for c in second.conductors}
    assert gone
    again = three.model_copy(update={"issued": issue(one, second).issued})
    old = first.conductor_by_key
    fresh = {c.number for c in build_design(again).conductors if c.key not in old}
    assert fresh
    assert not fresh & {c.number for c in first.conductors}


@pytest.mark.parametrize("n_hoods", [16, 24, 32])
def test_modules_are_added_as_the_job_grows(n_hoods: int) -> None:
    """16 to 32 hoods: expansion modules follow the need, eight hood sensors and eight relays each; every use has one
    point, no point serves two, and no module is there without need."""
    job = job_of(n_hoods)
    design = build_design(job)
    types = Counter(d.type for d in design.devices)
    assert types["controller"] == 1
    need = Counter(p.kind for p in design.points)
    # the controller itself has 8 hood sensors, 2 fire inputs, 8 inputs, 8 relays, 4 speeds; modules 8, 2, 8 and 8, 8
    inputs = max(-(-(need["hood sensor"] - 8) // 8), -(-(need["wetted digital input"] - 8) // 8),
                 -(-(need["supervised fire input"] - 2) // 2))  # fmt: skip
    outputs = max(-(-(need["dry relay output"] - 8) // 8), -(-(need["0-10 V output"] - 4) // 8))
    assert (types["module_inputs"], types["module_outputs"]) == (inputs, outputs)
    assert need["hood sensor"] == n_hoods
    spots = [(p.device, p.kind, p.index) for p in design.points]
    assert len(set(spots)) == len(spots)
    assert len(design.point_by_use) == len(design.points)
    check_landings(design)
    check_numbers_and_cables(design)


def test_more_points_than_a_controller_set_can_hold() -> None:
    """64 hoods need more modules than one bus carries: an error that says how many, of what, and what to do."""
    with pytest.raises(DesignError) as caught:
        build_design(job_of(64))
    text = str(caught.value)
    assert "CP1" in text
    assert "needs 17 expansion modules" in text
    assert "64 x hood sensor" in text
    assert "a controller carries 8" in text
    assert "split the line-up over two panels" in text
