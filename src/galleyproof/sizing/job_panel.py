"""The panel of a job as a whole: short-circuit rating, heat, terminals, working space."""

from __future__ import annotations

from collections.abc import Mapping

from galleyproof.design.model import Design, Device, TerminalId
from galleyproof.design.power import circuit_v
from galleyproof.job.model import Job
from galleyproof.library.model import DeviceType, TerminalSpec
from galleyproof.sizing import enclosure, panel
from galleyproof.sizing.enclosure import HeatLoad
from galleyproof.sizing.job_circuits import Needs
from galleyproof.sizing.job_ledger import Ledger
from galleyproof.sizing.model import SizedConductor
from galleyproof.sizing.steps import Reasoned, SizingError, nec, shown
from galleyproof.tables.conductors import awg_index
from galleyproof.tables.reader import TableError

__all__ = ["report_panel", "report_terminals"]

STRIP_MAX_AWG = "2"
"""Common practice: thickest conductor of the panel's power terminal blocks. [AWG]"""
STRIP_CONTROL_MAX_AWG = "10"
"""Common practice: thickest conductor of its control terminal blocks. [AWG]"""
STRIP_CAPACITY = 2
"""Common practice: conductors under one clamp of a terminal block made for two. [-]"""


def report_panel(
    job: Job,
    design: Design,
    library: Mapping[str, DeviceType],
    needs: Mapping[str, Needs],
    conductors: Mapping[str, SizedConductor],
    ledger: Ledger,
) -> None:
    """Numbers and findings of the panel itself.

    Args:
        job: Its ratings and its place.
        design: What is in it.
        library: Heat and short-circuit ratings of its devices.
        needs: Circuits with their loads.
        conductors: Sizes, for the fault current at its terminals.
        ledger: Gets them.
    """
    feeds = _feeds(design, needs)
    _short_circuit(job, design, library, feeds, conductors, ledger)
    _heat(job, design, library, needs, ledger)
    _working_space(job, feeds, ledger)


def _feeds(design: Design, needs: Mapping[str, Needs]) -> dict[str, Needs]:
    """Circuits that enter the panel."""
    inside = {d.tag for d in design.devices if d.parent == design.panel}
    entering = {c.of for c in design.conductors if c.of in needs and {c.a.device, c.b.device} & inside}
    return {tag: needs[tag] for tag in sorted(entering)}


# --- short circuit ----------------------------------------------------------------------------------------------


def _short_circuit(
    job: Job,
    design: Design,
    library: Mapping[str, DeviceType],
    feeds: Mapping[str, Needs],
    conductors: Mapping[str, SizedConductor],
    ledger: Ledger,
) -> None:
    edition, tag = ledger.edition, job.panel.tag
    rating = job.panel.short_circuit_rating
    boards = {b.tag: b for b in job.panelboards}
    supplies = {s.tag: s for s in job.supplies}
    entering = {boards[need.circuit.panelboard].supply for need in feeds.values()}
    if not entering:
        return
    worst = max((supplies[name] for name in entering), key=lambda s: (s.available_fault, s.tag))
    use = panel.short_circuit_use_ratio(worst.available_fault, rating, edition=edition)
    high = use.value > 1.0 + 1e-9
    given = f"{shown(float(rating), 'A')} rated"
    ledger.add(tag, "short-circuit use", use, tag, given=given, ok=not high)
    at_panel = _fault_at_panel(job, feeds, conductors, worst.tag, ledger)
    if high:
        reaches = f"; worked out at its own terminals it is {at_panel:.0f} A" if at_panel is not None else ""
        ledger.error(
            "SCCR-LOW",
            tag,
            f"panel {tag} is rated {shown(float(rating), 'A')}; {shown(float(worst.available_fault), 'A')} is "
            f"available from {worst.tag}{reaches}",
            f"take a panel rated {shown(float(worst.available_fault), 'A')} or more, or state the fault current that "
            f"reaches {tag} as available_fault once it has been worked out and agreed",
            use.basis,
        )
    parts = [
        (f"{d.title} ({d.tag})", rated)
        for d in design.devices
        if d.parent is not None and (rated := _sccr(d, library)) is not None
    ]
    if not parts:
        return
    weakest = panel.weakest_rating_a(parts, edition=edition)
    ledger.add(tag, "weakest part", weakest, tag, given=given)
    if weakest.value < rating and not high:
        ledger.note(
            "SCCR-PARTS",
            tag,
            f"panel {tag} is rated {shown(float(rating), 'A')}, its weakest parts {shown(weakest.value, 'A')} by "
            "themselves",
            "the maker of the panel marks the rating by tested combinations or current-limiting devices: keep the "
            "record, and keep the branch devices it names",
            weakest.basis,
        )


