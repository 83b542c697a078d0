"""Whole small kitchens in situations: what trips, holds, lets go, turns backwards or comes back.

Expected effects are those of the trade's practice and of plain circuit arithmetic, written down before the run.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from tests.design.support import (
    LIBRARY,
    LINES,
    design_of,
    ec,
    example,
    fan,
    hood,
    kitchen,
    machine_of,
    makeup,
    moved,
    shutdown_system,
    starter,
    supplied,
    swapped,
    vfd,
    wired,
    without,
)

from galleyproof.circuit.machine import Machine, State
from galleyproof.design.build import build_design
from galleyproof.design.model import Design, TerminalId
from galleyproof.errors import CircuitError
from galleyproof.job import model as m
from galleyproof.proof.prove import prove

LIGHT_SWITCH = m.WallSwitch(tag="SW-2", kind="on-off", does="lights")


class Kitchen:
    """A job, a (changed) design and where its machine stands."""

    def __init__(self, job: m.Job, change: Callable[[Design], Design] = lambda d: d) -> None:
        self.job = job
        self.design = change(build_design(job))
        self.machine: Machine = machine_of(job, self.design)
        self.state: State = supplied(job, self.machine)
        self.moments: list[State] = []

    def do(self, **events: object) -> Kitchen:
        """Let something happen: ``switch_SW_1="on"`` is the fact ``switch SW-1``."""
        facts = {k.replace("_", " ", 1).replace("__", "/").replace("_", "-"): v for k, v in events.items()}
        self.moments = []
        self.state = self.machine.apply(self.state, facts, history=self.moments)
        return self

    def press(self) -> Kitchen:
        """A hand presses every reset and lets go."""
        return self.do(reset=True).do(reset=False)

    def __getitem__(self, slot: str) -> object:
        return self.machine.get(self.state, slot)

    def story(self, slot: str) -> list[tuple[float, object]]:
        """Values of a slot at every moment since the last event."""
        return [(s.time_s, self.machine.get(s, slot)) for s in self.moments]

    def volts(self, a: str, b: str) -> float:
        """AC volts between two terminals."""
        nodes = [self.machine.network.terminals[TerminalId(*x.rsplit(":", 1))] for x in (a, b)]
        va, vb = (self.machine.volts(self.state, n)[0] for n in nodes)
        return abs(va - vb)


def lit(load_w: float = 300.0, **sections: object) -> m.Job:
    """A hood with lights on LP-1/9, a 20 A circuit."""
    lights = m.Lights(load=load_w, circuit="LP-1/9")
    switches = (m.WallSwitch(tag="SW-1", kind="on-off", does="fans"), LIGHT_SWITCH)
    return kitchen(**{"hoods": (hood(lights=lights),), "switches": switches, **sections})


# breakers and protectors ----------------------------------------------------------------------------------------


def test_a_short_circuit_trips_its_breaker_and_no_other() -> None:
    """Line to ground at the fan: the fan's breaker opens, stays open, and everything else goes on."""
    k = Kitchen(kitchen(), lambda d: wired(d, "short", "EF-1:L1", "LP-1:PE", 30.0))
    assert k["LP-1/2.tripped"] is True
    assert k["LP-1/2.pole_1"] is False
    assert [t for t in ("LP-1/1", "LP-1/5", "LP-1/8", "LP-1/9") if k[f"{t}.tripped"]] == []
    assert k["CP1-K1.alive"] is True
    k.do(switch_SW_1="on")
    assert k["EF-1.speed"] == 0.0


def test_a_handle_held_does_not_close_on_a_short() -> None:
    """Trip-free: reset pressed with the short still there, and let go: open."""
    k = Kitchen(kitchen(), lambda d: wired(d, "short", "EF-1:L1", "LP-1:PE", 30.0))
    assert k.do(reset=True)["LP-1/2.pole_1"] is False
    assert k.do(reset=False)["LP-1/2.tripped"] is True
    assert k.state.chatter == ()


