"""What a release takes down, and what must not hang on it."""

from __future__ import annotations

from collections.abc import Iterator

from galleyproof.findings import Finding
from galleyproof.job.model import Appliance, Circuit, ContactorShutdown, Hood, Job, ShuntShutdown, ShuntTrip, Vfd
from galleyproof.review.cures.registry import cure
from galleyproof.review.cures.tags import feeds, free_circuits, new_circuit, next_tag, shunted
from galleyproof.review.edits import GONE, NEW, Edit, Move, Path, one
from galleyproof.review.whole import Papers


@cure("GAS-REOPENS", "RETURNS-BY-ITSELF")
def reset_by_hand(job: Job, finding: Finding, _papers: Papers) -> Iterator[Move]:
    """A hand at the appliances."""
    yield one(("shutdowns", finding.item, "reset"), "by hand", "nothing comes back before somebody has looked", 3.0)


@cure("SHUNT-OWN-LOAD")
def coil_feed(job: Job, finding: Finding, _papers: Papers) -> Iterator[Move]:
    """The coil from the shutdown circuit."""
    path = ("shutdowns", finding.item, "fed_from")
    yield one(path, "shutdown circuit", "the coil keeps its supply until its breaker has opened", 2.0)


@cure("FIRE-STARVED")
def fan_feed(job: Job, finding: Finding, _papers: Papers) -> Iterator[Move]:
    """The fan on a circuit that no release touches."""
    fan = next((f for f in job.exhaust_fans if f.tag == finding.item), None)
    if fan is not None:
        yield from _off_the_release(job, ("exhaust_fans", fan.tag, "circuit"), fan.circuit, fan.tag)


@cure("FIRE-PANEL-STARVED")
def panel_feed(job: Job, finding: Finding, _papers: Papers) -> Iterator[Move]:
    """The panel on a circuit that no release touches."""
    yield from _off_the_release(job, ("panel", "circuit"), job.panel.circuit, job.panel.tag)


@cure("SHUTDOWN-TRIPS-ITSELF")
def shutdown_feed(job: Job, finding: Finding, _papers: Papers) -> Iterator[Move]:
    """The coils on a circuit that no release touches."""
    system = next((s for s in job.fire_systems if s.tag == finding.item), None)
    if system is not None and system.shutdown_circuit:
        path = ("fire_systems", system.tag, "shutdown_circuit")
        yield from _off_the_release(job, path, system.shutdown_circuit, system.tag)


def _off_the_release(job: Job, path: Path, circuit: str, user: str) -> Iterator[Move]:
    """No shutdown on a circuit that feeds nothing else, or another circuit, or a new one."""
    here = next((c for c in job.circuits if c.tag == circuit), None)
    if here is None:
        return
    for shutdown in job.shutdowns:
        # only what the job itself shows to feed nothing that must go dead
        if shutdown.kind == "shunt trip" and shutdown.circuit == circuit and feeds(job, circuit) == [user]:
            why = f"{circuit} feeds {user} alone: nothing on it has to go dead in a release"
            yield one(("shutdowns", shutdown.tag), GONE, why, 1.0)
    for other in free_circuits(job, here):
        yield one(path, other.tag, f"{user} from {other.tag}, which no release touches", 4.0)
    made = new_circuit(job, here, f"{user}, moved off the release")
    edits = (Edit(("circuits", NEW), made), Edit(path, made.tag))
    yield Move(edits, f"{user} from a circuit of its own that no release touches", 5.0)


@cure("FIRE-DELAYED-STOP")
def run_voltage(job: Job, finding: Finding, _papers: Papers) -> Iterator[Move]:
    """The voltage of a run command from where no release reaches it."""
    fan = next((f for f in job.exhaust_fans if f.tag == finding.item), None)
    if fan is None or not isinstance(fan.drive, Vfd):
        return
    path: Path = ("exhaust_fans", fan.tag, "drive", "run_command")
    command = fan.drive.run_command
    panel = [Edit((*path, "owner"), "the panel"), Edit((*path, "circuit"), None)]
    if command.volts != 120.0:
        panel.append(Edit((*path, "volts"), 120.0))
    yield Move(tuple(panel), "the run command takes its voltage from the panel", 2.0)
    here = next((c for c in job.circuits if c.tag == command.circuit), None)
    for circuit in job.circuits if here else ():
        if circuit.tag in shunted(job) or len(circuit.lines) != 1 or circuit.panelboard != here.panelboard:  # type: ignore[union-attr]
            continue
        if circuit.tag == job.panel.circuit or circuit in free_circuits(job, circuit):
            why = f"the run command takes its voltage from {circuit.tag}, which no release touches"
            yield one((*path, "circuit"), circuit.tag, why, 4.0)


@cure("APPLIANCE-UNPROTECTED")
def protect(job: Job, finding: Finding, _papers: Papers) -> Iterator[Move]:
    """A shutdown for an appliance; that it need none is not ours to say."""
    for hood in job.hoods:
        for appliance in hood.appliances:
            if appliance.tag == finding.item:
                yield from _protect(job, hood, appliance)


def _protect(job: Job, hood: Hood, appliance: Appliance) -> Iterator[Move]:
    path: Path = ("hoods", hood.tag, "appliances", appliance.tag, "shut_down_by")
    if appliance.fuel == "gas":
        for shutdown in job.shutdowns:
            if shutdown.kind == "gas valve" and shutdown.zone == hood.zone:
                yield one(path, shutdown.tag, f"its gas comes through {shutdown.tag}", 2.0)
        return
    circuit = next((c for c in job.circuits if c.tag == appliance.circuit), None)
    if circuit is None:
        return
    tag = next_tag(job, "SD")
    by = ShuntShutdown(kind="shunt trip", tag=tag, zone=hood.zone, circuit=circuit.tag)
    edits = [] if circuit.shunt_trip else [Edit(("circuits", circuit.tag, "shunt_trip"), _coil(job, hood, circuit))]
    edits += [Edit(("shutdowns", NEW), by)]
    yield Move(tuple(edits), f"the release trips {circuit.tag}", 3.0)
    if feeds(job, circuit.tag) == [appliance.tag]:
        km = next_tag(job, "KM")
        held = ContactorShutdown(kind="held-in contactor", tag=km, zone=hood.zone, circuit=circuit.tag)
        both = (Edit(("shutdowns", NEW), held), Edit(path, km))
        yield Move(both, f"{km} holds {appliance.tag} in while the switch is armed, and drops by itself", 3.5)


def _coil(job: Job, hood: Hood, circuit: Circuit) -> ShuntTrip:
    """An accessory like the others of the zone."""
    zone = {s.circuit for s in job.shutdowns if s.kind == "shunt trip" and s.zone == hood.zone}
    like = next((c.shunt_trip for c in job.circuits if c.tag in zone and c.shunt_trip), None)
    return like or ShuntTrip()
