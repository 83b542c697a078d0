"""What recipes build with. Names of panel devices, strip places, points and numbers are settled at the end.

While recipes run, things that get a number later are written with ``@``: ``CP1-Q@EF-1`` for a panel device,
``CP1-X3:@EF-1/run/c`` for a place on a strip, ``@point`` for a controller point. ``finish`` gives numbers: those
already issued stay, new ones follow in natural order of their keys, so the order of the job file does not matter.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import Any, Literal

from galleyproof.design.model import (
    Bridge,
    Cable,
    Conductor,
    Design,
    Device,
    EnergyClass,
    FanLogic,
    HoodLogic,
    Jumper,
    LightLogic,
    OutputLogic,
    Point,
    PointKind,
    Program,
    Role,
    SwitchLogic,
    TerminalId,
)
from galleyproof.design.power import circuit_v, system_of
from galleyproof.design.sizes import CONTROL_AWG, ground_awg, power_awg
from galleyproof.errors import DesignError, Problem
from galleyproof.findings import Citation, Finding, Severity
from galleyproof.job.model import Circuit, Job

STRIP = {
    EnergyClass.LINE: "X1",
    EnergyClass.CLASS1: "X2",
    EnergyClass.CLASS2: "X3",
    EnergyClass.DATA: "X4",
}
INSIDE_FT = 3.0
"""Length of a factory conductor [ft]."""
SAME_PLACE_FT = 15.0
UNSTATED_FT = 50.0
MAX_MODULES = 8
"""Expansion modules one controller's bus carries. [-]"""

_OFFERED: dict[str, dict[PointKind, int]] = {
    "controller": {
        PointKind.HOOD_SENSOR: 8,
        PointKind.ROOM_SENSOR: 2,
        PointKind.FIRE_INPUT: 2,
        PointKind.DIGITAL_INPUT: 8,
        PointKind.RELAY_OUTPUT: 8,
        PointKind.SPEED_OUTPUT: 4,
    },
    "module_inputs": {
        PointKind.HOOD_SENSOR: 8,
        PointKind.ROOM_SENSOR: 2,
        PointKind.FIRE_INPUT: 2,
        PointKind.DIGITAL_INPUT: 8,
    },
    "module_outputs": {PointKind.RELAY_OUTPUT: 8, PointKind.SPEED_OUTPUT: 8},
}


def _marks(kind: PointKind, n: int) -> dict[str, str]:
    if kind is PointKind.RELAY_OUTPUT:
        return {"c": f"{n}1", "nc": f"{n}2", "no": f"{n}4"}
    letter = {
        PointKind.HOOD_SENSOR: "B",
        PointKind.ROOM_SENSOR: "R",
        PointKind.FIRE_INPUT: "F",
        PointKind.DIGITAL_INPUT: "D",
        PointKind.SPEED_OUTPUT: "Y",
    }[kind]
    return {"+": f"{letter}{n}+", "-": f"{letter}{n}-"}


def natural(text: str) -> tuple[Any, ...]:
    """Sort key that puts ``H-2`` before ``H-10``."""
    return tuple((0, int(p)) if p.isdigit() else (1, p) for p in re.split(r"(\d+)", text) if p)


def in_order(tags: Iterable[str]) -> tuple[str, ...]:
    """Tags in natural order, so that the order of the job file does not matter."""
    return tuple(sorted(tags, key=natural))