def test_a_tripped_breaker_stays_until_reset() -> None:
    """A shorted lamp trips when the lights go on. The fault gone (lights off), it stays open; a hand closes it; the
    next switching on trips it again."""
    k = Kitchen(lit(), lambda d: wired(d, "short", "H-1-E1:L", "H-1-E1:N", 1.0))
    assert k["LP-1/9.tripped"] is False
    assert k.do(switch_SW_2="on")["LP-1/9.tripped"] is True
    k.do(switch_SW_2="off")
    assert k["LP-1/9.pole_1"] is False
    assert k.press()["LP-1/9.pole_1"] is True
    assert k.do(switch_SW_2="on")["LP-1/9.tripped"] is True


def test_an_outage_does_not_close_a_tripped_breaker() -> None:
    """Supply lost and back: still tripped."""
    k = Kitchen(lit(), lambda d: wired(d, "short", "H-1-E1:L", "H-1-E1:N", 1.0))
    k.do(switch_SW_2="on").do(switch_SW_2="off")
    k.do(supply_LP_1__9="lost").do(supply_LP_1__9="present")
    assert k["LP-1/9.pole_1"] is False


def test_an_overload_trips_after_a_minute() -> None:
    """3600 W at 120 V take 30 A, 1.5 times a 20 A breaker: on at once, tripped a minute later. 2600 W (1.08) never."""
    k = Kitchen(lit(3600.0)).do(switch_SW_2="on")
    assert k.story("H-1-E1.on") == [(0.0, True), (60.0, False)]
    assert k["LP-1/9.tripped"] is True
    k = Kitchen(lit(2600.0)).do(switch_SW_2="on")
    assert (k["LP-1/9.tripped"], k["H-1-E1.on"]) == (False, True)


def test_an_overload_that_ends_in_time_trips_nothing() -> None:
    """Switched off before the minute has passed: the count is forgotten."""
    k = Kitchen(lit(3600.0)).do(switch_SW_2="on")
    k.state = k.moments[0]
    k.do(switch_SW_2="off")
    assert k.story("LP-1/9.tripped") == [(0.0, False)]


def test_the_control_protector_trips_on_a_fault_in_the_panel() -> None:
    """The protected control bus shorted to ground: protector open, panel dead, reset in vain."""
    k = Kitchen(kitchen(), lambda d: wired(d, "short", "CP1-F1:2", "CP1-T1:PE"))
    assert k["CP1-F1.tripped"] is True
    assert k["CP1-K1.alive"] is False
    assert k.press()["CP1-K1.alive"] is False


def test_a_short_on_the_24_v_rail_shuts_the_supply_down() -> None:
    """+24 V on 0 V: the supply shuts down and stays down, the controller is dead, no breaker trips."""
    k = Kitchen(kitchen(), lambda d: wired(d, "short", "CP1-K1:24V", "CP1-K1:0V"))
    assert k["CP1-T1.overloaded"] is True
    assert k["CP1-T1.output"] == 0.0
    assert k["CP1-K1.alive"] is False
    assert not any(k[f"{c.tag}.tripped"] for c in k.job.circuits)
    assert k.state.chatter == ()


def test_a_short_behind_a_relay_takes_the_rail_down_once_it_closes() -> None:
    """A shorted damper lead does nothing until the damper is called; then the rail goes, and the relay with it, and the
    supply stays down until its own supply has been off."""
    job = kitchen(dampers=(m.Damper(tag="D-1", fan="EF-1"),))
    k = Kitchen(job, lambda d: wired(d, "short", "D-1:1", "D-1:2", 1.0))
    assert k["CP1-K1.alive"] is True
    k.do(switch_SW_1="on")
    assert (k["CP1-T1.overloaded"], k["CP1-K1.alive"], k.state.chatter) == (True, False, ())
    k.do(switch_SW_1="off")
    assert k["CP1-K1.alive"] is False
    k.do(supply_LP_1__1="lost").do(supply_LP_1__1="present")
    assert k["CP1-K1.alive"] is True


# latches --------------------------------------------------------------------------------------------------------


