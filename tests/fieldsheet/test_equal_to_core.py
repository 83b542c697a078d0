"""The page's own arithmetic against the core's, in the browser: tables, beliefs, the next probe, words, the log."""

from __future__ import annotations

import json
import math
import random
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Page
from tests.browser import watch
from tests.checkout.planted import Planted
from tests.checkout.support import bench, plan, slips, table
from tests.fieldsheet.support import put_page

from galleyproof.checkout.beliefs import Observation
from galleyproof.checkout.codes import join
from galleyproof.checkout.complaints import complaint
from galleyproof.checkout.diagnosis import HAZARD_MINUTES, Diagnosis
from galleyproof.checkout.doubts import doubt
from galleyproof.checkout.log import Entry, in_order, merge, read_log, write_log
from galleyproof.checkout.standing import chapters, conflicts, observations, progress, standing, usable
from galleyproof.checkout.words import ReadingError, answers, said, understood

SESSIONS = 500
CLOSE = 1e-6
"""Relative; both sides do the same sums in another order, in 64 bits. [-]"""


@pytest.fixture
def sheet(page: Page, tmp_path: Path, overheard: list[str]) -> Page:
    watch(page, overheard)
    page.goto(put_page(tmp_path))
    page.wait_for_function("window.fieldsheet !== undefined")
    return page


def sessions(count: int) -> list[list[tuple[tuple[tuple[int, Any], ...], str]]]:
    """Readings of planted slips, of two at once, of nothing wrong; with a meter's error, misread values, complaints."""
    planted = Planted(table(), slips(), 20261126)
    chance = random.Random(77)
    probes = bench().checkout.probes
    planned = [planted.place[line.probe.key] for line in plan().readings]
    noticed = (
        "EF-1 does not run",
        "MAU-1 does not stop",
        "TS-1 reads 70",
        "TS-1 reads -40",
        "LP-1/7 trips",
        "alarm without a fire",
    )
    made = []
    for slip in planted.drawn(count):
        other = chance.choice([-1, -1, *planted.drawn(1)])
        true = [] if chance.random() < 0.1 else [s for s in (slip, other) if s >= 0]
        own: list[tuple[tuple[tuple[int, Any], ...], str]] = []
        for _ in range(chance.randint(1, 20)):
            pool = [*planned, *(i for s in true for i in table().shows[table().slips[s]] * 3)]
            probe = chance.choice(pool) if chance.random() < 0.8 else chance.randrange(len(probes))
            reading = table().right[probe]
            for s in true:
                reading = table().changed[s].get(probe, reading)
            own.append((((probe, planted.taken(probe, reading)),), ""))
        if chance.random() < 0.2:
            seen = complaint(bench().checkout, chance.choice(noticed))
            own.insert(0, (seen.either, seen.text))
        made.append(own)
    return made


