"""The check-out's pages without a browser: nothing lost, nothing overwritten, nothing signed that is open."""

from __future__ import annotations

import io
import random
import re
from html import unescape

import pytest
from pypdf import PdfReader
from tests.checkout.support import bench, plan, slips, table
from tests.web.on_site import TEXT, Person, book_of_cafe, once, state_of
from tests.web.support import make_site

from galleyproof.checkout.acceptance import acceptance
from galleyproof.checkout.beliefs import Observation
from galleyproof.checkout.codes import split
from galleyproof.checkout.log import Entry, write_log
from galleyproof.checkout.model import CAUTIONS
from galleyproof.checkout.standing import progress
from galleyproof.checkout.words import said_range
from galleyproof.store.jobs import save_job
from galleyproof.store.people import LOCAL
from galleyproof.store.readings import readings_of
from galleyproof.web import field_sheet
from galleyproof.web.check_out_words import drawn_paths, strokes_of
from galleyproof.web.desk import Desk, Question


@pytest.fixture
def site(tmp_path, monkeypatch):
    once(monkeypatch)
    return make_site(tmp_path)


@pytest.fixture
def job(site):
    return site.add("ferry-cafe")


def caught(slip: str) -> dict[int, object]:
    return dict(table().changed[table().slips.index(slip)])


def test_the_page_holds_the_plan_of_the_core_and_a_place_on_a_sheet_for_every_lead(site, job):
    given = site.client.get(f"/jobs/{job}/check-out/plan").json()
    assert [p["key"] for p in given["probes"]] == [r.probe.key for r in plan().readings]
    assert [p["expected"] for p in given["probes"]] == [said_range(r.probe, r.expected) for r in plan().readings]
    assert {s["name"]: s["caution"] for s in given["stages"]} == {s.value: CAUTIONS[s] for s, _ in plan().cautions()}
    sheets = {number: site.client.get(f"/jobs/{job}/sheets/{number}").text for number, *_ in given["sheets"]}
    for p in given["probes"]:
        lit = {s["name"] for s in p["lit"]}
        # a look may be at a device without a wire, a gas appliance, which no sheet shows
        assert lit == {p["red"], p["black"]} if p["red"] else lit <= {p["about"]}
        for spot in p["lit"]:
            number, _, width, height = given["sheets"][spot["at"]]
            assert spot["sheet"] == number
            assert number in sheets
            assert 0 < spot["x"] < width
            assert 0 < spot["y"] < height


def test_a_reading_is_judged_by_the_core_and_sent_twice_stored_once(site, job):
    person = Person(site, job)
    first = person.plan["probes"][0]["key"]
    entry = person.entry(first, "OL")
    assert person.send(entry)["stored"] == [entry["id"]]
    again = person.send(entry)
    assert again["stored"] == [entry["id"]]
    assert again["log"]["count"] == 1
    assert again["log"]["states"][first] == "within"
    assert [r["beyond"] for r in again["log"]["readings"][first]] == [False]


def test_what_cannot_be_understood_is_refused_in_words_and_the_rest_is_taken(site, job):
    person = Person(site, job)
    keys = [p["key"] for p in person.plan["probes"]]
    wrong, right = person.entry(keys[0], "about five"), person.entry(keys[1], "OL")
    strange = person.entry("dead: ohms nowhere", "1")
    broken = person.entry(keys[2], "OL") | {"taken_at": "yesterday"}
    answer = person.send(wrong, right, strange, broken)
    assert answer["stored"] == [right["id"]]
    words = {r["id"]: r["words"] for r in answer["refused"]}
    assert "'about five' is no reading here" in words[wrong["id"]]
    assert "there is no probe" in words[strange["id"]]
    assert "yesterday" in words[broken["id"]]


def test_a_correction_is_a_new_entry_and_both_stay(site, job):
    person = Person(site, job)
    key = person.plan["probes"][0]["key"]
    first = person.entry(key, "4")
    person.send(first)
    log = person.send(person.entry(key, "OL", replaces=first["id"]))["log"]
    assert log["states"][key] == "within"
    with site.db.session() as session:
        assert [e.read for e in readings_of(session, job)] == ["4", "OL"]


