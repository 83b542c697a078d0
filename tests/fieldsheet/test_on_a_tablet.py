"""The field sheet as it is used: opened from a disk, the network off, filled in, closed, opened again, handed on."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import zxingcpp
from playwright.sync_api import BrowserContext, Page, expect
from tests.checkout.support import bench, plan, slips, table
from tests.design.support import EXAMPLES
from tests.fieldsheet.support import JOB_TEXT, PHONE, TABLET, as_typed, go_on, grey, opened, put_page, take

from galleyproof.checkout.codes import join
from galleyproof.checkout.log import Entry, fingerprint, merge, read_log, write_log
from galleyproof.checkout.standing import conflicts, observations, progress, standing
from galleyproof.cli.main import main
from galleyproof.design.model import TerminalId
from galleyproof.fieldsheet import read_back


def exported(page: Page) -> str:
    page.get_by_role("button", name="Readings").first.click()
    with page.expect_download() as given:
        page.get_by_role("button", name="Export to a file").click()
    return Path(given.value.path()).read_text(encoding="utf-8")


def right(probe: int) -> str:
    return as_typed(probe, table().right[probe])


def fill_in(page: Page, count: int) -> list[int]:
    """Planned readings as they should be, one after the other; their probes."""
    done = []
    for _ in range(count):
        probe = go_on(page)
        take(page, right(probe))
        done.append(probe)
    return done


def test_two_tablets_in_a_basement(profile, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Filled in without a network, closed, opened again, exported; merged by the office with another tablet's log."""
    address = put_page(tmp_path)
    tablet = profile("A", offline=True, **TABLET)
    page = opened(tablet, address)
    expect(page.get_by_text("Lock out, tag out and test dead").first).to_be_visible()  # the caution comes first
    done = fill_in(page, 4)
    planned = [plan().readings[n].probe.key for n in range(4)]
    assert [bench().checkout.probes[i].key for i in done] == planned
    tablet.close()

    tablet = profile("A", offline=True, **TABLET)
    page = opened(tablet, address)
    expect(page.get_by_role("button", name="Check-out")).to_contain_text("4/51")
    # what is out of tolerance goes to the search by itself
    fifth = go_on(page)
    assert table().right[fifth] == pytest.approx(288.9, abs=0.1)
    take(page, "2,890")
    expect(page.get_by_role("heading", name="What explains it")).to_be_visible()
    expect(page.get_by_text("Not as expected.", exact=False).first).to_be_visible()
    mine = exported(page)
    log = read_back(mine)
    assert {e.job for e in log} == {fingerprint(JOB_TEXT)}
    assert [e.read for e in log if e.probe in planned] == [
        right(i) if right(i) == "OL" else f"{right(i)} Ω" for i in done
    ]
    assert all(e.meter == log[-1].meter and e.by == "R. Quayle" for e in log if e.probe in planned)

    other = profile("B", offline=True, **TABLET)
    theirs_page = opened(other, address, "T. Moss", "meter 9")
    fill_in(theirs_page, 4)
    fifth = go_on(theirs_page)
    take(theirs_page, "288.9")
    theirs = exported(theirs_page)

    # the office
    both = merge(read_log(mine), read_log(theirs))
    assert len(both) == len(read_log(mine)) + len(read_log(theirs))
    torn = conflicts(both, bench().checkout)
    assert [(c.probe.key, [e.read for e in c.entries]) for c in torn] == [
        (bench().checkout.probes[fifth].key, ["2,890 Ω", "288.9 Ω"])
    ]
    assert sum(s.read for s in progress(both, bench().checkout, plan())) == 5
    merged = tmp_path / "merged.json"
    merged.write_text(write_log(both), encoding="utf-8")
    status = main(["diagnose", str(EXAMPLES / "ferry-cafe.yaml"), "--readings", str(merged), "--json"])
    told = json.loads(capsys.readouterr().out)
    assert status in (0, 1)
    assert told["readings"] == len(observations(both, bench().checkout)) == 10
    assert [len(c["readings"]) for c in told["conflicts"]] == [2]

    # and the colleague's tablet: taken in, the conflict shown, nothing written over
    given = tmp_path / "from A.json"
    given.write_text(mine, encoding="utf-8")
    theirs_page.get_by_label("Take in a colleague's file").set_input_files(given)
    expect(theirs_page.get_by_role("group", name="Readings that disagree")).to_contain_text("2,890 Ω (R. Quayle")
    assert read_log(exported(theirs_page)) == both
    theirs_page.get_by_label("Take in a colleague's file").set_input_files(given)  # a second time changes nothing
    expect(theirs_page.locator("#said")).to_contain_text("0 entries taken in")
    assert read_log(exported(theirs_page)) == both