def test_beliefs_and_the_next_probe_of_five_hundred_sessions(sheet: Page) -> None:
    """Every weight, every group shown and its chance, what is said of fit and certainty, and the next probe."""
    made = sessions(SESSIONS)
    told = sheet.evaluate(
        """(sessions) => JSON.stringify(sessions.map((session) => {
          const beliefs = new fieldsheet.Beliefs(fieldsheet.sheet);
          for (const [either, text] of session) beliefs.observe(either, text);
          const next = new fieldsheet.Search(fieldsheet.sheet).next(beliefs);
          return {
            singles: [...beliefs.singles()], nothing: beliefs.nothing(), fits: beliefs.fits, sure: beliefs.sure,
            second: beliefs.second, suspects: beliefs.suspects(1000), next: next,
          };
        }))""",
        [[[[list(one) for one in either], text] for either, text in session] for session in made],
    )
    theirs = json.loads(told)
    at = {p.key: i for i, p in enumerate(bench().checkout.probes)}
    keys, most = table().slips, len(slips()) + 2
    searched = sure = same = alone = 0
    for session, page in zip(made, theirs, strict=True):
        search = Diagnosis(table(), slips())
        for either, text in session:
            search.observe(Observation(either, text))
        mine = search._beliefs
        np.testing.assert_allclose(page["singles"], mine.singles(), rtol=CLOSE)
        assert page["nothing"] == pytest.approx(mine.nothing(), rel=CLOSE)
        assert (page["fits"], page["sure"]) == (search.fits, search.sure)
        singles = mine.singles()
        if np.sum(singles >= singles.max() * (1.0 - 1e-9)) == 1:  # of equals either may be the first
            alone += 1
            assert page["second"] == pytest.approx(search.second, rel=CLOSE)
        suspects = search.suspects(most)
        np.testing.assert_allclose([s["chance"] for s in page["suspects"]], [s.chance for s in suspects], rtol=CLOSE)
        shown = {frozenset(keys[s] for s in (*x["slips"], *x["others"])): x for x in page["suspects"]}
        assert len(shown) == len(suspects) == len(page["suspects"])
        for x in suspects:
            own = shown[frozenset((*x.slips, *x.others))]
            assert own["chance"] == pytest.approx(x.chance, rel=CLOSE)
            assert (bool(own["slips"]), own["unexplained"]) == (bool(x.slips), x.unexplained)
        advice = search.next_probe()
        assert (page["next"] is None) == (advice is None)
        if advice is not None:
            searched += 1
            probe, bits, minutes = (page["next"][k] for k in ("probe", "bits", "minutes"))
            hazard = bench().checkout.probes[probe].hazard
            score = bits / (minutes + HAZARD_MINUTES * hazard)
            best = advice.bits / (advice.minutes + HAZARD_MINUTES * advice.probe.hazard)
            assert score == pytest.approx(best, rel=CLOSE)
            same += at[advice.probe.key] == probe
        sure += search.sure
    assert searched > 300
    assert same > 0.9 * searched  # the rest tell as much for the same effort
    assert alone > 100
    assert sure > 30


def test_the_tables_arrive_to_the_last_bit(sheet: Page) -> None:
    found = sheet.evaluate(
        """() => { const t = fieldsheet.sheet.tables;
          return [t.right, t.low, t.high, t.others.map((own) => own.map((o) => [o.value, o.slips]))]; }"""
    )
    right, low, high, others = found
    assert right == list(table().right)
    assert [low, high] == [[e.low for e in table().expected], [e.high for e in table().expected]]
    changed: list[dict[int, Any]] = [{} for _ in slips()]
    for probe, own in enumerate(others):
        for value, members in own:
            for s in members:
                assert probe not in changed[s]
                changed[s][probe] = value
    assert changed == [dict(c) for c in table().changed]
    assert sheet.evaluate("fieldsheet.sheet.slips.prior") == [s.prior for s in slips()]


TYPED = (
    "24.1", "24.1 V", "24,100 mV", "5.2 kΩ", "5.2kohm", "OL", "ol", "Open", "inf", "-3", "-3 V", "+2.5", ".5", "1.",
    "1,2,3", "", "-", "yes", "Y", "no", "N", "on", "off", "stands", "turns", "turns s", "turns at", "short",
    "nothing", "12 Hz", "3 kHz", "70 °F", "70 degF", "1e3", "5 V AC", "  7   mV ", "4.7 MΩ", "five", "0", "120 VAC",
    "constructor", "__proto__", "24 v", "120vac", "24 Vdc", "10.2K", "10 kOhms", "1.2 Meg", "5 mohm", "5 MV", "12-",
    "about 24 V", "~ 24", "ca. 5 V", "23-25", "23 to 25 V", "4 – 6 mA", "> 20 MΩ", ">1", "< 0.5", "24 °C", "21.5 C",
    "dead", "no volts", "beeps", "overload", "no continuity", "blank", "hand", "backwards", "full", "slow", "lit",
    "dark", "offline", "tripped", "closed", "2-3-4", "zero", "0,3", "1,234.5", "12,34", "1.5M",
    "OVLD", "OL MΩ", "open (OL)", "ghost 45 V", "hums", "half speed", "undervoltage", "dim", "middle",
)  # fmt: skip


def one_of_each() -> list[int]:
    """A probe of each kind and of each set of answers."""
    found = {(p.kind, answers(p), p.slot.endswith(">reads")): i for i, p in enumerate(bench().checkout.probes)}
    return list(found.values())