def _sccr(device: Device, library: Mapping[str, DeviceType]) -> float | None:
    kind = library.get(device.type)
    return float(kind.sccr_a) if kind is not None and isinstance(kind.sccr_a, float) else None


def _fault_at_panel(
    job: Job,
    feeds: Mapping[str, Needs],
    conductors: Mapping[str, SizedConductor],
    supply: str,
    ledger: Ledger,
) -> float | None:
    """Largest fault current that reaches the panel over any of its feeds of one supply."""
    boards = {b.tag: b for b in job.panelboards}
    routes = {r.to: r.length for r in job.routes}
    available = next(s.available_fault for s in job.supplies if s.tag == supply)
    found: list[tuple[float, str, Reasoned[float]]] = []
    for tag, need in feeds.items():
        board = boards[need.circuit.panelboard]
        line = conductors.get(f"{tag}/{need.circuit.lines[0]}")
        length = routes.get(board.place)
        if board.supply != supply or line is None or length is None:
            continue
        try:
            left = panel.fault_at_end_a(
                available,
                circuit_v(job, need.circuit),
                line.awg,
                length,
                need.phases,
                material="cu",
                edition=ledger.edition,
            )
        except (SizingError, TableError):
            continue
        found.append((left.value, tag, left))
    if not found:
        return None
    value, tag, left = max(found, key=lambda one: one[:2])
    ledger.add(job.panel.tag, "fault current at its terminals", left, job.panel.tag, given=f"over {tag}")
    return value


# --- heat -------------------------------------------------------------------------------------------------------


def _heat(
    job: Job, design: Design, library: Mapping[str, DeviceType], needs: Mapping[str, Needs], ledger: Ledger
) -> None:
    tag = job.panel.tag
    outputs = {
        load.item: load.motor.supply_v * ledger.numbers[f"{load.item} full-load current"].result.value * 3**0.5 * 0.85
        for need in needs.values()
        for load in need.loads
        if load.kind == "drive" and load.motor is not None
    }
    loads = []
    for device in design.devices:
        kind = library.get(device.type)
        if device.parent is None or kind is None:
            continue
        if device.of in outputs and device.type.startswith("vfd"):
            watts = enclosure.drive_heat_w(outputs[device.of]).value
            loads.append(HeatLoad(f"{device.title}, {outputs[device.of]:.4g} W to its motor", round(watts, 6)))
        elif isinstance(kind.heat_w, float) and kind.heat_w > 0.0:
            loads.append(HeatLoad(f"{kind.title}, {device.tag}", kind.heat_w))
    heat = enclosure.total_heat_w(loads)
    ledger.add(tag, "heat", heat, tag)
    box = job.panel.enclosure
    if box is None:
        return
    ambient = job.site.panel_ambient
    surface = enclosure.cooling_surface_sqft(box.width, box.height, box.depth, box.mounting)
    inside = enclosure.inside_degf(heat, surface, ambient, box.wall)
    hot = inside.value > box.max_inside + 1e-9
    given = f"at most {box.max_inside:g} degF"
    ledger.add(tag, "temperature inside", inside, tag, given=given, ok=not hot)
    if not hot:
        return
    try:
        most = enclosure.max_heat_w(surface, ambient, box.max_inside, box.wall)
        fan = enclosure.fan_airflow_cfm(heat, ambient, box.max_inside)
        carries = f"its walls carry off {most.value:.0f} W"
        cure = (
            f"take a larger enclosure, put the drives outside it, or cool it (a filter fan of {fan.value:.0f} cfm "
            "would carry the heat, if the kitchen air is clean enough for one)"
        )
    except SizingError as refused:
        carries, cure = str(refused), "move the panel to a cooler place, or cool it"
    ledger.error(
        "PANEL-HOT",
        tag,
        f"panel {tag} gets {inside.value:.0f} degF inside with {heat.value:.0f} W; its parts take {box.max_inside:g} "
        f"degF, {carries}",
        cure,
        inside.basis,
    )


# --- working space ----------------------------------------------------------------------------------------------


