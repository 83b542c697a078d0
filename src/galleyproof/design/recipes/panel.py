"""Panel supply and control power: one circuit in, a protector, a 24 V supply and the rails."""

from __future__ import annotations

import math

from galleyproof.design.builder import Builder
from galleyproof.design.model import EnergyClass, OutputLogic, PointKind, Role, TerminalId
from galleyproof.design.power import SYSTEMS, pole_ohm
from galleyproof.design.recipes._registry import recipe
from galleyproof.design.sizes import CONTROL_AWG
from galleyproof.job.model import MakeupByPanel
from galleyproof.tables import protection


@recipe("panel")
def build(b: Builder) -> None:
    """Panelboards and breakers, control power, controller with its modules, horn."""
    job = b.job
    for board in job.panelboards:
        supply = next(s for s in job.supplies if s.tag == board.supply)
        b.device(board.tag, SYSTEMS[supply.system].type, f"panelboard, {supply.system}", board.place, board.tag)
    for circuit in job.circuits:
        poles = len(circuit.lines)
        kind = f"breaker_{poles}"
        ratings = {"trip_a": circuit.breaker, "pole_ohm": pole_ohm(job, circuit)}
        if circuit.shunt_trip:
            kind += "_shunt" if circuit.shunt_trip.cut_off_contact else "_shunt_plain"
            ratings["coil_v"] = circuit.shunt_trip.coil
        place = next(p.place for p in job.panelboards if p.tag == circuit.panelboard)
        title = f"breaker, {poles} pole, {circuit.breaker:g} A" + (", shunt trip" if circuit.shunt_trip else "")
        b.device(circuit.tag, kind, title, place, circuit.tag, ratings)
        for i, line in enumerate(circuit.lines):
            b.bridge(TerminalId(circuit.panelboard, line), TerminalId(circuit.tag, str(2 * i + 1)))
    _control_power(b)
    _controller(b)


PROTECTOR_A = 7.0
"""Protector of a 120 V control circuit: what NFPA 70 240.4(D)(1) allows ahead of 18 AWG [A]."""
THICK_PROTECTOR_A = 10.0
"""The same ahead of 16 AWG, and thicker [A]."""
TRANSFORMER_VA = 500.0
"""Common practice: control transformer of a panel, where the job states none [VA]."""
# Common practice: ratings of small protectors. [A]
_PROTECTORS_A = (0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 10.0, 15.0, 20.0, 25.0, 30.0)


CLASS2_SUPPLY_A = 4.0
"""A 24 V supply listed as Class 2: 100 VA at most, NFPA 70 chapter 9 Table 11(B) [A]."""
LARGE_SUPPLY_A = 10.0
"""The next usual one, which is no Class 2 source any more [A]."""
_SHARE = 0.8


def supply_a(b: Builder) -> float:
    """Output of the 24 V supply for what the job will hang on it, counted roughly [A]; sizing counts it exactly."""
    job = b.job
    drives = [f.drive for f in job.exhaust_fans]
    drives += [u.control.drive for u in job.makeup_units if isinstance(u.control, MakeupByPanel)]
    standby = len(drives) if job.panel.on_control_power_loss == "exhaust runs" else 0
    lights = sum(hood.lights is not None for hood in job.hoods)
    load_w = 8.0 + 7.0 * sum(d.kind == "starter" for d in drives) + standby + 4.0 * math.ceil(lights / 4)
    load_w += sum(d.load for d in job.dampers if d.volts < 50.0) + 0.4 * len(job.hoods) + 1.0 * len(drives)
    return CLASS2_SUPPLY_A if load_w <= _SHARE * 24.0 * CLASS2_SUPPLY_A else LARGE_SUPPLY_A


def job_va(b: Builder) -> float:
    """Rated power of the control transformer [VA]."""
    return b.job.panel.control_transformer or TRANSFORMER_VA


def secondary_protector_a(va: float) -> float:
    """Largest small protector that NFPA 70 Table 450.3(B) allows on the 120 V side [A]."""
    rated_a = va / 120.0
    limit_a = protection.transformer_secondary_limit(rated_a).value.max_ratio * rated_a
    return max((a for a in _PROTECTORS_A if a <= limit_a), default=_PROTECTORS_A[0])


