"""The shipped device types: complete, whole, and at work one by one."""

import cmath
import math

import pytest

from galleyproof.circuit.behaviours import BEHAVIOURS, rules_of
from galleyproof.circuit.machine import Machine
from galleyproof.circuit.network import build_network
from galleyproof.design.builder import _OFFERED, _marks
from galleyproof.design.model import Conductor, Design, Device, EnergyClass, Program, Role, TerminalId
from galleyproof.design.power import SYSTEMS
from galleyproof.library.reader import load_library, read_types, shipped_files
from galleyproof.tables.conductors import awg_index

LIBRARY = load_library()
KINDS = pytest.mark.parametrize("kind", LIBRARY.values(), ids=LIBRARY)

# Marks of every type, typed by hand from the list that recipes and library were both written from.
_L1, _L2, _L3 = "L1 L2", "L1 L2 L3", "L1 L2 L3 N PE"
_POLES = {1: "1 2", 2: "1 2 3 4", 3: "1 2 3 4 5 6"}
_MAINS = {1: "1/L1 2/T1", 2: "1/L1 2/T1 3/L2 4/T2", 3: "1/L1 2/T1 3/L2 4/T2 5/L3 6/T3"}
_RELAY = "A1 A2 11 12 14 21 22 24"
_INPUTS = (
    "24V 0V PE B1+ B1- B2+ B2- B3+ B3- B4+ B4- B5+ B5- B6+ B6- B7+ B7- B8+ B8- R1+ R1- R2+ R2- F1+ F1- F2+ F2- "
    "D1+ D1- D2+ D2- D3+ D3- D4+ D4- D5+ D5- D6+ D6- D7+ D7- D8+ D8-"
)
_RELAYS = "11 12 14 21 22 24 31 32 34 41 42 44 51 52 54 61 62 64 71 72 74 81 82 84"
_SPEEDS = "Y1+ Y1- Y2+ Y2- Y3+ Y3- Y4+ Y4-"
MARKS = {
    "panelboard_120_240": "L1 L2 N PE",
    **dict.fromkeys(("panelboard_high_leg", "panelboard_208y120", "panelboard_480y277", "panelboard_600y347"), _L3),
    **dict.fromkeys(("panelboard_240d", "panelboard_480d"), "L1 L2 L3 PE"),
    **{f"breaker_{n}": marks for n, marks in _POLES.items()},
    **{f"breaker_{n}_shunt": f"{marks} C1 C2" for n, marks in _POLES.items()},
    **{f"breaker_{n}_shunt_plain": f"{marks} C1 C2" for n, marks in _POLES.items()},
    **{f"disconnect_{n}": marks for n, marks in _POLES.items()},
    "alarm_module": "Z1 Z2",
    "link_station": "A B SG",
    "link_station_end": "A B SG",
    "display": "1 2 3 4",
    "master_stop": "1 2",
    "master_start": "1 2",
    "switch_on_off": "1 2",
    "switch_hoa": "1 2 3 4",
    "appliance_1": "L N PE",
    "appliance_2": f"{_L1} PE",
    "appliance_3": f"{_L2} PE",
    "gas_appliance": "PE",
    "power_supply_24": "L N PE + -",
    "control_transformer": "1 2 3 4 PE",
    "control_breaker": "1 2",
    "light_contactor": "1 2 3 4 5 6 7 8 A1 A2",
    **{f"motor_contactor_{n}": f"{m} A1 A2 13 14 95 96 97 98" for n, m in _MAINS.items()},
    **{f"contactor_held_{n}": f"{m} A1 A2" for n, m in _MAINS.items()},
    "relay_24": _RELAY,
    "relay_120": _RELAY,
    "push_button": "13 14",
    "horn": "1 2",
    "end_resistor": "1 2",
    "vfd_3": f"{_L2} PE U V W run+ run ref+ ref- +10V flt1 flt2",
    "vfd_1": f"{_L1} PE U V W run+ run ref+ ref- +10V flt1 flt2",
    "controller": f"{_INPUTS} {_RELAYS} {_SPEEDS} A B SG P1 P2 P3 P4",
    "module_inputs": _INPUTS,
    "module_outputs": f"24V 0V PE {_RELAYS} {_SPEEDS} Y5+ Y5- Y6+ Y6- Y7+ Y7- Y8+ Y8-",
    "motor_1": "U1 U2 PE",
    "motor_3": "U1 V1 W1 PE",
    **{
        f"ec_fan_{n}{kind}": f"{lines} PE {signal} GND +10V{run}"
        for n, lines in ((1, _L1), (3, _L2))
        for kind, signal, run in (("", "0-10V", ""), ("_run", "0-10V", " run+ run"), ("_pwm", "PWM", ""))
    },
    **{
        f"makeup_{n}{wet}{kind}": f"{lines} PE J1 J2{speed}"
        for n, lines in ((1, _L1), (3, _L2))
        for wet in ("", "_wet")
        for kind, speed in (("", ""), ("_speed", " S+ S-"))
    },
    "fire_switch_1": "1C 1A 1R",
    "fire_switch_2": "1C 1A 1R 2C 2A 2R",
    "fire_switch_3": "1C 1A 1R 2C 2A 2R 3C 3A 3R",
    "fire_switch_4": "1C 1A 1R 2C 2A 2R 3C 3A 3R 4C 4A 4R",
    "gas_valve": "1 2 PE",
    "damper_24": "1 2",
    "damper_24_end": "1 2 3 4",
    "damper_120": "1 2",
    "damper_120_end": "1 2 3 4",
    "current_switch": "1 2",
    "airflow_switch": "1 2",
    "temperature_sensor": "1 2",
    "hood_light": "L N PE",
}
STATED = {
    "trip_a": 20.0, "load_v": 120.0, "load_w": 1000.0, "valve": "GV-9", "input_v": 480.0, "input_a": 8.0,
    "output_a": 7.0, "output_ln_v": 277.0, "overload_a": 5.0, "motor_v": 208.0, "motor_va": 1500.0,
    "start_delay_s": 45.0, "zone": "Z9", "curve": "NTC 10k type 2", "hood": "H-9", "around": "W9", "fan": "EF-9",
}  # fmt: skip
"""What a device states for ratings without a default."""


