"""A check-out as its pages take it: the plan as plain data, and what the log says of it now.

Nothing is computed here but counts: what stands, what disagrees and what is within tolerance the core says.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from galleyproof.checkout.log import COMPLAINT, REPAIR, SPOKEN, Entry, in_order
from galleyproof.checkout.model import CAUTIONS, Probe, Reading, Stage
from galleyproof.checkout.standing import chapters, conflicts, standing, usable
from galleyproof.checkout.words import answers, said, said_range
from galleyproof.web.check_out_words import drawn_paths, notes_of, readers_of_cautions, signatures_of

if TYPE_CHECKING:
    from galleyproof.checkout.beliefs import Observation
    from galleyproof.web.book import OpenBook

__all__ = ["State", "as_data", "plan_data", "probe_data"]

SETTINGS = {
    "ohms": "Ohms",
    "volts DC": "DC volts",
    "volts AC": "AC volts",
    "amps AC": "Clamp, AC amperes",
    "hertz": "Hertz",
    "display": "Read the display",
    "look": "Look",
}
UNITS = {
    "ohms": ("Ω", "kΩ", "OL"),
    "volts DC": ("V", "mV"),
    "volts AC": ("V", "mV"),
    "amps AC": ("A", "mA"),
    "hertz": ("Hz",),
    "display": ("°F",),
}
"""Endings offered beside the entry, all of which the core understands."""
WORDS_OF_DISPLAY = ("open", "short", "nothing")
LOW_IMPEDANCE_RANGE = "low-impedance range"


@dataclass(frozen=True)
class State:
    """What a log says of a check-out.

    Attributes:
        book: The check-out.
        entries: The log.
        prints: Fingerprint of each save of the job -> its number.
    """

    book: OpenBook
    entries: tuple[Entry, ...]
    prints: Mapping[str, int]

    @cached_property
    def ordered(self) -> tuple[Entry, ...]:
        """All entries in their order."""
        return in_order(self.entries)

    @cached_property
    def standing(self) -> dict[str, tuple[Entry, ...]]:
        """Probe -> entries that stand."""
        return standing(self.ordered)

    @cached_property
    def chapter(self) -> dict[str, int]:
        """Id of an entry -> repairs before it. [-]."""
        return chapters(self.ordered)

    @cached_property
    def last(self) -> int:
        """The chapter that is being written. [-]."""
        return len(self.standing.get(REPAIR, ()))

    @cached_property
    def _usable(self) -> tuple[tuple[tuple[Entry, Observation], ...], dict[str, str]]:
        found, _ = usable(self.ordered, self.book.checkout)
        understood = {e.id for e, _ in found}
        words = {}
        for key, own in self.standing.items():
            if key in SPOKEN and key != COMPLAINT:
                continue
            for entry in own:
                if entry.id not in understood:
                    words[entry.id] = (
                        "cannot be understood here" if key in self.book.at or key == COMPLAINT else "no such probe here"
                    )
        return found, words

    @cached_property
    def taken(self) -> tuple[tuple[Entry, Observation], ...]:
        """What the search takes: readings and complaints that stand and are understood, since the last repair."""
        return tuple((e, o) for e, o in self._usable[0] if self.chapter[e.id] == self.last)

    @property
    def observations(self) -> tuple[Observation, ...]:
        """The same without who said it."""
        return tuple(o for _, o in self.taken)

    @cached_property
    def readings(self) -> dict[str, list[tuple[Entry, Reading]]]:
        """Probe -> entries that stand, with what they mean."""
        found: dict[str, list[tuple[Entry, Reading]]] = {}
        for entry, seen in self._usable[0]:
            if not seen.text:
                found.setdefault(entry.probe, []).append((entry, seen.either[0][1]))
        return found

    @cached_property
    def torn(self) -> dict[str, tuple[Entry, ...]]:
        """Probe -> entries that do not agree."""
        return {c.probe.key: c.entries for c in conflicts(self.ordered, self.book.checkout)}

    @cached_property
    def states(self) -> dict[str, str]:
        """Probe of the plan -> ``open``, ``within``, ``beyond`` or ``conflict``; as ``standing.progress`` counts."""
        found = {}
        for reading in self.book.plan.readings:
            key = reading.probe.key
            own = self.readings.get(key)
            state = "open"
            if own:
                entry, read = own[-1]
                torn = key in self.torn and self.chapter[self.torn[key][-1].id] == self.last
                if reading.expected.holds(read) and not torn:
                    state = "within"
                elif self.chapter[entry.id] == self.last:
                    state = "conflict" if torn else "beyond"
            found[key] = state
        return found

    @cached_property
    def unnoted(self) -> tuple[str, ...]:
        """Probes of the plan that are not within tolerance and have no note: what keeps a signature away."""
        notes = notes_of(self.ordered)
        return tuple(k for k, s in self.states.items() if s != "within" and k not in notes)

    @cached_property
    def strange(self) -> tuple[Entry, ...]:
        """Entries that stand and mean no probe of this check-out: taken for an older text, or no longer understood."""
        return tuple(e for own in self.standing.values() for e in own if e.id in self._usable[1])

    def beyond(self, entry: Entry) -> bool | None:
        """Whether a reading is out of tolerance; None when it cannot be told."""
        index = self.book.at.get(entry.probe)
        read = next((r for e, r in self.readings.get(entry.probe, ()) if e.id == entry.id), None)
        if index is None or read is None:
            return None
        return not expected_of(self.book, entry.probe).holds(read)


def expected_of(book: OpenBook, key: str) -> Any:
    """The expectation of a probe.

    Args:
        book: The check-out.
        key: Key of one of its probes.
    """
    from galleyproof.checkout.probes import expectation

    place = book.place_in_plan.get(key)
    if place is not None:
        return book.plan.readings[place].expected
    index = book.at[key]
    return expectation(book.checkout.probes[index], book.right[index])


def probe_data(book: OpenBook, probe: Probe) -> dict[str, Any]:
    """One probe as its page takes it."""
    from galleyproof.circuit.meter import VOLTMETER_OHM

    place = book.place_in_plan.get(probe.key)
    preparation = book.preparation_of(probe)
    low = probe.kind == "volts AC" and probe.meter_ohm < VOLTMETER_OHM
    choices = answers(probe)
    display = probe.slot.endswith(">reads")
    return {
        "key": probe.key,
        "stage": probe.stage.value,
        "preparation": preparation.key,
        "first": preparation.words,
        "needs": preparation.needs,
        "setting": f"{SETTINGS[probe.kind]}, {LOW_IMPEDANCE_RANGE}" if low else SETTINGS[probe.kind],
        "low": low,
        "red": str(probe.red or ""),
        "black": str(probe.black or ""),
        "lifted": bool(probe.lifted),
        "place": probe.place,
        "about": probe.about,
        "words": probe.words,
        "caution": probe.caution,
        "hazard": probe.hazard,
        "minutes": probe.minutes,
        "expected": said_range(probe, expected_of(book, probe.key)),
        "answers": list(choices),
        "units": [] if choices else list(UNITS[probe.kind]) + (list(WORDS_OF_DISPLAY) if display else []),
        "required": place is not None and book.plan.readings[place].required,
        "meter": probe.kind not in ("look", "display"),
        "number": None if place is None else place + 1,
        "lit": _lit(book, probe),
    }


def _lit(book: OpenBook, probe: Probe) -> list[dict[str, Any]]:
    """Where its leads are drawn, on the one sheet that shows both if there is one; a look shows its device."""
    leads = [(n, str(t)) for n, t in (("red", probe.red), ("black", probe.black)) if t is not None]
    leads = leads or [("here", probe.about)]
    spots = [book.spots.get(t, ()) for _, t in leads]
    sheets = [spot[0] for own in spots for spot in own]
    both = [s for s in dict.fromkeys(sheets) if all(any(o[0] == s for o in own) for own in spots)]
    chosen = both[0] if both else None
    found: list[dict[str, Any]] = []
    for (lead, name), own in zip(leads, spots, strict=True):
        here = [spot for spot in own if chosen is None or spot[0] == chosen]
        if not here:
            continue
        last = found[-1] if found else None
        if last is not None and last["at"] == here[0][0]:
            here.sort(key=lambda s: (s[1] - last["x"]) ** 2 + (s[2] - last["y"]) ** 2)
        at, x, y, *size = here[0]
        width, height = size or (0.0, 0.0)
        number = book.sheets[at][0]
        lit = {"lead": lead, "name": name, "at": at, "sheet": number, "x": x, "y": y, "width": width, "height": height}
        found.append(lit)
    return found


def plan_data(book: OpenBook, job_print: str, save: int) -> dict[str, Any]:
    """The plan as its page takes it.

    Args:
        book: The check-out.
        job_print: Fingerprint of the job's text.
        save: Number of the save.
    """
    return {
        "job": job_print,
        "name": book.job_name,
        "save": save,
        "words": book.plan.words(),
        "stages": [{"name": s.value, "caution": CAUTIONS[s]} for s, _ in book.plan.cautions()],
        "sheets": [[number, title, width, height] for number, title, width, height in book.sheets],
        "probes": [probe_data(book, r.probe) for r in book.plan.readings],
    }


def as_data(state: State) -> dict[str, Any]:
    """What the log says, as its pages take it."""
    notes = notes_of(state.ordered)
    keys = [k for k in state.standing if k in state.book.at]
    return {
        "count": len(state.entries),
        "readings": {k: [_entry_data(state, e) for e in state.standing[k]] for k in keys},
        "states": state.states,
        "torn": {k: [e.id for e in own] for k, own in state.torn.items()},
        "notes": {
            k: [{"id": e.id, "by": e.by, "at": e.taken_at, "words": w} for e, w in own] for k, own in notes.items()
        },
        "readers": readers_of_cautions(state.ordered),
        "signatures": [_signature_data(state, *s) for s in signatures_of(state.ordered)],
        "repairs": [{"by": e.by, "at": e.taken_at, "words": e.read} for e in state.standing.get(REPAIR, ())],
        "unnoted": len(state.unnoted),
        "stages": stage_data(state),
        "strange": [_strange_data(state, e) for e in state.strange],
        "odd": any(s in ("beyond", "conflict") for s in state.states.values()) or _odd_elsewhere(state),
    }


def _odd_elsewhere(state: State) -> bool:
    """Whether a reading outside the plan is out of tolerance, or somebody complained."""
    planned = state.states
    return any(
        o.text or (e.probe not in planned and state.beyond(e))
        for e, o in state._usable[0]
        if state.chapter[e.id] == state.last
    )


def stage_data(state: State) -> list[dict[str, Any]]:
    """How far each stage is."""
    stages = {r.probe.key: r.probe.stage for r in state.book.plan.readings}
    found = []
    for stage in Stage:
        own = [s for k, s in state.states.items() if stages[k] is stage]
        if own:
            within = own.count("within")
            beyond = own.count("beyond") + own.count("conflict")
            found.append({"name": stage.value, "planned": len(own), "within": within, "beyond": beyond})
    return found


def _entry_data(state: State, entry: Entry) -> dict[str, Any]:
    from galleyproof.checkout.doubts import doubt

    probe = state.book.probe(entry.probe)
    read = next((r for e, r in state.readings.get(entry.probe, ()) if e.id == entry.id), None)
    found: dict[str, Any] = {
        "id": entry.id,
        "read": entry.read,
        "by": entry.by,
        "at": entry.taken_at,
        "device": entry.device,
        "meter": entry.meter.name if entry.meter is not None else "",
        "low": entry.meter is not None and entry.meter.low_impedance,
        "job": entry.job,
        "save": state.prints.get(entry.job),
        "repaired": state.chapter[entry.id] != state.last,
        "beyond": state.beyond(entry),
        "said": "",
        "doubt": "",
    }
    if probe is not None and read is not None:
        found["said"] = said(probe.kind, read)
        found["doubt"] = doubt(probe, expected_of(state.book, entry.probe), read)
    return found


def _note_data(entry: Entry, words: str) -> dict[str, Any]:
    return {"id": entry.id, "by": entry.by, "at": entry.taken_at, "words": words}


def _signature_data(state: State, entry: Entry, name: str, drawn: str) -> dict[str, Any]:
    after = state.ordered[state.ordered.index(entry) + 1 :]
    return {
        "name": name,
        "at": entry.taken_at,
        "by": entry.by,
        "path": drawn_paths(drawn),
        "after": sum(e.id != entry.id and e.probe != entry.probe for e in after),
        "save": state.prints.get(entry.job),
    }


def _strange_data(state: State, entry: Entry) -> dict[str, Any]:
    return {
        "id": entry.id,
        "probe": entry.probe,
        "read": entry.read,
        "by": entry.by,
        "at": entry.taken_at,
        "save": state.prints.get(entry.job),
        "why": state._usable[1][entry.id],
    }


def older_counts(state: State, job_print: str) -> tuple[int, int]:
    """Readings taken for another text of the job: those whose probe still means the same, and those whose does not.

    Args:
        state: What the log says.
        job_print: Fingerprint of the text that is shown.
    """
    own = [e for k, entries in state.standing.items() for e in entries if k not in SPOKEN and e.job != job_print]
    same = sum(e.probe in state.book.at for e in own)
    return same, len(own) - same