class Builder:
    """Collects what recipes make; ``finish`` turns it into a Design."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self.panel = job.panel.tag
        self._devices: dict[str, Device] = {}
        self._conductors: list[dict[str, Any]] = []
        self._bridges: list[tuple[TerminalId, TerminalId]] = []
        self._jumpers: list[tuple[str, TerminalId, TerminalId, str, str]] = []
        self._requests: dict[str, PointKind] = {}
        self._letters: dict[str, str] = {}
        self._fed: dict[tuple[str, EnergyClass], dict[str, TerminalId]] = {}
        self.buses: dict[str, TerminalId] = {}
        self._assumed: set[str] = set()
        self.findings: list[Finding] = []
        self.problems: list[Problem] = []
        self.hoods: list[HoodLogic] = []
        self.fans: list[FanLogic] = []
        self.lights: list[LightLogic] = []
        self.switches: list[SwitchLogic] = []
        self.outputs: list[OutputLogic] = []
        self.fire_inputs: dict[str, tuple[str, ...]] = {}
        self.circuits = {c.tag: c for c in job.circuits}

    # noticing ----------------------------------------------------------------------------------------------
    def find(self, code: str, severity: Severity, item: str, message: str, cure: str, *basis: Citation) -> None:
        """Note a finding of the design itself."""
        self.findings.append(Finding(code, severity, item, message, cure, basis))

    def refuse(self, where: str, what: str) -> None:
        """Note that this job cannot be built as written."""
        self.problems.append(Problem(self.job.job.number, 0, where, what))

    # devices -----------------------------------------------------------------------------------------------
    def device(
        self,
        tag: str,
        type_: str,
        title: str,
        place: str,
        of: str,
        ratings: Mapping[str, Any] | None = None,
        *,
        supplied_by: Literal["panel", "others"] = "others",
        **more: Any,
    ) -> str:
        """A device that stands somewhere in the building."""
        self._devices[tag] = Device(tag, type_, title, place, None, {**(ratings or {}), **more}, supplied_by, of)
        return tag

    def inside(self, letter: str, key: str, type_: str, title: str, of: str, **ratings: Any) -> str:
        """A device built into the panel; its number follows from its key."""
        tag = f"{self.panel}-{letter}@{key}"
        self._letters[tag] = letter
        self._devices[tag] = Device(tag, type_, title, self.job.panel.place, self.panel, ratings, "panel", of)
        return tag

    # conductors --------------------------------------------------------------------------------------------
    def place_of(self, terminal: TerminalId) -> str:
        """Where a terminal is."""
        if terminal.device.startswith((f"{self.panel}-", "@")):
            return self.job.panel.place
        return self._devices[terminal.device].place

    def in_panel(self, terminal: TerminalId) -> bool:
        """True for terminals of the panel itself."""
        return terminal.device.startswith((f"{self.panel}-", "@"))

    def wire(
        self,
        key: str,
        a: TerminalId,
        b: TerminalId,
        cls: EnergyClass,
        role: Role,
        of: str,
        purpose: str,
        *,
        awg: str | None = None,
        colour: str | None = None,
        cord: bool = False,
    ) -> str:
        """One conductor; factory if both ends are in the panel (or ``cord`` ships with a device)."""
        factory = cord or (self.in_panel(a) and self.in_panel(b))
        size = awg or ((self.job.panel.control_awg or CONTROL_AWG) if cls is not EnergyClass.LINE else "14")
        self._conductors.append(
            {
                "key": key,
                "a": a,
                "b": b,
                "made": "factory" if factory else "field",
                "cls": cls,
                "role": role,
                "of": of,
                "purpose": purpose,
                "awg": size,
                "colour": colour or _colour(cls, role),
            }
        )
        return key

    def through(
        self,
        key: str,
        inner: TerminalId,
        outer: TerminalId,
        cls: EnergyClass,
        role: Role,
        of: str,
        purpose: str,
        **more: Any,
    ) -> TerminalId:
        """From inside the panel over a strip place to a field terminal; returns the strip place."""
        strip = self.landing(cls, key)
        self.wire(f"{key}/in", inner, strip, cls, role, of, purpose, **more)
        self.wire(key, strip, outer, cls, role, of, purpose, **more)
        return strip

    def landing(self, cls: EnergyClass, key: str) -> TerminalId:
        """A place on the strip of an energy class."""
        return TerminalId(f"{self.panel}-{STRIP[cls]}", f"@{key}")

    def bridge(self, a: TerminalId, b: TerminalId) -> None:
        """Join two places by a bar or plug-in comb."""
        if a != b:
            self._bridges.append((a, b))

    def bus(self, cls: EnergyClass, name: str, use: str) -> TerminalId:
        """A new place on a bridged group of strip places."""
        place = self.landing(cls, f"{name}/{use}")
        first = self.buses.setdefault(f"{cls}:{name}", place)
        self.bridge(first, place)
        return place

    def rail(self, which: Literal["+24", "0V"], use: str) -> TerminalId:
        """A place on the panel's 24 V rail or its return."""
        return self.bus(EnergyClass.CLASS2, which, use)

    def ground(self, use: str) -> TerminalId:
        """A place on the panel's equipment-ground bar."""
        return self.bus(EnergyClass.LINE, "PE", use)

    def jumper(self, key: str, a: TerminalId, b: TerminalId, of: str, purpose: str) -> None:
        """A factory jumper that the installer takes out."""
        self._jumpers.append((key, a, b, of, purpose))

    # power -------------------------------------------------------------------------------------------------
    def circuit(self, tag: str) -> Circuit:
        """A circuit of the job."""
        return self.circuits[tag]

    def neutral_of(self, tag: str) -> TerminalId | None:
        """Neutral bus of a circuit's panelboard, where a single line needs it."""
        circuit = self.circuits[tag]
        if len(circuit.lines) == 1 and system_of(self.job, circuit).neutral_v:
            return TerminalId(circuit.panelboard, "N")
        return None

    def ways(self, tag: str) -> list[tuple[str, TerminalId, Role, str]]:
        """Load conductors of a circuit at the breaker: name, terminal, role, colour."""
        circuit = self.circuits[tag]
        system = system_of(self.job, circuit)
        found: list[tuple[str, TerminalId, Role, str]] = [
            (line, TerminalId(tag, str(2 * i + 2)), Role.LINE, system.colours[int(line[1]) - 1])
            for i, line in enumerate(circuit.lines)
        ]
        neutral = self.neutral_of(tag)
        if neutral is not None:
            found.append(("N", neutral, Role.NEUTRAL, system.colours[3]))
        return found

    def volts(self, tag: str) -> float:
        """Volts of a circuit [V]."""
        return circuit_v(self.job, self.circuits[tag])

    def power_awg(self, tag: str) -> str:
        """First size of a circuit's conductors, by its breaker."""
        circuit = self.circuits[tag]
        return circuit.awg or self.job.panel.power_awg or power_awg(circuit.breaker)

    def feed(self, tag: str, key: str, ends: Iterable[TerminalId], pe: TerminalId | None, of: str) -> None:
        """Wire a circuit straight to a field device: its lines, neutral and ground."""
        awg = self.power_awg(tag)
        for (name, start, role, colour), end in zip(self.ways(tag), ends, strict=True):
            self.wire(f"{key}/{name}", start, end, EnergyClass.LINE, role, of, f"power of {of}", awg=awg, colour=colour)
        if pe is not None:
            board = TerminalId(self.circuits[tag].panelboard, "PE")
            self.wire(
                f"{key}/PE",
                board,
                pe,
                EnergyClass.LINE,
                Role.GROUND,
                of,
                f"equipment ground of {of}",
                awg=ground_awg(self.circuits[tag].breaker),
                colour="green",
            )

    def panel_feed(self, tag: str, cls: EnergyClass = EnergyClass.LINE) -> dict[str, TerminalId]:
        """Bring a circuit to the panel once; gives the strip place of each of its conductors.

        The first class that asks for it decides the strip (or the strip it was issued on); another class reaches it
        over a factory conductor from strip to strip.
        """
        if (tag, cls) in self._fed:
            return self._fed[tag, cls]
        home = next((c for t, c in self._fed if t == tag), None)
        places: dict[str, TerminalId] = {}
        awg = self.power_awg(tag)
        if home is None:
            first = self.ways(tag)[0][0]
            issued = self.job.issued.terminals.get(f"{tag}/{first}", "").split(":")[0]
            home = next((c for c, strip in STRIP.items() if strip == issued), cls)
            for name, start, role, colour in self.ways(tag):
                places[name] = self.landing(home, f"{tag}/{name}")
                self.wire(
                    f"{tag}/{name}", start, places[name], home, role, tag, f"supply {tag}", awg=awg, colour=colour
                )
            self.wire(
                f"{tag}/PE",
                TerminalId(self.circuits[tag].panelboard, "PE"),
                self.ground(tag),
                home,
                Role.GROUND,
                tag,
                f"equipment ground of {tag}",
                awg=ground_awg(self.circuits[tag].breaker),
                colour="green",
            )
            self._fed[tag, home] = places
            return self.panel_feed(tag, cls)
        for name, _start, role, colour in self.ways(tag):
            key = f"{tag}/{name}/{STRIP[cls]}"
            places[name] = self.landing(cls, key)
            from_ = self.tap(tag, name, "across", home)
            self.wire(key, from_, places[name], EnergyClass.LINE, role, tag, f"supply {tag}", awg=awg, colour=colour)
        self._fed[tag, cls] = places
        return places

    def tap(self, tag: str, name: str, use: str, cls: EnergyClass = EnergyClass.LINE) -> TerminalId:
        """A further place bridged to one conductor of a circuit in the panel."""
        first = self.panel_feed(tag, cls)[name]
        place = self.landing(cls, f"{tag}/{name}/{use}")
        self.bridge(first, place)
        return place

    # points ------------------------------------------------------------------------------------------------
    def point(self, kind: PointKind, use: str) -> Callable[[str], TerminalId]:
        """Ask for a controller point; the result gives the terminal of each of its roles."""
        self._requests[use] = kind
        return lambda role: TerminalId(f"@{use}", role)

    def controllers(self) -> list[tuple[str, str]]:
        """(key, type) of the controller and the modules this job needs."""
        need: dict[PointKind, int] = {}
        for kind in self._requests.values():
            need[kind] = need.get(kind, 0) + 1
        counts = {"module_inputs": 0, "module_outputs": 0}
        for kind, n in need.items():
            for type_, offered in _OFFERED.items():
                if type_ != "controller" and kind in offered:
                    lacking = n - _OFFERED["controller"][kind]
                    counts[type_] = max(counts[type_], math.ceil(lacking / offered[kind]), 0)
        if sum(counts.values()) > MAX_MODULES:
            wanted = ", ".join(f"{n} x {k}" for k, n in sorted(need.items()))
            self.refuse(
                f"panel {self.panel}",
                f"the job needs {sum(counts.values())} expansion modules ({wanted}), a controller carries "
                f"{MAX_MODULES}; split the line-up over two panels (two jobs)",
            )
        result = [("1controller", "controller")]
        result += [(f"2inputs{i}", "module_inputs") for i in range(1, counts["module_inputs"] + 1)]
        result += [(f"3outputs{i}", "module_outputs") for i in range(1, counts["module_outputs"] + 1)]
        return result

    def requested(self) -> bool:
        """Whether any point was asked for."""
        return bool(self._requests)

    # finishing ---------------------------------------------------------------------------------------------
    def _allot_points(self, modules: list[tuple[str, str]]) -> list[Point]:
        free: dict[PointKind, list[tuple[str, int]]] = {}
        for key, type_ in modules:
            for kind, n in _OFFERED[type_].items():
                free.setdefault(kind, []).extend((f"{self.panel}-K@{key}", i) for i in range(1, n + 1))
        issued = self.job.issued.devices
        points: list[Point] = []
        waiting: list[str] = []
        for use, kind in self._requests.items():
            kept = issued.get(f"point {use}")
            spot = None
            if kept:
                key, _, place = kept.rpartition("#")
                spot = (f"{self.panel}-K@{key}", int(place))
            if spot and spot in free[kind]:
                free[kind].remove(spot)
                points.append(Point(spot[0], kind, spot[1], _marks(kind, spot[1]), use))
            else:
                waiting.append(use)
        for use in sorted(waiting, key=natural):
            kind = self._requests[use]
            if not free.get(kind):
                self.refuse(f"panel {self.panel}", f"no {kind} is left for {use}; split the line-up over two panels")
                continue
            device, index = free[kind].pop(0)
            points.append(Point(device, kind, index, _marks(kind, index), use))
        return points

    def _settle_tags(self) -> dict[str, str]:
        """Final tags of panel devices, issued ones first."""
        final: dict[str, str] = {}
        taken: dict[str, set[int]] = {}
        for tag, letter in self._letters.items():
            kept = self.job.issued.devices.get(tag.split("@", 1)[1] + f" {letter}")
            if kept:
                final[tag] = kept
                taken.setdefault(letter, set()).add(int(re.sub(r"\D", "", kept.rsplit("-", 1)[1])))
        for tag in sorted(self._letters, key=natural):
            if tag in final:
                continue
            letter = self._letters[tag]
            used = taken.setdefault(letter, set())
            n = max(used, default=0) + 1
            used.add(n)
            final[tag] = f"{self.panel}-{letter}{n}"
        return final

    def finish(self) -> Design:
        """Give numbers and make the Design.

        Raises:
            DesignError: With everything that cannot be built.
        """
        modules = self.controllers()
        points = self._allot_points(modules) if not self.problems else []
        if self.problems:
            raise DesignError(self.problems)
        for key, type_ in modules:
            title = "panel controller" if type_ == "controller" else f"expansion module, {type_.split('_')[1]}"
            tag = self.inside("K", key, type_, title, self.panel)
            self.bridge(TerminalId(tag, "24V"), self.rail("+24", key))
            self.bridge(TerminalId(tag, "0V"), self.rail("0V", key))
        tags = self._settle_tags()
        by_use = {p.used_for: p for p in points}

        def device_tag(tag: str) -> str:
            return tags.get(tag, tag)

        marks: dict[tuple[str, str], str] = {}
        counters: dict[str, set[int]] = {}
        wanted = {t for c in self._conductors for t in (c["a"], c["b"]) if t.mark.startswith("@")} | {
            t for pair in self._bridges for t in pair if t.mark.startswith("@")
        }
        for t in wanted:
            kept = self.job.issued.terminals.get(t.mark[1:])
            if kept and kept.startswith(t.device.split("-")[-1] + ":"):
                kept_mark = kept.split(":")[1]
                marks[t.device, t.mark] = kept_mark
                counters.setdefault(t.device, set()).add(int(kept_mark))
        for t in sorted(wanted, key=lambda t: (t.device, natural(t.mark))):
            if (t.device, t.mark) not in marks:
                used = counters.setdefault(t.device, set())
                n = max(used, default=0) + 1
                used.add(n)
                marks[t.device, t.mark] = str(n)

        def place(t: TerminalId) -> TerminalId:
            if t.device.startswith("@"):
                point = by_use[t.device[1:]]
                return TerminalId(device_tag(point.device), point.marks[t.mark])
            if t.mark.startswith("@"):
                return TerminalId(t.device, marks[t.device, t.mark])
            return TerminalId(device_tag(t.device), t.mark)

        devices = [
            replace(
                d,
                tag=device_tag(d.tag),
                ratings={k: device_tag(v) if isinstance(v, str) else v for k, v in d.ratings.items()},
            )
            for d in self._devices.values()
        ]
        for cls, strip in STRIP.items():
            name = f"{self.panel}-{strip}"
            places = sorted(counters.get(name, set()))
            if places:
                devices.append(
                    Device(
                        name,
                        "terminal_strip",
                        f"terminal strip, {cls}",
                        self.job.panel.place,
                        self.panel,
                        {"places": len(places), "last": places[-1], "energy": str(cls)},
                        "panel",
                        self.panel,
                    )
                )
        conductors, cables = self._finish_conductors(place)
        issued_points = [replace(p, device=device_tag(p.device)) for p in points]
        return Design(
            tuple(sorted(devices, key=lambda d: natural(d.tag))),
            tuple(conductors),
            tuple(Bridge(place(a), place(b)) for a, b in self._bridges),
            tuple(Jumper(k, place(a), place(b), of, why) for k, a, b, of, why in self._jumpers),
            tuple(cables),
            tuple(sorted(issued_points, key=lambda p: (natural(p.device), p.kind, p.index))),
            Program(
                device_tag(f"{self.panel}-K@1controller"),
                tuple(sorted(self.hoods, key=lambda h: natural(h.hood))),
                tuple(sorted(self.fans, key=lambda f: natural(f.fan))),
                tuple(sorted(self.lights, key=lambda x: natural(x.relay))),
                tuple(sorted(self.switches, key=lambda s: natural(s.switch))),
                tuple(sorted(self.outputs, key=lambda o: natural(o.relay))),
                dict(sorted(self.fire_inputs.items())),
            ),
            self.panel,
            tuple(sorted(self.findings, key=lambda f: (f.code, natural(f.item)))),
            {t.mark[1:]: place(t) for t in sorted(wanted, key=lambda t: (t.device, natural(t.mark)))},
            {
                **{f"{t.split('@', 1)[1]} {self._letters[t]}": tags[t] for t in sorted(tags, key=natural)},
                **{
                    f"point {p.used_for}": f"{p.device.split('@', 1)[1]}#{p.index}"
                    for p in sorted(points, key=lambda p: natural(p.used_for))
                },
            },
        )

    def _ends(self, one: str, other: str) -> tuple[str, str]:
        """Two places, the panel's first."""
        panel = self.job.panel.place
        return (panel, one) if other == panel else (one, other) if one == panel else tuple(sorted((one, other)))  # type: ignore[return-value]

    def _run(self, start: str, end: str) -> tuple[float, str]:
        """Length of a run between two places [ft], and the routes it takes.

        Routes start at the panel; a run that does not touch it takes both, which is on the long side.
        """
        if start == end:
            return SAME_PLACE_FT, ""
        routes = {r.to: r for r in self.job.routes}
        length, taken = 0.0, []
        for away in (start, end):
            if away == self.job.panel.place:
                continue
            route = routes.get(away)
            if route is None:
                self._assumed.add(away)
            else:
                taken.append(route.tag)
            length += route.length if route else UNSTATED_FT
        return length, " + ".join(taken)

    def _finish_conductors(self, place: Callable[[TerminalId], TerminalId]) -> tuple[list[Conductor], list[Cable]]:
        issued = self.job.issued.conductors
        following = max(issued.values(), default=100)
        groups: dict[tuple[str, str, str, str], list[str]] = {}
        conductors: list[Conductor] = []
        for c in sorted(self._conductors, key=lambda c: natural(c["key"])):
            n = issued.get(c["key"])
            if n is None:
                following += 1
                n = following
            length = INSIDE_FT
            if c["made"] == "field":
                ends = self._ends(self.place_of(c["a"]), self.place_of(c["b"]))
                length, _route = self._run(*ends)
                groups.setdefault((c["of"], str(c["cls"]), *ends), []).append(c["key"])
            conductors.append(
                Conductor(
                    c["key"],
                    n,
                    place(c["a"]),
                    place(c["b"]),
                    c["made"],
                    c["role"],
                    c["cls"],
                    c["awg"],
                    c["colour"],
                    length,
                    "",
                    c["of"],
                    c["purpose"],
                )
            )
        cables: list[Cable] = []
        cable_of: dict[str, str] = {}
        used: dict[str, int] = {}
        lengths = {c.key: c.length_ft for c in conductors}
        for (of, cls, start, end), keys in sorted(groups.items(), key=lambda g: (natural(g[0][0]), g[0][1:])):
            stem = f"W-{of}-{'PCSD'[list(EnergyClass).index(EnergyClass(cls))]}"
            used[stem] = used.get(stem, 0) + 1
            tag = stem if used[stem] == 1 else f"{stem}{used[stem]}"
            cables.append(
                Cable(
                    tag,
                    EnergyClass(cls),
                    start,
                    end,
                    self._run(start, end)[1],
                    max(lengths[k] for k in keys),
                    tuple(keys),
                )
            )
            cable_of.update(dict.fromkeys(keys, tag))
        conductors = [replace(c, cable=cable_of.get(c.key, "")) for c in conductors]
        for away in sorted(self._assumed):
            self.find(
                "ROUTE-ASSUMED",
                Severity.NOTE,
                away,
                f"no route to {away!r} is stated; {UNSTATED_FT:g} ft is assumed for its conductors",
                f"add a route with to: {away}",
            )
        return conductors, cables


def _colour(cls: EnergyClass, role: Role) -> str:
    if role is Role.GROUND:
        return "green"
    if cls is EnergyClass.CLASS1:
        return "white" if role is Role.NEUTRAL else "red"
    return {Role.COMMON: "white-blue", Role.SIGNAL: "black"}.get(role, "blue")