def gas() -> m.Job:
    """A gas valve with a reset by hand on the fire switch's second pole."""
    shutdowns = (m.GasShutdown(kind="gas valve", tag="GV-1", zone="Z1"),)
    return kitchen(fire_systems=shutdown_system(), shutdowns=shutdowns)


def test_the_reset_relay_seals_itself_in() -> None:
    """Power alone opens nothing; the button does, and the valve stays open when the hand lets go."""
    job = gas()
    machine = machine_of(job)
    live = machine.apply(machine.dark(), {f"supply {c.tag}": "present" for c in job.circuits})
    assert machine.get(live, "GV-1.open") is False
    pressed = machine.apply(live, {"reset": True})
    assert machine.get(pressed, "GV-1.open") is True
    assert machine.get(machine.apply(pressed, {"reset": False}), "GV-1.open") is True


@pytest.mark.parametrize("events", [("fire_Z1", "released", "armed"), ("supply_LP_1__8", "lost", "present")])
def test_gas_waits_for_a_hand(events: tuple[str, str, str]) -> None:
    """After a release and after an outage alike: shut, and shut until the button is pressed."""
    fact, away, back = events
    k = Kitchen(gas())
    assert k["GV-1.open"] is True
    assert k.do(**{fact: away})["GV-1.open"] is False
    assert k.do(**{fact: back})["GV-1.open"] is False
    assert k.press()["GV-1.open"] is True


def test_gas_stays_shut_with_the_button_held_in_a_release() -> None:
    """The button hangs on the armed side: pressed during a release it moves nothing."""
    k = Kitchen(gas()).do(fire_Z1="released")
    assert k.do(reset=True)["GV-1.open"] is False
    assert k.do(reset=False)["GV-1.open"] is False


def griddle(shutdown: m.Shutdown, circuit: str) -> m.Job:
    """An electric griddle behind a shutdown."""
    unit = m.Appliance(
        tag="A-1",
        kind="griddle",
        duty="medium",
        fuel="electric",
        load=4000.0,
        circuit=circuit,
        shut_down_by=shutdown.tag,
    )
    hoods = (hood(appliances=(unit,)),)
    return kitchen(hoods=hoods, fire_systems=shutdown_system(), shutdowns=(shutdown,))


@pytest.mark.parametrize("cut_off", [True, False])
def test_a_shunt_trip_opens_and_stays_open(cut_off: bool) -> None:
    """A release trips the breaker; re-armed, it stays open until a hand closes it. With the cut-off contact no current
    flows through the coil afterwards; without it, it does as long as the release lasts."""
    job = griddle(m.ShuntShutdown(kind="shunt trip", tag="SD-1", zone="Z1", circuit="LP-1/10"), "LP-1/10")
    job = job.model_copy(
        update={
            "circuits": tuple(
                c.model_copy(update={"shunt_trip": m.ShuntTrip(cut_off_contact=cut_off)}) if c.shunt_trip else c
                for c in job.circuits
            )
        }
    )
    k = Kitchen(job)
    assert k["A-1.on"] is True
    k.do(fire_Z1="released")
    assert (k["A-1.on"], k["LP-1/10.tripped"]) == (False, True)
    coil_v = abs(k["LP-1/10.shunt.ac"])
    assert coil_v == pytest.approx(0.0 if cut_off else 120.1, abs=0.5)
    assert k.press()["A-1.on"] is False
    assert k.do(fire_Z1="armed")["A-1.on"] is False
    assert k.press()["A-1.on"] is True


def test_a_shunt_trip_without_its_supply_does_nothing() -> None:
    """The latent fault (field case T01): shutdown circuit lost, then a release: the griddle stays on."""
    k = Kitchen(griddle(m.ShuntShutdown(kind="shunt trip", tag="SD-1", zone="Z1", circuit="LP-1/10"), "LP-1/10"))
    k.do(supply_LP_1__8="lost").do(fire_Z1="released")
    assert k["A-1.on"] is True


