"""What the tests of a job's air share: the kitchens as text, edits of them, what is found above a note."""

from __future__ import annotations

from pathlib import Path

from galleyproof.air.job_air import check_air
from galleyproof.air.model import AirReport
from galleyproof.findings import Severity
from galleyproof.job.model import Job
from galleyproof.job.read import read_job

EXAMPLES = Path(__file__).parents[2] / "examples"
NAMES = ("ferry-cafe", "school-kitchen", "hospital")


def text_of(name: str) -> str:
    """An example as it stands, the school before anyone has taken readings."""
    text = (EXAMPLES / f"{name}.yaml").read_text(encoding="utf-8")
    lines = text.splitlines(keepends=True)
    return "".join(line for line in lines if not line.strip().startswith(("- {at: ", "readings:")))


def changed(name: str, *edits: tuple[str, str]) -> Job:
    """An example with edits; each must find its place exactly once."""
    text = text_of(name)
    for old, new in edits:
        assert text.count(old) == 1, f"{text.count(old)} times in {name}: {old!r}"
        text = text.replace(old, new)
    return read_job(text, f"{name}.yaml")


def told(report: AirReport) -> set[tuple[str, str]]:
    """Code and item of everything above a note."""
    return {(f.code, f.item) for f in report.findings if f.severity is not Severity.NOTE}


def air_of(name: str) -> AirReport:
    """The air of an example, readings included."""
    path = EXAMPLES / f"{name}.yaml"
    return check_air(read_job(path.read_bytes(), path.name))