def test_readings_of_two_tablets_that_differ_stand_side_by_side(site, job):
    one, two = Person(site, job, "R. Quayle"), Person(site, job, "N. Teal")
    key = next(p["key"] for p in one.plan["probes"] if p["stage"] == "control power")
    one.send(one.entry(key, "24.1"))
    log = two.send(two.entry(key, "3.0"))["log"]
    assert log["states"][key] == "conflict"
    assert [(r["by"], r["said"]) for r in log["readings"][key]] == [
        ("R. Quayle", "24.1 V DC"), ("N. Teal", "3.0 V DC"),
    ]  # fmt: skip
    assert len(log["torn"][key]) == 2
    taken_back = two.send(two.entry(key, "", replaces=log["readings"][key][1]["id"]))["log"]
    assert taken_back["states"][key] == "within"


def test_the_page_counts_as_the_core_does(site, job):
    """Random logs of two tablets, with corrections, repairs and notes in them."""
    draw = random.Random(7)
    people = [Person(site, job, name, caught(draw.choice(table().slips))) for name in ("R. Quayle", "N. Teal")]
    keys = [p["key"] for p in people[0].plan["probes"]]
    sent: list[dict] = []
    for _ in range(12):
        person = draw.choice(people)
        some = []
        for key in draw.sample(keys, 9):
            before = [e for e in sent if e["probe"] == key]
            other = {"replaces": draw.choice(before)["id"]} if before and draw.random() < 0.5 else {}
            read = person.reads(key) if draw.random() < 0.8 else Person.reads(people[0], key)
            some.append(person.entry(key, read, **other))
        if draw.random() < 0.3:
            some.append(person.entry("repair", "tightened a terminal"))
        log = person.send(*some)["log"]
        sent += some
        state = state_of(site, job)
        core = progress(state.entries, bench().checkout, plan())
        assert [(s["name"], s["planned"], s["within"], s["beyond"]) for s in log["stages"]] == [
            (s.stage.value, s.planned, s.within, s.beyond) for s in core
        ]


@pytest.mark.parametrize("seed", range(6))
def test_a_planted_mistake_is_found_by_following_the_pages(site, job, seed):
    """Along the plan until something is off, then along the reading that is asked for next, until one group is left."""
    draw = random.Random(seed)
    shown = [s for s in table().slips if table().shows[s]]
    slip = draw.choice(shown)
    group = next(g for g in ({table().slips[m] for m in g} for g in table().groups) if slip in g)
    person = Person(site, job, wrong=caught(slip))
    log = person.plan["log"]
    for p in person.plan["probes"]:
        log = person.read(p["key"])["log"]
        if log["odd"]:
            break
    assert log["odd"], slip
    text = ""
    for _ in range(60):
        text = site.client.get(f"/jobs/{job}/check-out/causes").text
        asked = re.search(r'data-probe="([^"]+)"', text)
        if "<strong>Found.</strong>" in text or asked is None:
            break
        person.read(unescape(asked[1]))
    first = unescape(text.split('class="first"')[1].split('class="chance"')[1]).lower()
    sentences = [s.sentence.lower() for s in slips() if s.key in group]
    assert any(s in first for s in sentences), (sentences, first)


def test_next_readings_stay_in_the_stage_one_works_in_while_that_tells_anything(site, job):
    person = Person(site, job)
    key = person.plan["probes"][1]["key"]
    person.send(person.entry(key, "0.4"))
    text = site.client.get(f"/jobs/{job}/check-out/causes?stage=dead").text
    asked = re.search(r'data-probe="([^"]+)"', text)[1]
    probe = site.client.get(f"/jobs/{job}/check-out/probe", params={"key": asked}).json()
    assert probe["stage"] == "dead"


def test_a_repair_opens_again_what_was_off(site, job):
    person = Person(site, job)
    key = person.plan["probes"][1]["key"]
    assert person.send(person.entry(key, "0.4"))["log"]["states"][key] == "beyond"
    log = person.send(person.entry("repair", "pulled the strand off the frame"))["log"]
    assert log["states"][key] == "open"
    assert not log["odd"]
    assert log["readings"][key][0]["repaired"]
    assert person.send(person.entry(key, "OL"))["log"]["states"][key] == "within"