def test_typed_readings_are_understood_alike_and_said_alike(sheet: Page) -> None:
    theirs = sheet.evaluate(
        """([probes, texts]) => probes.map((probe) => texts.map((text) => {
          try { return { value: fieldsheet.understood(fieldsheet.sheet, probe, text) }; }
          catch (error) { return { error: error.message }; }
        }))""",
        [one_of_each(), list(TYPED)],
    )
    understood_ones = 0
    for probe, row in zip(one_of_each(), theirs, strict=True):
        made = bench().checkout.probes[probe]
        for text, page in zip(TYPED, row, strict=True):
            try:
                mine: dict[str, Any] = {"value": understood(made, text)}
            except ReadingError as error:
                mine = {"error": str(error)}
            if "error" in page:
                page = {"error": page["error"].replace(f"“{text}”", repr(text))}
            assert page == mine, (made.key, text)
            understood_ones += "value" in mine
    assert understood_ones > 60
    numbers = [0.0, 0.04, 3.14159, 24.0, 999.96, 1000.0, 123456.0, math.inf]
    kinds = ["ohms", "volts AC", "volts DC", "amps AC", "hertz", "display"]
    finite = [n for n in numbers if math.isfinite(n)]
    theirs = sheet.evaluate("([kinds, ns]) => kinds.map((k) => ns.map((n) => fieldsheet.said(k, n)))", [kinds, finite])
    assert theirs == [[said(k, n) for n in finite] for k in kinds]
    assert sheet.evaluate("fieldsheet.said('ohms', Infinity)") == said("ohms", math.inf)


def test_doubts_are_the_cores(sheet: Page) -> None:
    volts = [i for i, p in enumerate(bench().checkout.probes) if p.kind.startswith(("volts", "ohms", "amps"))]
    asked = [(i, v) for i in (*one_of_each(), *volts) for v in (0.0, 1.0, 5.1, 12.0, 62.0, 99.0, 150.0, 5100.0, -24.0)]
    ohms = next(i for i in volts if isinstance(v := table().right[i], float) and 0.0 < v < 1e4)
    theirs = sheet.evaluate("(asked) => asked.map(([p, v]) => fieldsheet.doubt(fieldsheet.sheet, p, v))", asked)
    mine = [doubt(bench().checkout.probes[i], table().expected[i], v) for i, v in asked]
    assert theirs == mine
    assert len(set(mine)) >= 6
    assert sheet.evaluate("(p) => fieldsheet.doubt(fieldsheet.sheet, p, Infinity)", ohms) == doubt(
        bench().checkout.probes[ohms], table().expected[ohms], math.inf
    )


def logs(count: int) -> list[list[Entry]]:
    """Logs of two tablets with corrections, repairs, conflicts, moved clocks, and things that cannot be understood."""
    chance = random.Random(5)
    keys = [line.probe.key for line in plan().readings[:7]]
    keys += [line.probe.key for line in plan().readings if line.probe.kind == "volts AC"][:2]
    right = {p.key: table().right[i] for i, p in enumerate(bench().checkout.probes)}
    found = []
    for _ in range(count):
        own: list[Entry] = []
        for n in range(chance.randint(0, 25)):
            earlier = chance.choice(own) if own and chance.random() < 0.25 else None
            probe = (
                earlier.probe if earlier else chance.choice([*keys, *keys, "repair", "note", "complaint", "dead: gone"])
            )
            value = right.get(probe, "EF-1 does not run")
            usual = value if isinstance(value, str) else "OL" if math.isinf(value) else f"{value!r}"
            read = chance.choice([usual, usual, "3.3", "OL", "62", "0.4", "yes", "blue"])
            if earlier and chance.random() < 0.3:
                read = ""
            meter = {"name": "m", "low_impedance": chance.random() < 0.5} if chance.random() < 0.8 else None
            own.append(
                Entry.model_validate(
                    {
                        "id": f"{chance.getrandbits(128):032x}",
                        "job": "a" * 64,
                        "job_name": "ferry café",
                        "probe": probe,
                        "read": read,
                        "taken_at": f"2026-11-25T14:{chance.randint(0, 59):02d}:00+0{chance.randint(0, 3)}:00",
                        "sequence": n if chance.random() < 0.9 else chance.randint(0, 30),
                        "device": chance.choice("ab") * 32,
                        "by": "R. Quayle",
                        "meter": meter,
                        "replaces": earlier.id if earlier else None,
                    }
                )
            )
        twins = [(a, b) for a in own for b in own if a.id < b.id and a.probe == b.probe]
        if twins and chance.random() < 0.4:  # two that replace each other
            a, b = chance.choice(twins)
            own[own.index(a)] = a.model_copy(update={"replaces": b.id})
            own[own.index(b)] = b.model_copy(update={"replaces": a.id})
        found.append(own)
    return found


