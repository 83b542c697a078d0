"""docs/savings.md and the example of docs/job-file.md say what the code does."""

import re
from pathlib import Path

from tests.job.support import HARBOUR

from galleyproof.job.read import read_job

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "savings.md").read_text(encoding="utf-8")
JOB_PAGE = (ROOT / "docs" / "job-file.md").read_text(encoding="utf-8")
NOTES = (ROOT / "src" / "galleyproof" / "savings" / "notes.py").read_text(encoding="utf-8")


def test_every_finding_is_on_the_page_and_no_other():
    on_page = re.findall(r"^\| `(SAVINGS-[A-Z-]+)` \|", PAGE, re.MULTILINE)
    assert len(on_page) == len(set(on_page))
    assert set(on_page) == set(re.findall(r'"(SAVINGS-[A-Z-]+)"', NOTES))


def test_the_use_on_the_page_can_be_read():
    (example,) = re.findall(r"```yaml\n(kitchen_use:\n.*?)```", JOB_PAGE, re.DOTALL)
    use = read_job(HARBOUR + example).kitchen_use
    assert use is not None
    assert [day.name for day in use.day_types] == ["school day", "closed"]
    assert use.prices is not None
    assert use.prices.per_kwh == 0.14


def test_the_numbers_of_the_page_are_those_of_the_code():
    from galleyproof.job.usage import Spread
    from galleyproof.savings.notes import MAX_ELEVATION_FT

    assert f"more than {MAX_ELEVATION_FT:,.0f} ft" in PAGE
    assert Spread().years == 1000
    assert "A thousand years" in PAGE
