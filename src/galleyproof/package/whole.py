"""All files of a package by name, in memory."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping

from galleyproof import __version__
from galleyproof.design.build import issue
from galleyproof.job.write import update_text
from galleyproof.package.air_pages import air_pages
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
NAMES = ("package.pdf", "labels.pdf", "wires.xlsx", "wire-labels.csv", "terminal-labels.csv", "job.yaml", MANIFEST)
"""Every file of a package; names never hold anything of the job."""


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


def make_pdf(facts: Facts) -> bytes:
    """The document."""
    before, after = sections(facts)
    return write_pdf(facts, cover(facts), before, after)


def make_package(facts: Facts, job_text: bytes, link: str = "") -> dict[str, bytes]:
    """Every file of the package.

    Args:
        facts: The job with everything computed of it.
        job_text: The job file as it was read.
        link: Address of the app, for the QR codes.

    Returns:
        Name -> content, in the order of ``NAMES``. The same job gives the same bytes.

    Raises:
        CircuitError: The network of the design has no solution.
    """
    job = job_text
    if facts.issued:
        # the numbers are now somebody's: they go into the file, so that the next revision keeps them
        job = update_text(job_text.decode("utf-8"), issue(facts.job, facts.design)).encode("utf-8")
    made = {
        "package.pdf": make_pdf(facts),
        "labels.pdf": labels_pdf(label_files(facts, link)),
        "wires.xlsx": write_workbook(facts),
        "wire-labels.csv": wire_labels(facts, link).encode("utf-8"),
        "terminal-labels.csv": terminal_labels(facts).encode("utf-8"),
        "job.yaml": job,
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
        "made_by": f"galleyproof {__version__}",
        "open_questions": list(open_questions(facts)),
        "files": [
            {"name": name, "bytes": len(content), "sha256": hashlib.sha256(content).hexdigest()}
            for name, content in files.items()
        ],
    }
    return (json.dumps(data, ensure_ascii=False, indent=2) + "\n").encode("utf-8")
