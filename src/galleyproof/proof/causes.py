"""Root causes: an engineering mistake that is known by its shape explains the promises it breaks.

Each cause looks at the job and its design, and says which kinds of promises of which devices it accounts for. A broken
promise that no cause accounts for becomes a finding of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace

from galleyproof.design.model import Design
from galleyproof.findings import Citation, Finding, Severity
from galleyproof.job.model import FireSystem, Job, MakeupByUnit, Vfd
from galleyproof.proof.model import Verdict
from galleyproof.proof.promises import (
    ALARM,
    DAMPER,
    FIRE_EXHAUST,
    FIRE_SUPPLY,
    FUEL_OFF,
    HAND_RESET,
    INTERLOCK,
)

LETTERS = Citation("common practice", place="contacts are named by the state in which they are closed")
NEC_LATENT = Citation("common practice", place="energise-to-trip needs its own live supply")


@dataclass(frozen=True, slots=True)
class Cause:
    """One root cause: its finding, and (kind, device) pairs it accounts for; device ``*`` means any."""

    finding: Finding
    accounts: frozenset[tuple[str, str]]


CauseFinder = Callable[[Job, Design], Iterator[Cause]]
_FINDERS: list[CauseFinder] = []


def _cause(function: CauseFinder) -> CauseFinder:
    _FINDERS.append(function)
    return function


def explain(job: Job, design: Design, findings: Iterable[Finding], verdicts: Iterable[Verdict]) -> list[Finding]:
    """Findings with the broken promises they account for; what is left becomes findings of its own."""
    causes = [c for finder in _FINDERS for c in finder(job, design)]
    broken = [v for v in verdicts if not v.holds]
    result = list(findings)
    left = list(broken)
    for cause in causes:
        mine = [
            v
            for v in broken
            if (v.promise.kind, v.promise.device) in cause.accounts or (v.promise.kind, "*") in cause.accounts
        ]
        left = [v for v in left if v not in mine]
        result.append(replace(cause.finding, evidence=tuple(v.promise.key for v in mine)))
    for v in left:
        if not v.failures:
            result.append(
                Finding(
                    "PROMISE-NEVER-ASKED",
                    Severity.WARNING,
                    v.promise.device,
                    f"{v.promise.text}: no situation of the grid asks for it, so nothing is proved",
                    "correct the facts under when:, or take the row out",
                    (v.promise.clause,),
                    (v.promise.key,),
                )
            )
            continue
        first = v.failures[0]
        result.append(
            Finding(
                f"PROMISE-{v.promise.kind.upper()}",
                Severity.ERROR,
                v.promise.device,
                f"{v.promise.text}: broken in {v.broken} of {v.situations} situations, first in "
                f"'{first.situation}': {first.found}",
                "follow the device's feed with `galleyproof trace`, and change what switches it there",
                (v.promise.clause,),
                (v.promise.key,),
            )
        )
    return result


def _finding(code: str, item: str, message: str, cure: str, *basis: Citation) -> Finding:
    return Finding(code, Severity.ERROR, item, message, cure, basis)


def _fan_kinds(tag: str, *kinds: str) -> frozenset[tuple[str, str]]:
    return frozenset((k, tag) for k in kinds)


def _shunted(job: Job) -> dict[str, str]:
    """Circuit -> zone whose release trips it."""
    return {s.circuit: s.zone for s in job.shutdowns if s.kind == "shunt trip"}


def _zones_of_fans(job: Job) -> dict[str, set[str]]:
    zone = {h.tag: h.zone for h in job.hoods}
    return {f.tag: {zone[h] for h in f.serves} for f in job.exhaust_fans}


_AFTER_LETTERS = (
    "heat-start",
    "fire-exhaust",
    "fire-makeup",
    "makeup-with",
    "makeup-only-with",
    "fire-fuel",
    "hand-reset",
    "gas-outage",
    "works",
    "switch-off",
    "switch-on",
    "control-loss",
    "local-alarm",
    "quiet",
    "building-alarm",
    "sensor-fault",
)


@_cause
def letters(job: Job, _design: Design) -> Iterator[Cause]:
    """NO and NC taken from a bare switch, or a contact nobody has measured."""
    for system in job.fire_systems:
        bad = [p for p in system.poles if p.side in ("NC", "NO", "to be measured") and p.use != "spare"]
        if not bad:
            continue
        said = ", ".join(f"pole for {p.use}: {p.side}" for p in bad)
        yield Cause(
            _finding(
                "FIRE-CONTACT-UNMEASURED",
                system.tag,
                f"{said}: letters on a bare switch say nothing until it sits in its release; the side is not known",
                "measure with an ohmmeter, armed and released, and write side: armed side or released side",
                LETTERS,
            ),
            frozenset((k, "*") for k in _AFTER_LETTERS),
        )


@_cause
def no_loop(job: Job, _design: Design) -> Iterator[Cause]:
    """A zone whose release the panel never hears of."""
    for system in job.fire_systems:
        loops = [p for p in system.poles if p.use == "panel loop"]
        if not loops:
            yield Cause(
                _finding(
                    "FIRE-NO-LOOP",
                    system.tag,
                    f"no pole of {system.tag} is used for the panel loop: the panel does not know of a release in "
                    f"{system.zone}",
                    "give one pole use: panel loop, side: armed side",
                    FIRE_EXHAUST,
                ),
                frozenset((k, "*") for k in ("fire-exhaust", "fire-makeup", "local-alarm", "fire-fuel", "hand-reset")),
            )
        wrong = [p for p in loops if p.side == "released side"]
        if wrong:
            yield Cause(
                _finding(
                    "FIRE-LOOP-REVERSED",
                    system.tag,
                    f"the panel loop of {system.tag} is landed on the released side: open while armed, closed in a "
                    "fire",
                    "land the loop on the armed side: an open loop, a broken wire too, is then the alarm",
                    FIRE_EXHAUST,
                ),
                frozenset((k, "*") for k in _AFTER_LETTERS),
            )
        if system.switches > 1 and system.switches_joined == "in parallel" and loops:
            yield Cause(
                _finding(
                    "FIRE-PARALLEL",
                    system.tag,
                    f"{system.switches} switches that open on release are joined in parallel: one released switch is "
                    "bridged by the others",
                    "join the armed sides in series: any one of them then opens the loop",
                    FIRE_EXHAUST,
                ),
                frozenset((k, "*") for k in ("fire-exhaust", "fire-makeup", "local-alarm")),
            )


@_cause
def starved(job: Job, _design: Design) -> Iterator[Cause]:
    """A fan that must run in a fire, fed from what the release takes away."""
    shunted = _shunted(job)
    zones = _zones_of_fans(job)
    for fan in job.exhaust_fans:
        zone = shunted.get(fan.circuit)
        if zone:
            yield Cause(
                _finding(
                    "FIRE-STARVED",
                    fan.tag,
                    f"{fan.tag} is fed from {fan.circuit}, which the release of {zone} trips: it stops in the fire",
                    f"feed {fan.tag} from a circuit that no release touches",
                    FIRE_EXHAUST,
                ),
                _fan_kinds(fan.tag, "fire-exhaust", "heat-start", "switch-on") | frozenset({("makeup-with", "*")}),
            )
        command = fan.drive.run_command if isinstance(fan.drive, Vfd) else None
        source = command.circuit if command else None
        if source and shunted.get(source):
            stop_s = fan.drive.stop_time if isinstance(fan.drive, Vfd) else 0.0
            yield Cause(
                _finding(
                    "FIRE-DELAYED-STOP",
                    fan.tag,
                    f"the run command of {fan.tag} takes its voltage from {source}, which the release of "
                    f"{shunted[source]} trips: the drive keeps its power and stops {stop_s:g} s later",
                    "take the run command's voltage from the panel, or make it dry",
                    FIRE_EXHAUST,
                ),
                _fan_kinds(fan.tag, "fire-exhaust", "heat-start", "switch-on", "sensor-fault"),
            )
        zone = shunted.get(job.panel.circuit)
        if zone and zone in zones[fan.tag] and not shunted.get(fan.circuit):
            yield Cause(
                _finding(
                    "FIRE-PANEL-STARVED",
                    fan.tag,
                    f"the panel is fed from {job.panel.circuit}, which the release of {zone} trips: {fan.tag} "
                    "loses its command",
                    "feed the panel from a circuit that no release touches",
                    FIRE_EXHAUST,
                ),
                frozenset({(k, "*") for k in ("fire-exhaust", "local-alarm", "heat-start", "switch-on", "lights")}),
            )


@_cause
def sequence(job: Job, _design: Design) -> Iterator[Cause]:
    """A fire sequence that is not what the codes ask for."""
    for fan in job.exhaust_fans:
        agents = {f.agent for f in job.fire_systems if f.zone in _zones_of_fans(job)[fan.tag]}
        stops = "gaseous" in agents and job.authority.gaseous_agent == "exhaust stops"
        accounts = _fan_kinds(fan.tag, "fire-exhaust")
        if fan.on_release == "low speed":
            yield Cause(
                _finding(
                    "FIRE-LOW-SPEED",
                    fan.tag,
                    f"a release forces {fan.tag} to its low speed ({fan.min_speed:.0%}): in the fire it moves too "
                    "little",
                    "on_release: full speed",
                    FIRE_EXHAUST,
                ),
                accounts,
            )
        elif fan.on_release == "run without a speed":
            yield Cause(
                _finding(
                    "FIRE-RUN-NO-SPEED",
                    fan.tag,
                    f"a release forces the run input of {fan.tag} but nobody gives it a speed: it turns at "
                    "whatever the "
                    "reference happens to be",
                    "on_release: full speed, so that the panel gives run and speed together",
                    FIRE_EXHAUST,
                ),
                accounts,
            )
        elif fan.on_release in ("stop", "as before") and not stops:
            yield Cause(
                _finding(
                    "FIRE-SEQUENCE",
                    fan.tag,
                    f"the sequence has {fan.tag} {'stop' if fan.on_release == 'stop' else 'go on as before'} in a "
                    "release; "
                    "smoke and heat then stay in the hood",
                    "on_release: full speed, unless a listed gaseous agent asks otherwise",
                    FIRE_EXHAUST,
                ),
                accounts | frozenset({("makeup-with", "*"), ("makeup-only-with", "*")}),
            )
    for unit in job.makeup_units:
        if unit.on_release == "keeps running" and job.authority.supply_air_near_hood != "keeps running":
            yield Cause(
                _finding(
                    "FIRE-MAKEUP",
                    unit.tag,
                    f"{unit.tag} keeps running in a release and the authority has not confirmed that it may",
                    "on_release: stops, or the authority's answer under authority: supply_air_near_hood",
                    FIRE_SUPPLY,
                ),
                frozenset({("fire-makeup", unit.tag)}),
            )


@_cause
def masters(job: Job, _design: Design) -> Iterator[Cause]:
    """Units that somebody else can start."""
    for unit in job.makeup_units:
        if not isinstance(unit.control, MakeupByUnit):
            continue
        accounts = frozenset({("fire-makeup", unit.tag), ("makeup-only-with", unit.tag)})
        for master in unit.control.second_masters:
            if master.may == "start":
                yield Cause(
                    _finding(
                        "TWO-MASTERS",
                        unit.tag,
                        f"{unit.tag} has two masters: {master.what} {master.tag} starts it without the panel, in a "
                        "fire too",
                        f"put {master.tag} in series with the panel's contact (may: stop)",
                        INTERLOCK,
                        FIRE_SUPPLY,
                    ),
                    accounts,
                )
        if unit.control.hand_switch == "around the run pair":
            yield Cause(
                _finding(
                    "HAND-AROUND-PANEL",
                    unit.tag,
                    f"the hand position at {unit.tag} bridges the panel's contact: at hand it runs in a fire",
                    "hand_switch: in series with the run pair",
                    INTERLOCK,
                    FIRE_SUPPLY,
                ),
                accounts,
            )
    for switch in job.switches:
        if switch.wired == "around the fire contact":
            yield Cause(
                _finding(
                    "HAND-AROUND-FIRE",
                    switch.tag,
                    f"the hand position of {switch.tag} bridges the fire contact: at hand the panel sees no release",
                    "wired: to a panel input",
                    FIRE_EXHAUST,
                ),
                frozenset((k, "*") for k in ("fire-exhaust", "fire-makeup", "local-alarm", "fire-fuel", "switch-on")),
            )


@_cause
def interlock(job: Job, _design: Design) -> Iterator[Cause]:
    """Make-up that follows a command instead of a proof."""
    # a starter's auxiliary contact proves its coil, not that the fan has power
    proven = {f.tag for f in job.exhaust_fans if f.proving is not None}
    for unit in job.makeup_units:
        blind = [f for f in unit.tracks if f not in proven]
        if blind:
            yield Cause(
                _finding(
                    "MAKEUP-UNPROVEN",
                    unit.tag,
                    f"nothing proves that {', '.join(blind)} moves: {unit.tag} runs on after its exhaust has died",
                    f"add proving (a current or air-flow switch) to {', '.join(blind)}",
                    INTERLOCK,
                ),
                frozenset({("makeup-only-with", unit.tag)}),
            )
    for damper in job.dampers:
        if not damper.end_switch:
            yield Cause(
                _finding(
                    "DAMPER-UNPROVEN",
                    damper.tag,
                    f"{damper.tag} has no end switch: {damper.fan} starts against a shut damper",
                    "end_switch: yes",
                    DAMPER,
                ),
                frozenset({("damper", damper.fan)}),
            )


@_cause
def past_the_damper(job: Job, _design: Design) -> Iterator[Cause]:
    """Fans that run without the panel, behind dampers that only the panel opens."""
    standby = job.panel.on_control_power_loss == "exhaust runs"
    fans = {f.tag: f for f in job.exhaust_fans}
    for damper in job.dampers:
        fan = fans.get(damper.fan)
        if fan is None or not (standby or fan.forced_by):
            continue
        why = "with the panel dead" if standby else f"by {fan.forced_by}"
        yield Cause(
            _finding(
                "RUNS-PAST-DAMPER",
                fan.tag,
                f"{fan.tag} is made to run {why}, and nothing then opens {damper.tag} first: it starts against a "
                "shut damper",
                f"leave {damper.tag} out (exhaust needs none here), or let the panel alone start {fan.tag}",
                DAMPER,
            ),
            frozenset({("damper", fan.tag)}),
        )


@_cause
def alarm(job: Job, _design: Design) -> Iterator[Cause]:
    """A building alarm that hangs on a controller that may be dead."""
    module = job.building_alarm
    if module is None:
        return
    if module.taken_from == "panel contact":
        yield Cause(
            _finding(
                "ALARM-FROM-PANEL",
                module.tag,
                "the building alarm is taken from the panel's contact: with the panel dead a release raises no alarm",
                "take it from a pole of the fire switch (taken_from: fire switch, pole use: building alarm)",
                ALARM,
            ),
            frozenset({("building-alarm", module.tag)}),
        )
        return
    for system in job.fire_systems:
        if not any(p.use == "building alarm" for p in system.poles):
            yield Cause(
                _finding(
                    "ALARM-NO-POLE",
                    system.tag,
                    f"no pole of {system.tag} is used for the building alarm: a release in {system.zone} is not "
                    "signalled",
                    "give one pole use: building alarm, side: released side",
                    ALARM,
                ),
                frozenset({("building-alarm", module.tag)}),
            )


def _system(job: Job, zone: str) -> FireSystem | None:
    return next((f for f in job.fire_systems if f.zone == zone), None)


@_cause
def resets(job: Job, _design: Design) -> Iterator[Cause]:
    """Things that come back by themselves."""
    for shutdown in job.shutdowns:
        if shutdown.kind == "shunt trip" or shutdown.reset == "by hand":
            continue
        behind = [
            a.tag
            for h in job.hoods
            for a in h.appliances
            if a.shut_down_by == shutdown.tag
            or (a.fuel == "gas" and shutdown.kind == "gas valve" and h.zone == shutdown.zone)
        ]
        code = "GAS-REOPENS" if shutdown.kind == "gas valve" else "RETURNS-BY-ITSELF"
        what = "opens" if shutdown.kind == "gas valve" else "pulls in"
        yield Cause(
            _finding(
                code,
                shutdown.tag,
                f"{shutdown.tag} {what} by itself after a release or an outage, with nobody at the appliances",
                "reset: by hand",
                HAND_RESET,
            ),
            frozenset((k, t) for k in ("hand-reset", "gas-outage") for t in (shutdown.tag, *behind)),
        )
    for shutdown in job.shutdowns:
        if shutdown.kind == "shunt trip" and shutdown.fed_from == "load side of its own breaker":
            yield Cause(
                _finding(
                    "SHUNT-OWN-LOAD",
                    shutdown.tag,
                    f"the shunt coil of {shutdown.circuit} is fed from that breaker's own load side, through the panel",
                    "feed the coil from the shutdown circuit through the fire switch (fed_from: shutdown circuit)",
                    FUEL_OFF,
                ),
                frozenset({("fire-fuel", "*")}),
            )


@_cause
def shutdown_supply(job: Job, _design: Design) -> Iterator[Cause]:
    """A shutdown circuit that its own release trips."""
    shunted = _shunted(job)
    for system in job.fire_systems:
        if system.shutdown_circuit and shunted.get(system.shutdown_circuit):
            yield Cause(
                _finding(
                    "SHUTDOWN-TRIPS-ITSELF",
                    system.tag,
                    f"{system.shutdown_circuit} feeds the shutdown coils of {system.tag} and is itself tripped by "
                    "a release: "
                    "the coils lose their supply before all breakers have opened",
                    "feed the shutdown pole from a circuit that no release touches",
                    NEC_LATENT,
                    FUEL_OFF,
                ),
                frozenset((k, "*") for k in ("fire-fuel", "hand-reset", "works")),
            )
        wrong = [p for p in system.poles if p.use == "shutdown" and p.side in ("armed side", "released side")]
        for pole in wrong:
            needs = {"released" if s.kind == "shunt trip" else "armed" for s in job.shutdowns if s.zone == system.zone}
            missing = needs - {pole.side.split()[0]}
            if missing:
                yield Cause(
                    _finding(
                        "SHUTDOWN-SIDE",
                        system.tag,
                        f"the shutdown pole of {system.tag} is landed on the {pole.side} only; what hangs on the "
                        f"{' and '.join(sorted(missing))} side never gets its signal",
                        "side: both sides",
                        FUEL_OFF,
                    ),
                    frozenset((k, "*") for k in ("fire-fuel", "works", "hand-reset")),
                )


@_cause
def unprotected(job: Job, _design: Design) -> Iterator[Cause]:
    """An appliance that a release must take down and that nothing takes down."""
    shunted = _shunted(job)
    known = {s.tag for s in job.shutdowns}
    valves = {s.zone for s in job.shutdowns if s.kind == "gas valve"}
    for hood in job.hoods:
        for a in hood.appliances:
            if not a.shut_down or a.fuel in ("solid", "steam"):
                continue
            covered = a.shut_down_by in known if a.shut_down_by else (hood.zone in valves if a.fuel == "gas" else False)
            if covered or (a.circuit and a.circuit in shunted):
                continue
            yield Cause(
                _finding(
                    "APPLIANCE-UNPROTECTED",
                    a.tag,
                    f"a release in {hood.zone} must take {'the gas' if a.fuel == 'gas' else 'the power'} of "
                    f"{a.tag}, and nothing does",
                    "name a shutdown in shut_down_by, or put its circuit on a shunt-trip breaker",
                    FUEL_OFF,
                ),
                frozenset({("fire-fuel", a.tag), ("hand-reset", a.tag)}),
            )


@_cause
def latent_shunt(job: Job, _design: Design) -> Iterator[Cause]:
    """Said to everybody who uses shunt trips: their supply can be gone without a sign."""
    for system in job.fire_systems:
        shunts = [s.circuit for s in job.shutdowns if s.kind == "shunt trip" and s.zone == system.zone]
        supply = system.shutdown_circuit or job.panel.circuit
        if shunts:
            yield Cause(
                Finding(
                    "SHUNT-LATENT",
                    Severity.NOTE,
                    system.tag,
                    f"shunt trips of {', '.join(shunts)} need {supply} live; its loss shows nowhere until a release",
                    "test at every service, or add a supply-present lamp; a held-in contactor fails safe",
                    (NEC_LATENT,),
                ),
                frozenset(),
            )
