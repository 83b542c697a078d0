"""A job laid out for its checks: every tag with what it is and where it stands, whole or in part.

When some items of a file cannot be read, the checks still run over the rest. Tags of unreadable items stay
known (``broken``), so that nothing is reported that follows from an error already told.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any, cast

from pydantic import TypeAdapter, ValidationError

from galleyproof.errors import Problem
from galleyproof.job.model import (
    Circuit,
    ExhaustFan,
    FireSystem,
    Hood,
    Job,
    MakeupUnit,
    Panelboard,
    PanelOptions,
    Shutdown,
    Supply,
    WallSwitch,
)
from galleyproof.job.words import JOB_WORDS
from galleyproof.yamltext import Document, Mapping, Outcome, Path, Scalar, hint, walk

LISTS: tuple[str, ...] = (
    "supplies",
    "panelboards",
    "circuits",
    "hoods",
    "exhaust_fans",
    "makeup_units",
    "dampers",
    "fire_systems",
    "shutdowns",
    "fire_outputs",
    "room_sensors",
    "switches",
    "routes",
    "raceways",
    "promises",
)
"""Sections of a job file that are lists."""


@dataclass(frozen=True, slots=True)
class Named:
    """One thing with a tag.

    Attributes:
        noun: What it is: ``exhaust fan``.
        tag: Its tag.
        path: Where it stands.
    """

    noun: str
    tag: str
    path: Path


@dataclass(slots=True)
class Register:
    """What the checks look things up in.

    Attributes:
        document: The file, for lines and places.
        sections: Readable part of every section by its key; None for a missing block.
        places: Place in the file of each readable entry of a list.
        lost: Sections of which something could not be read.
        broken: Tags inside what could not be read.
        nameless: Nouns of things that could not be read and whose tag is not known either.
    """

    document: Document
    sections: dict[str, Any]
    places: dict[str, list[int]]
    lost: frozenset[str] = frozenset()
    broken: frozenset[str] = frozenset()
    nameless: frozenset[str] = frozenset()
    named: list[Named] = field(default_factory=list)
    supplies: dict[str, Supply] = field(default_factory=dict)
    panelboards: dict[str, Panelboard] = field(default_factory=dict)
    circuits: dict[str, Circuit] = field(default_factory=dict)
    hoods: dict[str, Hood] = field(default_factory=dict)
    exhaust_fans: dict[str, ExhaustFan] = field(default_factory=dict)
    makeup_units: dict[str, MakeupUnit] = field(default_factory=dict)
    fire_systems: dict[str, FireSystem] = field(default_factory=dict)
    shutdowns: dict[str, Shutdown] = field(default_factory=dict)
    switches: dict[str, WallSwitch] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for key in (
            "supplies",
            "panelboards",
            "circuits",
            "hoods",
            "exhaust_fans",
            "makeup_units",
            "fire_systems",
            "shutdowns",
            "switches",
        ):
            table = getattr(self, key)
            for _, item in self.each(key):
                table.setdefault(item.tag, item)
        self.named = list(self._name_all())

    # --- what there is ------------------------------------------------------------------------------------

    def each(self, section: str) -> Iterator[tuple[Path, Any]]:
        """Readable entries of a list, with their paths."""
        for place, item in zip(self.places[section], self.sections[section], strict=True):
            yield (section, place), item

    @property
    def panel(self) -> PanelOptions | None:
        """The control panel, if it could be read."""
        panel: PanelOptions | None = self.sections["panel"]
        return panel

    def whole(self, *sections: str) -> bool:
        """Whether nothing of these sections was lost."""
        return self.lost.isdisjoint(sections)

    def zones(self) -> dict[str, FireSystem]:
        """Fire zones with the first fire system of each."""
        found: dict[str, FireSystem] = {}
        for system in self.fire_systems.values():
            found.setdefault(system.zone, system)
        return found

    def supply_of(self, circuit: str | None) -> tuple[Circuit, Supply] | None:
        """A circuit with its supply, if both are known."""
        found = self.circuits.get(circuit or "")
        board = self.panelboards.get(found.panelboard) if found else None
        supply = self.supplies.get(board.supply) if board else None
        return (found, supply) if found and supply else None

    # --- what is said -------------------------------------------------------------------------------------

    def say(self, path: Path, what: str) -> Problem:
        """A problem at a path."""
        return self.document.problem(path, JOB_WORDS.place(self.document, path), what)

    def unknown(self, path: Path, tag: str, known: Iterable[str], noun: str) -> Iterator[Problem]:
        """A problem when ``tag`` is none of ``known``; silent for tags of what could not be read."""
        choices = list(known)
        if tag in choices or tag in self.broken or noun in self.nameless:
            return
        other = next((n for n in self.named if n.tag == tag), None)
        if other is not None:
            near = f"; {noun}s here: {', '.join(choices[:12])}" if choices else f"; the job has no {noun}"
            yield self.say(path, f"{tag} is a {other.noun}, not a {noun}{near}")
            return
        listed = f"{noun}s here: {', '.join(choices[:12])}" if choices else f"the job has no {noun}"
        more = f" and {len(choices) - 12} more" if len(choices) > 12 else ""
        yield self.say(path, f"there is no {noun} {tag}{hint(tag, choices)}; {listed}{more}")

    # --- every tag ----------------------------------------------------------------------------------------

    def _name_all(self) -> Iterator[Named]:
        for section in LISTS:
            noun = JOB_WORDS.noun(section)
            for path, item in self.each(section):
                if section == "promises":
                    continue
                yield Named(noun, item.tag, path)
                if isinstance(item, Hood):
                    for i, sensor in enumerate(item.sensors):
                        yield Named("hood sensor", sensor.tag, (*path, "sensors", i))
                    for i, appliance in enumerate(item.appliances):
                        yield Named("appliance", appliance.tag, (*path, "appliances", i))
                elif isinstance(item, ExhaustFan):
                    if item.proving:
                        yield Named("proving switch", item.proving.tag, (*path, "proving"))
                elif isinstance(item, MakeupUnit) and item.control.kind != "driven from the panel":
                    for i, master in enumerate(item.control.second_masters):
                        yield Named("second master", master.tag, (*path, "control", "second_masters", i))
        air = self.sections["air"]
        for i, other in enumerate(air.others if air is not None else ()):
            yield Named("other unit", other.tag, ("air", "others", i))
        for key in ("panel", "building_alarm", "display", "building_link"):
            block = self.sections[key]
            if block is not None:
                yield Named(key.replace("_", " "), block.tag, (key,))


def register(job: Job, document: Document) -> Register:
    """The register of a whole job."""
    sections = {key: getattr(job, key) for key in Job.model_fields}
    return Register(document, sections, {key: list(range(len(sections[key]))) for key in LISTS})


def register_part(outcome: Outcome[Job], document: Document) -> Register:
    """The register of what could be read of a job file with errors in it."""
    data = outcome.data if isinstance(outcome.data, dict) else {}
    lost = {str(path[0]) for path in outcome.wrong if path}
    if () in outcome.wrong:  # an unknown key at the top may be any section, misspelt
        lost |= {key for key in Job.model_fields if key not in data}
    broken: set[str] = set()
    nameless: set[str] = set()
    sections: dict[str, Any] = {}
    places: dict[str, list[int]] = {}
    for key, info in Job.model_fields.items():
        bad = {path[1] for path in outcome.wrong if len(path) > 1 and path[0] == key}
        if key in lost:
            broken |= set(_tags_in(document, key, bad if key in LISTS and (key,) not in outcome.wrong else None))
            if key not in data or any(
                (key, n, "tag") in outcome.wrong or not _has_tag(document, (key, n)) for n in bad
            ):
                nameless |= {
                    JOB_WORDS.noun(key),
                    *(("fan",) if key in ("exhaust_fans", "makeup_units") else ()),
                }
        adapter = TypeAdapter[Any](cast(type[Any], info.annotation))
        if key in LISTS:
            given = data.get(key, [])
            places[key] = [n for n in range(len(given)) if n not in bad]
            sections[key] = adapter.validate_python([given[n] for n in places[key]])
        elif key in data and key not in lost:
            try:
                sections[key] = adapter.validate_python(data[key])
            except ValidationError:  # a rule of the block itself, already told
                sections[key] = None
        else:
            sections[key] = None if info.is_required() or key in lost else info.default
    return Register(document, sections, places, frozenset(lost), frozenset(broken), frozenset(nameless))


def _has_tag(document: Document, path: Path) -> bool:
    node = document.node((*path, "tag"))
    return isinstance(node, Scalar) and bool(node.text)


def _tags_in(document: Document, section: str, only: set[str | int] | None) -> Iterator[str]:
    node = document.node((section,))
    if node is None:
        return
    for path, inner in walk(node, (section,)):
        if only is not None and (len(path) < 2 or path[1] not in only):
            continue
        if isinstance(inner, Mapping) and "tag" in inner.entries:
            value = inner.entries["tag"].value
            if isinstance(value, Scalar):
                yield value.text
