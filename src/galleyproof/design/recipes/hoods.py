"""Hoods: temperature sensors (each its own home run), lights on light contacts, appliances underneath."""

from __future__ import annotations

from itertools import count

from galleyproof.design.builder import Builder, in_order, natural
from galleyproof.design.model import EnergyClass, HoodLogic, LightLogic, PointKind, Role, TerminalId
from galleyproof.design.recipes._registry import recipe
from galleyproof.findings import Citation, Severity
from galleyproof.job.model import Hood

LIGHT_CONTACT_A = 10.0
"""Load one light contact carries: 1200 W at 120 V (common practice) [A]."""
CONTACTS_EACH = 4


@recipe("hood sensors")
def sensors(b: Builder) -> None:
    """One pair of conductors per sensor; sensors are never chained."""
    for hood in b.job.hoods:
        for sensor in hood.sensors:
            b.device(
                sensor.tag,
                "temperature_sensor",
                f"temperature sensor of {hood.tag}",
                "hood",
                hood.tag,
                curve=sensor.kind,
                hood=hood.tag,
            )
            sensor_pair(b, PointKind.HOOD_SENSOR, sensor.tag, f"temperature of {hood.tag}")
        b.hoods.append(
            HoodLogic(hood.tag, hood.zone, in_order(s.tag for s in hood.sensors), hood.idle_below, hood.full_above)
        )
    for room in b.job.room_sensors:
        b.device(
            room.tag,
            "temperature_sensor",
            "room temperature sensor",
            room.place,
            room.tag,
            curve=room.kind,
            hood="",
        )
        sensor_pair(b, PointKind.ROOM_SENSOR, room.tag, f"room temperature, {room.place}")


def sensor_pair(b: Builder, kind: PointKind, tag: str, why: str) -> None:
    """A home run of two conductors."""
    seen = b.point(kind, tag)
    for role, mark, colour in (("+", "1", "black"), ("-", "2", "white")):
        what = Role.SIGNAL if role == "+" else Role.COMMON
        b.through(f"{tag}/{role}", seen(role), TerminalId(tag, mark), EnergyClass.CLASS2, what, tag, why, colour=colour)


@recipe("hood lights")
def lights(b: Builder) -> None:
    """Lights of a switch grouped onto light contacts, none above its load limit."""
    switches = {s.tag: s for s in b.job.switches if s.does == "lights"}
    groups: dict[str, list[Hood]] = {}
    for hood in b.job.hoods:
        if hood.lights is None:
            continue
        named = hood.lights.switch or next(
            (s.tag for s in switches.values() if not s.acts_on or hood.tag in s.acts_on), None
        )
        if named is None:
            b.refuse(
                f"hood {hood.tag}: lights", "no wall switch does: lights for this hood; add one, or name it by switch"
            )
            continue
        groups.setdefault(named, []).append(hood)
    for switch, hoods in groups.items():
        _light_group(b, switch, sorted(hoods, key=lambda h: natural(h.tag)))


