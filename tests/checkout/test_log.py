"""The log of readings: nothing lost, nothing overwritten, whatever order two tablets meet in."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.checkout.support import bench, plan, table
from tests.design.support import EXAMPLES

from galleyproof.checkout.log import (
    MOST_ENTRIES,
    Entry,
    Meter,
    fingerprint,
    in_order,
    is_log,
    merge,
    read_log,
    write_log,
)
from galleyproof.checkout.standing import (
    conflicts,
    observations,
    progress,
    signed_after,
    standing,
    usable,
)
from galleyproof.errors import InputError

JOB = fingerprint("job: 1\n")
ORDINARY, LOW = Meter(name="meter 1", low_impedance=False), Meter(name="meter 2", low_impedance=True)
PROBES = ("dead: ohms CP1-X3:13 CP1-X3:14", "control: volts DC CP1-X3:17 CP1-X3:18", "note", "repair")


def entry(n: int, probe: str = PROBES[0], read: str = "5.0", **other: object) -> Entry:
    made: dict[str, object] = {
        "id": f"{n:032x}",
        "job": JOB,
        "job_name": "ferry café",
        "probe": probe,
        "read": read,
        "taken_at": "2026-11-25T14:05:09+01:00",
        "sequence": n,
        "device": "a" * 32,
        "by": "R. Quayle",
        "meter": ORDINARY,
    }
    return Entry.model_validate(made | other)


@st.composite
def universes(draw: st.DrawFn) -> list[Entry]:
    """What three tablets wrote down, with clocks that jump and entries that replace others."""
    count = draw(st.integers(0, 12))
    made: list[Entry] = []
    for n in range(count):
        device = draw(st.sampled_from("abc")) * 32
        minute = draw(st.integers(0, 59))
        offset = draw(st.sampled_from(("+00:00", "-05:00", "+01:00")))
        earlier = draw(st.sampled_from([None, *made]))
        made.append(
            entry(
                n + 1,
                earlier.probe if earlier else draw(st.sampled_from(PROBES)),
                draw(st.sampled_from(("5.0", "24.1 V", "OL", "ein Ω "))),
                device=device,
                sequence=draw(st.integers(0, 6)),
                taken_at=f"2026-11-25T14:{minute:02d}:09{offset}",
                replaces=earlier.id if earlier else None,
            )
        )
    return made


def parts(draw: st.DrawFn, of: list[Entry]) -> list[Entry]:
    return [e for e in of if draw(st.booleans())]


@st.composite
def three_logs(draw: st.DrawFn) -> tuple[list[Entry], ...]:
    everything = draw(universes())
    return tuple(draw(st.permutations(parts(draw, everything))) for _ in range(3))


@given(three_logs())
@settings(max_examples=60)
def test_merging_is_a_union(logs: tuple[list[Entry], ...]) -> None:
    a, b, c = logs
    assert merge(a, b) == merge(b, a)
    assert merge(merge(a, b), c) == merge(a, merge(b, c))
    assert merge(a, a) == merge(a, ()) == in_order(a)
    assert {e.id for e in merge(a, b)} == {e.id for e in (*a, *b)}
    assert set(merge(a, b)) == {*a, *b}


@given(universes())
@settings(max_examples=60)
def test_a_log_reads_back_as_written(entries: list[Entry]) -> None:
    text = write_log(entries)
    assert read_log(text) == read_log(text.encode()) == in_order(entries)
    assert write_log(reversed(entries)) == text
    assert is_log(text)


@given(universes())
@settings(max_examples=60)
def test_a_devices_own_order_holds_whatever_its_clock_did(entries: list[Entry]) -> None:
    for device in {e.device for e in entries}:
        own = [e.sequence for e in in_order(entries) if e.device == device]
        assert own == sorted(own)


@given(universes())
@settings(max_examples=60)
def test_what_stands_is_what_nobody_replaced(entries: list[Entry]) -> None:
    named = {e.replaces for e in entries}
    assert {e for own in standing(entries).values() for e in own} == {e for e in entries if e.id not in named}


def test_one_id_for_two_entries_is_refused() -> None:
    with pytest.raises(InputError, match=r"read is '5\.0' and '6\.0'.*take the log from the tablet again"):
        merge([entry(1)], [entry(1, read="6.0")])
    both = write_log([entry(1)]).replace("]}", "," + write_log([entry(1, by="someone")]).splitlines()[1] + "]}")
    with pytest.raises(InputError, match=r"by is 'R\. Quayle' and 'someone'"):
        read_log(both)


def broken(**other: object) -> str:
    """A log of one entry with some keys changed; None takes a key out."""
    document = json.loads(write_log([entry(1)]))
    document["entries"][0] |= other
    document["entries"][0] = {k: v for k, v in document["entries"][0].items() if v is not None}
    return json.dumps(document)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "is no log of readings"),
        ("[]", "is no log|valid dictionary"),
        ('{"readings_log":2,"entries":[]}', "version 2, this program reads version 1"),
        ('{"readings_log":1,"readings_log":1,"entries":[]}', "'readings_log' is given twice"),
        ('{"readings_log":1,"entries":[NaN]}', "NaN is no value"),
        ('{"readings_log":1,"entries":' + "[" * 200_000 + "}", "is no log of readings"),
        ('{"readings_log":1,"entries":[' + ",".join(["0"] * (MOST_ENTRIES + 1)) + "]}", "100,001 entries"),
        (b"\xff\xfe{}", "not UTF-8"),
        ("x" * 32_000_001, "larger than 32 MB"),
        (broken(id="1"), "entry 1: id: "),
        (broken(by=None), "entry 1: by: Field required"),
        (broken(weight=3), "entry 1: weight: Extra inputs"),
        (broken(read=24.1), "entry 1: read: Input should be a valid string; given is 24.1"),
        (broken(read="a\nb"), "control character"),
        (broken(read="\ud800"), "entry 1: read: "),
        (broken(read=""), "only an entry that replaces one may be"),
        (broken(read="9" * 1001), "at most 1000"),
        (broken(taken_at="2026-11-25T14:05:09"), "no date and time with its offset"),
        (broken(taken_at="yesterday"), "no date and time with its offset"),
        (broken(sequence=-1), "entry 1: sequence: "),
        (broken(sequence=True), "entry 1: sequence: "),
        (broken(replaces=f"{1:032x}"), "names the entry itself"),
        (broken(meter={"name": "m"}), r"entry 1: meter\.low_impedance: Field required"),
    ],
)
def test_a_broken_log_is_refused_with_the_place(text: str | bytes, message: str) -> None:
    with pytest.raises(InputError, match=message):
        read_log(text, "log.json")


def test_every_broken_entry_is_named_at_once() -> None:
    document = json.loads(write_log([entry(1), entry(2), entry(3)]))
    document["entries"][0]["by"] = ""
    document["entries"][2]["id"] = "x"
    with pytest.raises(InputError) as caught:
        read_log(json.dumps(document))
    assert [p.where for p in caught.value.problems] == ["entry 1: by", "entry 3: id"]


def test_taking_back_and_correcting() -> None:
    first, second = entry(1), entry(2, read="6.0", replaces=f"{1:032x}")
    assert standing([second, first]) == {PROBES[0]: (second,)}
    assert standing([first, second, entry(3, read="", replaces=f"{2:032x}")]) == {}
    # an entry of another probe, or of another job, replaces nothing
    assert first in standing([first, entry(2, PROBES[1], replaces=f"{1:032x}")])[PROBES[0]]
    assert first in standing([first, entry(2, job="0" * 64, replaces=f"{1:032x}")])[PROBES[0]]


def test_entries_that_replace_each_other_all_stand() -> None:
    ring = [entry(1, replaces=f"{2:032x}"), entry(2, replaces=f"{1:032x}")]
    assert standing(ring)[PROBES[0]] == tuple(ring)
    assert standing([*ring, entry(3, replaces=f"{1:032x}")])[PROBES[0]] == (ring[1], entry(3, replaces=f"{1:032x}"))


def ac_probe() -> str:
    return next(p.key for p in bench().checkout.probes if p.key == "cooking: volts AC CP1-X2:17 CP1-X2:6")


@pytest.mark.parametrize(
    ("probe", "one", "other", "differ"),
    [
        ("dead", "OL", "OL", False),
        ("dead", "OL", "2.2 Mohm", False),
        ("dead", "OL", "5.2 k", True),
        ("dead", "1000", "1100", False),
        ("dead", "1000", "1400", True),
        ("ac", "120", "118.2", False),
        ("ac", "120", "208", True),
    ],
)
def test_readings_that_meters_do_not_explain(probe: str, one: str, other: str, differ: bool) -> None:
    key = PROBES[0] if probe == "dead" else ac_probe()
    found = conflicts([entry(1, key, one), entry(2, key, other)], bench().checkout)
    assert [c.probe.key for c in found] == ([key] if differ else [])


def test_coupled_volts_on_an_ordinary_meter_are_no_conflict() -> None:
    ghost, gone = entry(1, ac_probe(), "62", meter=ORDINARY), entry(2, ac_probe(), "0.4", meter=LOW)
    assert conflicts([ghost, gone], bench().checkout) == ()
    assert len(conflicts([ghost, gone.model_copy(update={"meter": ORDINARY})], bench().checkout)) == 1


def test_a_repair_starts_a_new_chapter() -> None:
    key = ac_probe()
    log = [entry(1, key, "0"), entry(2, "complaint", "EF-1 does not run"), entry(3, "repair", "landed again")]
    assert len(observations(log[:2], bench().checkout)) == 2
    assert observations(log, bench().checkout) == ()
    after = [*log, entry(4, key, "120")]
    assert conflicts(after, bench().checkout) == ()
    assert [o.either[0][1] for o in observations(after, bench().checkout)] == [120.0]
    # a repair that was taken back starts none
    assert len(observations([*after, entry(5, "repair", "", replaces=f"{3:032x}")], bench().checkout)) == 3


def test_what_is_not_of_this_job_is_named() -> None:
    log = [entry(1, "dead: ohms CP1-X3:1 CP1-X3:99"), entry(2, read="blue"), entry(3, "complaint", "it is cold")]
    with pytest.raises(InputError) as caught:
        observations(log, bench().checkout)
    said = str(caught.value)
    assert "no probe 'dead: ohms CP1-X3:1 CP1-X3:99' in this job" in said
    assert "'blue' is no reading here" in said
    assert "'it is cold' is no complaint" in said
    assert len(usable(log, bench().checkout)[1]) == 3


def test_progress_counts_what_is_read_within_and_beyond() -> None:
    made = plan()
    nothing = progress([], bench().checkout, made)
    assert sum(s.planned for s in nothing) == len(made.readings)
    assert all(s.read == 0 and not s.done for s in nothing)
    log: list[Entry] = []
    for n, line in enumerate(made.readings, 1):
        value = line.expected.value
        log.append(entry(n, line.probe.key, value if isinstance(value, str) else f"{value}"))
    assert all(s.done for s in progress(log, bench().checkout, made))
    first = made.readings[0]
    wrong = entry(9000, first.probe.key, "3.3 kohm" if first.probe.kind == "ohms" else "3.3", sequence=9000)
    # two that disagree count as beyond; one corrected counts alone; one from before a repair is read again
    assert [s.beyond for s in progress([*log, wrong], bench().checkout, made)] == [1, 0, 0]
    corrected = wrong.model_copy(update={"replaces": log[0].id})
    assert [s.beyond for s in progress([*log, corrected], bench().checkout, made)] == [1, 0, 0]
    repaired = [*log, corrected, entry(9001, "repair", "jumper taken out")]
    again = progress(repaired, bench().checkout, made)
    assert [s.beyond for s in again] == [0, 0, 0]
    assert again[0].within == again[0].planned - 1


def test_a_signature_covers_what_was_made_before_it() -> None:
    log = [entry(1), entry(2, "signature", "R. Quayle"), entry(3)]
    assert [e.sequence for e in signed_after(log, log[1])] == [3]


def test_a_fingerprint_does_not_change_with_line_ends() -> None:
    assert fingerprint("a\nb\n") == fingerprint(b"\xef\xbb\xbfa\r\nb\r\n") != fingerprint("a\nc\n")
    # FIPS 180-2, appendix B.1: the digest of "abc"
    assert fingerprint("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


def test_the_table_and_the_log_speak_of_the_same_probes() -> None:
    keys = {p.key for p in bench().checkout.probes}
    assert keys.isdisjoint({"complaint", "note", "done", "repair", "signature"})
    assert max(map(len, keys)) < 300
    assert replace(bench().checkout.probes[0]).key in keys
    assert len(table().right) == len(keys)


def test_the_example_of_the_docs_is_a_log() -> None:
    page = (EXAMPLES.parent / "docs" / "check-out.md").read_text(encoding="utf-8")
    (example,) = re.findall(r"```json\n(.*?)```", page, re.DOTALL)
    (only,) = read_log(example)
    assert only.probe in {p.key for p in bench().checkout.probes}
    assert only.read == "0.3 Ω"