def one(type_, *, tag="D-1", library=LIBRARY, **ratings):
    """A design of one device that states what its type asks for."""
    kind = library[type_]
    asked = {name: STATED[name] for name, spec in kind.ratings.items() if spec.default is None}
    return design(Device(tag, type_, kind.title, "lab", None, asked | ratings), controller=tag)


def design(*devices, wires=(), controller=""):
    conductors = tuple(
        Conductor(f"W{n}", n, TerminalId(*a.split(":")), TerminalId(*b.split(":")), "field", Role.LINE,
                  EnergyClass.LINE, "12", "black", 10.0, "", "", "")
        for n, (a, b) in enumerate(wires, 1)
    )  # fmt: skip
    return Design(devices, conductors, (), (), (), (), Program(controller), "CP1")


def machine(made, library=LIBRARY, **world):
    """A machine in which every slot that other devices or the world would give is there and at rest."""
    rules = rules_of(made, library)
    tags = {d.tag for d in made.devices}
    given = {name for rule in rules for name in rule.inputs if name.split(".")[0].split(">")[0] not in tags}
    rest = {name: 0.0 if "." in name else False if name == "reset" else "" for name in given}
    return Machine(build_network(made, library), rules, rest | world)


def test_every_type_of_the_list_is_there_and_no_other():
    assert set(LIBRARY) == set(MARKS)


@KINDS
def test_a_type_has_the_marks_of_the_list(kind):
    assert {t.mark for t in kind.terminals} == set(MARKS[kind.type].split())


def test_no_type_stands_in_two_files():
    names = [kind.type for name, text in shipped_files().items() for kind in read_types(text, name)]
    assert len(names) == len(set(names))


@KINDS
def test_every_behaviour_exists_and_every_part_it_reads_is_there(kind):
    assert {b.do for b in kind.behaviours} <= set(BEHAVIOURS)
    # compiling looks up every role, every rating and every reading
    built = machine(one(kind.type))
    assert not built.dark().chatter


def test_every_behaviour_is_used_by_a_type():
    assert {b.do for kind in LIBRARY.values() for b in kind.behaviours} == set(BEHAVIOURS)


