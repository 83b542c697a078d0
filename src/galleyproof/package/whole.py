"""All files of a package by name, in memory; and putting them into a folder whole or not at all."""

from __future__ import annotations

from galleyproof.package.air_pages import air_pages
from galleyproof.package.cover import cover
from galleyproof.package.facts import Facts
from galleyproof.package.model import Section
from galleyproof.package.pdf import write_pdf
from galleyproof.package.records import acceptance_list, check_out, silent, start_up
from galleyproof.package.schedules import cables, circuits, material, terminals
from galleyproof.package.sequence import cause_and_effect, sequence
from galleyproof.package.simulated import Simulated
from galleyproof.package.steps import installation
from galleyproof.package.stories import stories
from galleyproof.package.trades import authority, findings, packing, scope


def sections(facts: Facts) -> tuple[tuple[Section, ...], tuple[Section, ...]]:
    """Sections before and after the drawings."""
    on = Simulated(facts.job, facts.design, facts.library)
    before = (sequence(facts, on), cause_and_effect(facts, on))
    after = (
        terminals(facts),
        cables(facts),
        circuits(facts),
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
