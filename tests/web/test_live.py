"""The live drawing answers with what the core computes, and nothing else."""

from __future__ import annotations

import re
import time
from concurrent.futures import ThreadPoolExecutor

import pytest
from tests.web.support import EXAMPLES, make_site

from galleyproof.circuit.elements import EARTH
from galleyproof.circuit.meter import LOW_IMPEDANCE_OHM, volts
from galleyproof.circuit.world import build_machine
from galleyproof.design.build import build_design
from galleyproof.job.read import read_job
from galleyproof.library.reader import load_library
from galleyproof.proof.slips import all_slips, apply
from galleyproof.store.jobs import save_job
from galleyproof.store.people import LOCAL
from galleyproof.web.ready import Lives
from galleyproof.web.work import Answer

TEXT = (EXAMPLES / "ferry-cafe.yaml").read_text()
ON = {f"supply LP-1/{n}": "present" for n in (1, 3, 5, 7, 9, 11)}
COOKING = [ON, {"reset": True}, {"reset": False}, {"switch SW-1": "on", "switch SW-2": "on"}, {"heat H-1": "on"}]
SITUATIONS = {
    "": COOKING,
    "switches=off&heat=off": COOKING[:3],
    "fire=Z1": [*COOKING, {"fire Z1": "released"}],
    "fire=Z1&then=re-armed": [*COOKING, {"fire Z1": "released"}, {"fire Z1": "armed"}],
    "power=lost+LP-1%2F1": [*COOKING, {"supply LP-1/1": "lost"}],
    "fault=sensor+TS-1+open&heat=off": [*COOKING[:4], {"sensor TS-1": "open"}],
}


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    made = make_site(tmp_path_factory.mktemp("live"))
    assert made.add("ferry-cafe") == 1
    return made


@pytest.fixture(scope="module")
def cafe():
    job = read_job(TEXT, "cafe")
    design = build_design(job)
    return job, design, build_machine(job, design, load_library())


def pairs(c, partner):
    """Both ends of a conductor, each with the same end of the conductor beside it."""
    return [(c.a, partner.a), (c.b, partner.b)]


def reached(machine, events):
    state = machine.dark()
    for event in events:
        state = machine.apply(state, event)
    return state


def asked(site, query):
    answer = site.client.get(f"/jobs/1/live?{query}")
    assert answer.status_code == 200, answer.text
    return answer.json()


def label(machine, state, terminal, back):
    """What a label says, from the machine's own volts: AC and DC against the return, in words."""
    nodes = machine.network.terminals
    ac, dc = machine.volts(state, nodes[terminal])
    ac0, dc0 = machine.volts(state, EARTH if back is None else nodes[back])
    parts = [(abs(ac - ac0), "AC"), (dc - dc0, "DC")]
    shown = [f"{v:.0f} V {f}" if abs(v) >= 50 else f"{v:.1f} V {f}" for v, f in parts if abs(v) >= 0.2]
    return ", ".join(shown)


def returns(design):
    """Neutral or common of the same cable, at the device where a conductor begins; else earth."""
    found = {}
    for c in design.conductors:
        back = None
        if c.cable and c.role not in ("neutral", "common", "equipment ground"):
            for o in design.conductors:
                if o.cable == c.cable and o.role in ("neutral", "common"):
                    near = [e for e in (o.a, o.b) if e.device == c.a.device]
                    far = [e for e in (o.a, o.b) if e.device == c.b.device]
                    back = (near or far or [o.a])[0]
                    break
        found[c.key] = back
    return found


@pytest.mark.parametrize("query", SITUATIONS)
def test_each_conductor_shows_the_volts_of_the_machine(site, cafe, query):
    _, design, machine = cafe
    state = reached(machine, SITUATIONS[query])
    told = asked(site, query)
    last = told["moments"][-1]
    back, live = returns(design), 0
    for c, at, kind in zip(design.conductors, last["at"], last["kinds"], strict=True):
        said = told["labels"][at]
        a, b = (label(machine, state, end, back[c.key]) for end in (c.a, c.b))
        if kind == "x":
            assert said == "open", c.key
        elif " | " in said:
            shown = [p if p != "open" else None for p in said.split(" | ")]
            for one, right in zip(shown, (a, b), strict=True):
                assert one is None or one == (right or "0 V"), c.key
        else:
            assert said in (a, b), c.key
            assert (kind == "n") == (said == ""), c.key
        live += kind in "lw"
    assert live >= 8


def test_moments_are_the_states_settled_on_the_way(site, cafe):
    """The make-up unit's own delay is a moment of its own: at once, then 30 s later (the job's start delay)."""
    _, _, machine = cafe
    history = []
    state = reached(machine, COOKING[:3])
    machine.apply(state, COOKING[3], history=history)
    moments = asked(site, "heat=off")["moments"]
    assert [m["words"] for m in moments[-len(history) :]] == [
        "Switches: SW-1 on, SW-2 on",
        f"{history[-1].time_s:g} s after: Switches: SW-1 on, SW-2 on",
    ]
    assert history[-1].time_s == 30.0
    assert [machine.get(s, "MAU-1.speed") for s in history] == [0.0, 1.0]
    assert "MAU-1: stands → 100%" in moments[-1]["changes"]
    assert moments[0]["words"] == "Everything dark"
    assert set(moments[0]["kinds"]) <= {"n", "x"}


