"""Every probe one could do on a job: where the leads go, in which preparation, how long it takes, what can hurt.

Ohms only where everything is dead. Supplies are read line to neutral or line to line, never line to ground. Volts of
line circuits are read with the low-impedance range, so that what a raceway couples in does not mislead. A signal is
read at both ends: what counts is what is received.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from itertools import combinations, pairwise

from galleyproof.checkout.bench import Standing
from galleyproof.checkout.called import things
from galleyproof.checkout.closer import closer
from galleyproof.checkout.model import Checkout, Expectation, Kind, Preparation, Probe, Reading, Stage
from galleyproof.checkout.preparations import preparations
from galleyproof.circuit.meter import LOW_IMPEDANCE_OHM, VOLTMETER_OHM
from galleyproof.design.model import Conductor, Design, EnergyClass, Role, TerminalId
from galleyproof.job.model import Job
from galleyproof.proof.promises import effect_slots

LIGHT = (EnergyClass.CLASS2, EnergyClass.DATA)
MINUTES = {"electrical room": 1.0, "kitchen": 1.5, "hood": 2.5, "gas room": 3.0, "roof": 5.0}
"""To reach a place and put the leads on, seen from the panel; other places take 3. [min]."""
LINE_CAUTION = "Line voltage between the leads. Do not touch; one hand; keep the other off metal."
HIGH_CAUTION = "More than 150 V to ground between the leads. Do not touch; arc-rated protection."
LIVE_V = 50.0
"""From here a voltage is line voltage to a person. [V]."""


class Makers:
    """Makes the probes of one job from what the right wiring reads."""

    def __init__(self, job: Job, design: Design, right: Standing, preps: tuple[Preparation, ...]) -> None:
        self.job = job
        self.design = design
        self.right = right
        self.preps = {p.key: p for p in preps}
        self.places = {d.tag: d.place for d in design.devices}
        self.panel_place = self.places.get(design.panel, job.panel.place)
        self.cables: dict[str, list[Conductor]] = {}
        for c in design.conductors:
            if c.made == "field":
                self.cables.setdefault(c.cable, []).append(c)
        self.high = self._high()

    # where --------------------------------------------------------------------------------------------------
    def in_panel(self, terminal: TerminalId) -> bool:
        """Whether a terminal is one of the panel's own."""
        device = self.design.device_by_tag[terminal.device]
        return device.parent == self.design.panel

    def place(self, terminal: TerminalId) -> str:
        """Where a person stands to reach it."""
        return "the panel" if self.in_panel(terminal) else self.places[terminal.device]

    def minutes(self, place: str) -> float:
        """Time to reach a place and read. [min]."""
        return 0.5 if place == "the panel" else MINUTES.get(place, 3.0)

    def near(self, c: Conductor) -> TerminalId:
        """The end that is easiest to reach: in the panel, else at the breaker."""
        for end in (c.a, c.b):
            if self.in_panel(end):
                return end
        for end in (c.a, c.b):
            if self.design.device_by_tag[end.device].type.startswith(("breaker_", "panelboard")):
                return end
        return c.a

    def far(self, c: Conductor) -> TerminalId:
        """The other one."""
        return c.b if self.near(c) == c.a else c.a

    def _high(self) -> frozenset[str]:
        """Panelboards above 150 V to ground."""
        systems = {s.tag: s.system for s in self.job.supplies}
        over = ("480Y/277 V", "480 V delta", "600Y/347 V", "240 V delta", "120/240 V high-leg delta")
        return frozenset(p.tag for p in self.job.panelboards if systems[p.supply] in over)

    def is_high(self, cable: list[Conductor]) -> bool:
        """Whether a cable belongs to a supply above 150 V to ground."""
        boards = {c.tag: c.panelboard for c in self.job.circuits}
        ends = {t.device for c in cable for t in (c.a, c.b)} | {c.of for c in cable}
        circuits = {f.tag: f.circuit for f in self.job.exhaust_fans}
        circuits |= {u.tag: u.circuit for u in self.job.makeup_units}
        return any(boards.get(e, boards.get(circuits.get(e, ""), e)) in self.high for e in ends)

    # probes -------------------------------------------------------------------------------------------------
    def meter(
        self, prep: str, kind: Kind, red: TerminalId, black: TerminalId, about: str, *, line: bool, high: bool = False,
        note: str = "",
    ) -> Probe:  # fmt: skip
        """A probe with a meter."""
        at = self.preps[prep]
        place = self.place(red)
        other = self.place(black)
        minutes = self.minutes(place) + (0.0 if other == place else self.minutes(other) + 2.0)
        live = at.stage is not Stage.DEAD and line
        hazard = 0.0 if at.stage is Stage.DEAD else (5.0 if high else 3.0) if live else 1.0
        low = kind == "volts AC"
        ranges = {
            "ohms": "ohms",
            "volts AC": "AC volts, low-impedance range",
            "volts DC": "DC volts",
            "amps AC": "clamp, AC amperes",
            "hertz": "frequency of the DC signal",
            "display": "",
            "look": "",
        }
        lead = "long lead; " if other != place else ""
        polarity = ", red first" if kind == "volts DC" else ""
        words = f"{ranges[kind]}: {red} to {black}{polarity}, at {place}; {lead}leads landed, load connected"
        return Probe(
            f"{prep}: {kind} {red} {black}",
            prep,
            at.stage,
            kind,
            red,
            black,
            "",
            about,
            place,
            LOW_IMPEDANCE_OHM if low else VOLTMETER_OHM,
            minutes,
            hazard,
            words + (f"; {note}" if note else ""),
            (HIGH_CAUTION if high else LINE_CAUTION) if live else "",
        )

    def look(self, prep: str, slot: str, about: str, question: str, place: str, kind: Kind = "look") -> Probe:
        """A probe without a meter."""
        at = self.preps[prep]
        minutes = 0.2 if kind == "display" else 0.3 + self.minutes(place)
        return Probe(
            f"{prep}: {kind} {slot}", prep, at.stage, kind, None, None, slot, about, place, 0.0, minutes, 0.0, question
        )  # fmt: skip

    def dead(self) -> Iterator[Probe]:
        """Ohms while everything is locked out."""
        for tag, cable in self.cables.items():
            wires = [c for c in cable if c.role is not Role.GROUND]
            line = cable[0].energy_class not in LIGHT
            about = cable[0].of or tag
            near = list(dict.fromkeys(self.near(c) for c in wires))
            for red, black in _pairs(near):
                for prep in self._dead_preps(about):
                    yield self.meter(prep, "ohms", red, black, about, line=line)
            for terminal in near:
                ground = self.ground(terminal)
                if ground is not None:
                    yield self.meter("dead", "ohms", terminal, ground, about, line=line, note="to the equipment ground")
            for c in cable:
                if c.role is Role.GROUND:
                    yield self.meter(
                        "dead", "ohms", self.far(c), self.near(c), about, line=line, note="the frame to the ground bar"
                    )
                elif c.role in (Role.NEUTRAL, Role.COMMON):
                    yield from self._lifted(c, about)

    def _lifted(self, c: Conductor, about: str) -> Iterator[Probe]:
        """A return conductor lifted at its bar: it must then touch nothing that is grounded."""
        near = self.near(c)
        ground = self.ground(near)
        if ground is not None:
            made = self.meter("dead", "ohms", near, ground, about, line=False)
            words = (
                f"ohms: lift conductor {c.number} off {near} and read from its end to {ground}, at {made.place}; then "
                "land it again"
            )
            yield replace(made, key=f"dead: lifted {c.key}", lifted=c.key, words=words, minutes=made.minutes + 2.0)

    def _dead_preps(self, about: str) -> Iterator[str]:
        yield "dead"
        if any(s.tag == about for s in self.job.switches):
            yield "dead, switches on"
        for system in self.job.fire_systems:
            if about.startswith(system.tag) or about in (system.zone, getattr(self.job.building_alarm, "tag", "")):
                yield f"dead, {system.zone} released"

    def ground(self, terminal: TerminalId) -> TerminalId | None:
        """The ground bar where a terminal stands."""
        place = self.place(terminal)
        for c in self.design.conductors:
            if c.role is Role.GROUND:
                for end in (c.a, c.b):
                    device = self.design.device_by_tag[end.device]
                    bar = self.in_panel(end) or device.type.startswith("panelboard")
                    if bar and self.place(end) == place:
                        return end
        return None

    def live(self) -> Iterator[Probe]:
        """Volts, at both ends of every field cable."""
        for tag, cable in self.cables.items():
            wires = [c for c in cable if c.role is not Role.GROUND]
            light = cable[0].energy_class in LIGHT
            about = cable[0].of or tag
            high = not light and self.is_high(cable)
            for end in (self.near, self.far):
                for red, black in _pairs(list(dict.fromkeys(end(c) for c in wires))):
                    for form in ("dc", "ac") if light else ("ac",):
                        yield from self.live_pair(red, black, form, about, light, high)

    def live_pair(
        self, red: TerminalId, black: TerminalId, form: str, about: str, light: bool, high: bool
    ) -> Iterator[Probe]:
        """Volts between two terminals, wherever they are not what they were in the state before."""
        kind: Kind = "volts AC" if form == "ac" else "volts DC"
        ohm = LOW_IMPEDANCE_OHM if form == "ac" else VOLTMETER_OHM
        before: dict[str, float] = {}
        preps = [p for p in self.preps.values() if p.stage is not Stage.DEAD]
        volts = self.right.volts_in((p.step for p in preps), red, black, form, ohm)
        for prep in preps:
            shown = before[prep.key] = volts[prep.step]
            first = prep.key in ("control", "line", "cooking")
            known = before.get(prep.after)
            if not first and known is not None and abs(known - shown) <= 0.05 * abs(shown) + 0.05:
                continue
            if form == "ac" and light and max(map(abs, before.values())) < 1.0:
                continue
            if not light and prep.stage is Stage.CONTROL and abs(shown) < 1.0 and not self.in_panel(red):
                continue
            yield self.meter(prep.key, kind, red, black, about, line=not light, high=high)

    def neutrals(self) -> Iterator[Probe]:
        """Volts from a device's neutral to its frame: next to nothing, or line and neutral have changed places."""
        frame = {c.b.device: c.b for c in self.design.conductors if c.role is Role.GROUND}
        for tag, cable in self.cables.items():
            for c in cable:
                far = self.far(c)
                if c.role is Role.NEUTRAL and far.device in frame:
                    for prep in ("line", "cooking"):
                        yield self.meter(
                            prep,
                            "volts AC",
                            far,
                            frame[far.device],
                            c.of or tag,
                            line=True,
                            high=self.is_high(cable),
                            note="neutral to frame",
                        )

    def looks(self) -> Iterator[Probe]:
        """What a person sees, hears or reads on the display."""
        design = self.design
        effects = effect_slots(self.job, design)
        sensors = [s.tag for h in self.job.hoods for s in h.sensors] + [s.tag for s in self.job.room_sensors]
        zones = list(dict.fromkeys(f.zone for f in self.job.fire_systems))
        slots = self.right.machine.slot
        waits = {u.tag: getattr(u.control, "start_delay", 0.0) for u in self.job.makeup_units}
        for prep in self.preps.values():
            if prep.stage in (Stage.DEAD,):
                continue
            for tag in sensors:
                if f"{tag}>reads" in slots:
                    question = f"the display: what does {tag} read (degF, open, short), beside a thermometer"
                    made = self.look(prep.key, f"{tag}>reads", tag, question, "the panel", "display")
                    curve = str(design.device_by_tag[tag].ratings["curve"])
                    yield replace(made, rises=curve.startswith("Pt"))
            for zone in zones:
                if f"{zone}>released" in slots:
                    question = f"the display: does it show a release of {zone}"
                    yield self.look(prep.key, f"{zone}>released", zone, question, "the panel", "display")
            alarm = f"{design.program.controller}>alarm"
            if alarm in slots:
                yield self.look(
                    prep.key, alarm, design.panel, "the display: does an alarm stand", "the panel", "display"
                )
            if prep.stage is Stage.CONTROL:
                continue
            for tag, slot in effects.items():
                device = design.device_by_tag.get(tag)
                place = device.place if device else "roof"
                yield self.look(prep.key, slot, tag, _question(tag, slot, waits.get(tag, 0.0)), place)
            for device in design.devices:
                if device.type.startswith("breaker_"):
                    question = f"the handle of {device.tag}: has it tripped"
                    yield self.look(prep.key, f"{device.tag}.tripped", device.tag, question, device.place)