def test_a_signature_is_refused_while_a_reading_is_open_and_taken_with_a_note_on_it(site, job):
    person = Person(site, job)
    last = person.plan["probes"][-1]["key"]
    person.read_all(but=[last])
    refused = person.send(person.entry("signature", "R. Quayle"))["refused"]
    assert "1 reading is still open" in refused[0]["words"]
    assert last in refused[0]["words"]
    person.send(person.entry("note", f"[{last}] horn not mounted yet"))
    drawn = "R. Quayle | drawn: 0a1b2c.Zz"
    log = person.send(person.entry("signature", drawn))["log"]
    assert [(s["name"], s["after"]) for s in log["signatures"]] == [("R. Quayle", 0)]
    assert log["signatures"][0]["path"].startswith("M0 36L")
    log = person.read(last)["log"]
    assert [s["after"] for s in log["signatures"]] == [1]


@pytest.mark.parametrize(
    "read", ["| drawn: 0a1b", "R. Quayle | drawn: 0a1", "R. Quayle | drawn: <path>", "R. Quayle | drawn: "]
)
def test_a_signature_without_a_name_or_with_a_broken_drawing_is_refused(site, job, read):
    person = Person(site, job)
    person.read_all()
    assert person.send(person.entry("signature", read))["stored"] == []


def test_strokes_are_read_as_the_page_writes_them():
    assert strokes_of("00zz.A1") == [[(0, 0), (61, 61)], [(10, 1)]]
    assert drawn_paths("00zz.A1") == "M0 0L183 61 M30 1L30 1"
    assert drawn_paths("0") == ""


def pages_of(data: bytes) -> list[str]:
    return [" ".join(p.extract_text().replace("\u200b", "").split()) for p in PdfReader(io.BytesIO(data)).pages]


def test_the_record_holds_what_was_read_and_says_on_every_page_that_it_approves_nothing(site, job):
    person = Person(site, job)
    off = person.plan["probes"][1]["key"]
    person.read_all(but=[off, person.plan["probes"][-1]["key"]])
    person.send(person.entry(off, "0.4"), person.entry("note", f"[{off}] strand seen at the frame"))
    answer = site.client.get(f"/jobs/{job}/check-out/record")
    assert answer.headers["content-type"] == "application/pdf"
    pages = pages_of(answer.content)
    assert all("This record approves nothing." in p for p in pages)
    text = " ".join(pages)
    for words in (
        "Check-out record",
        "Acceptance list",
        "Start-up record",
        "Not signed.",
        "OUT OF TOLERANCE",
        "not read",
    ):
        assert words in text
    assert "strand seen at the frame" in text
    required = acceptance(bench().job, bench().design, bench().checkout)
    at = next(n for n, p in enumerate(pages) if "Acceptance list" in p)
    listed = " ".join(pages[at:])
    place = 0
    for i in required:
        place = listed.index(bench().checkout.probes[i].words[:14], place)
    # EF-1's rotation was looked at in reading 27: it stands in the start-up record
    assert re.search(
        r"rotation seen at the shaft, not by amperes right way turns (slowly|at full speed) \(no\. \d+\)", text
    )


def test_a_signed_record_shows_the_signature(site, job):
    person = Person(site, job)
    person.read_all()
    person.send(person.entry("signature", "R. Quayle | drawn: 0a1b2c"))
    pages = pages_of(site.client.get(f"/jobs/{job}/check-out/record").content)
    assert "Signed by R. Quayle, 2026-11-25" in pages[0]
    assert "not read" not in " ".join(pages)


