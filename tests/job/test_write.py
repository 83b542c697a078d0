"""Writing: read-then-write gives the same job; an edit touches its own characters and nothing else."""

import difflib
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.job.support import HARBOUR, MINIMAL
from tests.strategies import jobs, small_jobs

from galleyproof.errors import JobError
from galleyproof.job import model as m
from galleyproof.job import write
from galleyproof.job.read import read_job
from galleyproof.job.sample import job_of
from galleyproof.job.write import dump_job, update_text
from galleyproof.yamltext import emit, load, validate
from galleyproof.yamltext.change import change

EXAMPLES = Path(__file__).parents[2] / "examples"


@given(jobs())
def test_a_written_job_reads_back_the_same(job):
    assert read_job(dump_job(job)) == job


@given(jobs(sound=True))
def test_a_sound_job_reads_back_the_same(job):
    assert read_job(dump_job(job)) == job


@pytest.mark.parametrize("text", [MINIMAL, HARBOUR])
def test_what_an_engineer_wrote_reads_back_the_same(text):
    job = read_job(text)
    assert read_job(dump_job(job)) == job


@given(jobs())
def test_writing_leaves_defaults_out_and_is_settled(job):
    text = dump_job(job)
    assert dump_job(read_job(text)) == text
    assert "not applicable" not in text


WIDTHS = st.sampled_from([0, 40, 100])
ENDS = st.sampled_from(["\n", "\r\n"])


@given(jobs(), WIDTHS, st.booleans(), ENDS)
def test_nothing_changed_changes_nothing(job, width, explicit, ends):
    text = _remarks(_dumped(job, width, explicit=explicit), ends)
    assert update_text(text, job) == text


@pytest.mark.parametrize("path", sorted(EXAMPLES.rglob("*.yaml")), ids=lambda path: path.stem)
def test_every_example_reads_writes_and_stays_as_it_is(path):
    text = path.read_text(encoding="utf-8")
    job = read_job(text, path.name)
    assert read_job(dump_job(job)) == job
    assert update_text(text, job) == text
    # change itself, too: update_text would fall back on a fresh file where it fails
    assert change(load(text, "f"), job, write.quantity) == text


@pytest.mark.parametrize("path", sorted(EXAMPLES.rglob("*.yaml")), ids=lambda path: path.stem)
def test_one_value_of_an_example_changes_its_own_line_and_no_other(path):
    text = path.read_bytes().decode("utf-8")
    job = read_job(text, path.name)
    circuit = job.circuits[-1].model_copy(update={"breaker": 175.0})
    changed = job.model_copy(update={"circuits": (*job.circuits[:-1], circuit)})
    new = change(load(text, "f"), changed, write.quantity)
    assert read_job(new) == changed
    gone, come = _lines_changed(text, new)
    assert (len(gone), len(come)) == (1, 1)
    assert come[0].replace("175 A", f"{job.circuits[-1].breaker:g} A") == gone[0]


@given(jobs(), jobs(), WIDTHS, st.booleans(), ENDS)
@settings(max_examples=200)
def test_any_text_can_be_made_to_say_any_job(old, new, width, explicit, ends):
    text = _remarks(_dumped(old, width, explicit=explicit), ends)
    # change, not update_text: that one would fall back on a fresh file, and hide a fault
    assert _reads(change(load(text, "f"), new, write.quantity)) == new


@given(small_jobs(), st.randoms(use_true_random=False), WIDTHS)
def test_parts_can_come_and_go(job, random, width):
    thin = _thinner(job, random)
    assert _reads(change(load(_remarks(_dumped(job, width), "\n"), "f"), thin, write.quantity)) == thin
    assert _reads(change(load(_remarks(_dumped(thin, width), "\n"), "f"), job, write.quantity)) == job


@given(jobs(), st.sampled_from([0, 100]), st.floats(100, 9000, allow_nan=False))
def test_comments_survive_a_change_of_values(job, width, cfm):
    text = _remarks(_dumped(job, width), "\n")
    fans = tuple(f.model_copy(update={"airflow": cfm, "after_outage": "waits for a hand"}) for f in job.exhaust_fans)
    named = job.job.model_copy(update={"name": "Another name"})
    changed = job.model_copy(update={"exhaust_fans": fans, "job": named})
    new = update_text(text, changed)
    assert read_job(new) == changed
    assert re.findall(r"# (?:line|tail) \d+", new) == re.findall(r"# (?:line|tail) \d+", text)