def test_a_planted_mistake_is_found_put_right_and_read_again(profile, tmp_path: Path) -> None:
    """The supervised loop's jumper left in: every question of the page answered as that wiring would read."""
    planted = next(n for n, s in enumerate(slips()) if s.kind == "jumper left in")
    changed = table().changed[planted]
    page = opened(profile("A", offline=True, **TABLET), put_page(tmp_path))

    def reads(probe: int) -> str:
        return as_typed(probe, changed.get(probe, table().right[probe]))

    page.get_by_role("button", name="Search").first.click()
    for _ in range(40):
        if page.get_by_role("heading", name="Found").is_visible():
            break
        take(page, reads(go_on(page)))
        page.get_by_role("button", name="Search").first.click()
    expect(page.get_by_role("heading", name="Found")).to_be_visible()
    first = page.locator(".suspects > li").first
    group = next(g for g in table().groups if planted in g)
    sentences = [slips()[s].sentence for s in group]
    shown = first.locator("p").first.inner_text()
    assert shown.lower().rstrip(".") in [s.lower() for s in sentences]
    if len(group) > 1:
        expect(first).to_contain_text(f"No reading tells it from {len(group) - 1} other")
        expect(first).to_contain_text("What they share:")
    expect(first).to_contain_text("Look at")
    for at in slips()[group[0]].terminals if len(group) == 1 else ():
        assert isinstance(at, TerminalId)
        expect(first).to_contain_text(str(at))
    page.get_by_text("Why the first").click()
    expect(page.locator(".why")).to_contain_text("you would read")
    page.get_by_role("button", name="Put right", exact=True).click()
    # a new chapter: what was wrong is asked for again, what was right stays read
    log = read_log(exported(page))
    assert observations(log, bench().checkout) == ()
    told = progress(log, bench().checkout, plan())
    assert sum(s.beyond for s in told) == 0
    page.get_by_role("button", name="Hand over").click()
    page.get_by_label("As", exact=True).fill("start-up technician")
    page.get_by_role("button", name="Sign", exact=True).click()
    expect(page.get_by_text("covers every entry")).to_be_visible()
    signed = [e for e in read_log(exported(page)) if e.probe == "signature"]
    assert signed[0].read.startswith("R. Quayle, start-up technician: ")


