"""All files of a package by name, in memory."""

from __future__ import annotations

import gc
import hashlib
import json
import re
from collections.abc import Mapping

from galleyproof import __version__
from galleyproof.design.build import issue
from galleyproof.drawing.dxf import write_dxf
from galleyproof.drawing.svg import write_svg
from galleyproof.job.write import update_text
from galleyproof.package.air_pages import air_pages
from galleyproof.package.beside import Beside
from galleyproof.package.cover import cover
from galleyproof.package.facts import Facts, open_questions
from galleyproof.package.labels import label_files, labels_pdf, terminal_labels, wire_labels
from galleyproof.package.model import Section
from galleyproof.package.pdf import write_pdf
from galleyproof.package.records import acceptance_list, check_out, silent, start_up
from galleyproof.package.schedules import cables, circuits, material, terminals
from galleyproof.package.sequence import cause_and_effect, sequence
from galleyproof.package.simulated import Simulated
from galleyproof.package.steps import installation
from galleyproof.package.stories import stories
from galleyproof.package.trades import authority, findings, packing, scope
from galleyproof.package.workbook import write_workbook

MANIFEST = "manifest.json"
SHEETS = "sheets"
"""Folder of the sheets: one SVG each, named by its number."""
_FIRST = ("package.pdf", "labels.pdf", "drawings.dxf")
_LAST = ("wires.xlsx", "wire-labels.csv", "terminal-labels.csv", "job.yaml", MANIFEST)
NAMES = (*_FIRST, *_LAST)
"""Every file of a package but the sheets; names never hold anything of the job."""
SHEET_NAME = re.compile(r"[1-9]\d*\.[1-9]\d*\.svg")


def sections(facts: Facts) -> tuple[tuple[Section, ...], tuple[Section, ...]]:
    """Sections before and after the drawings.

    Raises:
        CircuitError: The network of the design has no solution.
    """
    on = Simulated(facts.job, facts.design, facts.library)
    before = (sequence(facts, on), cause_and_effect(facts, on))
    after = (
        terminals(facts),
        cables(facts),
        circuits(facts, on),
        material(facts),
        packing(facts),
        scope(facts),
        installation(facts),
        stories(facts, on),
        authority(facts),
        findings(facts),
        silent(facts),
        check_out(facts),
        start_up(facts),
        acceptance_list(facts, on),
        *air_pages(facts),
    )
    return before, after


def make_pdf(facts: Facts, svgs: Mapping[str, str] | None = None) -> bytes:
    """The document; ``svgs`` are the sheets by number where they are drawn already."""
    before, after = sections(facts)
    return write_pdf(facts, cover(facts), before, after, svgs or sheets_of(facts))


def sheets_of(facts: Facts) -> dict[str, str]:
    """Every sheet as SVG, by its number."""
    return {sheet.number: write_svg(sheet) for sheet in facts.drawing}


def make_package(facts: Facts, job_text: bytes, link: str = "", *, spare: bool = False) -> dict[str, bytes]:
    """Every file of the package.

    Args:
        facts: The job with everything computed of it.
        job_text: The job file as it was read.
        link: Address of the job in the app, for the QR codes.
        spare: A core to spare may be used, by a copy of this process.

    Returns:
        Name -> content; the sheets stand in a folder of their own. The same job gives the same bytes.

    Raises:
        CircuitError: The network of the design has no solution.
    """
    job = job_text
    if facts.issued:
        # the numbers are now somebody's: they go into the file, so that the next revision keeps them
        job = update_text(job_text.decode("utf-8"), issue(facts.job, facts.design)).encode("utf-8")
    with Beside(lambda: write_dxf(facts.drawing.sheets, facts.drawing.title).encode("utf-8"), wanted=spare) as drawn:
        svgs = sheets_of(facts)
        before, after = sections(facts)
        # setting the document takes most of the memory: the drawings are done by then, and what is over is let go
        dxf = drawn.result()
    gc.collect()
    made = {
        "package.pdf": write_pdf(facts, cover(facts), before, after, svgs),
        "labels.pdf": labels_pdf(label_files(facts, link)),
        "drawings.dxf": dxf,
        "wires.xlsx": write_workbook(facts),
        "wire-labels.csv": wire_labels(facts, link).encode("utf-8"),
        "terminal-labels.csv": terminal_labels(facts).encode("utf-8"),
        "job.yaml": job,
        **{f"{SHEETS}/{number}.svg": svg.encode("utf-8") for number, svg in svgs.items()},
    }
    return {**made, MANIFEST: manifest(facts, made)}


def manifest(facts: Facts, files: Mapping[str, bytes]) -> bytes:
    """What the package is, and the SHA-256 of each of its files."""
    identity = facts.job.job
    data = {
        "job": identity.name,
        "number": identity.number,
        "revision": identity.revision,
        "date": identity.date,
        "status": facts.status,
        "earlier_revisions": [r.letter for r in facts.history.rows[:-1]],
        "made_by": f"galleyproof {__version__}",
        "open_questions": list(open_questions(facts)),
        "files": [
            {"name": name, "bytes": len(content), "sha256": hashlib.sha256(content).hexdigest()}
            for name, content in files.items()
        ],
    }
    return (json.dumps(data, ensure_ascii=False, indent=2) + "\n").encode("utf-8")