def test_readings_of_an_older_text_say_so_and_count_where_their_probe_is_the_same(site, job):
    person = Person(site, job)
    keys = [p["key"] for p in person.plan["probes"]]
    person.send(*(person.entry(k, person.reads(k)) for k in keys[:5]))
    changed = TEXT.replace("Saltmarrow", "Old Saltmarrow", 1)
    assert changed != TEXT
    with site.db.session() as session:
        save_job(session, LOCAL, job, changed, 1, "ferry-cafe", "S-1", "A", "renamed")
    page = site.client.get(f"/jobs/{job}/check-out").text
    assert "The job has changed since readings were taken." in page
    assert "5 earlier readings mean the same probe still" in " ".join(page.split())
    log = site.client.get(f"/jobs/{job}/check-out/state").json()
    assert [r["save"] for r in log["readings"][keys[0]]] == [1]
    assert sum(s["within"] for s in log["stages"]) == 5
    # one of them is taken back on the new page: the entry that does so belongs to the older text, as the other one does
    old = log["readings"][keys[0]][0]
    log = person.send(person.entry(keys[0], "", replaces=old["id"], job=old["job"]))["log"]
    assert keys[0] not in log["readings"]
    assert sum(s["within"] for s in log["stages"]) == 4


def test_a_log_is_taken_in_from_a_file_and_from_codes_and_conflicts_are_shown(site, job):
    person, other = Person(site, job), Person(site, job, "N. Teal")
    key = next(p["key"] for p in person.plan["probes"] if p["stage"] == "control power")
    person.send(person.entry(key, "24.0"))
    entries = [Entry.model_validate(other.entry(key, "1.5")), Entry.model_validate(other.entry("note", "wet floor"))]
    document = write_log(entries)

    def give(**sent) -> str:
        answer = site.client.post(f"/jobs/{job}/check-out/take-in", headers={"x-form-token": person.token}, **sent)
        return " ".join(answer.text.split())

    said = give(files={"file": ("log.json", document, "application/json")})
    assert "2 of 2 entries were new." in said
    assert "Readings that disagree" in said
    assert "24.0" in said
    assert "1.5" in said
    codes = split(document, 200)
    assert len(codes) > 1
    assert "0 of 2 entries were new." in give(data={"codes": "\n".join(reversed(codes))})
    assert "Nothing was taken in." in give(data={"codes": codes[0]})
    edited = document.replace('"read":"1.5"', '"read":"24.0"')
    assert "an entry is never changed" in give(files={"file": ("log.json", edited, "application/json")})
    foreign = document.replace(person.plan["job"], "0" * 64)
    assert "never saved in this job" in give(files={"file": ("log.json", foreign, "application/json")})
    assert "Nothing was taken in." in give(files={"file": ("log.json", b"\x00\xff{", "application/json")})
    with site.db.session() as session:
        assert len(readings_of(session, job)) == 3


def test_the_field_sheet_is_one_file_that_carries_the_print_of_its_job(site, job):
    assert "Download the sheet of save 1" in site.client.get(f"/jobs/{job}/check-out/field-sheet").text
    answer = site.client.get(f"/jobs/{job}/check-out/field-sheet/file")
    assert answer.status_code == 200
    assert answer.headers["content-disposition"].endswith('field-sheet-1-1.html"')
    assert "<title>Field sheet: Saltmarrow" in answer.text
    # nothing in it is fetched from anywhere
    assert not re.search(r'(src|href)="(https?:)?//', answer.text)
    assert field_sheet.made("job: nothing", lambda _share, _words: None).page == ""