def test_a_held_in_contactor_fails_safe() -> None:
    """It lets go in a release and when its supply is lost, and comes back by hand only."""
    k = Kitchen(
        griddle(m.ContactorShutdown(kind="held-in contactor", tag="KM-1", zone="Z1", circuit="LP-1/12"), "LP-1/12")
    )
    assert k["A-1.on"] is True
    assert k.do(supply_LP_1__8="lost")["A-1.on"] is False
    assert k.do(supply_LP_1__8="present")["A-1.on"] is False
    assert k.press()["A-1.on"] is True
    assert k.do(fire_Z1="released")["A-1.on"] is False
    assert k.do(fire_Z1="armed")["A-1.on"] is False


def test_a_fan_that_waits_for_a_hand() -> None:
    """After an outage its switch, left on, starts nothing; off and on again does."""
    k = Kitchen(kitchen(exhaust_fans=(fan(ec(), after_outage="waits for a hand"),)))
    assert k.do(switch_SW_1="on")["EF-1.speed"] > 0
    k.do(supply_LP_1__1="lost").do(supply_LP_1__1="present")
    assert k["EF-1.speed"] == 0.0
    assert k.do(switch_SW_1="off").do(switch_SW_1="on")["EF-1.speed"] > 0


# chatter --------------------------------------------------------------------------------------------------------


def buzzing(design: Design) -> Design:
    """The interposing relay's coil led over its own break contact."""
    relay = next(d.tag for d in design.devices if d.type == "relay_120")
    return wired(moved(design, "EF-1/run/coil", "b", f"{relay}:21"), "buzz", f"{relay}:22", f"{relay}:A1")


def test_a_relay_that_breaks_its_own_coil_buzzes() -> None:
    """It never settles: the state says so and names the relay; at rest, not called, it is quiet."""
    command = m.RunCommand(kind="wet", volts=120.0, owner="the panel")
    k = Kitchen(kitchen(vfd(run_command=command), LINES), buzzing)
    relay = next(d.tag for d in k.design.devices if d.type == "relay_120")
    assert k.state.chatter == ()
    k.do(switch_SW_1="on")
    assert relay in k.state.chatter
    assert not {"CP1-T1", "CP1-F1", "SW-1", "LP-1/1"} & set(k.state.chatter)


def test_the_proof_tells_of_chatter() -> None:
    """A finding that names the relay and the situation."""
    command = m.RunCommand(kind="wet", volts=120.0, owner="the panel")
    job = kitchen(vfd(run_command=command), LINES)
    design = buzzing(build_design(job))
    relay = next(d.tag for d in design.devices if d.type == "relay_120")
    found = [f for f in prove(job, design, LIBRARY).findings if f.code == "CHATTER"]
    assert found
    assert all(relay in f.item for f in found)
    # called by a switch or by the release, whichever the finding shows
    assert "switches on" in found[0].message or "Z1 released" in found[0].message


@pytest.mark.parametrize("name", ["ferry-cafe", "school-kitchen", "hospital"])
def test_good_kitchens_never_chatter(name: str) -> None:
    """No finding of that kind in the good examples."""
    assert not [f for f in prove(example(name), design_of(name), LIBRARY).findings if f.code == "CHATTER"]


# delays ---------------------------------------------------------------------------------------------------------


def test_a_makeup_unit_takes_its_time() -> None:
    """Called at once, moving air 30 s later: no failed interlock (field case M11)."""
    k = Kitchen(kitchen(makeup_units=(makeup(),))).do(switch_SW_1="on")
    assert k.story("MAU-1.called") == [(0.0, True), (30.0, True)]
    assert k.story("MAU-1.speed") == [(0.0, 0.0), (30.0, 1.0)]


def test_a_start_is_cancelled_when_the_call_ends() -> None:
    """The fan is switched off while the unit still waits: it never starts."""
    k = Kitchen(kitchen(makeup_units=(makeup(),))).do(switch_SW_1="on")
    k.state = k.moments[0]
    k.do(switch_SW_1="off")
    assert k.story("MAU-1.speed") == [(0.0, 0.0)]
    assert k["MAU-1.called"] is False


