"""Edits: the value at a path changes and nothing else; words say where and what."""

from __future__ import annotations

import pytest
from tests.design.support import example

from galleyproof.job.model import ShuntShutdown, ShuntTrip
from galleyproof.job.read import read_job
from galleyproof.job.write import update_text
from galleyproof.review.edits import GONE, NEW, Edit, applied, at, place_words, value_words

SCHOOL = example("school-kitchen")


@pytest.mark.parametrize(
    ("path", "value", "where", "stands", "shall"),
    [
        (("circuits", "LP-2/8", "breaker"), 25.0, "circuit LP-2/8: breaker", "30 A", "25 A"),
        (("exhaust_fans", "EF-2", "drive", "motor", "hp"), 5.0, "exhaust fan EF-2: drive: motor: hp", "3 hp", "5 hp"),
        (("panel", "clear_in_front"), 42.0, "panel: clear_in_front", "36 in", "42 in"),
        (
            ("hoods", "H-1", "appliances", "A-2", "shut_down_by"),
            None,
            "hood H-1: appliance A-2: shut_down_by",
            "GV-1",
            "not stated",
        ),
        (
            ("fire_systems", "FS-1", "poles", 1, "side"),
            "armed side",
            "fire system FS-1: pole for shutdown: side",
            "both sides",
            "armed side",
        ),
        (
            ("makeup_units", "MAU-1", "control", "second_masters", "DD-1", "may"),
            "start",
            "make-up unit MAU-1: control: second master DD-1: may",
            "stop",
            "start",
        ),
        (("dampers", "D-1"), GONE, "damper D-1", "{tag: D-1, fan: EF-2}", "left out"),
        (
            ("circuits", "LP-2/2", "shunt_trip"),
            ShuntTrip(),
            "circuit LP-2/2: shunt_trip",
            "not stated",
            "{coil: 120 V, cut_off_contact: true}",
        ),
    ],
)
def test_one_value_changes(path, value, where, stands, shall):
    changed = applied(SCHOOL, [Edit(path, value)])
    assert at(changed, path) == (None if value is GONE else value)
    assert place_words(SCHOOL, path) == where
    assert value_words(path, at(SCHOOL, path)) == stands
    assert value_words(path, value) == shall
    if value is not GONE:
        assert applied(changed, [Edit(path, at(SCHOOL, path))]) == SCHOOL
    else:
        assert [d.tag for d in changed.dampers] == []


def test_new_entries_go_behind_the_others_and_places_stay_by_tag():
    one = ShuntShutdown(kind="shunt trip", tag="SD-8", zone="Z1", circuit="LP-2/30")
    two = one.model_copy(update={"tag": "SD-9"})
    edits = [Edit(("shutdowns", "SD-1"), GONE), Edit(("shutdowns", NEW), one), Edit(("shutdowns", NEW), two)]
    changed = applied(SCHOOL, [*edits, Edit(("shutdowns", "SD-2", "zone"), "Z2")])
    assert [(s.tag, s.zone) for s in changed.shutdowns] == [
        ("SD-2", "Z2"), ("KM-1", "Z1"), ("GV-1", "Z1"), ("SD-8", "Z1"), ("SD-9", "Z1"),
    ]  # fmt: skip
    assert place_words(SCHOOL, ("shutdowns", NEW)) == "another shutdown"


@pytest.mark.parametrize("path", [("circuits", "LP-9/1", "breaker"), ("circuits", "LP-2/8", "amps"), ("nothing",)])
def test_a_path_that_leads_nowhere_is_an_error(path):
    with pytest.raises(LookupError):
        applied(SCHOOL, [Edit(path, 1.0)])


def test_a_change_can_be_written_into_a_text():
    changed = applied(SCHOOL, [Edit(("circuits", "LP-2/8", "breaker"), 25.0)])
    assert read_job(update_text("# mine\ngalleyproof: 1\n", changed)) == changed
