"""The live drawing of the hospital in a browser: from the choice of a situation to the repainted sheet.

Situations that were fetched ahead and such that nobody could have guessed are measured apart; so are single steps.
"""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from bench.figures import Figure, at_most
from bench.serving import serving
from galleyproof.store.database import Database
from galleyproof.store.jobs import add_job
from galleyproof.store.people import LOCAL
from galleyproof.store.upgrade import bring_up_to_date

MOST_MS = 100.0
ARGS = ("--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking", "--disable-sync")


def measure(job: Path) -> Iterator[Figure]:
    """Figures of one job's drawings."""
    with tempfile.TemporaryDirectory() as folder:
        db = Database(f"sqlite:///{folder}/jobs.db")
        bring_up_to_date(db)
        with db.session() as session:
            number = add_job(session, LOCAL, job.read_text(), job.stem, "B-1", "A", "for the bench").id
        db.close()
        with serving(Path(folder)) as address, sync_playwright() as play:
            browser = play.chromium.launch(executable_path=shutil.which("chromium"), args=list(ARGS))
            page = browser.new_page(viewport={"width": 1440, "height": 900})
            page.goto(f"{address}jobs/{number}/drawings?sheet=4.3", timeout=120_000)
            page.wait_for_selector("#desk[data-ready]", timeout=120_000)
            yield from _figures(page)
            browser.close()


def _figures(page: Page) -> Iterator[Figure]:
    names = page.locator(".preset[data-asked]")
    names.nth(3).click()
    page.wait_for_load_state("networkidle")
    _took(page, "situation")
    for n in range(names.count()):
        names.nth(n).click()
        page.wait_for_timeout(60)
    yield at_most("situation by name, slowest of them", max(_took(page, "situation")), MOST_MS, "ms")
    names.nth(4).click()
    for _ in range(6):
        page.click("#step-back")
    yield at_most("one step of a fire, slowest", max(_took(page, "step")), MOST_MS, "ms")
    page.click(".exact summary")
    _took(page, "situation")
    for value in page.evaluate("[...document.querySelector('#ask-power').options].map((o) => o.value)")[4:24]:
        # set without the focus that would fetch all answers of the question ahead
        page.evaluate(
            "(value) => { const ask = document.querySelector('#ask-power'); ask.value = value;"
            " ask.dispatchEvent(new Event('change', { bubbles: true })); }",
            value,
        )
        page.wait_for_timeout(150)
    took = sorted(_took(page, "situation"))
    yield at_most(f"situation nobody asked for before, 95th percentile of {len(took)}", took[-2], MOST_MS, "ms")


def _took(page: Page, what: str) -> list[float]:
    """Durations the page itself measured since the last time they were taken. [ms]."""
    found = page.evaluate(
        "(what) => { const all = performance.getEntriesByName(what).map((m) => m.duration);"
        " performance.clearMeasures(what); return all; }",
        what,
    )
    return [float(ms) for ms in found]