def test_a_unit_stops_at_once() -> None:
    """No delay on the way down."""
    k = Kitchen(kitchen(makeup_units=(makeup(),))).do(switch_SW_1="on").do(switch_SW_1="off")
    assert k.story("MAU-1.speed") == [(0.0, 0.0)]


def test_a_drive_ramps_down() -> None:
    """The run contact opens; the motor has stopped 5 s later, and turns on until then. Power lost, it stops at once."""
    k = Kitchen(kitchen(vfd(), LINES)).do(switch_SW_1="on")
    running = k["EF-1.speed"]
    assert running == pytest.approx(0.5, abs=0.01)
    k.do(switch_SW_1="off")
    assert k.story("EF-1.speed") == [(0.0, running), (5.0, 0.0)]
    k.do(switch_SW_1="on").do(supply_LP_1__2="lost")
    assert k.story("EF-1.speed") == [(0.0, 0.0)]


def test_a_damper_proves_open_before_its_fan_runs() -> None:
    """Called, the damper travels 30 s; only then its end switch makes and the fan starts."""
    k = Kitchen(kitchen(dampers=(m.Damper(tag="D-1", fan="EF-1"),))).do(switch_SW_1="on")
    assert k.story("D-1.open") == [(0.0, False), (30.0, True)]
    assert [speed > 0 for _, speed in k.story("EF-1.speed")] == [False, True]


# motors and phases ----------------------------------------------------------------------------------------------


def test_two_motor_leads_exchanged_turn_it_backwards() -> None:
    """On a starter: speed -100 %, and the proof calls every exhaust promise of it broken."""
    job = kitchen(starter(), LINES)
    k = Kitchen(job, lambda d: swapped(d, "EF-1/motor/L1/2", "EF-1/motor/L2/2")).do(switch_SW_1="on")
    assert k["EF-1.speed"] == -1.0
    proof = prove(job, k.design, LIBRARY)
    (fire,) = [v for v in proof.verdicts if v.promise.kind == "fire-exhaust"]
    assert fire.broken == fire.situations
    assert fire.failures[0].found == "runs backwards at 100%"


def test_two_lines_exchanged_before_a_starter_turn_it_backwards_too() -> None:
    """The starter passes the phases on as they come."""
    k = Kitchen(kitchen(starter(), LINES), lambda d: swapped(d, "EF-1/line/L1", "EF-1/line/L3"))
    assert k.do(switch_SW_1="on")["EF-1.speed"] == -1.0


def test_all_three_leads_moved_on_turn_it_forward() -> None:
    """L1 L2 L3 on V1 W1 U1: the rotation is the same."""
    keys = [f"EF-1/motor/{line}/2" for line in LINES]

    def rotate(design: Design) -> Design:
        return swapped(swapped(design, keys[0], keys[1]), keys[0], keys[2])

    k = Kitchen(kitchen(starter(), LINES), rotate)
    ends = [k.design.conductor_by_key[key].b.mark for key in keys]
    assert sorted(ends) == ["U1", "V1", "W1"]
    assert ends != ["U1", "V1", "W1"]
    assert k.do(switch_SW_1="on")["EF-1.speed"] == 1.0


def test_a_drive_forgets_the_rotation_of_its_supply() -> None:
    """Two lines exchanged before a drive change nothing, two leads behind it turn the motor backwards."""
    job = kitchen(vfd(), LINES)
    before = Kitchen(job, lambda d: swapped(d, "EF-1/line/L1", "EF-1/line/L2")).do(switch_SW_1="on")
    assert before["EF-1.speed"] > 0
    behind = Kitchen(job, lambda d: swapped(d, "EF-1/motor/U/2", "EF-1/motor/V/2")).do(switch_SW_1="on")
    assert behind["EF-1.speed"] < 0


