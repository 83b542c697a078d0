"""docs/app.md shows every page of the app."""

from __future__ import annotations

import re
from pathlib import Path

from tests.web.addresses import PAGES

DOCS = Path(__file__).parents[2] / "docs"


def test_every_page_has_its_picture_and_no_picture_is_left_over():
    shown = re.findall(
        r"!\[[^]]+\]\(app/([\w-]+)-(?:desk|tablet)\.png\)", (DOCS / "app.md").read_text(encoding="utf-8")
    )
    assert set(shown) == {page.name for page in PAGES}
    named = set(re.findall(r"\(app/([\w-]+\.png)\)", (DOCS / "app.md").read_text(encoding="utf-8")))
    assert named == {path.name for path in (DOCS / "app").glob("*.png")}
