"""docs/sizing.md names no finding that nothing gives."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).parents[2]


def test_every_code_on_the_page_is_one_that_sizing_gives() -> None:
    """Each code of the table stands in a rule of sizing, or in the design whose finding sizing repeats."""
    page = (ROOT / "docs" / "sizing.md").read_text(encoding="utf-8")
    rows = [line.split("|")[1] for line in page.splitlines() if line.startswith("| `") and "-" in line.split("|")[1]]
    codes = {code for row in rows for code in re.findall(r"`([A-Z][A-Z0-9]+(?:-[A-Z0-9]+)*)`", row)}
    source = "".join(p.read_text(encoding="utf-8") for p in (ROOT / "src/galleyproof/sizing").glob("job_*.py"))
    assert len(codes) > 40
    assert {code for code in codes if f'"{code}"' not in source} == set()
