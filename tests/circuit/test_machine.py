"""The machine by itself: rules, delays, races and loops without a kitchen around them."""

from __future__ import annotations

import pytest

from galleyproof.circuit.behaviours.relays import pulled
from galleyproof.circuit.elements import Branch, Link, Network, Source
from galleyproof.circuit.machine import Machine
from galleyproof.circuit.rules import After, Rule
from galleyproof.errors import CircuitError

BARE = Network({}, ("earth",), (), (), (), (), 60.0)


def inverter(owner: str, sees: str, sets: str) -> Rule:
    """A device whose output is the opposite of its input."""
    return Rule(owner, "not", (sees,), (sets,), (False,), lambda v, _now: (not v[0],))


def test_a_loop_that_never_settles_names_its_devices() -> None:
    """Three inverters in a ring cannot rest: all three are named, and nobody else."""
    rules = [inverter("A", "c", "a"), inverter("B", "a", "b"), inverter("C", "b", "c"), inverter("D", "x", "d")]
    state = Machine(BARE, rules, {"x": False}).dark()
    assert state.chatter == ("A", "B", "C")


def test_a_race_has_a_winner() -> None:
    """Two inverters in a ring chase each other side by side; one after the other one of them wins, and that is no
    chatter."""
    machine = Machine(BARE, [inverter("A", "b", "a"), inverter("B", "a", "b")], {})
    state = machine.dark()
    assert state.chatter == ()
    assert machine.get(state, "a") != machine.get(state, "b")


def timer(seconds: float = 10.0) -> Rule:
    """On so many seconds after its call, off at once."""

    def act(values: tuple[bool, ...], _now: tuple[bool, ...]) -> tuple[object, ...]:
        return (After(seconds, True) if values[0] else False,)

    return Rule("T", "timer", ("call",), ("on",), (False,), act)


def test_a_delay_passes() -> None:
    """At once nothing, after ten seconds the output; the history has both moments."""
    machine = Machine(BARE, [timer()], {"call": False})
    history: list = []
    state = machine.apply(machine.dark(), {"call": True}, history=history)
    assert [(s.time_s, machine.get(s, "on")) for s in history] == [(0.0, False), (10.0, True)]
    assert (machine.get(state, "on"), state.pending) == (True, {})


def test_a_delay_is_cancelled_when_the_call_ends() -> None:
    """The call ends before its time: the output never comes."""
    machine = Machine(BARE, [timer()], {"call": False})
    history: list = []
    machine.apply(machine.dark(), {"call": True}, history=history)
    waiting = history[0]
    assert waiting.pending
    ended: list = []
    state = machine.apply(waiting, {"call": False}, history=ended)
    assert state.pending == {}
    assert [machine.get(s, "on") for s in ended] == [False]


def test_a_delay_that_goes_on_is_not_started_anew() -> None:
    """An event that does not concern the timer leaves what is left of its time."""
    machine = Machine(BARE, [timer(), inverter("N", "x", "y")], {"call": False, "x": False})
    history: list = []
    machine.apply(machine.dark(), {"call": True}, history=history)
    later: list = []
    machine.apply(history[0], {"x": True}, history=later)
    assert [(s.time_s, machine.get(s, "on")) for s in later] == [(0.0, False), (10.0, True)]


def test_a_timer_that_starts_itself_again_is_chatter() -> None:
    """A flasher never rests: it is named after its periods have been let pass."""

    def act(_values: tuple[bool, ...], now: tuple[bool, ...]) -> tuple[object, ...]:
        return (After(1.0, not now[0]),)

    flasher = Rule("FL", "flasher", ("x",), ("on",), (False,), act)
    assert Machine(BARE, [flasher], {"x": False}).dark().chatter == ("FL",)


def test_a_state_is_left_alone() -> None:
    """Applying events gives a new state; the old one can start another story."""
    machine = Machine(BARE, [timer()], {"call": False})
    dark = machine.dark()
    before = (list(dark.values), dict(dark.pending))
    machine.apply(dark, {"call": True})
    assert (list(dark.values), dict(dark.pending)) == before


def test_an_unknown_event_is_refused() -> None:
    """The message names the fact that does not exist."""
    machine = Machine(BARE, [timer()], {"call": False})
    with pytest.raises(CircuitError, match="there is no bell"):
        machine.apply(machine.dark(), {"bell": True})


def test_two_rules_cannot_set_one_slot() -> None:
    """The message names device, rules and slot."""
    with pytest.raises(CircuitError, match="B: not and not both set a"):
        Machine(BARE, [inverter("A", "x", "a"), inverter("B", "x", "a")], {"x": False})


def test_a_reading_nothing_provides_is_refused() -> None:
    """A rule that asks for volts of no part, or for a slot nobody sets."""
    with pytest.raises(CircuitError, match=r"no part is called Q1\.coil"):
        Machine(BARE, [inverter("A", "Q1.coil.dc", "a")], {})
    with pytest.raises(CircuitError, match=r"asks for nothing\.here, which nothing provides"):
        Machine(BARE, [inverter("A", "nothing.here", "a")], {})


def divider() -> Network:
    """24 V stiff on node 1; 1 kohm to node 2, a contact to node 3, 2 kohm to earth."""
    stiff = (Source("S", 1, 0, 0j, 24.0, 0.0, "S.on"),)
    branches = (Branch("r1", 1, 2, 1e-3 + 0j, 1e-3), Branch("r2", 3, 0, 5e-4 + 0j, 5e-4))
    return Network({}, ("earth", "bus", "mid", "low"), branches, (), (Link("k", 2, 3, "k"),), stiff, 60.0)


def test_a_contact_joins_and_parts() -> None:
    """Open: 24 V behind the resistor and nothing beyond. Closed: both ends at 24 x 2 / 3 = 16 V."""
    closer = Rule("K", "relay", ("x",), ("k",), (False,), lambda v, _n: (v[0],))
    machine = Machine(divider(), [closer], {"x": False})
    live = machine.apply(machine.dark(), {"S.on": 1.0})
    assert machine.volts(live, 2)[1] == pytest.approx(24.0)
    assert machine.volts(live, 3)[1] == pytest.approx(0.0)
    made = machine.apply(live, {"x": True})
    assert [machine.volts(made, n)[1] for n in (2, 3)] == pytest.approx([16.0, 16.0])
    off = machine.apply(made, {"S.on": 0.0})
    assert [machine.volts(off, n)[1] for n in (1, 2, 3)] == pytest.approx([0.0, 0.0, 0.0])


def test_same_states_are_solved_once() -> None:
    """Closed, open, closed, open: the second round costs no solution."""
    closer = Rule("K", "relay", ("x",), ("k",), (False,), lambda v, _n: (v[0],))
    machine = Machine(divider(), [closer], {"x": False})
    state = machine.apply(machine.dark(), {"S.on": 1.0})
    for x in (True, False):
        state = machine.apply(state, {"x": x})
    once = sum(i.solved for i in machine.islands)
    for x in (True, False, True, False):
        state = machine.apply(state, {"x": x})
    assert sum(i.solved for i in machine.islands) == once


COIL = [
    (24.0, False, True),
    (19.3, False, True),
    (19.1, False, False),
    (19.1, True, True),
    (4.9, True, True),
    (4.7, True, False),
    (0.0, True, False),
]


@pytest.mark.parametrize(("volts", "was", "is_in"), COIL)
def test_coils_between_their_limits_stay(volts: float, was: bool, is_in: bool) -> None:
    """A 24 V coil is in from 80 % up and out from 20 % down; between, it stays as it was."""
    assert pulled(volts, 24.0, was) is is_in
