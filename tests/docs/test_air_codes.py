"""docs/air.md names every finding of a job's air, and none that is not there."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).parents[2]


def test_the_page_names_every_code() -> None:
    """The codes of the page's table are those that the rules give."""
    page = (ROOT / "docs" / "air.md").read_text(encoding="utf-8")
    table = page.split("| code | says |")[1].split("\n\n")[0]
    named = re.findall(r"`([A-Z]+(?:-[A-Z]+)+)`", table)
    given = {
        code
        for path in (ROOT / "src" / "galleyproof" / "air").glob("job_*.py")
        for code in re.findall(r'"((?:AIR|MOTOR)(?:-[A-Z]+)+)"', path.read_text(encoding="utf-8"))
    }
    assert len(given) > 30
    assert sorted(named) == sorted(given)