def _working_space(job: Job, feeds: Mapping[str, Needs], ledger: Ledger) -> None:
    edition, tag = ledger.edition, job.panel.tag
    boards = {b.tag: b for b in job.panelboards}
    supplies = {s.tag: s for s in job.supplies}
    grounds = [
        panel.v_to_ground(supplies[boards[need.circuit.panelboard].supply].system, need.circuit.lines, edition=edition)
        for need in feeds.values()
    ]
    if not grounds:
        return
    highest = max(grounds, key=lambda one: one.value)
    width = job.panel.enclosure.width if job.panel.enclosure is not None else 0.0
    space = panel.working_space(highest, job.panel.facing, width_inch=width, edition=edition)
    depth = space.value.depth_inch
    low = job.panel.clear_in_front < depth - 1e-9
    given = f"{job.panel.clear_in_front:g} in clear, {job.panel.facing} opposite"
    shown_depth = Reasoned(depth, "in", space.steps, space.basis, space.passed_over)
    ledger.add(tag, "working depth", shown_depth, tag, given=given, ok=not low)
    if low:
        ledger.error(
            "CLEARANCE",
            tag,
            f"{job.panel.clear_in_front:g} in are clear in front of {tag}; {depth:g} in are needed with "
            f"{highest.value:g} V to ground and {job.panel.facing} opposite",
            f"keep {depth:g} in clear, or hang the panel where nothing stands opposite",
            space.basis,
        )


# --- terminals --------------------------------------------------------------------------------------------------


def report_terminals(
    design: Design,
    library: Mapping[str, DeviceType],
    conductors: Mapping[str, SizedConductor],
    circuit_of: Mapping[str, str],
    ledger: Ledger,
) -> None:
    """Findings of terminals that do not take what is landed on them; numbers of those alone.

    Args:
        design: What is landed where.
        library: What terminals are made for.
        conductors: Sizes.
        circuit_of: Circuit of each conductor, for the table.
        ledger: Gets them.
    """
    devices = design.device_by_tag
    specs: dict[str, dict[str, TerminalSpec]] = {}
    small: dict[tuple[str, str, str], list[TerminalId]] = {}
    overdone = []
    for terminal, landed in design.conductors_at.items():
        device = devices.get(terminal.device)
        limits = _limits(device, terminal, library, specs) if device is not None else None
        if limits is None:
            continue
        max_size, capacity = limits
        thickest = max((conductors[c.key].awg for c in landed), key=awg_index)
        if awg_index(thickest) > awg_index(max_size) or len(landed) > capacity:
            overdone.append((terminal, landed, thickest, max_size, capacity))
    for terminal, landed, thickest, max_size, capacity in sorted(overdone, key=lambda one: one[0]):
        circuit = circuit_of.get(min(c.key for c in landed), design.panel)
        answer = panel.terminal_takes(thickest, len(landed), max_size, capacity, edition=ledger.edition)
        given = f"{capacity} x {max_size} AWG"
        ledger.add(str(terminal), "terminal", answer, circuit, given=given, ok=False)
        if len(landed) <= capacity:
            small.setdefault((circuit, thickest, max_size), []).append(terminal)
            continue
        numbers = ", ".join(str(c.number) for c in sorted(landed, key=lambda c: c.number))
        ledger.error(
            "TERMINAL-FULL",
            str(terminal),
            f"terminal {terminal} takes {capacity} conductors; {len(landed)} are landed on it (conductors {numbers})",
            "use a second terminal with a jumper",
            (nec("110.14(A)", ledger.edition), *answer.basis),
        )
    for (circuit, thickest, max_size), terminals in sorted(small.items()):
        names = ", ".join(str(t) for t in terminals[:6]) + (
            f" and {len(terminals) - 6} more" if len(terminals) > 6 else ""
        )
        ledger.error(
            "TERMINAL-SMALL",
            circuit,
            f"{thickest} AWG of {circuit} on terminals made for {max_size} AWG at most: {names}",
            "use larger terminals, or splice a thinner pigtail beside them",
            (nec("110.14(A)", ledger.edition), nec("110.3(B)", ledger.edition)),
        )


def _limits(
    device: Device,
    terminal: TerminalId,
    library: Mapping[str, DeviceType],
    specs: dict[str, dict[str, TerminalSpec]],
) -> tuple[str, int] | None:
    """Thickest size and number of conductors of a terminal; None where nothing is known."""
    if device.type == "terminal_strip":
        power = device.ratings.get("energy") == "line voltage"
        return (STRIP_MAX_AWG if power else STRIP_CONTROL_MAX_AWG, STRIP_CAPACITY)
    kind = library.get(device.type)
    if kind is None:
        return None
    of_type = specs.get(kind.type)
    if of_type is None:
        of_type = specs[kind.type] = {t.mark: t for t in kind.terminals}
    spec = of_type.get(terminal.mark)
    return None if spec is None else (spec.max_awg, spec.capacity)
