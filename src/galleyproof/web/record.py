"""The record of a check-out as a PDF: what the log says goes to the calculator's process, the document comes back."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from galleyproof.checkout.log import REPAIR, Entry
from galleyproof.checkout.words import said, said_range
from galleyproof.web.check_out_state import State, expected_of, stage_data
from galleyproof.web.check_out_words import drawn_paths, notes_of, signatures_of
from galleyproof.web.checked import Checked
from galleyproof.web.work import Progress

if TYPE_CHECKING:
    from galleyproof.checkout.plan import Reading
    from galleyproof.package.check_out_record import Read, Record, Signed

__all__ = ["asked", "moment", "record_of", "recorded"]


def moment(at: str) -> str:
    """A device's date and time for people: ``2026-11-25 14:05``."""
    return at[:16].replace("T", " ")


def asked(there: Checked) -> str:
    """What the calculator is handed: the job's text and what the log says.

    Raises:
        NotFoundError: There is no check-out of this save, or not yet.
    """
    return json.dumps({"job": there.save.text, "record": asdict(record_of(there))}, ensure_ascii=False)


def recorded(text: str, progress: Progress) -> bytes:
    """The document; runs in the calculator's process.

    Raises:
        InputError: The job cannot be taken.
    """
    from galleyproof.design.build import build_design
    from galleyproof.job.read import read_job
    from galleyproof.library.reader import load_library
    from galleyproof.package.check_out_record import Read, Record, Signed, record_pdf

    given = json.loads(text)
    told: dict[str, Any] = given["record"]
    record = Record(
        told["save"],
        tuple(told["summary"]),
        tuple(Read(**r) for r in told["reads"]),
        tuple((a, b, c) for a, b, c in told["outside"]),
        tuple((a, b) for a, b in told["repairs"]),
        tuple(told["strange"]),
        tuple(Signed(**s) for s in told["signed"]),
    )
    progress(0.1, "the record")
    job = read_job(given["job"], "job")
    return record_pdf(job, build_design(job), load_library(), record)


def record_of(there: Checked) -> Record:
    """What the log says, ready to be printed.

    Raises:
        NotFoundError: There is no check-out of this save, or not yet.
    """
    from galleyproof.package.check_out_record import Record

    state = there.known()
    notes = notes_of(state.ordered)
    reads = tuple(_read(state, n, r, notes.get(r.probe.key, [])) for n, r in enumerate(state.book.plan.readings, 1))
    outside = tuple(
        (key, _value(state, e), _by(e))
        for key, own in state.readings.items()
        if key not in state.book.place_in_plan
        for e, _ in own
    )
    repairs = tuple((e.read, _by(e)) for e in state.standing.get(REPAIR, ()))
    strange = tuple(f"{e.probe}: {e.read} ({_by(e)})" for e in state.strange)
    signed = tuple(_signed(state, *s) for s in signatures_of(state.ordered))
    return Record(f"Save {there.save.number} of the job", _summary(state), reads, outside, repairs, strange, signed)


def _summary(state: State) -> tuple[str, ...]:
    found = []
    for stage in stage_data(state):
        open_ones = stage["planned"] - stage["within"] - stage["beyond"]
        words = f"{stage['name'].capitalize()}: {stage['within']} of {stage['planned']} readings as expected"
        if stage["beyond"]:
            words += f", {stage['beyond']} out of tolerance or in conflict"
        if open_ones:
            words += f", {open_ones} not read"
        found.append(f"{words}.")
    return tuple(found)


def _read(state: State, number: int, r: Reading, notes: list[tuple[Entry, str]]) -> Read:
    from galleyproof.package.check_out_record import Read

    probe = r.probe
    own = state.readings.get(probe.key, [])
    verdict = state.states[probe.key]
    now = [e for e, _ in own if state.chapter[e.id] == state.last] or [e for e, _ in own]
    shown = now if verdict == "conflict" else now[-1:]
    use = ""
    if probe.slot.endswith(".speed"):
        use = "rotation"
    elif probe.kind == "display":
        use = "display"
    elif probe.kind == "amps AC":
        use = "current"
    prep = state.book.preparation_of(probe)
    before = "" if verdict != "open" or not own else "before a repair: "
    return Read(
        number=number,
        heading=f"{prep.key[0].upper()}{prep.key[1:]} (stage: {probe.stage.value}): {prep.words}",
        about=probe.about,
        use=use,
        words=f"{probe.words} ({prep.key})" if r.required else probe.words,
        place=probe.place,
        expected=said_range(probe, r.expected),
        found=before + "; ".join(_value(state, e) for e in shown) if shown else "",
        verdict=verdict,
        by="; ".join(_by(e) for e in shown),
        notes="; ".join(f"{words} ({_by(e)})" for e, words in notes),
        required=r.required,
    )


def _value(state: State, entry: Entry) -> str:
    probe = state.book.probe(entry.probe)
    read = next((r for e, r in state.readings.get(entry.probe, ()) if e.id == entry.id), None)
    words = entry.read if probe is None or read is None else said(probe.kind, read)
    beyond = read is not None and not expected_of(state.book, entry.probe).holds(read)
    return f"{words} (out of tolerance)" if beyond and entry.probe not in state.book.place_in_plan else words


def _by(entry: Entry) -> str:
    meter = f", {entry.meter.name}" if entry.meter is not None else ""
    return f"{entry.by}, {moment(entry.taken_at)}{meter}"


def _signed(state: State, entry: Entry, name: str, drawn: str) -> Signed:
    from galleyproof.package.check_out_record import Signed

    after = state.ordered[state.ordered.index(entry) + 1 :]
    save = state.prints.get(entry.job)
    covers = f"for save {save}" if save is not None else "for a text of the job that is no save here"
    late = sum(e.probe != entry.probe for e in after)
    return Signed(name, moment(entry.taken_at), drawn_paths(drawn), late, covers)