def test_a_slip_is_simulated_and_what_it_changes_is_marked(site, cafe):
    job, design, machine = cafe
    slip = next(s for s in all_slips(design, load_library()) if s.key == "left-off/FS-1/shutdown2/1/R")
    wrong = build_machine(job, apply(design, slip), load_library())
    state, right = reached(wrong, SITUATIONS["fire=Z1"]), reached(machine, SITUATIONS["fire=Z1"])
    told = asked(site, "fire=Z1&slip=left-off/FS-1/shutdown2/1/R")
    last = told["wrong"]["moments"][-1]
    assert [design.conductors[i].key for i in told["wrong"]["slipped"]] == ["FS-1/shutdown2/1/R"]
    differs = {c.key for c, d in zip(design.conductors, last["differs"], strict=True) if d == "1"}
    assert "FS-1/shutdown2/1/R" in differs
    for c in design.conductors:
        ends = [
            (m.volts(s, m.network.terminals[t])[0]) for m, s in ((wrong, state), (machine, right)) for t in (c.a, c.b)
        ]
        if abs(ends[0] - ends[2]) > 60 and abs(ends[1] - ends[3]) > 60:
            assert c.key in differs, c.key
    # the griddle stays on in fire: that is what this slip is about
    does = {t: told["labels"][i] for t, i in zip(index(site)["watched"], last["does"], strict=True)}
    assert (does["A-1"], wrong.get(state, "A-1.on"), machine.get(right, "A-1.on")) == ("on", True, False)


def index(site):
    return site.client.get("/jobs/1/live/index").json()


def test_the_index_finds_every_conductor_on_a_sheet(site, cafe):
    _, design, _ = cafe
    told = index(site)
    assert [w["number"] for w in told["wires"]] == [c.number for c in design.conductors]
    drawn = {i for s in told["sheets"] for i in s["wires"]}
    assert drawn == set(range(len(design.conductors)))
    assert {s["number"] for s in told["sheets"]} > {k[4] for s in told["sheets"] for k in s["links"]} - {"1.1"}


def test_a_wire_tells_size_reason_landings_and_what_to_read(site, cafe):
    _, design, machine = cafe
    c = next(c for c in design.conductors if c.key == "GV-1/coil/1")
    page = site.client.get(f"/jobs/1/live/wire/{c.number}").text
    for words in (f"Conductor {c.number}", "coil of GV-1", str(c.a), str(c.b), "14 AWG THWN-2 copper", "Why this size"):
        assert words in page, words
    state = reached(machine, COOKING)
    partner = next(o for o in design.conductors if o.key == "GV-1/coil/2")
    # the exact way, a network with the meter in it, is the measure; both ends are told
    exact = [volts(machine, state, red, black, "ac", LOW_IMPEDANCE_OHM).value for red, black in pairs(c, partner)]
    told = [float(v) for v in re.findall(r"<strong>([\d.]+) V AC; 108 to 132 V AC", page)]
    assert told == pytest.approx(exact, abs=0.15)
    assert all(118.0 < v < 121.0 for v in exact)
    assert "<strong>0 V</strong>" in site.client.get(f"/jobs/1/live/wire/{c.number}?fire=Z1").text


def test_a_wire_tells_what_its_readings_become_with_a_slip(site, cafe):
    _, design, _ = cafe
    number = next(c.number for c in design.conductors if c.key == "GV-1/coil/1")
    page = site.client.get(f"/jobs/1/live/wire/{number}?slip=left-off/GV-1/coil/1").text
    assert "with the slip: 0.0 V AC, outside" in page
    assert "120 V AC at one end, 0 V at the other" in page


def test_mistakes_are_grouped_by_what_people_do(site, cafe):
    _, design, _ = cafe
    number = next(c.number for c in design.conductors if c.key == "FS-1/shutdown2/1/R")
    page = site.client.get(f"/jobs/1/live/what-if/{number}").text
    assert "What if it is done wrong?" in page
    for family in ("Left off or badly landed", "Landed next door", "Bridged or touching"):
        assert family in page


def test_a_slip_tells_the_situations_in_which_it_shows(site):
    page = site.client.get("/jobs/1/live/slip?slip=left-off/FS-1/shutdown2/1/R").text
    assert "every device does what it should" in page
    assert "A-1: on instead of off" in page
    assert 'data-asked="fire=Z1"' in page
    # the verdict of the study stands here once the study was made
    assert "nothing shows until then" not in page
    site.client.get("/jobs/1/slips")
    assert "A-1 stays on in fire; nothing shows until then" in site.client.get(
        "/jobs/1/live/slip?slip=left-off/FS-1/shutdown2/1/R"
    ).text.replace("&#39;", "'")


