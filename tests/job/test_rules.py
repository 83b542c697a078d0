"""How the items of a job fit together: each rule broken by one edit of a sound job, each alone in its report."""

import pytest
from tests.job.support import HARBOUR, MINIMAL, check_problems, edited, problems, says
from tests.job.usage_cases import USAGE_CASES
from tests.strategies import POWER

from galleyproof.job.checks import CHECKS
from galleyproof.job.checks.power import NAMEPLATES, SYSTEMS
from galleyproof.job.read import read_job
from galleyproof.job.register import register
from galleyproof.yamltext import load

LOOP = "{use: panel loop, side: armed side}"
ALARM = "{use: building alarm, side: released side}"

DUCT = "{name: riser, shape: {kind: round, diameter: 14 in}, length: 12 ft, carries: [H-1]}"


def curve(points: str) -> tuple[str, str]:
    """Give the first fan a curve."""
    return "    forced_by: FS-1\n", f"    forced_by: FS-1\n    air: {{curve: [{points}]}}\n"


# rule -> name of the case -> edits of the harbour job, then every problem it must give
CASES = {
    "tag_used_twice": {
        "two devices of one tag": (
            [("{tag: CS-1,", "{tag: TS-2,")],
            says("TS-2, kind", "exhaust fan EF-1: proving: tag", "already used by hood sensor TS-2 in line 46"),
        ),
        "letter case does not tell tags apart": (
            [("{tag: OP-1}", "{tag: op-1}"), ("{tag: BL-1}", "{tag: OP-1}")],
            says("OP-1", "building_link: tag", "already used by display op-1", "only in letter case"),
        ),
        "a second master too": (
            [("{tag: DD-1,", "{tag: GV-1,")],
            says("gas valve", "shutdown GV-1: tag", "already used by second master GV-1 in line 78"),
        ),
    },
    "tag_kept_for_the_design": {
        "a device inside the panel": (
            [("{tag: RT-1}", "{tag: CP1-K1}")],
            says("CP1-K1", "room sensor CP1-K1: tag", "begin with CP1- are kept for devices inside the panel CP1"),
        ),
        "a disconnect": (
            [("{tag: RT-1}", "{tag: EF-1-QB}")],
            says("EF-1-QB", "room sensor EF-1-QB: tag", "kept for the disconnect of EF-1"),
        ),
        "a second fire switch": (
            [("  - tag: FS-2\n", "  - tag: FS-2\n    switches: 2\n"), ("{tag: RT-1}", "{tag: FS-2/2}")],
            says("FS-2/2", "room sensor FS-2/2: tag", "kept for switch 2 of fire system FS-2"),
        ),
    },
    "issued_number_twice": {
        "two conductors": (
            [("EF-1/run/2: 102", "EF-1/run/2: 101")],
            says("conductors", "issued: conductors: EF-1/run/2", "101 is already given to EF-1/run/1"),
        ),
        "no number": (
            [("EF-1/run/2: 102", "EF-1/run/2: 0")],
            says("conductors", "issued: conductors: EF-1/run/2", "0 is no conductor number", "begin at 1"),
        ),
    },
    "unknown_reference": {
        "a fan that serves an unknown hood": (
            [("serves: [H-2]", "serves: [H-2, H-22]")],
            says("H-22", "exhaust fan EF-2: serves: entry 2", "there is no hood H-22", "nearest: 'H-2'", "H-1, H-2"),
        ),
        "a fan's circuit": (
            [("circuit: MP-1/7", "circuit: MP-1/8")],
            says("MP-1/8", "exhaust fan EF-2: circuit", "there is no circuit MP-1/8", "nearest: 'MP-1/7'"),
        ),
        "a circuit's panelboard": (
            [("panelboard: HP-1", "panelboard: HQ-1")],
            says("HQ-1", "circuit HP-1/1: panelboard", "there is no panelboard HQ-1", "nearest: 'HP-1'"),
        ),
        "a panelboard's supply": (
            [("tag: DP-1, supply: SRV-4", "tag: DP-1, supply: SRV-9")],
            says("SRV-9", "panelboard DP-1: supply", "there is no supply SRV-9", "SRV-1, SRV-2, SRV-3, SRV-4"),
        ),
        "the panel's circuit": (
            [("panel:\n  circuit: LP-1/1", "panel:\n  circuit: LP-1/11")],
            says("LP-1/11", "panel: circuit", "there is no circuit LP-1/11", "nearest: 'LP-1/1'"),
        ),
        "the lights' switch": (
            [("switch: SW-2}", "switch: SW-3}")],
            says("SW-3", "hood H-2: lights: switch", "there is no wall switch SW-3", "SW-1, SW-2"),
        ),
        "an appliance's shutdown": (
            [("fuel: gas, shut_down_by: GV-1", "fuel: gas, shut_down_by: GV-7")],
            says("GV-7", "hood H-1: appliance A-2: shut_down_by", "there is no shutdown GV-7", "nearest: 'GV-1'"),
        ),
        "a wet command's circuit": (
            [("owner: a building circuit, circuit: LP-1/7", "owner: a building circuit, circuit: LP-1/70")],
            says("LP-1/70", "exhaust fan EF-1: drive: run_command: circuit", "no circuit LP-1/70", "'LP-1/7'"),
        ),
        "a shutdown circuit": (
            [("shutdown_circuit: LP-1/3", "shutdown_circuit: LP-1/33")],
            says("LP-1/33", "fire system FS-1: shutdown_circuit", "no circuit LP-1/33", "nearest: 'LP-1/3'"),
        ),
        "what a switch acts on": (
            [("acts_on: [EF-1]", "acts_on: [EF-1, H-1]")],
            says("SW-1", "wall switch SW-1: acts_on: entry 2", "H-1 is a hood, not a fan", "EF-1, EF-2, MAU-1"),
        ),
        "a damper of a damper": (
            [("{tag: D-1, fan: EF-2}", "{tag: D-1, fan: FS-1}")],
            says("D-1", "damper D-1: fan", "FS-1 is a fire system, not a fan"),
        ),
        "forced by nobody": (
            [("forced_by: FS-1", "forced_by: FS-3")],
            says("FS-3", "exhaust fan EF-1: forced_by", "there is no fire system FS-3", "FS-1, FS-2"),
        ),
    },
    "circle": {
        "a make-up unit that tracks itself": (
            [("tracks: [EF-1, EF-2]", "tracks: [EF-1, MAU-1]")],
            says("tracks", "make-up unit MAU-1: tracks: entry 2", "MAU-1 names itself", "exhaust fan"),
        ),
        "a damper and a fan that name each other": (
            [("{tag: D-1, fan: EF-2}", "{tag: D-1, fan: EF-1}"), ("forced_by: FS-1", "forced_by: D-1")],
            says("forced_by", "exhaust fan EF-1: forced_by", "in a circle: EF-1 -> D-1 -> EF-1", "fire system"),
        ),
        "over three items": (
            [
                ("{tag: D-1, fan: EF-2}", "{tag: D-1, fan: EF-1}"),
                ("forced_by: FS-1", "forced_by: MAU-1"),
                ("tracks: [EF-1, EF-2]", "tracks: [D-1]"),
            ],
            says("forced_by", "exhaust fan EF-1: forced_by", "EF-1 -> MAU-1 -> D-1 -> EF-1"),
        ),
    },
    "unknown_zone": {
        "a shutdown": (
            [("tag: KA-2, zone: Z2", "tag: KA-2, zone: Z22")],
            says("KA-2", "shutdown KA-2: zone", "no fire system has zone Z22", "nearest: 'Z2'", "Z1, Z2"),
            says("A-3", "hood H-2: appliance A-3: shut_down_by", "KA-2 belongs to zone Z22"),
        ),
        "a fire output": (
            [("use: damper, zone: Z2", "use: damper, zone: Z3")],
            says("FO-1", "fire output FO-1: zone", "no fire system has zone Z3", "zones here: Z1, Z2"),
        ),
    },
    "route_to_nowhere": {
        "unknown place": (
            [("{tag: R-1, to: roof", "{tag: R-1, to: rooof")],
            says("R-1", "route R-1: to", "nothing stands at 'rooof'", "nearest: 'roof'", "electrical room"),
        ),
        "twice": (
            [("{tag: R-2, to: hood", "{tag: R-2, to: roof")],
            says("R-2", "route R-2: to", "route R-1 already leads to 'roof'"),
        ),
    },
    "circuit_lines": {
        "a line the supply has not": (
            [
                ("{tag: SRV-4, system: 240 V delta}", "{tag: SRV-4, system: 120/240 V 1-phase}"),
                ("lines: [L1, L2], b", "lines: [L1, L3], b"),
            ],
            says("DP-1/1", "circuit DP-1/1: lines", "a 120/240 V 1-phase supply has no L3", "L1, L2"),
        ),
        "the same line twice": (
            [("lines: [L1, L2], b", "lines: [L2, L2], b")],
            says("DP-1/1", "circuit DP-1/1: lines", "L2, L2 names a line twice"),
        ),
        "no neutral": (
            [("lines: [L1, L2], b", "lines: [L1], b")],
            says("DP-1/1", "circuit DP-1/1: lines", "one line needs a neutral", "240 V delta supply has none"),
        ),
        "the high leg": (
            [("{tag: HP-1/1, panelboard: HP-1, lines: [L1]", "{tag: HP-1/1, panelboard: HP-1, lines: [L2]")],
            says("HP-1/1", "circuit HP-1/1: lines", "L2 is the high leg, 208 V from neutral", "take L1 or L3"),
        ),
    },
    "motor_voltage": {
        "a voltage the supply cannot give": (
            [("volts: 277 V", "volts: 240 V")],
            says(
                "volts: 240 V",
                "exhaust fan EF-2: drive: motor: volts",
                "240 V is not available from a 480Y/277 V supply (277, 480)",
                "nameplates that fit: 277 V",
            ),
        ),
        "a voltage of other lines": (
            [("volts: 277 V", "volts: 460 V")],
            says(
                "volts: 460 V",
                "exhaust fan EF-2: drive: motor: volts",
                "460 V does not fit circuit MP-1/7, which takes L2",
                "gives 277 V",
                "277 V or 265 V",
            ),
        ),
        "a make-up unit": (
            [("hp: 5 hp, volts: 460 V", "hp: 5 hp, volts: 208 V")],
            says("hp: 5", "make-up unit MAU-1: control: motor: volts", "208 V is not available", "(277, 480)"),
        ),
    },
    "motor_phases": {
        "three phases on one line": (
            [("volts: 277 V, phases: 1", "volts: 277 V, phases: 3")],
            says("phases: 3, n", "exhaust fan EF-2: drive: motor: phases", "needs three lines", "MP-1/7 takes L2"),
        ),
        "one phase on three lines": (
            [("hp: 5 hp, volts: 460 V, phases: 3", "hp: 5 hp, volts: 460 V, phases: 1")],
            says("hp: 5", "make-up unit MAU-1: control: motor: phases", "cannot sit on three lines", "one or two"),
        ),
        "a drive's input": (
            [("      kind: VFD\n", "      kind: VFD\n      input_phases: 1\n")],
            says("input_phases", "exhaust fan EF-1: drive: input_phases", "single-phase drive input", "MP-1/1"),
        ),
    },
    "drive_motor": {
        "a single-phase motor on a drive": (
            [("1-1/2 hp, volts: 460 V, phases: 3", "1-1/2 hp, volts: 460 V, phases: 1")],
            says("1-1/2", "exhaust fan EF-1: drive: motor: phases", "a VFD gives three phases", "phases: 3"),
        ),
    },
    "light_circuit": {
        "three poles": (
            [("{load: 150 W, circuit: LP-1/2", "{load: 150 W, circuit: LP-1/4")],
            says("150 W", "hood H-2: lights: circuit", "LP-1/4 takes L1, L2, L3", "take a one-pole circuit"),
            says("150 W", "hood H-2: lights: circuit", "208 V", "lights of hood H-1", "120 V"),
        ),
    },
    "lights_of_one_switch": {
        "two voltages": (
            [
                (
                    "  - {tag: HP-1/1,",
                    "  - {tag: MP-1/8, panelboard: MP-1, lines: [L1], breaker: 15 A}\n  - {tag: HP-1/1,",
                ),
                ("{load: 150 W, circuit: LP-1/2", "{load: 150 W, circuit: MP-1/8"),
            ],
            says("150 W", "hood H-2: lights: circuit", "277 V", "lights of hood H-1 on the same switch have 120 V"),
        ),
    },
    "run_command": {
        "dry with a foreign voltage": (
            [("kind: dry, volts: 24 V, owner: the unit", "kind: dry, volts: 24 V, owner: the panel")],
            says("dry", "make-up unit MAU-1: control: run_command: owner", "unit's own voltage", "kind: wet"),
        ),
        "dry with a circuit": (
            [("kind: dry, volts: 24 V, owner: the unit", "kind: dry, volts: 24 V, owner: the unit, circuit: LP-1/7")],
            says("dry", "make-up unit MAU-1: control: run_command: circuit", "LP-1/7 is named", "leave it out"),
        ),
        "wet from the unit": (
            [("kind: dry, volts: 24 V, owner: the unit", "kind: wet, volts: 24 V, owner: the unit")],
            says("wet, volts: 24", "make-up unit MAU-1: control: run_command: owner", "write kind: dry"),
        ),
        "wet without its circuit": (
            [("owner: a building circuit, circuit: LP-1/7", "owner: a building circuit")],
            says("wet", "exhaust fan EF-1: drive: run_command: circuit", "is missing", "needs the circuit's tag"),
        ),
        "wet on two lines": (
            [("owner: a building circuit, circuit: LP-1/7", "owner: a building circuit, circuit: DP-1/1")],
            says("wet", "exhaust fan EF-1: drive: run_command: circuit", "one line and neutral", "takes L1, L2"),
        ),
        "wet of another voltage": (
            [("kind: wet, volts: 120 V", "kind: wet, volts: 24 V")],
            says("wet", "exhaust fan EF-1: drive: run_command: volts", "24 V, but circuit LP-1/7 gives 120 V"),
        ),
        "wet from the panel at 24 V": (
            [("kind: dry, volts: 24 V, owner: the unit", "kind: wet, volts: 24 V, owner: the panel")],
            says("wet, volts: 24", "make-up unit MAU-1: control: run_command: volts", "not the panel's", "120 V"),
        ),
        "wet from the panel with a circuit": (
            [("owner: a building circuit, circuit: LP-1/7", "owner: the panel, circuit: LP-1/7")],
            says("wet", "exhaust fan EF-1: drive: run_command: circuit", "panel's own", "leave it out"),
        ),
    },
    "control_circuit": {
        "a shutdown circuit of three lines": (
            [("shutdown_circuit: LP-1/3", "shutdown_circuit: LP-1/4")],
            says("shutdown_circuit", "fire system FS-1: shutdown_circuit", "LP-1/4 takes L1, L2, L3", "one-pole"),
            says("shunt trip,", "shutdown SH-1: circuit", "the coil takes 120 V", "LP-1/4 gives 208 V"),
            says("gas valve,", "shutdown GV-1: volts", "the coil takes 120 V", "gives 208 V"),
        ),
    },
    "coil_voltage": {
        "a gas valve of 24 V": (
            [("kind: gas valve, tag: GV-1, zone: Z1", "kind: gas valve, tag: GV-1, zone: Z1, volts: 24 V")],
            says("gas valve,", "shutdown GV-1: volts", "the coil takes 24 V", "shutdown circuit LP-1/3 gives 120 V"),
        ),
        "a shunt coil of 24 V": (
            [("shunt_trip: {}", "shunt_trip: {coil: 24 V}")],
            says("shunt trip,", "shutdown SH-1: circuit", "the coil takes 24 V", "take a coil of 120 V"),
        ),
    },
    "damper_voltage": {
        "230 V": (
            [("{tag: D-1, fan: EF-2}", "{tag: D-1, fan: EF-2, volts: 230 V}")],
            says("D-1", "damper D-1: volts", "230 V", "take 24 V or 120 V"),
        ),
    },
    "hood_without_fan": {
        "a hood served by no fan": (
            [("serves: [H-2]", "serves: [H-1]")],
            says("tag: H-2", "hood H-2", "no exhaust fan serves this hood", "add H-2 to serves", "EF-1, EF-2"),
        ),
    },
    "hood_without_fire_system": {
        "a zone nobody protects": (
            [("duty: light\n    zone: Z2", "duty: light\n    zone: Z3")],
            says("zone: Z3", "hood H-2: zone", "no fire system has zone Z3", "protected zones: Z1, Z2"),
            says("zone: Z2", "fire system FS-2: zone", "no hood is in zone Z2", "zones of hoods: Z1, Z3"),
            says("A-3", "hood H-2: appliance A-3: shut_down_by", "KA-2 belongs to zone Z2", "hood H-2 is in zone Z3"),
        ),
    },
    "fire_system_without_hood": {
        "a zone without hoods": (
            [
                (
                    "shutdowns:\n",
                    "  - {tag: FS-3, zone: Z9, poles: [" + f"{LOOP}, {ALARM}]}}\nshutdowns:\n",
                )
            ],
            says("FS-3", "fire system FS-3: zone", "no hood is in zone Z9", "zones of hoods: Z1, Z2"),
        ),
    },
    "zone_with_two_fire_systems": {
        "one zone twice": (
            [
                (
                    "shutdowns:\n",
                    "  - {tag: FS-3, zone: Z2, poles: [" + f"{LOOP}, {ALARM}]}}\nshutdowns:\n",
                )
            ],
            says("FS-3", "fire system FS-3: zone", "zone Z2 already has fire system FS-2", "more switches"),
        ),
    },
    "named_twice_in_a_list": {
        "a hood": (
            [("serves: [H-2]", "serves: [H-2, H-2]")],
            says("serves: [H-2", "exhaust fan EF-2: serves: entry 2", "H-2 stands here twice"),
        ),
    },
    "fan_with_two_dampers": {
        "two dampers": (
            [("  - {tag: D-1, fan: EF-2}", "  - {tag: D-1, fan: EF-2}\n  - {tag: D-2, fan: EF-2}")],
            says("D-2", "damper D-2: fan", "fan EF-2 already has damper D-1"),
        ),
    },
    "motor_shares_its_circuit": {
        "two motors": (
            [("circuit: MP-1/4\n", "circuit: MP-1/1\n")],
            says("circuit: MP-1/1", "make-up unit MAU-1: circuit", "already feeds exhaust fan EF-1"),
        ),
        "a motor and lights": (
            [("circuit: MP-1/7\n", "circuit: LP-1/2\n"), ("volts: 277 V", "volts: 120 V")],
            says("200 W", "hood H-1: lights: circuit", "LP-1/2 already feeds exhaust fan EF-2", "take another"),
            says("150 W", "hood H-2: lights: circuit", "LP-1/2 already feeds exhaust fan EF-2", "take another"),
        ),
    },
    "lights_without_switch": {
        "a fan switch": (
            [("switch: SW-2}", "switch: SW-1}")],
            says("SW-1}", "hood H-2: lights: switch", "SW-1 is a switch for fans", "does: lights"),
        ),
        "no switch": (
            [("  - {tag: SW-2, kind: on-off, does: lights}\n", ""), (", switch: SW-2}", "}")],
            says("200 W", "hood H-1: lights", "no wall switch works these lights", "add one with does: lights"),
            says("150 W", "hood H-2: lights", "no wall switch works these lights"),
        ),
    },
    "set_points": {
        "idle above full": (
            [("idle_below: 90 degF", "idle_below: 130 degF")],
            says("idle_below", "hood H-1: idle_below", "130 degF is not below full_above, 125 degF"),
        ),
        "a least speed above full": (
            [("min_speed: 50 %", "min_speed: 150 %")],
            says("min_speed", "exhaust fan EF-1: min_speed", "150 %", "at or below 100 %"),
        ),
        "no least speed": (
            [("min_speed: 50 %", "min_speed: 0 %")],
            says("min_speed", "exhaust fan EF-1: min_speed", "0 %", "above 0 %"),
        ),
    },
    "appliances": {
        "electric without load": (
            [("load: 1.6 kW, circuit: LP-1/8", "circuit: LP-1/8")],
            says("A-3", "hood H-2: appliance A-3: load", "is missing", "like 8.3 kW"),
        ),
        "electric without circuit": (
            [("load: 1.6 kW, circuit: LP-1/8", "load: 1.6 kW")],
            says("A-3", "hood H-2: appliance A-3: circuit", "is missing", "names the circuit"),
        ),
        "electric on a gas valve": (
            [("circuit: LP-1/4, shut_down_by: SH-1", "circuit: LP-1/4, shut_down_by: GV-1")],
            says("A-1", "hood H-1: appliance A-1: shut_down_by", "GV-1 is a gas valve", "shunt trip"),
        ),
        "shut down by another circuit's breaker": (
            [("circuit: LP-1/8, shut_down_by: KA-2", "circuit: LP-1/7, shut_down_by: KA-2")],
            says("A-3", "hood H-2: appliance A-3: shut_down_by", "KA-2 opens circuit LP-1/8", "fed from LP-1/7"),
        ),
        "gas on a breaker": (
            [("fuel: gas, shut_down_by: GV-1", "fuel: gas, shut_down_by: SH-1")],
            says("A-2", "hood H-1: appliance A-2: shut_down_by", "SH-1 is a shunt trip", "of zone Z1: GV-1"),
        ),
        "gas without a valve": (
            [("fuel: gas, shut_down_by: GV-1", "fuel: gas"), ("  - {kind: gas valve, tag: GV-1, zone: Z1}\n", "")],
            says("A-2", "hood H-1: appliance A-2: shut_down_by", "zone Z1 has no gas valve", "shut_down: false"),
        ),
        "a valve of another zone": (
            [("tag: GV-1, zone: Z1", "tag: GV-1, zone: Z2")],
            says("A-2", "hood H-1: appliance A-2: shut_down_by", "GV-1 belongs to zone Z2", "H-1 is in zone Z1"),
        ),
    },
    "shunt_trip": {
        "no accessory": (
            [(", shunt_trip: {}", "")],
            says("shunt trip,", "shutdown SH-1: circuit", "LP-1/4 has no shunt-trip accessory", "shunt_trip: {}"),
        ),
    },
    "circuit_shut_down_twice": {
        "two ways": (
            [
                ("tag: KA-2, zone: Z2, circuit: LP-1/8", "tag: KA-2, zone: Z2, circuit: LP-1/4"),
                (", circuit: LP-1/8, shut_down_by: KA-2", ", circuit: LP-1/8"),
            ],
            says("KA-2", "shutdown KA-2: circuit", "LP-1/4 is already shut down by SH-1", "keep one"),
        ),
    },
    "shutdown_pole": {
        "no circuit": (
            [("    shutdown_circuit: LP-1/3\n", "")],
            says("use: shutdown", "fire system FS-1: pole 2: use", "name it by shutdown_circuit"),
        ),
        "no pole": (
            [("{use: shutdown, side: both sides}", "{use: spare, side: both sides}")],
            says("shutdown_circuit", "fire system FS-1: shutdown_circuit", "LP-1/3 is named", "add the pole"),
        ),
        "two poles": (
            [
                ("{use: exhaust run, side: released side}", "{use: shutdown, side: released side}"),
                ("    forced_by: FS-1\n", ""),
            ],
            says("side: released side}", "fire system FS-1: pole 4: use", "a second pole for shutdown"),
        ),
    },
    "alarm_pole": {
        "no alarm": (
            [("building_alarm: {tag: FAM-1, taken_from: fire switch}\n", "")],
            says("building alarm", "fire system FS-1: pole 3: use", "no building_alarm", "use: spare"),
            says("building alarm", "fire system FS-2: pole 2: use", "no building_alarm"),
        ),
        "no pole": (
            [
                (
                    f"      - {LOOP}\n      - {ALARM}\nshut",
                    f"      - {LOOP}\nshut",
                )
            ],
            says("poles", "fire system FS-2: poles", "taken from the fire switch", "use: building alarm"),
        ),
    },
    "forced_run": {
        "no pole": (
            [("      - {use: exhaust run, side: released side}\n", "")],
            says("forced_by", "exhaust fan EF-1: forced_by", "FS-1 has no pole with use: exhaust run"),
        ),
        "no run input, and no pole of its own": (
            [("    airflow: 1130 L/s", "    airflow: 1130 L/s\n    forced_by: FS-1")],
            says("forced_by", "exhaust fan EF-2: forced_by", "fan 2 on FS-1, which has 1", "add a pole"),
            says("forced_by", "exhaust fan EF-2: forced_by", "this EC fan has none", "run_contact: true"),
        ),
    },
    "forced_speed": {
        "a run without a speed from nowhere": (
            [("    airflow: 1130 L/s", "    airflow: 1130 L/s\n    on_release: run without a speed")],
            says("on_release", "exhaust fan EF-2: on_release", "fire-switch pole", "forced_by"),
        ),
    },
    "gaseous_agent": {
        "no answer": (
            [("  - tag: FS-2\n", "  - tag: FS-2\n    agent: gaseous\n")],
            says("agent", "fire system FS-2: agent", "authority: gaseous_agent", "'not yet confirmed'"),
        ),
    },
    "switch_around_the_contact": {
        "an on-off switch": (
            [("kind: on-off, does: lights", "kind: on-off, does: lights, wired: around the fire contact")],
            says("SW-2", "wall switch SW-2: wired", "hand-off-auto switch for fans", "to a panel input"),
        ),
    },
    "air_shares": {
        "an efficiency": (
            [("    forced_by: FS-1\n", "    forced_by: FS-1\n    air: {fan_efficiency: 160 %}\n")],
            says("160 %", "exhaust fan EF-1: air: fan_efficiency", "160 % does not lie above 0 %"),
        ),
        "nothing at all": (
            [("    airflow: 4000 cfm", "    airflow: 4000 cfm\n    air: {follows: {kind: ratio, share: 0 %}}")],
            says("ratio", "make-up unit MAU-1: air: follows: share", "0 % of the exhaust is no make-up"),
        ),
        "more than everything": (
            [("hoods:\n", "air: {energy_code: {code: IECC, transfer_share: 101 %}}\nhoods:\n")],
            says("IECC", "air: energy_code: transfer_share", "101 % is more than everything"),
        ),
    },
    "duct_of_another_fan": {
        "not one of its hoods": (
            [("    forced_by: FS-1\n", f"    forced_by: FS-1\n    air: {{ducts: [{DUCT.replace('H-1', 'H-2')}]}}\n")],
            says("round", "exhaust fan EF-1: air: duct 1: carries: entry 1", "does not serve H-2", "serves H-1"),
        ),
        "twice": (
            [
                (
                    "    forced_by: FS-1\n",
                    f"    forced_by: FS-1\n    air: {{ducts: [{DUCT.replace('[H-1', '[H-1, H-1')}]}}\n",
                )
            ],
            says("round", "exhaust fan EF-1: air: duct 1: carries: entry 2", "H-1 stands here twice"),
        ),
    },
    "fan_curve": {
        "one point": (
            [curve("{airflow: 0.1 cfm, static_pressure: 2 inwc}")],
            says("curve", "exhaust fan EF-1: air: curve", "has one point"),
        ),
        "flow that does not rise": (
            [curve("{airflow: 900 cfm, static_pressure: 2 inwc}, {airflow: 900 cfm, static_pressure: 1 inwc}")],
            says(
                "curve",
                "exhaust fan EF-1: air: curve point 2: airflow",
                "900 cfm does not lie above",
                "order the points",
            ),
        ),
        "pressure that does not fall": (
            [curve("{airflow: 900 cfm, static_pressure: 2 inwc}, {airflow: 950 cfm, static_pressure: 2 inwc}")],
            says("curve", "exhaust fan EF-1: air: curve point 2: static_pressure", "does not lie below", "unstable"),
        ),
        "power at one point": (
            [
                curve(
                    "{airflow: 9 cfm, static_pressure: 2 inwc, power: 1 hp}, {airflow: 10 cfm, static_pressure: 1 inwc}"
                )
            ],
            says("curve", "exhaust fan EF-1: air: curve point 2", "has no power", "every point"),
        ),
    },
    "frequencies": {
        "no drive": (
            [("    airflow: 1130 L/s", "    airflow: 1130 L/s\n    air: {least_frequency: 20 Hz}")],
            says("20 Hz", "exhaust fan EF-2: air: least_frequency", "EF-2 has no frequency drive (EC)"),
        ),
        "above the line's": (
            [("    forced_by: FS-1\n", "    forced_by: FS-1\n    air: {least_frequency: 61 Hz}\n")],
            says("61 Hz", "exhaust fan EF-1: air: least_frequency", "61 Hz lies above the highest frequency, 60 Hz"),
        ),
    },
    "readings_twice": {
        "at idle": (
            [
                (
                    "    full_above: 125 degF\n",
                    "    full_above: 125 degF\n    air: {readings: [{at: idle}, {at: idle}]}\n",
                )
            ],
            says("readings", "hood H-1: air: reading 2: at", "the reading at idle stands here twice"),
        ),
    },
    "own_promises": {
        "unknown fact": (
            [("heat H-1: on", "head H-1: on")],
            says("head", "promise 1: when: head H-1", "no fact", "nearest: 'heat'", "'fire ZONE'"),
        ),
        "unknown item": (
            [("fire Z1: armed", "fire Z3: armed")],
            says("when", "promise 1: when: fire Z3", "there is no zone Z3", "here: Z1, Z2"),
        ),
        "unknown value": (
            [("fire Z1: armed", "fire Z1: release")],
            says("when", "promise 1: when: fire Z1", "'release' is not one of", "nearest: 'released'"),
        ),
        "unknown device": (
            [("expect: {EF-2: runs}", "expect: {EF-3: runs}")],
            says("expect", "promise 1: expect: EF-3", "EF-3 does nothing that can be promised", "EF-1, EF-2"),
        ),
        "unknown effect": (
            [("expect: {EF-2: runs}", "expect: {EF-2: open}")],
            says("expect", "promise 1: expect: EF-2", "'open' is not what a fan does", "'runs at N %'"),
        ),
        "more than the fan moves": (
            [("expect: {EF-2: runs}", "expect: {EF-1: 'at least 2,401 cfm'}")],
            says("expect", "promise 1: expect: EF-1", "2401 cfm is asked of a fan", "2400 cfm", "no more than that"),
        ),
        "a flow without its unit": (
            [("expect: {EF-2: runs}", "expect: {EF-1: at least 2000}")],
            says("expect", "promise 1: expect: EF-1", "2000", "unit", "cfm"),
        ),
        "more than full speed": (
            [("expect: {EF-2: runs}", "expect: {EF-2: runs at 120 %}")],
            says("expect", "promise 1: expect: EF-2", "'runs at 120 %' is not what a fan does"),
        ),
        "reset": (
            [("fire Z1: armed", "reset: soon")],
            says("when", "promise 1: when: reset", "'soon' is not one of 'not yet' or 'pressed'"),
        ),
    },
    **USAGE_CASES,
}