def test_a_motor_with_a_phase_lost_does_not_start() -> None:
    """One lead left off: it stalls, draws too much, and its overload trips after half a minute."""
    k = Kitchen(kitchen(starter(), LINES), lambda d: without(d, "EF-1/motor/L2/2")).do(switch_SW_1="on")
    assert k.story("CP1-Q1.tripped") == [(0.0, False), (30.0, True)]
    assert k["EF-1.speed"] == 0.0
    assert k["CP1-Q1.in"] is False
    assert k.press()["CP1-Q1.tripped"] is True


def test_a_turning_motor_with_a_phase_lost_turns_on() -> None:
    """Field case O01: losing a phase while it runs, a motor keeps turning and draws about twice its current."""
    k = Kitchen(kitchen(starter(), LINES))
    (rule,) = [r for r in k.machine.rules if r.owner == "EF-1"]
    speed, factor = rule.act((208.0 + 0j, 104.0 + 0j, -104.0 + 0j), (1.0, 1.0))
    assert speed == pytest.approx(0.9)
    assert factor == 2.0
    assert rule.act((208.0 + 0j, 104.0 + 0j, -104.0 + 0j), (0.0, 1.0))[0] == 0.0


def test_a_three_phase_load_lacks_a_line() -> None:
    """An EC fan on two of its three lines has no power."""
    k = Kitchen(kitchen(ec(volts=208.0, phases=3), LINES), lambda d: without(d, "EF-1/power/L3"))
    assert k.do(switch_SW_1="on")["EF-1.speed"] == 0.0


# neutrals -------------------------------------------------------------------------------------------------------


def two_legs() -> m.Job:
    """Lights of 100 W on L1 and of 500 W on L2 of 120/240 V."""
    circuits = tuple(
        c.model_copy(update={"lines": {"LP-1/8": ("L1",), "LP-1/12": ("L1", "L2"), "LP-1/5": ("L1", "L2")}[c.tag]})
        if c.tag in ("LP-1/8", "LP-1/12", "LP-1/5")
        else c
        for c in kitchen().circuits
    )
    hoods = (
        hood("H-1", lights=m.Lights(load=100.0, circuit="LP-1/8")),
        hood("H-2", lights=m.Lights(load=500.0, circuit="LP-1/9")),
    )
    switches = (m.WallSwitch(tag="SW-1", kind="on-off", does="fans"), LIGHT_SWITCH)
    supplies = (m.Supply(tag="U1", system="120/240 V 1-phase"),)
    fans = (fan(ec(), serves=("H-1", "H-2")),)
    return kitchen(circuits=circuits, hoods=hoods, switches=switches, supplies=supplies, exhaust_fans=fans)


def test_an_open_shared_neutral_puts_loads_in_series() -> None:
    """Field case P03: 100 W and 500 W on 240 V with their neutral open: 200 V and 40 V (resistances as 5 to 1)."""
    shared = wired(build_design(two_legs()), "share", "H-1-E1:N", "H-2-E1:N")
    sound = Kitchen(two_legs(), lambda _d: shared).do(switch_SW_2="on")
    for tag in ("H-1-E1", "H-2-E1"):
        # less what the line loses on the way
        assert sound.volts(f"{tag}:L", f"{tag}:N") == pytest.approx(120.0, rel=0.02)
    loose = Kitchen(two_legs(), lambda _d: without(shared, "LP-1/8/N", "LP-1/9/N")).do(switch_SW_2="on")
    assert loose.volts("H-1-E1:L", "H-1-E1:N") == pytest.approx(200.0, rel=0.02)
    assert loose.volts("H-2-E1:L", "H-2-E1:N") == pytest.approx(40.0, rel=0.02)
    assert loose["H-1-E1.on"] is True
    assert loose["H-2-E1.on"] is False


def test_one_shared_neutral_is_a_finding() -> None:
    """Two circuits whose loads go home over one neutral are named by the proof."""
    job = two_legs()
    shared = wired(build_design(job), "share", "H-1-E1:N", "H-2-E1:N")
    found = [f for f in prove(job, shared, LIBRARY).findings if f.code == "SHARED-NEUTRAL"]
    assert found
    assert "LP-1/8 and LP-1/9" in found[0].message


