"""The record of a check-out: what was read, what officials saw, the start-up record, and who signed.

Readings stand beside what is expected; nothing is filled in that nobody read. Every page says that it is no approval.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from importlib import resources

from galleyproof.air.job_air import check_air
from galleyproof.design.model import Design
from galleyproof.drawing.fonts import printable
from galleyproof.drawing.model import Drawing
from galleyproof.errors import GalleyproofError
from galleyproof.job.model import Job
from galleyproof.library.model import DeviceType
from galleyproof.package.facts import Facts
from galleyproof.package.model import BLANK, BOX, Block, Column, Items, Para, Picture, Row, Section, Table
from galleyproof.package.pdf import A4_MM, LETTER_MM, as_data, wrappable
from galleyproof.package.records import start_up

__all__ = ["CAUTION", "Read", "Record", "Signed", "record_pdf"]

CAUTION = (
    "This record approves nothing. The adopted local code and the authority having jurisdiction prevail; a licensed "
    "engineer or electrician reviews it. For qualified persons only: lock out, tag out and test dead."
)


@dataclass(frozen=True, slots=True)
class Read:
    """One line of the plan with what was read.

    Attributes:
        number: In the plan, from 1.
        heading: Stage and preparation.
        about: Tag of the device.
        use: What the line tells of the device: ``rotation``, ``display``, ``current``; empty for everything else.
        words: What to do.
        place: Where.
        expected: What it reads on the right wiring.
        found: What was read, in words; several when readings disagree; empty when nothing was.
        verdict: ``within``, ``beyond``, ``conflict`` or ``open``.
        by: Who, when and with what.
        notes: What was noted.
        required: Part of the acceptance list.
    """

    number: int
    heading: str
    about: str
    use: str
    words: str
    place: str
    expected: str
    found: str
    verdict: str
    by: str
    notes: str
    required: bool


@dataclass(frozen=True, slots=True)
class Signed:
    """One signature.

    Attributes:
        name: Of who signed.
        at: When.
        path: Path data of what was drawn, in a box of 186 by 62; empty for a typed name.
        after: Entries made after it, which it does not cover. [-]
        covers: What it was signed under: the save.
    """

    name: str
    at: str
    path: str
    after: int
    covers: str


@dataclass(frozen=True, slots=True)
class Record:
    """What the log says, ready to be printed.

    Attributes:
        save: What it belongs to, in words.
        summary: How far the check-out is, in sentences.
        reads: All lines of the plan, in order.
        outside: Readings outside the plan: what, reading, by.
        repairs: What was put right: what, by.
        strange: Readings that mean no probe of this save.
        signed: Signatures.
    """

    save: str
    summary: tuple[str, ...]
    reads: tuple[Read, ...]
    outside: tuple[tuple[str, str, str], ...]
    repairs: tuple[tuple[str, str], ...]
    strange: tuple[str, ...]
    signed: tuple[Signed, ...]


VERDICTS = {"within": "as expected", "beyond": "OUT OF TOLERANCE", "conflict": "READINGS DISAGREE", "open": "not read"}


def record_pdf(job: Job, design: Design, library: Mapping[str, DeviceType], record: Record) -> bytes:
    """The record as a PDF; the same input gives the same bytes.

    Args:
        job: The job.
        design: Its design.
        library: Device types.
        record: What the log says.
    """
    import typst

    sections = (_check_out(record), _acceptance(record), _filled(_start_up(job, design, library), record))
    pictures = [b for s in sections for b in s.blocks if isinstance(b, Picture)]
    names = {id(b): f"p{n}.svg" for n, b in enumerate(pictures)}
    identity = job.job
    data = {
        "title": printable(f"{identity.number} revision {identity.revision}: check-out of {identity.name}"),
        "caution": CAUTION,
        "foot": wrappable(f"{identity.name} · {identity.number}, revision {identity.revision} · {record.save}"),
        "paper": list(LETTER_MM if identity.sheet == "ANSI B" else A4_MM),
        "sections": [{"title": s.title, "blocks": [as_data(b, names) for b in s.blocks]} for s in sections],
    }
    files = {
        "main": (resources.files("galleyproof.package") / "template" / "record.typ").read_bytes(),
        "data.json": json.dumps(data, ensure_ascii=False).encode(),
        **{names[id(b)]: b.svg.encode() for b in pictures},
    }
    with resources.as_file(resources.files("galleyproof.drawing") / "typeface") as fonts:
        made = typst.compile(files, font_paths=[str(fonts)], ignore_system_fonts=True, timestamp=0)  # type: ignore[call-overload]
    assert isinstance(made, bytes)
    return made


def _check_out(record: Record) -> Section:
    blocks: list[Block] = [Para(CAUTION, "caution"), Para(record.save), *(Para(s, "bold") for s in record.summary)]
    blocks += _signatures(record)
    columns = (
        Column("No.", 0.4, True),
        Column("Done", 4.2),
        Column("Place", 1.1),
        Column("Expected", 1.5),
        Column("Read", 1.3),
        Column("Verdict", 1.2),
        Column("By", 2.0),
    )
    blocks.append(Table(columns, tuple(_lines([r for r in record.reads if not r.required])), "Readings"))
    if record.outside:
        wide = (Column("Outside the plan", 4), Column("Read", 2), Column("By", 3))
        blocks.append(Table(wide, record.outside, "Readings outside the plan"))
    if record.repairs:
        heads = (Column("What was done", 5), Column("By", 2))
        blocks.append(Table(heads, record.repairs, "Put right during the check-out"))
    if record.strange:
        blocks += [Para("Readings taken for another save, whose probe this one does not have:", "bold")]
        blocks.append(Items(record.strange))
    return Section("record", "Check-out record", tuple(blocks))


def _signatures(record: Record) -> list[Block]:
    if not record.signed:
        return [Para("Not signed.", "bold")]
    found: list[Block] = []
    for s in record.signed:
        late = f" {s.after} entries were made after it, which it does not cover." if s.after else ""
        found.append(Para(f"Signed by {s.name}, {s.at}, {s.covers}.{late}", "bold"))
        if s.path:
            svg = (
                '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 186 62" width="186" height="62">'
                f'<path d="{s.path}" fill="none" stroke="#000" stroke-width="1.2" stroke-linecap="round" '
                'stroke-linejoin="round"/></svg>'
            )
            found.append(Picture(svg, f"Signature of {s.name}"))
    return found


def _lines(reads: Sequence[Read]) -> list[Row]:
    rows: list[Row] = []
    heading = ""
    for r in reads:
        if r.heading != heading:
            heading = r.heading
            rows.append(heading)
        words = f"{r.words}. Note: {r.notes}" if r.notes else r.words
        rows.append((str(r.number), words, r.place, r.expected, r.found or "–", VERDICTS[r.verdict], r.by))
    return rows


def _acceptance(record: Record) -> Section:
    columns = (
        Column("No.", 0.4, True),
        Column("Looked at", 3.4),
        Column("Expected", 1.4),
        Column("Found", 1.4),
        Column("Verdict", 1.3),
        Column("By", 2.0),
    )
    rows: list[Row] = []
    heading = ""
    for r in record.reads:
        if not r.required:
            continue
        if r.heading != heading:
            heading = r.heading
            rows.append(heading)
        words = f"{r.words}. Note: {r.notes}" if r.notes else r.words
        rows.append((str(r.number), words, r.expected, r.found or BLANK, VERDICTS[r.verdict], r.by))
    present = ("Installer", "Suppression contractor", "Fire-alarm contractor", "Authority")
    signed = tuple((who, BLANK, BLANK, BLANK) for who in present)
    heads = (Column("For", 1.4), Column("Name", 2), Column("Signature", 2.4), Column("Date", 1))
    return Section(
        "acceptance",
        "Acceptance list",
        (
            Para(
                "In the order in which officials ask: fuel and power off, reset only by hand, supply off, exhaust on "
                "during and after, alarm received (common practice of acceptance tests under NFPA 96)."
            ),
            Table(columns, tuple(rows)),
            Table(heads, signed, "Present, and agreed by each in their own hand"),
        ),
    )


def _start_up(job: Job, design: Design, library: Mapping[str, DeviceType]) -> Section:
    try:
        air = check_air(job)
    except GalleyproofError:
        air = None  # the record then says of each limit that it is not computed
    drawing = Drawing("", ())
    return start_up(Facts(job, design, library, None, air, None, drawing, None, None, {}, (), False))


USES = {
    "rotation": "rotation seen at the shaft",
    "display": "cup of hot water held to it",
    "current": "motor current",
}
"""What a reading tells of a device -> the item of the start-up record it belongs to."""


def _filled(section: Section, record: Record) -> Section:
    """The start-up record with what the check-out read; the rest stays to be written on."""
    known: dict[tuple[str, str], list[Read]] = {}
    for r in record.reads:
        if r.use and r.found and r.verdict in ("within", "beyond"):
            known.setdefault((r.about, r.use), []).append(r)

    def row(given: Row) -> Row:
        if isinstance(given, str) or len(given) != 5 or given[3] not in (BLANK, BOX):
            return given
        use = next((u for u, words in USES.items() if words in given[1]), "")
        found = known.get((given[0], use))
        if not found:
            return given
        last = found[-1]
        words = last.found if use != "rotation" else _rotation(found)
        return (*given[:3], f"{words} (no. {last.number})", given[4])

    blocks = tuple(
        replace(b, rows=tuple(row(r) for r in b.rows)) if isinstance(b, Table) else b for b in section.blocks
    )
    told = Para(
        "Filled in where a reading of the check-out tells it, with its number; the rest is written by hand.", "note"
    )
    return Section(section.key, section.title, (told, *blocks))


def _rotation(found: Sequence[Read]) -> str:
    """A fan seen turning the wrong way in any state turns the wrong way."""
    wrong = [r for r in found if "wrong" in r.found]
    turning = [r for r in found if r.found.startswith("turns")]
    return (wrong or turning or list(found))[-1].found