FLAT = [(rule, name, *case) for rule, cases in CASES.items() for name, case in cases.items()]
IDS = [f"{rule}: {name}" for rule, name, *_ in FLAT]


def test_the_fixtures_are_sound():
    assert problems(HARBOUR) == ()
    assert problems(MINIMAL) == ()


@pytest.mark.parametrize("case", FLAT, ids=IDS)
def test_one_broken_rule(case):
    _rule, _name, changes, *expected = case
    check_problems(edited(HARBOUR, *changes), tuple(expected))


def test_every_rule_has_a_case():
    assert set(CASES) == {check.name for check in CHECKS}


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.name)
def test_no_rule_complains_about_a_sound_job(check):
    document = load(HARBOUR, "job.yaml")
    assert list(check.run(register(read_job(HARBOUR), document))) == []


def test_voltages_of_every_system_agree_with_a_second_typing():
    # tests.strategies types them by NFPA 70-2023 220.5(A) and tables 430.248 and 430.250.
    for name, rows in POWER.items():
        for lines, phases, plates in rows:
            system = SYSTEMS[name]
            volts = system.line_v if len(lines) > 1 else system.neutral_v[lines[0]]
            assert set(plates) <= set(NAMEPLATES[volts])
            assert phases in (1, system.phases)


# What is wrong with the kitchen, not with the file: the design and the proof find it.
BUILDABLE = {
    "a second master that may start": ("what: duct detector, may: stop", "what: thermostat, may: start"),
    "a hand switch around the run pair": (
        "      kind: run pair",
        "      hand_switch: around the run pair\n      kind: run pair",
    ),
    "a switch around the fire contact": (
        "does: fans, acts_on: [EF-1]",
        "does: fans, wired: around the fire contact",
    ),
    "letters only": (f"{LOOP}\n      - {{use: shutdown", "{use: panel loop, side: NC}\n      - {use: shutdown"),
    "a gas valve that opens by itself": ("tag: GV-1, zone: Z1", "tag: GV-1, zone: Z1, reset: by itself"),
    "fire switches in parallel": (
        "  - tag: FS-2\n",
        "  - tag: FS-2\n    switches: 2\n    switches_joined: in parallel\n",
    ),
    "low speed on release": ("    airflow: 1130 L/s", "    airflow: 1130 L/s\n    on_release: low speed"),
    "run without a speed": ("    forced_by: FS-1", "    forced_by: FS-1\n    on_release: run without a speed"),
    "alarm from the panel": ("taken_from: fire switch", "taken_from: panel contact"),
    "shunt coil on its own breaker": (
        "tag: SH-1, zone: Z1",
        "tag: SH-1, zone: Z1, fed_from: load side of its own breaker",
    ),
    "no end resistors": ("{tag: BL-1}", "{tag: BL-1, end_of_line: none}"),
    "an appliance left on": ("fuel: gas, shut_down_by: GV-1", "fuel: gas, shut_down: false"),
}


@pytest.mark.parametrize("change", BUILDABLE.values(), ids=BUILDABLE)
def test_mistakes_of_engineering_read_fine(change):
    assert problems(edited(HARBOUR, change)) == ()


def test_a_fan_or_its_run_command_on_a_shunted_circuit_reads_fine():
    shunted = "panelboard: MP-1, lines: [L2], breaker: 15 A"
    fan = edited(HARBOUR, (shunted, f"{shunted}, shunt_trip: {{}}"))
    more = (
        "  - {kind: gas valve,",
        "  - {kind: shunt trip, tag: SH-2, zone: Z2, circuit: MP-1/7}\n  - {kind: gas valve,",
    )
    assert read_job(edited(fan, more)).exhaust_fans[1].circuit == "MP-1/7"
    wet = "panelboard: LP-1, lines: [L1], breaker: 15 A"
    run = edited(HARBOUR, (wet, f"{wet}, shunt_trip: {{}}"))
    more = (
        "  - {kind: gas valve,",
        "  - {kind: shunt trip, tag: SH-2, zone: Z1, circuit: LP-1/7}\n  - {kind: gas valve,",
    )
    assert read_job(edited(run, more)).shutdowns[1].circuit == "LP-1/7"