def _light_group(b: Builder, switch: str, hoods: list[Hood]) -> None:
    use = f"{switch}/lights"
    out = b.point(PointKind.RELAY_OUTPUT, use)
    zones = in_order({h.zone for h in hoods})
    answer = b.job.authority.lights_on_release
    b.lights.append(LightLogic(use, switch, zones, "off" if answer == "off" else "stay as switched"))
    contacts = _contacts(b, use, hoods)
    cls = EnergyClass.CLASS2
    contactors: dict[int, str] = {}
    b.wire(f"{use}/c", b.rail("+24", use), out("c"), cls, Role.CONTROL, switch, "light command")
    coil = out("no")
    for n in sorted({(i - 1) // CONTACTS_EACH for i in contacts}):
        key = f"{use}/{n + 1}"
        contactors[n] = b.inside("Q", key, "light_contactor", f"lights of {switch}", switch)
        # the relay's terminal takes one conductor: further coils follow from coil to coil
        b.wire(f"{key}/no", coil, TerminalId(contactors[n], "A1"), cls, Role.CONTROL, switch, "light command")
        coil = TerminalId(contactors[n], "A1")
        b.wire(f"{key}/0", TerminalId(contactors[n], "A2"), b.rail("0V", key), cls, Role.COMMON, switch, "coil return")
    for i, (circuit, sharing) in sorted(contacts.items()):
        contactor, pole = contactors[(i - 1) // CONTACTS_EACH], (i - 1) % CONTACTS_EACH
        line = b.circuit(circuit).lines[0]
        colour = b.ways(circuit)[0][3]
        awg = b.power_awg(circuit)
        group = f"{use}/contact{i}"
        b.wire(
            f"{group}/in",
            b.tap(circuit, line, group),
            TerminalId(contactor, str(2 * pole + 1)),
            EnergyClass.LINE,
            Role.LINE,
            switch,
            "lights",
            awg=awg,
            colour=colour,
        )
        b.wire(
            f"{group}/out",
            TerminalId(contactor, str(2 * pole + 2)),
            b.bus(EnergyClass.LINE, group, "0"),
            EnergyClass.LINE,
            Role.LOAD,
            switch,
            "lights",
            awg=awg,
            colour=colour,
        )
        for hood in sharing:
            assert hood.lights is not None
            tag = b.device(
                f"{hood.tag}-E1",
                "hood_light",
                f"lights of {hood.tag}",
                "hood",
                hood.tag,
                load_v=b.volts(circuit),
                load_w=hood.lights.load,
            )
            b.wire(
                f"{tag}/L",
                b.bus(EnergyClass.LINE, group, tag),
                TerminalId(tag, "L"),
                EnergyClass.LINE,
                Role.LOAD,
                tag,
                f"lights of {hood.tag}",
                colour=colour,
                awg=awg,
            )
            b.wire(
                f"{tag}/N",
                b.tap(circuit, "N", tag),
                TerminalId(tag, "N"),
                EnergyClass.LINE,
                Role.NEUTRAL,
                tag,
                f"lights of {hood.tag}",
                colour="white",
                awg=awg,
            )
            b.wire(
                f"{tag}/PE",
                b.ground(tag),
                TerminalId(tag, "PE"),
                EnergyClass.LINE,
                Role.GROUND,
                tag,
                f"equipment ground of {tag}",
                colour="green",
                awg=awg,
            )


def _contacts(b: Builder, use: str, hoods: list[Hood]) -> dict[int, tuple[str, list[Hood]]]:
    """Contacts by number: one circuit each, filled up to the limit. A hood once issued keeps its contact."""
    contacts: dict[int, tuple[str, list[Hood]]] = {}

    def takes(n: int, hood: Hood) -> bool:
        assert hood.lights is not None
        if n not in contacts:
            return True
        circuit, sharing = contacts[n]
        load_w = sum(h.lights.load for h in (*sharing, hood) if h.lights)
        return circuit == hood.lights.circuit and load_w <= LIGHT_CONTACT_A * b.volts(circuit)

    def put(n: int, hood: Hood) -> None:
        assert hood.lights is not None
        contacts.setdefault(n, (hood.lights.circuit, []))[1].append(hood)

    # landing key of a hood's line on its contact: SW-2/lights/contact1/H-1-E1
    issued: dict[str, int] = {}
    for key in b.job.issued.terminals:
        head, _, tag = key.rpartition("/")
        number = head.removeprefix(f"{use}/contact")
        if number.isdigit():
            issued[tag] = int(number)
    new: list[Hood] = []
    for hood in hoods:
        assert hood.lights is not None
        limit_w = LIGHT_CONTACT_A * b.volts(hood.lights.circuit)
        if hood.lights.load > limit_w:
            b.find(
                "LIGHTS-OVER",
                Severity.ERROR,
                hood.tag,
                f"lights of {hood.tag} take {hood.lights.load:g} W; one light contact carries {limit_w:g} W "
                f"({LIGHT_CONTACT_A:g} A at {b.volts(hood.lights.circuit):g} V)",
                "split the lights of this hood over two hoods' contacts, or take lamps of fewer watts",
                Citation("common practice", place="10 A per light contact"),
            )
        kept = issued.get(f"{hood.tag}-E1")
        if kept is not None and takes(kept, hood):
            put(kept, hood)
        else:
            new.append(hood)
    for hood in new:
        put(next(n for n in count(1) if takes(n, hood)), hood)
    return contacts


@recipe("appliances")
def appliances(b: Builder) -> None:
    """Electric ones on their circuit or behind a held-in contactor; gas ones follow their valve."""
    contactors = {s.tag: s for s in b.job.shutdowns if s.kind == "held-in contactor"}
    for hood in b.job.hoods:
        for appliance in hood.appliances:
            tag = appliance.tag
            if appliance.fuel == "gas":
                valve = appliance.shut_down_by or next(
                    (s.tag for s in b.job.shutdowns if s.kind == "gas valve" and s.zone == hood.zone), None
                )
                if valve is not None:
                    b.device(tag, "gas_appliance", appliance.kind, "kitchen", hood.tag, valve=valve)
                continue
            if appliance.fuel != "electric" or appliance.circuit is None or appliance.load is None:
                continue
            ways = b.ways(appliance.circuit)
            lines = [w for w in ways if w[0] != "N"]
            marks = ["L", "N"] if len(lines) == 1 else [f"L{i + 1}" for i in range(len(lines))]
            b.device(
                tag,
                f"appliance_{len(lines)}",
                appliance.kind,
                "kitchen",
                hood.tag,
                load_v=b.volts(appliance.circuit),
                load_w=appliance.load,
            )
            behind = contactors.get(appliance.shut_down_by or "")
            if behind is None:
                ends = [TerminalId(tag, m) for m in marks][: len(ways)]
                b.feed(appliance.circuit, f"{tag}/power", ends, TerminalId(tag, "PE"), tag)
                continue
            awg = b.power_awg(appliance.circuit)
            for i, (name, start, role, colour) in enumerate(ways):
                source = start if name == "N" else TerminalId(behind.tag, f"{2 * i + 2}/T{i + 1}")
                b.wire(
                    f"{tag}/power/{name}",
                    source,
                    TerminalId(tag, marks[i]),
                    EnergyClass.LINE,
                    role,
                    behind.tag if name == "N" else tag,  # neutral and ground run with the contactor's line side
                    f"power of {tag}",
                    awg=awg,
                    colour=colour,
                )
            b.wire(
                f"{tag}/power/PE",
                TerminalId(b.circuit(appliance.circuit).panelboard, "PE"),
                TerminalId(tag, "PE"),
                EnergyClass.LINE,
                Role.GROUND,
                behind.tag,
                f"equipment ground of {tag}",
                awg=awg,
                colour="green",
            )
