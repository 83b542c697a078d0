"""Hood lights of a job: watts on each contact and circuit, why they are grouped so, and their rush of current."""

from __future__ import annotations

from collections.abc import Mapping

from galleyproof.design.model import Design
from galleyproof.design.power import circuit_v
from galleyproof.design.recipes.hoods import LIGHT_CONTACT_A
from galleyproof.job.model import Hood, Job
from galleyproof.sizing import lights
from galleyproof.sizing.job_ledger import Ledger
from galleyproof.sizing.job_loads import LIGHTS_PF
from galleyproof.sizing.job_network import Network
from galleyproof.sizing.steps import Reasoning, practice, shown

__all__ = ["report_lights"]


def report_lights(job: Job, design: Design, network: Network, ledger: Ledger) -> None:
    """Numbers and findings of every light contact.

    Args:
        job: Lights of its hoods.
        design: Which contact feeds which hood.
        network: What each conductor carries.
        ledger: Gets them.
    """
    hoods = {f"{hood.tag}-E1": hood for hood in job.hoods if hood.lights is not None}
    circuits = {c.tag: c for c in job.circuits}
    said = {f.item: f for f in design.findings if f.code == "LIGHTS-OVER"}
    for contact, tags in _contacts(design, network, hoods).items():
        mine = [hoods[tag] for tag in tags]
        first = mine[0].lights
        assert first is not None
        volts = circuit_v(job, circuits[first.circuit])
        load_w = sum(hood.lights.load for hood in mine if hood.lights is not None)
        use = lights.contact_use_ratio(load_w, volts, contact_a=LIGHT_CONTACT_A)
        over = use.value > 1.0 + 1e-9
        names = ", ".join(hood.tag for hood in mine)
        given = f"{names}: {shown(float(load_w), 'W')}"
        ledger.add(contact, "light contact", use, first.circuit, given=given, ok=not over)
        _inrush(contact, mine, load_w, volts, first.circuit, ledger)
        if over:
            known = [said[hood.tag] for hood in mine if hood.tag in said]
            # the design has noticed it already: the same finding, not a second one
            ledger.findings.extend(f for f in known if f not in ledger.findings)
            if not known:
                limit_w = lights.contact_max_w(volts, contact_a=LIGHT_CONTACT_A).value
                ledger.error(
                    "LIGHTS-OVER",
                    contact,
                    f"light contact {contact} carries {given}; {shown(limit_w, 'W')} is its limit",
                    "put one of the hoods on another contact",
                    use.basis,
                )
    _grouping(job, ledger)


def _contacts(design: Design, network: Network, hoods: Mapping[str, Hood]) -> dict[str, tuple[str, ...]]:
    """Lights behind each contact of a light contactor, by its output terminal."""
    kinds = {d.tag for d in design.devices if d.type == "light_contactor"}
    found: dict[str, tuple[str, ...]] = {}
    for conductor in design.conductors:
        for end in (conductor.a, conductor.b):
            if end.device in kinds and end.mark.isdigit() and int(end.mark) % 2 == 0:
                loads = network.carried[conductor.key].loads
                tags = tuple(sorted(one.device for one in loads if one.device in hoods))
                if tags:
                    found[str(end)] = tags
    return dict(sorted(found.items()))


def _inrush(contact: str, hoods: list[Hood], load_w: float, volts: float, circuit: str, ledger: Ledger) -> None:
    kinds = {hood.lights.lamps for hood in hoods if hood.lights is not None}
    kind = "electronic driver" if "electronic driver" in kinds else "incandescent"
    peak = lights.inrush_peak_a(
        load_w,
        volts,
        kind,  # type: ignore[arg-type]
        power_factor=LIGHTS_PF[kind],
    )
    r = Reasoning(ledger.edition)
    value = r.take(peak)
    ledger.add(contact, "light inrush", r.done("ask the maker" if value is None else value, peak.unit), circuit)


def _grouping(job: Job, ledger: Ledger) -> None:
    """Why the hoods of each circuit are spread over contacts."""
    circuits = {c.tag: c for c in job.circuits}
    groups: dict[str, list[Hood]] = {}
    for hood in job.hoods:
        if hood.lights is not None:
            groups.setdefault(hood.lights.circuit, []).append(hood)
    for tag, hoods in sorted(groups.items()):
        volts = circuit_v(job, circuits[tag])
        limit = lights.contact_max_w(volts, contact_a=LIGHT_CONTACT_A)
        r = Reasoning(ledger.edition)
        r.take(limit)
        total = sum(hood.lights.load for hood in hoods if hood.lights is not None)
        each = ", ".join(
            f"{hood.tag} {hood.lights.load:g} W" for hood in sorted(hoods, key=lambda h: h.tag) if hood.lights
        )
        least = -int(-total // limit.value)
        r.step(f"{each}: {total:g} W together need at least", least, "contacts", practice("grouping of hood lights"))
        r.pass_over("one contact for two circuits: a contact switches one circuit only")
        ledger.add(tag, "light contacts", r.done(least, "contacts"), tag)