def test_two_circuits_on_one_net_are_a_finding() -> None:
    """Two breakers of the same line joined behind their poles: both are named (field case P16)."""
    job = kitchen(circuits=tuple(
        c.model_copy(update={"lines": ("L2",)}) if c.tag == "LP-1/8" else c for c in kitchen().circuits
    ))  # fmt: skip
    joined = wired(build_design(job), "joined", "LP-1/2:2", "LP-1/8:2")
    (found,) = [f for f in prove(job, joined, LIBRARY).findings if f.code == "TWO-SOURCES"]
    assert found.item == "LP-1/2, LP-1/8"


def test_two_circuits_of_different_lines_on_one_net_trip() -> None:
    """L2 on L3: a short circuit between phases, at least one of the two breakers opens."""
    k = Kitchen(kitchen(), lambda d: wired(d, "joined", "LP-1/2:2", "LP-1/8:2"))
    assert k["LP-1/2.tripped"] or k["LP-1/8.tripped"]


# fire loop ------------------------------------------------------------------------------------------------------


def test_an_armed_loop_that_opens_is_an_alarm() -> None:
    """A conductor of the loop left off: the panel sees a release, exhaust runs full, the horn sounds."""
    k = Kitchen(kitchen(), lambda d: without(d, "FS-1/loop1/+/1"))
    assert k["Z1>released"] is True
    assert k["EF-1.speed"] == pytest.approx(1.0, abs=0.01)
    assert k["CP1-P1.on"] is True


def test_a_jumper_left_in_hides_the_release() -> None:
    """The factory jumper still fitted: the release comes and the panel sees none."""
    (jumper,) = build_design(kitchen()).jumpers
    k = Kitchen(kitchen(), lambda d: wired(d, "left in", str(jumper.a), str(jumper.b), 0.5))
    k.do(fire_Z1="released")
    assert k["Z1>released"] is False
    assert k["CP1-P1.on"] is False


def test_a_release_is_seen_and_forgotten() -> None:
    """Armed, released, armed again."""
    k = Kitchen(kitchen())
    assert (k["Z1>released"], k["EF-1.speed"], k["CP1-P1.on"]) == (False, 0.0, False)
    k.do(fire_Z1="released")
    assert (k["Z1>released"], k["CP1-P1.on"]) == (True, True)
    assert k["EF-1.speed"] == pytest.approx(1.0, abs=0.01)
    k.do(fire_Z1="armed")
    assert (k["Z1>released"], k["EF-1.speed"], k["CP1-P1.on"]) == (False, 0.0, False)


def test_any_of_several_switches_opens_the_loop() -> None:
    """Three in series: each alone is enough."""
    loop = m.Pole(use="panel loop", side="armed side")
    job = kitchen(fire_systems=(m.FireSystem(tag="FS-1", zone="Z1", poles=(loop,), switches=3),))
    k = Kitchen(job)
    for tag in ("FS-1", "FS-1/2", "FS-1/3"):
        alone = k.machine.apply(k.state, {f"release {tag}": "pulled"})
        assert k.machine.get(alone, "Z1>released") is True


# sensors and signals --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("state", ["open", "short"])
def test_a_broken_sensor_gives_full_exhaust_and_the_horn(state: str) -> None:
    """Open and shorted alike."""
    k = Kitchen(kitchen()).do(sensor_TS_1=state)
    assert k["TS-1>reads"] == state
    assert k["EF-1.speed"] == pytest.approx(1.0, abs=0.01)
    assert k["CP1-P1.on"] is True


def test_the_hottest_sensor_of_a_hood_decides() -> None:
    """Two sensors on one hood; one conductor pair exchanged with nobody changes nothing, heat starts the fan."""
    sensors = (m.HoodSensor(tag="TS-1"), m.HoodSensor(tag="TS-2"))
    k = Kitchen(kitchen(hoods=(hood(sensors=sensors),))).do(heat_H_1="on")
    assert k["EF-1.speed"] == pytest.approx(1.0, abs=0.01)
    lone = Kitchen(kitchen(hoods=(hood(sensors=sensors),)), lambda d: without(d, "TS-2/+"))
    assert lone["TS-2>reads"] == "open"