def test_a_device_tells_what_feeds_switches_and_stops_it(site):
    page = site.client.get("/jobs/1/live/device?tag=GV-1&fire=Z1").text
    for words in ("gas valve", "gas room", "<strong>shut</strong>", "Fed from", "LP-1/9", "Z1 released"):
        assert words in page, words
    assert "<strong>open</strong>" in site.client.get("/jobs/1/live/device?tag=GV-1").text


def test_what_is_not_there_is_said_in_words(site):
    for path in (
        "/jobs/1/live/wire/9999",
        "/jobs/1/live/what-if/9999",
        "/jobs/1/live/device?tag=EF-99",
        "/jobs/1/live?slip=left-off/nothing",
        "/jobs/1/live/slip?slip=",
        "/jobs/1/sheets/99.9",
        "/jobs/1/drawings?sheet=99.9",
        "/jobs/1/live?save=77",
        "/jobs/7/drawings",
    ):
        answer = site.client.get(path)
        assert answer.status_code == 404, path
        assert "<h1>Not here</h1>" in answer.text, path
    answer = site.client.get("/jobs/1/live?fire=Z9")
    assert answer.status_code == 400
    assert "choose again" in answer.text


def test_the_label_of_a_wire_leads_to_it(site):
    page = site.client.get("/jobs/1/w/135").text
    assert 'data-wire="135"' in page
    assert "<svg" in page
    # a number that is no more still opens the drawings; the panel says that there is none
    assert site.client.get("/jobs/1/w/99999").status_code == 200


def test_words_of_the_job_are_inert_on_the_sheet_and_beside_it(tmp_path):
    site = make_site(tmp_path)
    site.add("ferry-cafe")
    evil = TEXT.replace("name: Saltmarrow Ferry Café", "name: '<script>alert(1)</script>'", 1)
    assert evil != TEXT
    with site.db.session() as session:
        save_job(session, LOCAL, 1, evil, 1, "<script>alert(1)</script>", "S", "A", "renamed")
    for path in ("/jobs/1/drawings", "/jobs/1/sequence"):
        page = site.client.get(path).text
        assert "<script>alert" not in page
        assert "&lt;script&gt;alert" in page


def test_a_text_with_mistakes_shows_them_and_draws_nothing(tmp_path):
    site = make_site(tmp_path)
    site.add("ferry-cafe")
    with site.db.session() as session:
        save_job(session, LOCAL, 1, TEXT.replace("circuit: LP-1/3", "circuit: LP-1/99"), 1, "cafe", "S", "A", "typed")
    for path, words in (("drawings", "Nothing can be drawn yet"), ("sequence", "mistake"), ("slips", "mistake")):
        page = site.client.get(f"/jobs/1/{path}").text
        assert words in page
        assert "LP-1/99" in site.client.get("/jobs/1/drawings").text
    assert site.client.get("/jobs/1/live").status_code == 422


def test_what_a_page_asks_for_is_of_the_save_it_shows(tmp_path):
    """A page of save 1 goes on asking about save 1 while save 2 stands."""
    site = make_site(tmp_path)
    site.add("ferry-cafe")
    page = site.client.get("/jobs/1/drawings").text
    assert 'data-save="1"' in page
    with site.db.session() as session:
        changed = TEXT.replace("length: 60 ft", "length: 600 ft")
        assert changed != TEXT
        save_job(session, LOCAL, 1, changed, 1, "cafe", "S", "A", "longer")
    first, second = (site.client.get(f"/jobs/1/live?save={n}").json() for n in (1, 2))
    assert first != second
    assert site.client.get("/jobs/1/live").json() == second


def test_few_jobs_are_kept_ready_and_each_is_made_once(monkeypatch):
    """Four people open one job at once, then others open others: one is made for each text, the oldest is dropped."""
    made = []

    class Counted:
        def __init__(self, text):
            made.append(text)
            time.sleep(0.05)

    monkeypatch.setattr("galleyproof.web.live.Live", Counted)
    lives = Lives(keep=2)
    with ThreadPoolExecutor(4) as pool:
        same = set(pool.map(lives.of, ["one"] * 4))
    assert len(same) == 1
    assert made == ["one"]
    for text in ("two", "one", "three", "one", "two"):
        lives.of(text)
    assert made == ["one", "two", "three", "two"]


@pytest.mark.parametrize("path", ["drawings", "drawings?sheet=4.1", "w/135", "sequence", "slips", "slips/changes"])
def test_a_page_whose_results_are_not_there_yet_says_so(tmp_path, path):
    """While a process computes, the page is there, says how far it is, and asks again by itself."""

    class Busy:
        def wait(self, kind, text, seconds, *, owner=None):
            return Answer("running", share=0.25, words="halfway to half")

        def known(self, kind, texts):
            return None

        def close(self):
            pass

    site = make_site(tmp_path)
    site.add("ferry-cafe")
    site.client.app.state.office.work = Busy()
    answer = site.client.get(f"/jobs/1/{path}")
    assert answer.status_code == 200
    assert "Save 1 is being computed: halfway to half" in answer.text
    assert 'hx-get="/jobs/1/progress/' in answer.text
