"""Take a picture of every page of the app, for docs/app.md: on a desk, and on a tablet where gloves work.

Run from the checkout, with Debian's chromium: ``.venv/bin/python scripts/take_screenshots.py [NAME...]``.
"""

from __future__ import annotations

import io
import sys
import tempfile
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, ViewportSize, sync_playwright

ROOT = Path(__file__).parent.parent
sys.path.insert(0, str(ROOT))

from tests.browser import ARGS, chromium  # noqa: E402 - from the checkout named above
from tests.web.addresses import PAGES, Address  # noqa: E402
from tests.web.house import NAMES, PASSWORD, add_people  # noqa: E402
from tests.web.server import serving  # noqa: E402
from tests.web.support import make_site  # noqa: E402

FOLDER = ROOT / "docs" / "app"
PATIENCE_MS = 180_000
JOBS = {
    "hospital": "Saltmarrow Hospital, main kitchen",
    "ferry-cafe": "Ferry Café, Saltmarrow Quay",
    "school-kitchen": "Saltmarrow School Kitchen",
}
TABLET = ("check-out", "diagnosis", "drawings")
"""Pages that are used where the panel hangs."""
DESK: ViewportSize = {"width": 1440, "height": 900}
SLATE: ViewportSize = {"width": 820, "height": 1180}
SHEET = 8
"""Place in the list of the sheet that shows a release best. [-]"""
SETTLED_MS = 1500
COLOURS = 64
"""Enough for ink on paper; a picture is then a fifth of its size. [-]"""


def main(wanted: list[str]) -> int:
    """Take them all, or those named."""
    FOLDER.mkdir(exist_ok=True)
    unknown = set(wanted) - {page.name for page in PAGES}
    if unknown:
        print(f"no such page: {', '.join(sorted(unknown))}", file=sys.stderr)
        return 2
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium(), args=list(ARGS))
        for accounts in (False, True):
            under = Path(folder) / str(accounts)
            under.mkdir()
            site = make_site(under)
            for example, name in JOBS.items():
                job = site.add(example, name)
            if accounts:
                add_people(site)
            with serving(site.client.app) as address:
                for one in PAGES:
                    if one.accounts == accounts and (not wanted or one.name in wanted):
                        sizes = {"desk": DESK} | ({"tablet": SLATE} if one.name in TABLET else {})
                        for where, size in sizes.items():
                            page = browser.new_page(viewport=size, has_touch=where == "tablet")
                            _open(page, address, one, job)
                            _keep(page.screenshot(), FOLDER / f"{one.name}-{where}.png")
                            page.close()
        browser.close()
    return 0


def _open(page: Page, address: str, one: Address, job: int) -> None:
    page.set_default_timeout(PATIENCE_MS)
    if one.accounts and one.name != "sign-in":
        page.goto(f"{address}/sign-in")
        page.get_by_label("Name").fill(NAMES["administrator"])
        page.get_by_label("Password").fill(PASSWORD)
        page.get_by_role("button", name="Sign in").click()
        page.wait_for_url("**/jobs**")
    page.goto(address + one.path.format(job=job))
    page.locator("main", has_text=one.holds).wait_for()
    page.wait_for_load_state("networkidle")
    if one.name == "drawings":
        page.get_by_role("combobox").first.select_option(index=SHEET)
        page.get_by_role("button", name="Fire", exact=True).click()
        page.wait_for_timeout(SETTLED_MS)
    elif one.name == "check-out":
        # each reads the caution once, so the second picture is of somebody else
        reader = "R. Quayle" if page.viewport_size == DESK else "T. Alder"
        page.get_by_label("Who reads").fill(reader)
        page.get_by_label("Which meter").fill("M-3")
        page.get_by_role("button", name="Go on").click()
        page.locator(".caution button, .gate button").first.click()
        page.wait_for_timeout(SETTLED_MS)


def _keep(picture: bytes, path: Path) -> None:
    Image.open(io.BytesIO(picture)).convert("RGB").quantize(COLOURS).save(path, optimize=True)
    print(path.relative_to(ROOT))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
