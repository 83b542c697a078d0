"""Appliance shutdowns: shunt-trip coils, held-in contactors, gas valves with a reset by hand."""

from __future__ import annotations

from galleyproof.design.builder import Builder
from galleyproof.design.model import EnergyClass, OutputLogic, PointKind, Role, TerminalId
from galleyproof.design.recipes._registry import recipe
from galleyproof.job.model import ContactorShutdown, GasShutdown, ShuntShutdown

CLS = EnergyClass.CLASS1


@recipe("shutdowns")
def build(b: Builder) -> None:
    """Zone by zone: the armed and released buses first, then everything that hangs on them."""
    for zone in dict.fromkeys(s.zone for s in b.job.shutdowns):
        neutral = _buses(b, zone)
        mine = [s for s in b.job.shutdowns if s.zone == zone]
        if any(not isinstance(s, ShuntShutdown) and s.reset == "by hand" for s in mine):
            _reset_relay(b, zone, neutral)
        for shutdown in mine:
            if isinstance(shutdown, ShuntShutdown):
                _shunt(b, shutdown, neutral)
            else:
                _held(b, shutdown, neutral)


def _buses(b: Builder, zone: str) -> str:
    """Circuit whose neutral the zone's coils return to; empty for the panel's own control power."""
    system = next((f for f in b.job.fire_systems if f.zone == zone), None)
    if system and system.shutdown_circuit and any(p.use == "shutdown" for p in system.poles):
        return system.shutdown_circuit
    # no pole of its own: a panel relay, held in while armed, makes the two buses
    use = f"{zone}/armed"
    out = b.point(PointKind.RELAY_OUTPUT, use)
    b.outputs.append(OutputLogic(use, f"armed {zone}"))
    why = f"shutdown of zone {zone}"
    b.wire(f"{use}/c", b.bus(CLS, "L", use), out("c"), CLS, Role.CONTROL, zone, why)
    b.wire(f"{use}/no", out("no"), b.bus(CLS, f"{zone}/armed", use), CLS, Role.CONTROL, zone, why)
    b.wire(f"{use}/nc", out("nc"), b.bus(CLS, f"{zone}/released", use), CLS, Role.CONTROL, zone, why)
    return ""


def _neutral(b: Builder, circuit: str, use: str) -> TerminalId:
    return b.tap(circuit, "N", use, CLS) if circuit else b.bus(CLS, "N", use)


def _reset_relay(b: Builder, zone: str, circuit: str) -> None:
    """A relay that holds itself in; after a release or an outage only a hand brings it back."""
    relay = b.inside("K", f"{zone}/reset", "relay_120", f"reset relay of zone {zone}", zone)
    button = b.inside("S", f"{zone}/reset", "push_button", f"reset of zone {zone}", zone)
    use = f"{zone}/reset"
    why = f"reset by hand of zone {zone}"

    def armed(n: int) -> TerminalId:
        return b.bus(CLS, f"{zone}/armed", f"{use}{n}")

    for i, end in enumerate((TerminalId(button, "13"), TerminalId(relay, "11"), TerminalId(relay, "21")), 1):
        b.wire(f"{use}/{i}", armed(i), end, CLS, Role.CONTROL, zone, why)
    for i, start in enumerate((TerminalId(button, "14"), TerminalId(relay, "14")), 4):
        b.wire(f"{use}/{i}", start, TerminalId(relay, "A1"), CLS, Role.CONTROL, zone, why)
    b.wire(f"{use}/6", TerminalId(relay, "A2"), _neutral(b, circuit, use), CLS, Role.NEUTRAL, zone, why)
    b.wire(f"{use}/7", TerminalId(relay, "24"), b.bus(CLS, f"{zone}/reset", use), CLS, Role.CONTROL, zone, why)


def _shunt(b: Builder, shutdown: ShuntShutdown, circuit: str) -> None:
    breaker = shutdown.circuit
    use = f"{shutdown.tag}/coil"
    why = f"shunt trip of {breaker}"
    if shutdown.fed_from == "load side of its own breaker":
        relay = b.point(PointKind.RELAY_OUTPUT, use)
        b.outputs.append(OutputLogic(use, f"fire {shutdown.zone}"))
        b.through(f"{use}/own", relay("c"), TerminalId(breaker, "2"), CLS, Role.CONTROL, shutdown.tag, why)
        b.through(f"{use}/C1", relay("no"), TerminalId(breaker, "C1"), CLS, Role.CONTROL, shutdown.tag, why)
        neutral = TerminalId(b.circuit(breaker).panelboard, "N")
        b.wire(f"{use}/C2", neutral, TerminalId(breaker, "C2"), CLS, Role.NEUTRAL, shutdown.tag, why)
        return
    b.wire(
        f"{use}/C1",
        b.bus(CLS, f"{shutdown.zone}/released", use),
        TerminalId(breaker, "C1"),
        CLS,
        Role.CONTROL,
        shutdown.tag,
        why,
    )
    b.wire(f"{use}/C2", _neutral(b, circuit, use), TerminalId(breaker, "C2"), CLS, Role.NEUTRAL, shutdown.tag, why)


def _held(b: Builder, shutdown: ContactorShutdown | GasShutdown, circuit: str) -> None:
    tag = shutdown.tag
    bus = "reset" if shutdown.reset == "by hand" else "armed"
    if isinstance(shutdown, GasShutdown):
        b.device(
            tag,
            "gas_valve",
            "gas valve, closes without power",
            shutdown.place,
            tag,
            coil_v=shutdown.volts,
            valve_va=shutdown.load,
        )
        marks = ("1", "2")
        b.wire(
            f"{tag}/PE",
            b.ground(tag),
            TerminalId(tag, "PE"),
            CLS,  # it runs with the coil's conductors (NFPA 70 300.3(B))
            Role.GROUND,
            tag,
            f"equipment ground of {tag}",
            awg="14",
        )
    else:
        ways = [w for w in b.ways(shutdown.circuit) if w[0] != "N"]
        b.device(tag, f"contactor_held_{len(ways)}", "held-in appliance contactor", shutdown.place, tag, coil_v=120.0)
        for i, (name, start, role, colour) in enumerate(ways):
            b.wire(
                f"{tag}/line/{name}",
                start,
                TerminalId(tag, f"{2 * i + 1}/L{i + 1}"),
                EnergyClass.LINE,
                role,
                tag,
                f"line side of {tag}",
                awg=b.power_awg(shutdown.circuit),
                colour=colour,
            )
        marks = ("A1", "A2")
    why = f"coil of {tag}"
    b.wire(
        f"{tag}/coil/1",
        b.bus(CLS, f"{shutdown.zone}/{bus}", tag),
        TerminalId(tag, marks[0]),
        CLS,
        Role.CONTROL,
        tag,
        why,
    )
    b.wire(f"{tag}/coil/2", _neutral(b, circuit, tag), TerminalId(tag, marks[1]), CLS, Role.NEUTRAL, tag, why)