def _question(tag: str, slot: str, wait_s: float = 0.0) -> str:
    if slot.endswith(".speed"):
        allow = f"; once called, allow it {wait_s:.0f} s for its own damper, purge and proving" if wait_s else ""
        return f"{tag}: does it turn, the right way (look at the shaft), slowly or at full speed{allow}"
    if slot.endswith(".open"):
        return f"{tag}: is it open"
    return f"{tag}: is it on"


def _pairs(terminals: list[TerminalId]) -> Iterator[tuple[TerminalId, TerminalId]]:
    """All pairs of a few terminals; of many, neighbours and each with the first."""
    if len(terminals) <= 4:
        yield from combinations(terminals, 2)
        return
    yield from dict.fromkeys([*pairwise(terminals), *((terminals[0], t) for t in terminals[2:])])


def candidates(job: Job, design: Design, stand: Callable[..., Standing]) -> Checkout:
    """Every probe one could do.

    Args:
        job: The job.
        design: Its design.
        stand: ``stand(design, steps)`` gives the installation as a design has it.
    """
    steps, preps = preparations(job)
    makers = Makers(job, design, stand(design, steps), preps)
    order = {p.key: i for i, p in enumerate(preps)}
    found: dict[str, Probe] = {}
    for probe in (*makers.dead(), *makers.live(), *makers.neutrals(), *makers.looks(), *closer(makers)):
        found.setdefault(probe.key, probe)
    probes = tuple(sorted(found.values(), key=lambda p: order[p.preparation]))
    return Checkout(steps, preps, probes, things(job, design))