@KINDS
def test_every_part_that_moves_is_moved_by_a_behaviour_but_a_disconnect(kind):
    made = one(kind.type)
    moved = {name for rule in rules_of(made, LIBRARY) for name in rule.outputs}
    network = build_network(made, LIBRARY)
    moving = {link.slot for link in network.links}
    moving |= {s.slot for s in (*network.sources, *network.stiff) if s.slot}
    moving |= {b.slot for b in network.branches if b.slot}
    still = moving - moved
    if kind.type.startswith("disconnect_"):
        assert still == moving
    elif kind.points:
        # points move once the design uses them
        words = ("relay_", "speed_")
        assert still == {s for s in moving if s.split(".")[1].startswith(words)}
    else:
        assert not still


@KINDS
def test_a_terminal_takes_a_size_the_tables_know(kind):
    assert all(awg_index(t.max_awg) >= awg_index("22") for t in kind.terminals)


@KINDS
def test_every_terminal_but_pe_is_reached_by_a_part(kind):
    reached = {end for p in kind.parts for end in (p.a, getattr(p, "b", p.a), getattr(p, "c", p.a))}
    assert {t.mark for t in kind.terminals} - reached <= {"PE"}


PANEL = [k for text in ("panel.yaml", "controller.yaml") for k in read_types(shipped_files()[text], text)]


@pytest.mark.parametrize("kind", PANEL, ids=[k.type for k in PANEL])
def test_what_stands_in_the_panel_has_a_size(kind):
    assert kind.size_inch is not None
    assert all(0.2 < side < 20 for side in kind.size_inch)


@pytest.mark.parametrize("type_", _OFFERED)
def test_a_controller_offers_the_points_the_design_hands_out(type_):
    kind = LIBRARY[type_]
    marks = {t.mark for t in kind.terminals}
    for point, number in _OFFERED[type_].items():
        assert kind.points[str(point)] == number
        for n in range(1, number + 1):
            assert set(_marks(point, n).values()) <= marks
    assert set(kind.points) - {str(p) for p in _OFFERED[type_]} <= {"serial link", "display port"}


# Nominal line-to-line and line-to-neutral volts of the systems: ANSI C84.1 (the high leg: 240 V x sqrt(3)/2).
NOMINAL = {
    "panelboard_120_240": (240.0, {"L1": 120.0, "L2": 120.0}),
    "panelboard_high_leg": (240.0, {"L1": 120.0, "L2": 207.85, "L3": 120.0}),
    "panelboard_208y120": (208.0, dict.fromkeys(("L1", "L2", "L3"), 120.1)),
    "panelboard_240d": (240.0, {}),
    "panelboard_480y277": (480.0, dict.fromkeys(("L1", "L2", "L3"), 277.1)),
    "panelboard_480d": (480.0, {}),
    "panelboard_600y347": (600.0, dict.fromkeys(("L1", "L2", "L3"), 346.4)),
}


def test_there_is_a_panelboard_for_every_system():
    assert {s.type for s in SYSTEMS.values()} == set(NOMINAL)


@pytest.mark.parametrize("type_", NOMINAL)
def test_a_panelboard_has_its_systems_volts_and_runs_forward(type_):
    built = machine(one(type_))
    dark = built.dark()

    def volts(mark):
        return built.volts(dark, built.network.terminals[TerminalId("D-1", mark)])[0]

    line_v, neutral_v = NOMINAL[type_]
    lines = [t.mark for t in LIBRARY[type_].terminals if t.mark.startswith("L")]
    pairs = [volts(a) - volts(b) for a, b in zip(lines, lines[1:] + lines[:1], strict=True)]
    assert [abs(v) for v in pairs] == pytest.approx([line_v] * len(pairs), rel=1e-3)
    for mark, expected in neutral_v.items():
        assert abs(volts(mark) - volts("N")) == pytest.approx(expected, rel=1e-3)
    if len(lines) == 3:
        # L1-L2 leads L2-L3 by a third of a turn, and so on around
        for ahead, behind in zip(pairs, pairs[1:] + pairs[:1], strict=True):
            assert math.degrees(cmath.phase(ahead / behind)) == pytest.approx(120, abs=0.1)


BOARD = Device("LP", "panelboard_208y120", "", "lab")