def test_a_call_writes_nothing_until_it_is_asked_to(site, job):
    token = {"x-form-token": site.token()}

    def say(**form):
        answer = site.client.post(f"/jobs/{job}/diagnosis/call", data=form, headers=token)
        assert answer.status_code == 200
        return answer.text

    def carried(text: str) -> list[str]:
        return [unescape(v) for v in re.findall(r'name="taken" value="([^"]*)"', text)]

    text = say(complaint="EF-1 does not run")
    assert "Ask for this next" in text
    assert "EF-1" in text
    asked = unescape(re.search(r'name="asked" value="([^"]*)"', text)[1])
    index = next(i for i, p in enumerate(bench().checkout.probes) if p.key == asked)
    right = table().right[index]
    text = say(taken=carried(text), asked=asked, answer=right if isinstance(right, str) else f"{right:.2f}")
    assert len(carried(text)) == 2
    assert "perhaps' is no " in unescape(say(taken=carried(text), asked=asked, answer="perhaps"))
    # a few words that several readings hold are offered to choose from
    text_many = say(taken=carried(text), probe="X3:17 X3:18", read="24")
    assert "Which of these" in text_many
    assert len(carried(text_many)) == 2
    assert "No reading of this job is about" in say(probe="nothing like it", read="1")
    assert len(carried(say(taken=carried(text), drop="0"))) == 1
    with site.db.session() as session:
        assert readings_of(session, job) == ()
    form = {"taken": carried(text)}
    refused = site.client.post(f"/jobs/{job}/diagnosis/write", data=form, headers=token)
    assert refused.status_code == 400
    assert "say who read it" in refused.text
    done = site.client.post(f"/jobs/{job}/diagnosis/write", data={**form, "told_by": "N. Teal"}, headers=token)
    assert done.headers["hx-redirect"] == f"/jobs/{job}/diagnosis"
    with site.db.session() as session:
        written = readings_of(session, job)
    assert [(e.probe, e.by) for e in written] == [("complaint", "N. Teal, by phone"), (asked, "N. Teal, by phone")]
    page = site.client.get(f"/jobs/{job}/diagnosis").text
    assert "<strong>EF-1 does not run</strong>" in page
    site.client.post(f"/jobs/{job}/diagnosis/take-back", data={"entry": written[0].id}, headers=token)
    assert "<strong>EF-1 does not run</strong>" not in site.client.get(f"/jobs/{job}/diagnosis").text


def test_what_fits_nothing_is_said_to_fit_nothing(site, job):
    """Three readings at one pair of terminals, each far off and each otherwise, are explained by no mistake."""
    person = Person(site, job)
    dc = [p["key"] for p in person.plan["probes"] if p["stage"] == "control power"]
    person.send(*(person.entry(k, read) for k, read in zip(dc, ("-9.1", "17.3", "13.7", "7.9"), strict=True)))
    assert "Nothing in this tool's world fits these readings" in " ".join(
        site.client.get(f"/jobs/{job}/check-out/causes").text.split()
    )


def test_stored_words_are_shown_inert(site, job):
    person = Person(site, job, "<b>R</b>")
    nasty = "<script>alert(1)</script>"
    person.send(person.entry(person.plan["probes"][1]["key"], "0.4"), person.entry("note", nasty))
    for path in ("diagnosis", "check-out", "check-out/causes", "check-out/take-in"):
        text = site.client.get(f"/jobs/{job}/{path}").text
        assert nasty not in text
        assert "<b>R</b>" not in text
    assert site.client.get(f"/jobs/{job}/check-out/record").status_code == 200


def test_a_desk_in_a_process_of_its_own_answers_as_one_here_does_and_is_begun_again_when_it_dies():
    made = book_of_cafe()
    there, here = Desk(), Desk(processes=False)
    probes = bench().checkout.probes
    index = next(i for i, p in enumerate(probes) if p.key == plan().readings[1].probe.key)
    questions = [Question((Observation(((index, read),)),)) for read in (0.4, float("inf"))]
    both = Question(questions[0].taken + questions[1].taken)
    try:
        for question in (*questions, both, questions[0]):
            assert there.ask("cafe", TEXT, made, question) == here.ask("cafe", TEXT, made, question)
        there._there.kill()
        there._there.join(5)
        assert there.ask("cafe", TEXT, made, both) == here.ask("cafe", TEXT, made, both)
    finally:
        there.close()


def test_a_search_taken_further_or_back_stands_where_a_new_one_would():
    """Whatever was asked before: readings added one by one, taken back, and others added."""
    made, draw = book_of_cafe(), random.Random(3)
    kept = Desk(processes=False)
    wrong = caught(next(s for s in table().slips if len(table().shows[s]) > 20))
    taken: list[Observation] = []
    for _ in range(25):
        if taken and draw.random() < 0.3:
            del taken[draw.randrange(len(taken)) :]
        i = draw.choice([*wrong, draw.randrange(len(table().right))])
        taken.append(Observation(((i, wrong.get(i, table().right[i])),)))
        question = Question(tuple(taken))
        new = Desk(processes=False)
        assert kept.ask("cafe", TEXT, made, question) == new.ask("cafe", TEXT, made, question)