def expectation(probe: Probe, reading: Reading) -> Expectation:
    """How far a reading may lie from the right one: the meter's error, the building's volts, the day's temperature.

    Args:
        probe: The probe.
        reading: On the right wiring.
    """
    if isinstance(reading, str):
        return Expectation(reading, reading, reading)
    if probe.kind == "display":
        return Expectation(reading, reading - 4.0, reading + 4.0)
    if probe.kind == "ohms":
        if reading == float("inf"):
            return Expectation(reading, 1e6, reading)
        margin = 0.15 * reading + 1.5
    elif probe.kind == "amps AC":
        margin = 0.15 * reading + 0.3
    elif probe.kind == "hertz":
        margin = 0.5 * reading + 5.0
    elif probe.kind == "volts AC":
        margin = max(0.1 * abs(reading), 4.0)
    else:
        margin = max(0.04 * abs(reading), 0.25)
    return Expectation(reading, reading - margin, reading + margin)


def readings(standing: Standing, checkout: Checkout) -> tuple[Reading, ...]:
    """What every probe of a check-out reads on one installation, in the order of its probes."""
    step = {p.key: p.step for p in checkout.preparations}
    return tuple(standing.read(p, step[p.preparation]) for p in checkout.probes)


def by_key(checkout: Checkout) -> Mapping[str, int]:
    """Place of each probe by its key."""
    return {p.key: i for i, p in enumerate(checkout.probes)}