@pytest.mark.parametrize(
    ("load", "slot", "expected"),
    [
        # amperes by hand: watts over volts; three-phase over 3 in each leg of the delta
        (Device("X", "appliance_1", "", "", None, {"load_v": 120.0, "load_w": 1200.0}), "heater", 10.0),
        (Device("X", "appliance_2", "", "", None, {"load_v": 208.0, "load_w": 2080.0}), "heater", 10.0),
        (Device("X", "appliance_3", "", "", None, {"load_v": 208.0, "load_w": 6240.0}), "heater_bc", 10.0),
        (Device("X", "hood_light", "", "", None, {"load_v": 120.0, "load_w": 120.0}), "lamp", 1.0),
    ],
)
def test_a_load_draws_its_rated_current(load, slot, expected):
    lines = [t.mark for t in LIBRARY[load.type].terminals]
    wires = [(f"LP:{'L1' if m == 'L' else m}", f"X:{m}") for m in lines]
    built = machine(design(BOARD, load, wires=wires))
    dark = built.dark()
    branch = next(b for b in built.network.branches if b.name == f"X.{slot}")
    volts = built.volts(dark, branch.a)[0] - built.volts(dark, branch.b)[0]
    assert abs(volts * branch.y_ac) == pytest.approx(expected, rel=5e-3)
    assert built.get(dark, "X.on") is True


@pytest.mark.parametrize(
    ("type_", "part", "ohm"),
    [
        # R = V^2 / P by hand
        ("relay_24", "coil", 24**2 / 1),
        ("light_contactor", "coil", 24**2 / 4),
        ("motor_contactor_3", "coil", 24**2 / 7),
        ("horn", "horn", 24**2 / 3),
        ("controller", "logic", 24**2 / 5),
    ],
)
def test_a_24_v_part_has_the_resistance_of_its_watts(type_, part, ohm):
    branches = {b.name: b for b in build_network(one(type_), LIBRARY).branches}
    assert 1 / branches[f"D-1.{part}"].g_dc == pytest.approx(ohm, rel=5e-3)


@pytest.mark.parametrize("poles", [1, 2, 3])
@pytest.mark.parametrize("kind", ["", "_shunt", "_shunt_plain"])
def test_a_breaker_passes_when_supplied_and_its_poles_open_together(poles, kind):
    made = one(f"breaker_{poles}{kind}")
    built = machine(made, **{"supply D-1": "lost"})
    dark = built.dark()
    slots = [f"D-1.pole_{n}" for n in range(1, poles + 1)]
    assert not any(built.get(dark, s) for s in slots)
    live = built.apply(dark, {"supply D-1": "present"})
    assert all(built.get(live, s) for s in slots)


def test_a_shunt_trip_opens_its_breaker_and_cuts_its_own_coil_off():
    breaker = Device("CB", "breaker_1_shunt", "", "", None, {"trip_a": 20.0})
    supply = Device("DS", "switch_on_off", "", "")
    board = BOARD
    wires = [("LP:L1", "DS:1"), ("DS:2", "CB:C1"), ("CB:C2", "LP:N"), ("LP:L1", "CB:1")]
    built = machine(design(board, breaker, supply, wires=wires), **{"supply CB": "present", "switch DS": "off"})
    rest = built.dark()
    assert built.get(rest, "CB.pole_1") is True
    pulled = built.apply(rest, {"switch DS": "on"})
    assert built.get(pulled, "CB.pole_1") is False
    assert built.get(pulled, "CB.cut_off") is False
    again = built.apply(built.apply(pulled, {"switch DS": "off"}), {"reset": True})
    assert built.get(again, "CB.pole_1") is True


@pytest.mark.parametrize("n", [1, 2, 3, 4])
def test_a_fire_switch_turns_all_poles_over(n):
    built = machine(one(f"fire_switch_{n}", zone="Z1"), **{"fire Z1": "armed"})
    dark = built.dark()
    gone = built.apply(dark, {"fire Z1": "released"})
    for i in range(1, n + 1):
        assert (built.get(dark, f"D-1.armed_{i}"), built.get(dark, f"D-1.released_{i}")) == (True, False)
        assert (built.get(gone, f"D-1.armed_{i}"), built.get(gone, f"D-1.released_{i}")) == (False, True)


@pytest.mark.parametrize("n", [1, 2, 3])
def test_a_disconnect_is_closed(n):
    built = machine(one(f"disconnect_{n}"))
    assert all(built.get(built.dark(), f"D-1.pole_{i}") for i in range(1, n + 1))


