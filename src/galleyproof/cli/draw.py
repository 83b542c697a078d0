"""``galleyproof draw``: the sheets of a job, as SVG or DXF."""

from __future__ import annotations

import sys
from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from galleyproof.cli import text
from galleyproof.cli.check import heading
from galleyproof.cli.files import load_job, one_problem, put, read_library
from galleyproof.cli.main import ALL_WELL
from galleyproof.errors import GalleyproofError
from galleyproof.sizing.whole_job import size

if TYPE_CHECKING:
    from galleyproof.cli.files import Loaded
    from galleyproof.drawing.model import Drawing, Sheet


def run(args: Namespace) -> int:
    """List the sheets of a job, or write one of them, or all as DXF.

    Raises:
        InputError: The job cannot be taken, there is no such sheet, or the file cannot be written.
    """
    from galleyproof.drawing.sheets import draw_sheets

    library = read_library(args.library)
    one = load_job(Path(args.job))
    try:
        sizes = size(one.job, one.design, library)
    except GalleyproofError as error:
        sizes = None
        words = " ".join(str(error).split())
        print(f"{one.name}: sizes are not computed, the sheets say so: {words}", file=sys.stderr)
    drawing = draw_sheets(one.job, one.design, sizes, library=library)
    if args.sheet is None and args.output is None:
        _list(one, drawing, args.json)
        return ALL_WELL
    sheets = drawing.sheets
    if args.sheet is not None:
        sheets = (_pick(one, drawing, args.sheet),)
    if len(sheets) > 1 and _format(args) == "svg":
        raise one_problem(
            one.name, "SVG holds one sheet; choose it with --sheet, or write all of them with --format dxf"
        )
    made = _written(sheets, drawing, _format(args))
    if args.output is None:
        sys.stdout.write(made)
    else:
        put(Path(args.output), made)
    return ALL_WELL


def _format(args: Namespace) -> str:
    if args.format:
        return str(args.format)
    return "dxf" if str(args.output or "").lower().endswith(".dxf") else "svg"


def _pick(one: Loaded, drawing: Drawing, number: str) -> Sheet:
    sheet = drawing.by_number.get(number)
    if sheet is None:
        there = ", ".join(drawing.by_number)
        raise one_problem(one.name, f"has no sheet {number}; its sheets are {there}")
    return sheet


def _written(sheets: tuple[Sheet, ...], drawing: Drawing, form: str) -> str:
    if form == "dxf":
        from galleyproof.drawing.dxf import write_dxf

        return write_dxf(sheets, drawing.title)
    from galleyproof.drawing.svg import write_svg

    return write_svg(sheets[0])


def _list(one: Loaded, drawing: Drawing, as_json: bool) -> None:
    if as_json:
        rows = [
            {"sheet": s.number, "title": s.title, "conductors": len(s.conductors), "scale": s.scale} for s in drawing
        ]
        print(text.dump({"job": one.name, "sheets": rows}), end="")
        return
    out = text.console()
    out.print(heading(one), style="bold")
    made = text.table("Sheet", "Shows", "Conductors", right=("Conductors",))
    for s in drawing:
        made.add_row(s.number, s.title, f"{len(s.conductors):,}" if s.conductors else "")
    text.show(out, made)
    text.caution(out)