def test_a_speed_pair_reversed_stops_an_ec_fan() -> None:
    """Polarity matters: + on GND and - on 0-10V give the fan -10 V, it stands."""
    k = Kitchen(kitchen(), lambda d: swapped(d, "EF-1/speed/+", "EF-1/speed/-"))
    k.do(switch_SW_1="on")
    assert k["EF-1.speed"] == 0.0
    assert k.do(fire_Z1="released")["EF-1.speed"] == 0.0


def test_own_ten_volts_on_the_signal_run_a_fan_full() -> None:
    """Field case E01: +10 V tied to the panel's signal: full speed with the switch off."""
    k = Kitchen(kitchen(), lambda d: wired(d, "tied", "EF-1:+10V", "EF-1:0-10V"))
    assert k["EF-1.speed"] == pytest.approx(1.0, abs=0.03)
    assert k.do(switch_SW_1="on")["EF-1.speed"] == pytest.approx(1.0, abs=0.03)


def test_several_inputs_pull_a_signal_down() -> None:
    """Field case E02: an input of 100 ohm behind the output's 100 ohm halves 10 V: half speed at full call."""
    k = Kitchen(kitchen(ec(input_impedance_kohm=0.1))).do(fire_Z1="released")
    assert k["EF-1.speed"] == pytest.approx(0.5, abs=0.01)


# the machine of a whole job -------------------------------------------------------------------------------------


def test_the_machine_is_deterministic() -> None:
    """Two machines of one job, the same story told, give the same value in every slot; the order in which things are
    named within an event does not matter."""
    job, design = example("school-kitchen"), design_of("school-kitchen")
    ends = []
    for turn in (1, -1):
        machine = machine_of(job, design)
        state = machine.dark()
        supply = {f"supply {c.tag}": "present" for c in job.circuits[::turn]}
        story = [supply, {"reset": True}, {"reset": False}, {"switch SW-1": "on", "heat H-2": "on"}]
        for events in [*story, {"fire Z1": "released"}, {"fire Z1": "armed"}]:
            state = machine.apply(state, dict(list(events.items())[::turn]))
        ends.append(dict(zip(machine.names, state.values, strict=True)))
    assert ends[0] == ends[1]


def test_dark_is_dead_and_at_rest() -> None:
    """Nothing supplied: no pending delay, no chatter, everything that moves air or carries fuel stands."""
    job = example("hospital")
    machine = machine_of(job, design_of("hospital"))
    dark = machine.dark()
    assert (dark.pending, dark.chatter) == ({}, ())
    for tag in [*(f.tag for f in job.exhaust_fans), *(u.tag for u in job.makeup_units)]:
        assert machine.get(dark, f"{tag}.speed") == 0.0
    for gv in (s.tag for s in job.shutdowns if s.kind == "gas valve"):
        assert machine.get(dark, f"{gv}.open") is False


def test_a_conductor_on_a_terminal_that_is_not_there() -> None:
    """The message has the conductor's number and the terminal."""
    design = build_design(kitchen())
    number = design.conductor_by_key["EF-1/speed/+"].number
    with pytest.raises(CircuitError, match=rf"conductor {number}: there is no terminal EF-1:X9"):
        machine_of(kitchen(), moved(design, "EF-1/speed/+", "b", "EF-1:X9"))


def test_a_device_type_that_is_not_there() -> None:
    """The message has the device and the type."""
    design = build_design(kitchen())
    devices = tuple(replace(d, type="ec_fan_9") if d.tag == "EF-1" else d for d in design.devices)
    with pytest.raises(CircuitError, match="EF-1: the library has no device type ec_fan_9"):
        machine_of(kitchen(), replace(design, devices=devices))