@pytest.mark.parametrize(("far", "volts"), [("link_station", 1.5), ("link_station_end", 1.0)])
def test_the_link_has_the_volts_of_its_resistors(far, volts):
    """1.5 V behind 60 ohm: about open without a resistor, 120/180 of it with one (TIA-485 asks for 0.2 V)."""
    supply = Device("T", "power_supply_24", "", "")
    board, control, station = BOARD, Device("K", "controller", "", ""), Device("BL", far, "", "")
    wires = [("LP:L1", "T:L"), ("LP:N", "T:N"), ("T:+", "K:24V"), ("T:-", "K:0V")]
    wires += [(f"K:{m}", f"BL:{m}") for m in ("A", "B", "SG")]
    made = design(board, supply, control, station, wires=wires)
    built = machine(made)
    state = built.dark()
    assert built.get(state, "K.alive") is True
    assert built.get(state, "BL.online") is True
    assert built.get(state, "BL.data.dc") == pytest.approx(volts, rel=0.01)


def test_the_display_needs_its_data_the_right_way_round():
    supply, control = Device("T", "power_supply_24", "", ""), Device("K", "controller", "", "")
    wires = [("LP:L1", "T:L"), ("LP:N", "T:N"), ("T:+", "K:24V"), ("T:-", "K:0V")]
    wires += [("K:P1", "DP:1"), ("K:P2", "DP:2")]
    screen = Device("DP", "display", "", "")
    right = machine(design(BOARD, supply, control, screen, wires=[*wires, ("K:P3", "DP:3"), ("K:P4", "DP:4")]))
    crossed = machine(design(BOARD, supply, control, screen, wires=[*wires, ("K:P3", "DP:4"), ("K:P4", "DP:3")]))
    assert right.get(right.dark(), "DP.online") is True
    assert crossed.get(crossed.dark(), "DP.online") is False


def test_the_alarm_module_sees_a_closed_contact():
    button, module = Device("S", "push_button", "", ""), Device("FA", "alarm_module", "", "")
    built = machine(design(button, module, wires=[("FA:Z1", "S:13"), ("FA:Z2", "S:14")]))
    dark = built.dark()
    assert built.get(dark, "FA.on") is False
    assert built.get(built.apply(dark, {"reset": True}), "FA.on") is True


@pytest.mark.parametrize("phases", [1, 3])
@pytest.mark.parametrize("kind", ["", "_speed"])
def test_a_dry_make_up_unit_starts_when_its_pair_is_joined(phases, kind):
    stated = {"motor_v": 208.0, "motor_va": 1500.0, "start_delay_s": 45.0}
    unit = Device("MAU", f"makeup_{phases}{kind}", "", "", None, stated)
    hand = Device("S", "switch_on_off", "", "")
    wires = [(f"LP:{m}", f"MAU:{m}") for m in ("L1", "L2", "L3", "PE")[: phases if phases == 3 else 2]]
    wires += [("MAU:J1", "S:1"), ("S:2", "MAU:J2")]
    built = machine(design(BOARD, unit, hand, wires=wires), **{"switch S": "off"})
    dark = built.dark()
    assert built.get(dark, "MAU.speed") == 0.0
    on = built.apply(dark, {"switch S": "on"})
    assert built.get(on, "MAU.speed") == (0.2 if kind else 1.0)
    assert on.time_s - dark.time_s == 45.0


def test_an_ec_fan_follows_its_own_ten_volts_and_its_run_contact():
    fan = Device("EF", "ec_fan_1_run", "", "", None, {"motor_v": 208.0, "motor_va": 700.0})
    hand = Device("S", "switch_on_off", "", "")
    wires = [("LP:L1", "EF:L1"), ("LP:L2", "EF:L2"), ("EF:+10V", "EF:0-10V"), ("EF:run+", "S:1"), ("S:2", "EF:run")]
    built = machine(design(BOARD, fan, hand, wires=wires), **{"switch S": "off"})
    dark = built.dark()
    assert built.get(dark, "EF.speed") == 0.0
    on = built.apply(dark, {"switch S": "on"})
    # 10 V behind 1000 ohm on 100 kohm: 9.90 V
    assert built.get(on, "EF.speed") == 0.99
