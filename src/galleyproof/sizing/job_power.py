"""Control power of a job: each supply and transformer with everything it feeds, its rating and its fuses.

Every coil, relay, controller, module, damper, valve and supplied input of the design is counted with the apparent
power its device type states, all of them at once: both sides of a change-over contact count, which is cautious.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from galleyproof.design.model import Design, Device
from galleyproof.job.model import Job
from galleyproof.library.model import DeviceType
from galleyproof.sizing import control_power as rules
from galleyproof.sizing.control_power import CoilLoad
from galleyproof.sizing.job_control import coil_inrush_ratio
from galleyproof.sizing.job_ledger import Ledger
from galleyproof.sizing.job_network import Network, PartLoad
from galleyproof.sizing.steps import Reasoned, Reasoning, nec, practice, shown

__all__ = ["report_control_power"]

_RAIL_V = 24.0


def report_control_power(
    job: Job, design: Design, network: Network, library: Mapping[str, DeviceType], ledger: Ledger
) -> None:
    """Numbers and findings of the 24 V supply, the control transformer and the protector of the control circuit.

    Args:
        job: The transformer it states.
        design: Devices.
        network: What each source feeds.
        library: Ratings of the devices.
        ledger: Gets them.
    """
    for device in design.devices:
        kind = library.get(device.type)
        if kind is None or device.parent is None:
            continue
        does = {behaviour.do for behaviour in kind.behaviours}
        if "power_supply" in does:
            _supply(job, device, kind, design, network, ledger)
        elif "transformer" in does:
            _transformer(job, device, kind, design, network, ledger)
        elif "protector" in does:
            _protector(job, device, design, network, ledger)


def _rating(device: Device, kind: DeviceType, name: str) -> float:
    value = device.ratings.get(name, kind.ratings[name].default)
    return float(value) if isinstance(value, int | float | str) else 0.0


def _coil_loads(loads: Iterable[PartLoad], design: Design) -> list[CoilLoad]:
    """Equal loads of equal device types together."""
    counted: dict[tuple[str, float, float], int] = {}
    for load in loads:
        if load.load_va <= 0.0:
            continue
        device = design.device_by_tag[load.device]
        ratio = coil_inrush_ratio(device.type, load)
        part = load.part.rstrip("0123456789").rstrip("_")
        name = f"{device.title if load.coil else device.type.replace('_', ' ')} ({part})"
        key = (name, round(load.load_va, 4), round(load.load_va * ratio, 4))
        counted[key] = counted.get(key, 0) + 1
    return [CoilLoad(name, sealed, inrush, count) for (name, sealed, inrush), count in sorted(counted.items())]


def _supply(job: Job, device: Device, kind: DeviceType, design: Design, network: Network, ledger: Ledger) -> None:
    tag, edition = device.tag, ledger.edition
    steady = rules.sealed_va(_coil_loads(network.supplied.get(tag, ()), design))
    rated_w = _rating(device, kind, "output_a") * _RAIL_V
    use = rules.use_ratio(steady, rated_w, "W")
    circuit = job.panel.circuit
    given = f"{shown(rated_w, 'W')} supply"
    over, tight = use.value > 1.0 + 1e-9, use.value > rules.MAX_USE_RATIO + 1e-9
    ledger.add(tag, "steady load", steady, circuit, given=given, ok=not over)
    ledger.add(tag, "use", use, circuit, given=f"at most {rules.MAX_USE_RATIO:.0%}", ok=not tight)
    _say_use(tag, "24 V supply", steady.value, rated_w, "W", use, ledger)
    class2 = rules.class2_limits("dc", _RAIL_V, inherently_limited=False, edition=edition)
    limit_w = class2.value.nameplate_va
    r = Reasoning(edition)
    r.take(class2)
    parts = max(1, -int(-steady.value // (rules.MAX_USE_RATIO * limit_w)))
    r.step(
        f"outputs of {limit_w:g} VA that carry {shown(round(steady.value, 4), 'W')} at {rules.MAX_USE_RATIO:.0%}",
        parts,
        "outputs",
        practice("Class 2 supplies"),
    )
    ledger.add(tag, "Class 2 outputs", r.done(parts, "outputs"), circuit)
    if rated_w > limit_w + 1e-9:
        many = "one output" if parts == 1 else f"{parts} outputs"
        ledger.note(
            "CLASS2-SOURCE",
            tag,
            f"{tag} is rated {shown(rated_w, 'W')}; a Class 2 source of 24 V is marked {limit_w:g} VA at most",
            f"take a supply listed as Class 2, or put {many} of {limit_w:g} VA, listed as Class 2, behind it",
            class2.basis,
        )


def _say_use(tag: str, words: str, load: float, rated: float, unit: str, use: Reasoned[float], ledger: Ledger) -> None:
    load_text = shown(round(load, 2), unit)
    if use.value > 1.0 + 1e-9:
        ledger.error(
            "CONTROL-POWER-OVER",
            tag,
            f"{words} {tag} gives {shown(rated, unit)}; everything on it takes {load_text} ({use.value:.0%})",
            f"take {shown(_next_power(load / rules.MAX_USE_RATIO), unit)} or more, or move loads to a second one",
            use.basis or (practice("control power"),),
        )
    elif use.value > rules.MAX_USE_RATIO + 1e-9:
        ledger.warn(
            "CONTROL-POWER-TIGHT",
            tag,
            f"{words} {tag} gives {shown(rated, unit)}; everything on it takes {load_text} ({use.value:.0%}, "
            f"{rules.MAX_USE_RATIO:.0%} is usual)",
            f"take {shown(_next_power(load / rules.MAX_USE_RATIO), unit)} or more, so that the next change still fits",
            (practice("control power", "room for the next change"),),
        )


def _next_power(least: float) -> float:
    return next((p for p in rules.STANDARD_VA if p >= least - 1e-9), least)


def _transformer(job: Job, device: Device, kind: DeviceType, design: Design, network: Network, ledger: Ledger) -> None:
    tag, edition, circuit = device.tag, ledger.edition, job.panel.circuit
    fed = [
        load
        for source, loads in network.supplied.items()
        for load in loads
        if source == tag or _behind(source, tag, design, network)
    ]
    loads = _coil_loads((load for load in fed if load.device != tag), design)
    rated_va = _rating(device, kind, "va")
    steady = rules.sealed_va(loads)
    use = rules.use_ratio(steady, rated_va)
    over, tight = use.value > 1.0 + 1e-9, use.value > rules.MAX_USE_RATIO + 1e-9
    given = f"{shown(rated_va, 'VA')} transformer"
    ledger.add(tag, "steady load", steady, circuit, given=given, ok=not over)
    ledger.add(tag, "use", use, circuit, given=f"at most {rules.MAX_USE_RATIO:.0%}", ok=not tight)
    ledger.add(tag, "inrush", rules.inrush_of(loads), circuit)
    ledger.add(tag, "smallest transformer", rules.smallest_transformer_va(loads), circuit, given=given, ok=not tight)
    _say_use(tag, "control transformer", steady.value, rated_va, "VA", use, ledger)
    primary_a = rules.transformer_winding_a(rated_va, _rating(device, kind, "input_v"))
    secondary_a = rules.transformer_winding_a(rated_va, _rating(device, kind, "output_v"))
    ledger.add(
        tag,
        "largest primary fuse",
        rules.transformer_primary_ocpd_a(primary_a, "primary_and_secondary", edition=edition),
        circuit,
    )
    ledger.add(tag, "primary inrush", rules.inrush_withstand_a(primary_a), circuit)
    largest = rules.transformer_secondary_ocpd_a(secondary_a, edition=edition)
    behind = next((d for d in design.devices if d.type == "control_breaker" and d.parent == device.parent), None)
    trip = float(behind.ratings["trip_a"]) if behind is not None else None
    high = trip is not None and trip > largest.value + 1e-9
    ledger.add(
        tag,
        "largest secondary fuse",
        largest,
        circuit,
        given="" if trip is None else shown(trip, "A"),
        ok=not high,
    )
    if high and behind is not None:
        ledger.error(
            "TRANSFORMER-FUSE",
            tag,
            f"{behind.tag} of {shown(trip or 0.0, 'A')} protects the secondary side of {tag}; "
            f"{shown(largest.value, 'A')} at most",
            f"take {shown(largest.value, 'A')}, or a larger transformer",
            largest.basis,
        )


def _behind(source: str, transformer: str, design: Design, network: Network) -> bool:
    """Whether a protector stands on the secondary side of a transformer."""
    device = design.device_by_tag.get(source)
    if device is None or device.type != "control_breaker":
        return False
    ahead = design.device_by_tag.get(transformer)
    return ahead is not None and ahead.parent == device.parent and bool(network.supplied.get(source))


def _protector(job: Job, device: Device, design: Design, network: Network, ledger: Ledger) -> None:
    """The protector of the control circuit: what it carries all the time."""
    tag = device.tag
    loads = _coil_loads(network.supplied.get(tag, ()), design)
    steady = rules.sealed_va(loads)
    trip_a = float(device.ratings["trip_a"])
    r = Reasoning(ledger.edition)
    amps = r.take(steady) / 120.0
    r.step("current at 120 V", amps, "A")
    use = r.done(amps, "A")
    limit = 0.8 * trip_a
    # behind a transformer its rating follows from the transformer, which has its own finding
    behind = any(d.type == "control_transformer" and d.parent == device.parent for d in design.devices)
    high = amps > limit + 1e-9 and not behind
    ledger.add(tag, "steady current", use, job.panel.circuit, given=f"{shown(trip_a, 'A')} protector", ok=not high)
    ledger.add(tag, "inrush", rules.inrush_of(loads), job.panel.circuit)
    if high:
        ledger.error(
            "CONTROL-PROTECTOR",
            tag,
            f"protector {tag} of {shown(trip_a, 'A')} carries {amps:.4g} A all the time; "
            f"{shown(limit, 'A')} (80 percent) is what it takes",
            "split the control circuit over two protectors",
            (nec("210.20(A)", ledger.edition), practice("control power")),
        )
