"""Sections against what other rooms say of the same job, and on generated jobs."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from tests.package.support import facts_of, job_with, school, text_with
from tests.strategies import small_jobs

from galleyproof.checkout.acceptance import acceptance
from galleyproof.checkout.whole import Bench
from galleyproof.design.build import build_design
from galleyproof.errors import GalleyproofError
from galleyproof.job.read import read_job
from galleyproof.package.facts import blockers, open_questions
from galleyproof.package.model import BLANK, BOX, Column, Section, Table
from galleyproof.package.records import acceptance_list
from galleyproof.package.schedules import circuit_rows, material_rows, raceway_rows
from galleyproof.package.sequence import cause_and_effect, sequence
from galleyproof.package.simulated import Simulated
from galleyproof.package.trades import packing, scope
from galleyproof.package.whole import sections


def tables(section: Section) -> list[Table]:
    return [b for b in section.blocks if isinstance(b, Table)]


@pytest.fixture(scope="module")
def on():
    return Simulated(school().job, school().design, school().library)


def test_a_row_of_the_wrong_length_is_refused():
    with pytest.raises(ValueError, match="a row of 1 cells under 2 columns"):
        Table((Column("a"), Column("b")), (("x",),))


def test_the_acceptance_list_agrees_with_that_of_the_check_out(on):
    """The check-out room simulates the same list by preparations of its own."""
    bench = Bench(school().job, school().design, school().library)
    wanted = acceptance(school().job, school().design, bench.checkout)
    names = {slot: tag for tag, slot in on.slots.items()}
    asked = [(names[bench.checkout.probes[i].slot], str(bench.right[i])) for i in wanted]
    rows = [r for r in tables(acceptance_list(school(), on))[0].rows if not isinstance(r, str)]
    found = [(r[2].split()[0], r[3]) for r in rows]
    same = {"yes": ("on", "open", "sounds", "alarm"), "no": ("off", "shut", "silent", "quiet")}
    same |= {"turns at full speed": ("runs at 100%", "runs at 99%"), "stands": ("stands",)}
    for tag, reading in asked:
        assert any(t == tag and words in same[reading] for t, words in found), (tag, reading)
    # after re-arming nothing of fuel and power is back: five lines, all off
    assert [f for f in found if f[0] == "A-1"] == [("A-1", "off"), ("A-1", "off")]


def test_the_state_table_keeps_every_promise_it_shows(on):
    rows = {r[0]: r for r in tables(sequence(school(), on))[0].rows}
    heads = [c.title for c in tables(sequence(school(), on))[0].columns]
    fire, again, dark = (heads.index(t) for t in ("Fire: released", "Re-armed", "Dark"))
    # NFPA 96: fuel and power off in a release and until a hand resets; exhaust at full speed; supply off
    for tag in ("A-1", "A-2", "A-3", "A-4"):
        assert rows[tag][fire] == rows[tag][again] == "off"
    assert rows["GV-1"][fire] == rows["GV-1"][again] == "shut"
    assert rows["EF-1"][fire] == "100%"
    assert rows["MAU-1"][fire] == "stands"
    assert {r[dark] for r in rows.values()} <= {"stands", "off", "silent", "quiet", "shut"}


def test_every_promise_is_listed_with_its_clause(on):
    listed = tables(cause_and_effect(school(), on))[-1].rows
    assert [r[0] for r in listed] == [v.promise.text for v in school().proof.verdicts]
    assert all(r[1] and r[2].startswith("all ") for r in listed)


def test_the_packing_list_has_a_place_for_count_damage_and_serial_number():
    (table, signed) = tables(packing(school()))
    for row in table.rows:
        assert (row[0], row[4], row[5], row[6]) == (BOX, BLANK, BOX, BLANK)
    assert "Bill of lading no." in [c.title for c in signed.columns]
    assert {"CP1", "DP-1", "TS-1A", "CS-1"} <= {r[1] for r in table.rows}


def test_the_suppression_contractor_lands_the_fire_switch():
    equipment, cables, _ = tables(scope(school()))
    who = {r[0]: r[4] for r in equipment.rows}
    assert who["FS-1"] == "suppression contractor"
    assert who["FA-1"] == "fire-alarm contractor"
    assert "suppression contractor: at FS-1" in next(r[1] for r in cables.rows if r[0] == "W-FS-1-C")


def test_schedules_hold_every_number_and_every_device():
    sizes = school().sizes
    assert [r[1] for r in circuit_rows(school())] == [n.item for n in sizes.numbers]
    assert {r[0] for r in raceway_rows(school())} == {r.tag for r in sizes.raceways}
    assert sum(int(r[0]) for r in material_rows(school())) == len(school().design.devices)


def test_what_is_open_is_asked():
    job = job_with("{use: building alarm, side: released side}", "{use: building alarm, side: to be measured}")
    found = " ".join(open_questions(facts_of(job)))
    assert "FS-1: the side of pole 3 (building alarm) is to be measured" in found
    assert "promise fails" in found
    assert blockers(facts_of(job))


def test_sizes_that_cannot_be_computed_are_said_to_be_missing(monkeypatch):
    def refuse(*_given):
        raise GalleyproofError("no table for this")

    monkeypatch.setattr("galleyproof.package.facts.size", refuse)
    facts = facts_of(read_job(text_with(), "job.yaml"))
    assert facts.failed == ("sizes: no table for this",)
    assert "sizes: no table for this" in blockers(facts)
    _, after = sections(facts)
    for key in ("cables", "circuits"):
        section = next(s for s in after if s.key == key)
        assert any("not yet computed" in getattr(b, "text", "") for b in section.blocks)


@settings(max_examples=6)
@given(small_jobs())
def test_any_job_has_all_sections(job):
    try:
        facts = facts_of(job)
    except GalleyproofError:
        return
    before, after = sections(facts)
    assert len(before) + len(after) == 20
    steps = str(next(tables(s) for s in after if s.key == "steps"))
    assert all(cable.tag in steps for cable in build_design(job).cables)
