"""The promises of a job, each with the clause that asks for it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from galleyproof.design.model import Design
from galleyproof.findings import Citation
from galleyproof.job.checks.promises import flow_of
from galleyproof.job.model import ExhaustFan, Job, MakeupByPanel, MakeupByUnit, MakeupUnit, Vfd
from galleyproof.proof.model import Expectation, Promise

HERE = frozenset({"present", "returned"})
NOT_BEFORE = frozenset({"present", "lost", "returned"})
"""Not already lost when the release came."""
ARMED = frozenset({"armed", "re-armed"})
RELEASED = frozenset({"released"})
WHOLE = 0.99
"""Full speed, allowing for the volts lost on the way [ratio]."""

HEAT_START = Citation("IMC", place="507.1.1", note="starts by itself when cooking begins")
INTERLOCK = Citation("IMC", place="508.1", note="make-up goes with its exhaust")
FIRE_EXHAUST = Citation("NFPA 96", place="8.2.3", note="clause numbers move between editions")
FIRE_SUPPLY = Citation("NFPA 96", place="8.3.2", note="air supplied inside the hood; the separate unit is a job choice")
FUEL_OFF = Citation("NFPA 96", place="10.4.1")
HAND_RESET = Citation("NFPA 96", place="10.4.4")
ALARM = Citation("NFPA 96", place="10.6.2")
LOCAL_ALARM = Citation("NFPA 96", place="10.6.1")
SENSOR_FAULT = Citation("common practice", place="sensor fault: that hood to full, alarm")
DAMPER = Citation("common practice", place="damper proves open before its fan runs")
JOB = Citation("job")

When = Iterable[tuple[str, frozenset[str]]]


def _here(*circuits: str) -> list[tuple[str, frozenset[str]]]:
    return [(f"supply {c}", HERE) for c in dict.fromkeys(c for c in circuits if c)]


def _all(names: Iterable[str], values: frozenset[str]) -> list[tuple[str, frozenset[str]]]:
    return [(f"fire {n}", values) for n in names]


class _Job:
    def __init__(self, job: Job, design: Design) -> None:
        self.job = job
        self.design = design
        self.zone = {h.tag: h.zone for h in job.hoods}
        self.control = job.panel.circuit
        self.fan = {f.tag: f for f in job.exhaust_fans}

    def zones(self, hoods: Iterable[str]) -> list[str]:
        return list(dict.fromkeys(self.zone[h] for h in hoods))

    def unit_zones(self, unit: MakeupUnit) -> list[str]:
        return self.zones(h for f in unit.tracks for h in self.fan[f].serves)


def promises_of(job: Job, design: Design) -> tuple[Promise, ...]:
    """Every promise of the job, built in and its own."""
    j = _Job(job, design)
    found: list[Promise] = []
    for fan in job.exhaust_fans:
        found += _exhaust(j, fan)
    for unit in job.makeup_units:
        found += _makeup(j, unit)
    found += _appliances(j)
    found += _alarms(j)
    found += _lights(j)
    found += _dampers(j)
    found += _own(j)
    return tuple(found)


def run_circuit(fan: ExhaustFan | MakeupUnit) -> str:
    """Building circuit whose voltage a wet run command takes; empty otherwise. Declared, so its loss is an excuse."""
    if isinstance(fan, MakeupUnit):
        command = fan.control.run_command if isinstance(fan.control, MakeupByUnit) else None
        drive = fan.control.drive if isinstance(fan.control, MakeupByPanel) else None
    else:
        command, drive = None, fan.drive
    if isinstance(drive, Vfd):
        command = drive.run_command
    return (command.circuit or "") if command is not None and command.kind == "wet" else ""


def _exhaust(j: _Job, fan: ExhaustFan) -> Iterator[Promise]:
    tag, slot = fan.tag, f"{fan.tag}.speed"
    zones = j.zones(fan.serves)
    run = run_circuit(fan)
    live = _here(fan.circuit, j.control, run)
    normal = [*_all(zones, ARMED), *live]
    waits = fan.after_outage == "waits for a hand"
    present = [(f"supply {c}", frozenset({"present"})) for c in (fan.circuit, j.control, run) if c] if waits else live
    for hood in fan.serves:
        yield Promise(
            f"heat-start/{tag}/{hood}",
            "heat-start",
            f"heat under {hood} starts {tag} by itself",
            HEAT_START,
            tag,
            slot,
            ((f"heat {hood}", frozenset({"on"})), *normal),
            Expectation("at least", 0.05),
        )
    gas_agent = any(f.agent == "gaseous" and f.zone in zones for f in j.job.fire_systems)
    stops = gas_agent and j.job.authority.gaseous_agent == "exhaust stops"
    for zone in zones:
        expect = Expectation("off") if stops else Expectation("at least", WHOLE)
        yield Promise(
            f"fire-exhaust/{tag}/{zone}",
            "fire-exhaust",
            f"{tag} {'stops (gaseous agent)' if stops else 'runs at full speed'} while {zone} is released",
            FIRE_EXHAUST,
            tag,
            slot,
            ((f"fire {zone}", RELEASED), *live),
            expect,
        )
    for served in (h for h in j.job.hoods if h.tag in fan.serves):
        for sensor in served.sensors:
            bad = (f"sensor {sensor.tag}", frozenset({"open", "short"}))
            yield Promise(
                f"sensor-fault/{tag}/{sensor.tag}",
                "sensor-fault",
                f"{sensor.tag} open or shorted: {tag} at full speed",
                SENSOR_FAULT,
                tag,
                slot,
                (bad, *normal),
                Expectation("at least", WHOLE),
            )
    switches = [s for s in j.job.switches if s.does == "fans" and (not s.acts_on or tag in s.acts_on)]
    cold = [(f"heat {h}", frozenset({"off"})) for h in fan.serves]
    sound = [(f"sensor {s.tag}", frozenset({"ok"})) for h in j.job.hoods if h.tag in fan.serves for s in h.sensors]
    if switches:
        yield Promise(
            f"off/{tag}",
            "switch-off",
            f"{tag} stands when its switch is off and nothing is hot",
            JOB,
            tag,
            slot,
            (
                *[(f"switch {s.tag}", frozenset({"off"})) for s in switches],
                *cold,
                *sound,
                *_all(zones, ARMED),
                *(_here(j.control) if j.job.panel.on_control_power_loss == "exhaust runs" else ()),
            ),
            Expectation("off"),
        )
    for switch in switches:
        least = fan.min_speed if fan.drive.kind != "starter" else WHOLE
        if switch.kind == "on-off":
            yield Promise(
                f"on/{tag}/{switch.tag}",
                "switch-on",
                f"{tag} runs while {switch.tag} is on",
                JOB,
                tag,
                slot,
                ((f"switch {switch.tag}", frozenset({"on"})), *_all(zones, ARMED), *present),
                Expectation("at least", least - 0.02),
            )
        else:
            yield Promise(
                f"hand/{tag}/{switch.tag}",
                "switch-on",
                f"{tag} runs at full speed with {switch.tag} at hand",
                JOB,
                tag,
                slot,
                ((f"switch {switch.tag}", frozenset({"hand"})), *_all(zones, ARMED), *present),
                Expectation("at least", WHOLE),
            )
    runs = j.job.panel.on_control_power_loss == "exhaust runs"
    yield Promise(
        f"control-loss/{tag}",
        "control-loss",
        f"control power lost: {tag} {'runs' if runs else 'stops'}, as the job asks",
        JOB,
        tag,
        slot,
        ((f"supply {j.control}", frozenset({"lost"})), (f"supply {fan.circuit}", HERE), *_all(zones, ARMED)),
        Expectation("at least", WHOLE) if runs else Expectation("off"),
    )


def _makeup(j: _Job, unit: MakeupUnit) -> Iterator[Promise]:
    tag, slot = unit.tag, f"{unit.tag}.speed"
    zones = j.unit_zones(unit)
    leaders = tuple(f"{f}.speed" for f in unit.tracks)
    live = _here(unit.circuit, j.control, run_circuit(unit))
    stops = unit.on_release == "stops" or j.job.authority.supply_air_near_hood != "keeps running"
    armed = _all(zones, ARMED)
    yield Promise(
        f"makeup-with/{tag}",
        "makeup-with",
        f"{tag} runs when {' or '.join(unit.tracks)} runs",
        INTERLOCK,
        tag,
        slot,
        (*armed, *live, ("masters", frozenset({"rest"}))),
        Expectation("with", others=leaders),
    )
    yield Promise(
        f"makeup-only-with/{tag}",
        "makeup-only-with",
        f"{tag} never runs without {' or '.join(unit.tracks)}",
        INTERLOCK,
        tag,
        slot,
        tuple(armed),
        Expectation("only with", others=leaders),
    )
    if stops:
        for zone in zones:
            yield Promise(
                f"fire-makeup/{tag}/{zone}",
                "fire-makeup",
                f"{tag} stops while {zone} is released",
                FIRE_SUPPLY,
                tag,
                slot,
                ((f"fire {zone}", RELEASED),),
                Expectation("off"),
            )


def _appliances(j: _Job) -> Iterator[Promise]:
    job = j.job
    valves = {s.tag: s for s in job.shutdowns if s.kind == "gas valve"}
    held = {s.tag: s for s in job.shutdowns if s.kind == "held-in contactor"}
    systems = {f.zone: f for f in job.fire_systems}

    def control_of(zone: str) -> str:
        system = systems.get(zone)
        if system and system.shutdown_circuit and any(p.use == "shutdown" for p in system.poles):
            return system.shutdown_circuit
        return j.control

    for valve in valves.values():
        control = control_of(valve.zone)
        fire = f"fire {valve.zone}"
        slot = f"{valve.tag}.open"
        yield Promise(
            f"fire-gas/{valve.tag}",
            "fire-fuel",
            f"{valve.tag} shuts the gas while {valve.zone} is released",
            FUEL_OFF,
            valve.tag,
            slot,
            ((fire, RELEASED),),
            Expectation("shut"),
            "always",
        )
        yield Promise(
            f"reset-gas/{valve.tag}",
            "hand-reset",
            f"{valve.tag} stays shut after re-arming until a hand resets it",
            HAND_RESET,
            valve.tag,
            slot,
            ((fire, frozenset({"re-armed"})), ("reset", frozenset({"not yet"}))),
            Expectation("shut"),
            "always",
        )
        yield Promise(
            f"outage-gas/{valve.tag}",
            "gas-outage",
            f"{valve.tag} stays shut after an outage until a hand resets it",
            HAND_RESET,
            valve.tag,
            slot,
            ((f"supply {control}", frozenset({"returned"})), ("reset", frozenset({"not yet"}))),
            Expectation("shut"),
            "always",
        )
        yield Promise(
            f"works-gas/{valve.tag}",
            "works",
            f"{valve.tag} is open in daily use",
            JOB,
            valve.tag,
            slot,
            (
                (fire, frozenset({"armed"})),
                (f"supply {control}", frozenset({"present"})),
                ("reset", frozenset({"pressed"})),
            ),
            Expectation("open"),
        )
    known = {d.tag for d in j.design.devices}
    for hood in job.hoods:
        for appliance in hood.appliances:
            tag = appliance.tag
            if tag not in known:
                continue
            fire, slot = f"fire {hood.zone}", f"{tag}.on"
            # a shunt trip cannot work without its supply; that this shows nowhere is a finding of its own
            by_shunt = appliance.fuel != "gas" and appliance.shut_down_by not in held
            powered = [(f"supply {control_of(hood.zone)}", NOT_BEFORE)] if by_shunt else []
            if appliance.shut_down:
                yield Promise(
                    f"fire-appliance/{tag}",
                    "fire-fuel",
                    f"{tag} loses {'gas' if appliance.fuel == 'gas' else 'power'} while {hood.zone} is released",
                    FUEL_OFF,
                    tag,
                    slot,
                    ((fire, RELEASED), *powered),
                    Expectation("off"),
                )
                yield Promise(
                    f"reset-appliance/{tag}",
                    "hand-reset",
                    f"{tag} stays off after re-arming until a hand resets it",
                    HAND_RESET,
                    tag,
                    slot,
                    ((fire, frozenset({"re-armed"})), ("reset", frozenset({"not yet"}))),
                    Expectation("off"),
                )
            if appliance.fuel == "gas":
                continue
            needs = [(fire, frozenset({"armed"})), ("reset", frozenset({"pressed"}))]
            needs += [(f"supply {appliance.circuit}", frozenset({"present"}))]
            if appliance.shut_down_by in held:
                needs += [(f"supply {control_of(hood.zone)}", frozenset({"present"}))]
            yield Promise(
                f"works-appliance/{tag}",
                "works",
                f"{tag} has power in daily use",
                JOB,
                tag,
                slot,
                tuple(needs),
                Expectation("on"),
            )


def _alarms(j: _Job) -> Iterator[Promise]:
    job = j.job
    horn = next(d.tag for d in j.design.devices if d.type == "horn")
    zones = list(dict.fromkeys(f.zone for f in job.fire_systems))
    for zone in zones:
        yield Promise(
            f"local-alarm/{zone}",
            "local-alarm",
            f"the panel's horn sounds while {zone} is released",
            LOCAL_ALARM,
            horn,
            f"{horn}.on",
            ((f"fire {zone}", RELEASED), *_here(j.control)),
            Expectation("on"),
        )
    sensors = [s.tag for h in job.hoods for s in h.sensors]
    for sensor in sensors:
        yield Promise(
            f"sensor-alarm/{sensor}",
            "sensor-alarm",
            f"{sensor} open or shorted: the panel's horn sounds",
            SENSOR_FAULT,
            horn,
            f"{horn}.on",
            ((f"sensor {sensor}", frozenset({"open", "short"})), *_here(j.control)),
            Expectation("on"),
        )
    yield Promise(
        "quiet",
        "quiet",
        "the panel's horn is silent in daily use",
        JOB,
        horn,
        f"{horn}.on",
        (*_all(zones, ARMED), *((f"sensor {s}", frozenset({"ok"})) for s in sensors)),
        Expectation("off"),
    )
    alarm = job.building_alarm
    if alarm is None:
        return
    for zone in zones:
        yield Promise(
            f"building-alarm/{zone}",
            "building-alarm",
            f"the building alarm is raised while {zone} is released, whatever supply is lost",
            ALARM,
            alarm.tag,
            f"{alarm.tag}.on",
            ((f"fire {zone}", RELEASED),),
            Expectation("on"),
        )
    yield Promise(
        "no-false-alarm",
        "building-alarm",
        "the building alarm is quiet while every zone is armed, whatever supply is lost",
        ALARM,
        alarm.tag,
        f"{alarm.tag}.on",
        tuple(_all(zones, ARMED)),
        Expectation("off"),
    )


def _lights(j: _Job) -> Iterator[Promise]:
    job = j.job
    switches = {s.tag: s for s in job.switches if s.does == "lights"}
    off_in_fire = job.authority.lights_on_release == "off"
    for hood in job.hoods:
        if hood.lights is None:
            continue
        named = hood.lights.switch or next(
            (s.tag for s in switches.values() if not s.acts_on or hood.tag in s.acts_on), ""
        )
        tag = f"{hood.tag}-E1"
        live = _here(hood.lights.circuit, j.control)
        fire = f"fire {hood.zone}"
        on = frozenset({"on", "auto", "hand"})
        states = ARMED if off_in_fire else ARMED | RELEASED
        yield Promise(
            f"lights-on/{hood.tag}",
            "lights",
            f"lights of {hood.tag} are on while {named} is on",
            JOB,
            tag,
            f"{tag}.on",
            ((f"switch {named}", on), (fire, states), *live),
            Expectation("on"),
        )
        yield Promise(
            f"lights-off/{hood.tag}",
            "lights",
            f"lights of {hood.tag} are off while {named} is off",
            JOB,
            tag,
            f"{tag}.on",
            ((f"switch {named}", frozenset({"off"})),),
            Expectation("off"),
        )
        if off_in_fire:
            yield Promise(
                f"lights-fire/{hood.tag}",
                "lights",
                f"lights of {hood.tag} go off while {hood.zone} is released",
                JOB,
                tag,
                f"{tag}.on",
                ((fire, RELEASED),),
                Expectation("off"),
            )


def _dampers(j: _Job) -> Iterator[Promise]:
    for damper in j.job.dampers:
        yield Promise(
            f"damper/{damper.tag}",
            "damper",
            f"{damper.fan} runs only with {damper.tag} open",
            DAMPER,
            damper.fan,
            f"{damper.fan}.speed",
            (),
            Expectation("only with", others=(f"{damper.tag}.open",)),
            "always",
        )


_WORDS = {
    "runs": Expectation("at least", 0.05),
    "off": Expectation("off"),
    "stands": Expectation("off"),
    "on": Expectation("on"),
    "alarm": Expectation("on"),
    "no alarm": Expectation("off"),
    "open": Expectation("open"),
    "shut": Expectation("shut"),
}


def own_expectation(words: str, full_cfm: float | None = None) -> Expectation | None:
    """Expectation of a user's row.

    ``runs``, ``runs at 80 %``, ``at least 2,400 cfm``, ``off``, ``on``, ``open``, ``shut``, ``alarm``. A flow is
    asked as the speed that moves it: on fixed ducts flow goes with speed.

    Args:
        words: The row's own.
        full_cfm: Flow of the device at full speed; None for what moves no air. [cfm]
    """
    flow = flow_of(words)
    if flow is not None:
        if full_cfm is None:
            return None
        return Expectation("at least", flow / full_cfm - 0.01, flow_cfm=flow, full_cfm=full_cfm)
    if words.startswith("runs at ") and words.endswith("%"):
        try:
            return Expectation("at least", float(words[8:-1]) / 100.0 - 0.01)
        except ValueError:
            return None
    return _WORDS.get(words)


def _own(j: _Job) -> Iterator[Promise]:
    slots = effect_slots(j.job, j.design)
    flows = {f.tag: f.airflow for f in j.job.exhaust_fans} | {u.tag: u.airflow for u in j.job.makeup_units}
    for i, row in enumerate(j.job.promises, 1):
        when = tuple((fact, frozenset({value})) for fact, value in row.when.items())
        for device, words in row.expect.items():
            expect = own_expectation(words, flows.get(device))
            if expect is None or device not in slots:
                continue
            yield Promise(
                f"own/{i}/{device}", "own", row.say, Citation(row.clause), device, slots[device], when, expect
            )


def effect_slots(job: Job, design: Design) -> dict[str, str]:
    """Device tag -> slot that shows what it does."""
    found = {f.tag: f"{f.tag}.speed" for f in job.exhaust_fans}
    found |= {u.tag: f"{u.tag}.speed" for u in job.makeup_units}
    for device in design.devices:
        if device.type.startswith("appliance_") or device.type in (
            "gas_appliance",
            "hood_light",
            "horn",
            "alarm_module",
        ):
            found[device.tag] = f"{device.tag}.on"
        elif device.type == "gas_valve" or device.type.startswith("damper_"):
            found[device.tag] = f"{device.tag}.open"
    return found