def _dumped(job: m.Job, width: int, *, explicit: bool = False) -> str:
    """A fresh file with more or less in braces; with ``explicit`` every default is written out."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(emit, "WIDTH", width)
        if explicit:
            patch.setattr(emit, "is_default", lambda *_: False)
        return dump_job(job)


def _remarks(text: str, ends: str) -> str:
    """A comment behind every line and above every third."""
    lines = []
    for n, line in enumerate(text.splitlines()):
        if n % 3 == 0:
            lines.append(f"{'  ' * (n % 4)}# line {n}")
        lines.append(f"{line}  # tail {n}")
    return ends.join(lines) + ends


def _reads(text: str) -> m.Job:
    # Without the checks: half of one job and half of another need not fit together.
    return validate(load(text, "f"), m.Job)


def _thinner(job: m.Job, random) -> m.Job:
    fans = tuple(f.model_copy(update={"proving": None, "min_speed": 0.5}) for f in job.exhaust_fans)
    hoods = tuple(
        h.model_copy(update={"lights": None, "appliances": h.appliances[1:], "sensors": h.sensors[-1:]})
        for h in reversed(job.hoods)
    )
    return job.model_copy(
        update={
            "exhaust_fans": fans[random.randint(0, len(fans) - 1) :],
            "hoods": hoods,
            "circuits": job.circuits[1:] or job.circuits,
            "switches": (),
            "display": None,
            "routes": job.routes[::-1],
        }
    )


# --- one edit, line by line -------------------------------------------------------------------------------------


def _lines_changed(old: str, new: str) -> tuple[list[str], list[str]]:
    diff = list(difflib.ndiff(old.splitlines(), new.splitlines()))
    return [d[2:] for d in diff if d.startswith("- ")], [d[2:] for d in diff if d.startswith("+ ")]


def _changed(text: str, **update) -> tuple[list[str], list[str]]:
    job = read_job(text).model_copy(update=update)
    new = update_text(text, job)
    assert _reads(new) == job
    return _lines_changed(text, new)


def test_a_value_is_replaced_and_its_remark_stays():
    job = read_job(MINIMAL)
    hood = job.hoods[0].model_copy(update={"length": 103.0})
    assert _changed(MINIMAL, hoods=(hood,)) == (
        ["    length: 8' 6\"      # as measured"],
        ["    length: 103 in      # as measured"],
    )


def test_a_value_that_reads_the_same_keeps_its_spelling():
    job = read_job(HARBOUR)
    fan = job.exhaust_fans[0].model_copy(update={"airflow": 2500.0})
    gone, come = _changed(HARBOUR, exhaust_fans=(fan, job.exhaust_fans[1]))
    assert (gone, come) == (["    airflow: 2,400 cfm"], ["    airflow: 2500 cfm"])
    assert "1-1/2 hp" in update_text(HARBOUR, job.model_copy(update={"exhaust_fans": (fan, job.exhaust_fans[1])}))


def test_a_value_in_braces_is_replaced_in_its_place():
    job = read_job(MINIMAL)
    hood = job.hoods[0]
    lights = hood.lights.model_copy(update={"load": 250.0})
    assert _changed(MINIMAL, hoods=(hood.model_copy(update={"lights": lights}),)) == (
        ["    lights: {load: 200 W, circuit: LP-1/5}"],
        ["    lights: {load: 250 W, circuit: LP-1/5}"],
    )


def test_a_new_key_goes_below_and_an_old_one_goes_with_its_line():
    hood = read_job(MINIMAL).hoods[0].model_copy(update={"listed_rate": 2000.0, "lights": None})
    assert _changed(MINIMAL, hoods=(hood,)) == (
        ["    lights: {load: 200 W, circuit: LP-1/5}"],
        ["    listed_rate: 2000 cfm"],
    )


def test_a_new_entry_goes_below_its_neighbours():
    job = read_job(MINIMAL)
    route = m.Route(tag="R-2", to="hood", length=20.0)
    assert _changed(MINIMAL, routes=(*job.routes, route)) == ([], ["  - {tag: R-2, to: hood, length: 20 ft}"])


def test_an_entry_goes_with_its_remark_and_no_other():
    job = read_job(MINIMAL)
    gone, come = _changed(MINIMAL, circuits=job.circuits[1:])
    assert come == []
    assert gone == ["  - {tag: LP-1/1, panelboard: LP-1, lines: [L1], breaker: 20 A}        # the panel"]


def test_a_new_section_goes_to_the_end():
    assert _changed(MINIMAL, display=m.Display(tag="OP-1")) == ([], ["display: {tag: OP-1}"])


def test_a_list_that_empties_goes_with_its_key():
    gone, come = _changed(MINIMAL, routes=())
    assert (gone, come) == (["routes:", "  - {tag: R-1, to: roof, length: 45 ft}"], [])


def test_another_kind_of_drive_keeps_what_is_common():
    fan = read_job(MINIMAL).exhaust_fans[0]
    drive = m.Starter(kind="starter", motor=m.Motor(hp=1.5, volts=115.0, phases=1))
    assert _changed(MINIMAL, exhaust_fans=(fan.model_copy(update={"drive": drive}),)) == (
        ["      kind: EC", "      motor: {volts: 120 V, phases: 1, nameplate_amps: 4.2 A}"],
        ["      kind: starter", "      motor: {volts: 115 V, phases: 1, hp: 1.5 hp}"],
    )


HAND = """\
-   # the first
  note: |
    feeds
    the panel

  tag: LP-1/1
  # its board
  panelboard: LP-1
  lines: [
    L1,   # only one
  ]
  breaker: 20 A   # twenty
