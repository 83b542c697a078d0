"""Jobs, designs and finished sheets that the drawing tests share."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from tests.drawing.legibility import width_of
from tests.drawing.reader import Found, conductors, read_svg

from galleyproof import units
from galleyproof.design.build import build_design
from galleyproof.design.model import Design
from galleyproof.drawing.model import Drawing
from galleyproof.drawing.sheets import draw_sheets
from galleyproof.drawing.svg import write_svg
from galleyproof.job.model import Job
from galleyproof.job.read import read_job

EXAMPLES = Path(__file__).parents[2] / "examples"
NAMES = ("ferry-cafe", "school-kitchen", "hospital")


@lru_cache(maxsize=8)
def example(name: str) -> tuple[Job, Design, Drawing]:
    path = EXAMPLES / f"{name}.yaml"
    job = read_job(path.read_bytes(), path.name)
    design = build_design(job)
    return job, design, draw_sheets(job, design)


Row = tuple[int, str, frozenset[str], bool]


def wanted(design: Design) -> list[Row]:
    """Every conductor as a reader must find it: number, size, both landings, field or factory."""
    return sorted(
        (
            (c.number, units.format_awg(c.awg), frozenset((str(c.a), str(c.b))), c.made == "field")
            for c in design.conductors
        ),
        key=lambda row: row[0],
    )


def row(found: Found) -> Row:
    return found.number, found.size, found.ends, found.field


def read_back(drawing: Drawing, series: str) -> list[Found]:
    """Conductors read from the SVG of every sheet of some series."""
    return [
        found
        for sheet in drawing
        if sheet.number.split(".")[0] in series
        for found in conductors(read_svg(write_svg(sheet)), width_of)
    ]