def test_a_run_of_codes_is_read_from_the_screen(profile, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    page = opened(profile("A", offline=True, **PHONE), put_page(tmp_path))
    fill_in(page, 3)
    document = exported(page)
    page.get_by_role("button", name="Show as QR codes").click()
    parts = []
    while True:
        expect(page.locator("#code-place")).to_contain_text(f"Code {len(parts) + 1} of")
        found = [code.text for code in zxingcpp.read_barcodes(grey(page.locator(".qr").screenshot()))]
        assert len(found) == 1
        parts += found
        if page.locator("#next-code").is_disabled():
            break
        page.locator("#next-code").click()
    assert len(parts) > 1
    assert join([*reversed(parts), parts[0]]) == document
    typed = tmp_path / "scanned.txt"
    typed.write_text("\n".join(reversed(parts)), encoding="utf-8")
    assert main(["diagnose", str(EXAMPLES / "ferry-cafe.yaml"), "--readings", str(typed), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["readings"] == 3
    typed.write_text("\n".join(parts[1:]), encoding="utf-8")
    assert main(["diagnose", str(EXAMPLES / "ferry-cafe.yaml"), "--readings", str(typed), "--json"]) == 2
    assert f"1 of {len(parts)} are missing: 1; scan them too" in capsys.readouterr().err


def test_a_typing_error_is_corrected_by_a_later_entry(profile, tmp_path: Path) -> None:
    page = opened(profile("A", offline=True, **TABLET), put_page(tmp_path))
    probe = go_on(page)
    take(page, "blue")
    expect(page.get_by_role("alert").filter(has_text="is no reading here; give a number")).to_be_visible()
    take(page, "5.2 k")
    page.get_by_role("button", name="Typed wrong: correct it").click()
    page.get_by_role("textbox", name="What it should have said").fill("OL")
    page.get_by_role("button", name="Take down").first.click()
    log = read_log(exported(page))
    key = bench().checkout.probes[probe].key
    assert [e.read for e in log if e.probe == key] == ["5.2 k", "OL"]
    assert [e.read for e in standing(log)[key]] == ["OL"]
    page.get_by_role("button", name="Take back OL").click()
    log = read_log(exported(page))
    assert len([e for e in log if e.probe == key]) == 3
    assert key not in standing(log)


def test_what_somebody_noticed_counts(profile, tmp_path: Path) -> None:
    page = opened(profile("A", offline=True, **TABLET), put_page(tmp_path))
    page.get_by_role("button", name="Search").first.click()
    page.get_by_text("Somebody noticed something").click()
    page.get_by_label("About").select_option("EF-1")
    page.get_by_label("What is seen").select_option("EF-1 does not run")
    page.get_by_role("button", name="Take down").last.click()
    expect(page.get_by_role("heading", name="What explains it")).to_be_visible()
    page.get_by_text("Somebody noticed something").click()
    page.get_by_label("About").select_option("TS-1")
    page.get_by_label("What is seen").select_option("TS-1 reads 0")
    page.get_by_label("Number shown").fill("70")
    page.get_by_role("button", name="Take down").last.click()
    log = read_log(exported(page))
    assert [e.read for e in log if e.probe == "complaint"] == ["EF-1 does not run", "TS-1 reads 70"]
    told = page.evaluate("fieldsheet.app.beliefs.seen.map((s) => [s.either, s.text])")
    assert told == [[[list(x) for x in o.either], o.text] for o in observations(log, bench().checkout)]


def keep_failing(context: BrowserContext) -> None:
    context.add_init_script(
        """const real = Storage.prototype.setItem;
        Storage.prototype.setItem = function (key, value) {
          if (window.full && key.includes(" entry ")) throw new DOMException("full", "QuotaExceededError");
          return real.call(this, key, value);
        };"""
    )


def test_a_full_tablet_says_so_and_takes_nothing(profile, tmp_path: Path) -> None:
    context = profile("A", offline=True, **TABLET)
    keep_failing(context)
    page = opened(context, put_page(tmp_path))
    fill_in(page, 2)
    before = read_log(exported(page))
    page.get_by_role("button", name="Check-out").click()
    page.evaluate("window.full = true")
    go_on(page)
    page.locator(".probe").get_by_role("button", name="OL", exact=True).click()
    expect(page.locator("#said")).to_contain_text("Not taken: this tablet has no room left")
    assert read_log(exported(page)) == before


def test_a_browser_that_keeps_nothing_is_told_at_once(profile, tmp_path: Path) -> None:
    context = profile("A", offline=True, **TABLET)
    context.add_init_script("Object.defineProperty(window, 'localStorage', { get() { throw new Error('no'); } })")
    page = opened(context, put_page(tmp_path))
    expect(page.get_by_text("Export before you close the page")).to_be_visible()
    fill_in(page, 2)
    assert len([e for e in read_log(exported(page)) if e.meter]) == 2


def test_what_was_kept_and_spoilt_is_told_and_stops_nothing(profile, tmp_path: Path) -> None:
    context = profile("A", offline=True, **TABLET)
    page = opened(context, put_page(tmp_path))
    fill_in(page, 1)
    page.evaluate(
        """() => { const prefix = fieldsheet.app.keep.prefix;
          localStorage.setItem(prefix + "entry 1", "{"); localStorage.setItem(prefix + "entry 2", "[]");
          localStorage.setItem(prefix + "entry 3", '{"id":"x","__proto__":{"read":"1"}}'); }"""
    )
    page.reload()
    expect(page.get_by_text("2 of the entries kept on this tablet cannot be used any more")).to_be_visible()
    fill_in(page, 1)
    assert len([e for e in read_log(exported(page)) if e.meter]) == 2


def test_a_clock_that_is_moved_back_does_no_harm(profile, tmp_path: Path) -> None:
    context = profile("A", offline=True, **TABLET)
    page = context.pages[0]
    page.clock.set_fixed_time("2026-11-25T14:00:00Z")
    opened(context, put_page(tmp_path))
    first = fill_in(page, 2)
    page.clock.set_fixed_time("2026-11-25T09:00:00Z")
    second = fill_in(page, 2)
    log = [e for e in read_log(exported(page)) if e.meter]
    assert [e.probe for e in log] == [bench().checkout.probes[i].key for i in (*first, *second)]
    assert log[2].moment < log[1].moment


def test_two_windows_write_one_log(profile, tmp_path: Path) -> None:
    address = put_page(tmp_path)
    context = profile("A", offline=True, **TABLET)
    one = opened(context, address)
    fill_in(one, 2)
    two = context.new_page()
    two.goto(address)
    fill_in(two, 2)
    expect(one.get_by_role("button", name="Check-out")).to_contain_text("4/51")
    fill_in(one, 1)
    log = read_log(exported(two))
    assert len(log) == len({e.sequence for e in log}) == 7


def test_an_edited_log_is_not_taken_in(profile, tmp_path: Path) -> None:
    page = opened(profile("A", offline=True, **TABLET), put_page(tmp_path))
    fill_in(page, 2)
    document = exported(page)
    entries: list[Entry] = list(read_log(document))
    edited = entries[-1].model_copy(update={"read": "3.3"})
    stranger = entries[-1].model_copy(update={"job": "0" * 64, "id": "0" * 32})
    cases = {
        write_log([*entries[:-1], edited]): "Nothing was taken in: 1 of its entries stand here with other words",
        write_log([stranger]): "was taken on another issue of a job",
        "{": "This is no log of readings: it is not JSON",
        "[]": "This is no log of readings of this version",
        document.replace('"sequence":', '"sequense":'): "has an unknown key “sequense”",
        document.replace("+00:00", ""): "its taken_at is no date and time with its offset",
    }
    for text, message in cases.items():
        given = tmp_path / "given.json"
        given.write_text(text, encoding="utf-8")
        page.get_by_label("Take in a colleague's file").set_input_files(given)
        expect(page.locator("#said")).to_contain_text(message)
        assert exported(page) == document