def _control_power(b: Builder) -> None:
    tag = b.job.panel.circuit
    panel = b.panel
    cls = EnergyClass.CLASS1
    volts = b.volts(tag)
    places = b.panel_feed(tag)
    ways = [n for n in places if n != "N"]
    direct = len(ways) == 1 and abs(volts - 120.0) < 1.0
    va = job_va(b)
    own_a = PROTECTOR_A if (b.job.panel.control_awg or CONTROL_AWG) == CONTROL_AWG else THICK_PROTECTOR_A
    trip_a = own_a if direct else secondary_protector_a(va)
    protector = b.inside("F", "control", "control_breaker", "control supply protector", panel, trip_a=trip_a)
    if direct:
        hot, neutral = b.tap(tag, ways[0], "control"), b.tap(tag, "N", "control")
    else:
        transformer = b.inside(
            "T", "control", "control_transformer", "control transformer", panel, input_v=volts, va=va
        )
        second = ways[1] if len(ways) > 1 else "N"
        for mark, way in (("1", ways[0]), ("2", second)):
            b.wire(
                f"{panel}/transformer/{mark}",
                b.tap(tag, way, "transformer"),
                TerminalId(transformer, mark),
                EnergyClass.LINE,
                Role.LINE,
                panel,
                "control transformer primary",
                awg=b.power_awg(tag),
            )
        b.wire(
            f"{panel}/transformer/PE",
            b.ground("transformer"),
            TerminalId(transformer, "PE"),
            EnergyClass.LINE,
            Role.GROUND,
            panel,
            "grounded secondary",
            awg="14",
            colour="green",
        )
        hot, neutral = TerminalId(transformer, "3"), TerminalId(transformer, "4")
    size = "14"
    b.wire(f"{panel}/control/1", hot, TerminalId(protector, "1"), cls, Role.LINE, panel, "control supply", awg=size)
    b.wire(
        f"{panel}/control/2",
        TerminalId(protector, "2"),
        b.bus(cls, "L", "control"),
        cls,
        Role.LINE,
        panel,
        "protected control supply",
        awg=size,
    )
    b.wire(
        f"{panel}/control/N",
        neutral,
        b.bus(cls, "N", "control"),
        cls,
        Role.NEUTRAL,
        panel,
        "control neutral",
        awg=size,
    )
    supply = b.inside("T", "24", "power_supply_24", "24 V DC supply", panel, output_a=supply_a(b))
    b.wire(f"{panel}/24/L", b.bus(cls, "L", "24"), TerminalId(supply, "L"), cls, Role.LINE, panel, "24 V supply")
    b.wire(f"{panel}/24/N", b.bus(cls, "N", "24"), TerminalId(supply, "N"), cls, Role.NEUTRAL, panel, "24 V supply")
    b.wire(
        f"{panel}/24/PE",
        b.ground("24"),
        TerminalId(supply, "PE"),
        EnergyClass.LINE,
        Role.GROUND,
        panel,
        "grounds the 24 V return",
        awg="14",
    )
    b.bridge(TerminalId(supply, "+"), b.rail("+24", "supply"))
    b.bridge(TerminalId(supply, "-"), b.rail("0V", "supply"))


def _controller(b: Builder) -> None:
    panel = b.panel
    alarm = b.point(PointKind.RELAY_OUTPUT, f"{panel}/alarm")
    horn = b.inside("P", "alarm", "horn", "alarm horn and lamp", panel)
    cls = EnergyClass.CLASS2
    b.wire(f"{panel}/alarm/c", b.rail("+24", "alarm"), alarm("c"), cls, Role.CONTROL, panel, "alarm supply")
    b.wire(f"{panel}/alarm/no", alarm("no"), TerminalId(horn, "1"), cls, Role.CONTROL, panel, "alarm horn")
    b.wire(f"{panel}/alarm/0", TerminalId(horn, "2"), b.rail("0V", "alarm"), cls, Role.COMMON, panel, "alarm return")
    b.outputs.append(OutputLogic(f"{panel}/alarm", "alarm"))