def test_the_log_says_the_same_here_and_there(sheet: Page) -> None:
    """Order, what stands, what disagrees, what the diagnosis takes, and progress, of two hundred random logs."""
    made = logs(200)
    theirs = sheet.evaluate(
        """(logs) => logs.map((log) => {
          const { sheet } = fieldsheet;
          const told = fieldsheet.digest(sheet, log);
          return {
            order: told.ordered.map((e) => e.id), stands: told.standing.map((e) => e.id),
            conflicts: told.conflicts.map((c) => [sheet.probes.key[c.probe], c.readings.map((r) => r.entry.id)]),
            problems: told.problems.length, progress: fieldsheet.progressOf(sheet, told),
            taken: fieldsheet.observationsOf(told).map((r) => [r.either, r.text]),
          };
        })""",
        [[e.model_dump(mode="json", exclude_none=True) for e in log] for log in made],
    )
    torn = beyond = 0
    checkout = bench().checkout
    for log, page in zip(made, theirs, strict=True):
        assert page["order"] == [e.id for e in in_order(log)]
        stands = {e.id for own in standing(log).values() for e in own}
        assert set(page["stands"]) == stands
        found = conflicts(log, checkout)
        assert page["conflicts"] == [[c.probe.key, [e.id for e in c.entries]] for c in found]
        usable_ones, problems = usable(log, checkout)
        assert page["problems"] == len(problems)
        chapter, last = chapters(log), len(standing(log).get("repair", ()))
        taken = [o for e, o in usable_ones if chapter[e.id] == last]
        if not problems:
            assert observations(log, checkout) == tuple(taken)
        assert page["taken"] == [[[list(one) for one in o.either], o.text] for o in taken]
        mine = progress(log, checkout, plan())
        assert page["progress"] == [
            {"stage": s.stage.value, "planned": s.planned, "within": s.within, "beyond": s.beyond} for s in mine
        ]
        torn += len(found)
        beyond += sum(s.beyond for s in mine)
    assert torn > 50
    assert beyond > 50


def test_the_pages_file_and_codes_are_read_by_the_core(sheet: Page) -> None:
    made = [log for log in logs(30) if log]
    data = [[e.model_dump(mode="json", exclude_none=True) for e in log] for log in made]
    files = sheet.evaluate("(logs) => logs.map((log) => fieldsheet.writeLog(log))", data)
    runs = sheet.evaluate("(texts) => Promise.all(texts.map((t) => fieldsheet.splitToCodes(t, 200)))", files)
    for log, text, parts in zip(made, files, runs, strict=True):
        assert read_log(text) == in_order(log)
        assert len(parts) > 1 or len(log) == 1
        assert all(len(p) <= 200 for p in parts)
        assert join(reversed(parts)) == text
        # and plain, as from a browser that cannot deflate
    plain = sheet.evaluate(
        "(text) => { window.CompressionStream = undefined; return fieldsheet.splitToCodes(text, 200); }", files[0]
    )
    assert ":P:" in plain[0]
    assert join(plain) == files[0]


def test_the_page_takes_what_the_core_wrote(sheet: Page) -> None:
    issue = sheet.evaluate("fieldsheet.sheet.job.print")
    log = [e.model_copy(update={"job": issue}) for e in logs(3)[2]]
    text = write_log(log)
    taken = sheet.evaluate("(t) => fieldsheet.writeLog(fieldsheet.readLog(fieldsheet.sheet, t))", text)
    assert read_log(taken) == in_order(log) == merge(log, read_log(taken))