- note: "spare"   # why
  tag: LP-1/9
  panelboard: LP-1
  lines:
  - L1
  - L2
  breaker: 20 A
"""


@pytest.mark.parametrize(
    ("place", "update", "gone", "come"),
    [
        (0, {"note": None}, ["  note: |", "    feeds", "    the panel", ""], []),
        (0, {"note": "x"}, ["  note: |", "    feeds", "    the panel", ""], ["  note: x"]),
        (0, {"lines": ("L2",)}, ["    L1,   # only one"], ["    L2,   # only one"]),
        (0, {"breaker": 15.0}, ["  breaker: 20 A   # twenty"], ["  breaker: 15 A   # twenty"]),
        (1, {"lines": ("L1", "L2", "L3")}, [], ["  - L3"]),
        (1, {"lines": ("L1",)}, ["  - L2"], []),
        (1, {"note": 'of "old"'}, ['- note: "spare"   # why'], ['- note: of "old"   # why']),
        (1, {"shunt_trip": m.ShuntTrip()}, [], ["  shunt_trip: {}"]),
    ],
)
def test_layouts_of_a_hand(place, update, gone, come):
    first = MINIMAL.index("  - {tag: LP-1/1,")
    rest = MINIMAL[first:].split("\n", 1)[1].replace("  - {tag: LP-1/", "- {tag: LP-1/")
    text = MINIMAL[:first] + HAND + rest
    circuits = list(read_job(text).circuits)
    circuits[place] = circuits[place].model_copy(update=update)
    assert _changed(text, circuits=tuple(circuits)) == (gone, come)


@pytest.mark.parametrize("text", ["a: [", "a: 1\na: 2\n", ""])
def test_what_is_no_yaml_is_not_changed(text):
    with pytest.raises(JobError):
        update_text(text, job_of(1))


def test_a_text_of_another_shape_is_changed_all_the_same():
    assert read_job(update_text("hoods: 3\njob: [a]\ncircuits: {x: 1}  # odd\n", job_of(2))) == job_of(2)


ODD = (
    *("a: b", "x #y", "#x", "- x", "'", '"', "null", "~", "1.5", "0x1F", "true", "No", "on", "{", "[", "a, b"),
    *("a\nb", "a\tb", "\u00e9\u2126", "a\u0085b", "\ufeffx", "a\u2028b", "\U0001f35e", "a\x07b", "a\\b"),
    *("<<", "&x", "*x", "!x", "%x", "@x", "`", "x:", "?", "? x", "-", "--- x", "...", "x: ", ",x", "12:30"),
)


@pytest.mark.parametrize("text", ODD)
def test_texts_that_try_yaml_are_written_so_that_they_read_back(text):
    job = job_of(1)
    named = job.model_copy(update={"job": job.job.model_copy(update={"name": text.strip() or "x"})})
    assert read_job(dump_job(named)) == named
