"""``galleyproof wires``: the list from terminal to terminal."""

from __future__ import annotations

import csv
import io
import sys
from argparse import Namespace
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from galleyproof import units
from galleyproof.cli import text
from galleyproof.cli.check import heading
from galleyproof.cli.files import Loaded, load_jobs, read_library, rewrite
from galleyproof.cli.main import ALL_WELL, BAD_INPUT, FOUND
from galleyproof.cli.sized import with_its_sizes
from galleyproof.design.build import issue
from galleyproof.design.builder import natural
from galleyproof.design.model import Conductor, Design

if TYPE_CHECKING:
    from rich.console import Console

COLUMNS = ("number", "from", "to", "made", "class", "size", "colour", "length_ft", "cable", "purpose")


def run(args: Namespace) -> int:
    """List the conductors of each job, or write down their numbers."""
    library = read_library(args.library)
    read, problems, many = load_jobs([args.job])
    loaded = [with_its_sizes(one, library) for one in read]
    if args.issue and not problems:
        for one in loaded:
            print(_issue(one), file=sys.stderr)
    if args.csv:
        sys.stdout.write(as_csv(loaded, many))
    elif args.json:
        data = [_data(one) for one in loaded]
        if many:
            print(text.dump({"jobs": data}), end="")
        elif data:
            print(text.dump(data[0]), end="")
    elif loaded:
        _tables(loaded, many)
    text.complain(problems)
    if problems:
        return BAD_INPUT
    found = [one for one in loaded if text.weighs(one.design.findings)]
    for one in found:
        print(f"{one.name}: {text.counted(one.design.findings)}; see galleyproof check", file=sys.stderr)
    return FOUND if found else ALL_WELL


def _issue(one: Loaded) -> str:
    """Write the numbers into the job file; what happened, in words.

    Raises:
        InputError: The file cannot be written, or would not say the same job; it is as it was.
    """
    job = issue(one.job, one.design)
    conductors = len(one.design.conductors)
    if job == one.job:
        return f"{one.name}: all {conductors} numbers stand in the file already"
    new = sum(c.key not in one.job.issued.conductors for c in one.design.conductors)
    rewrite(one, job, "the numbers")
    if new:
        return f"{one.name}: {text.plural(new, 'number')} issued, {conductors} in all"
    return f"{one.name}: places of terminals and devices written down; all {conductors} numbers stood there already"


# --- forms ------------------------------------------------------------------------------------------------------


def row(c: Conductor) -> tuple[Any, ...]:
    """One conductor in the order of COLUMNS."""
    size = units.format_awg(c.awg)
    length = round(c.length_ft, 1)
    return (c.number, str(c.a), str(c.b), c.made, str(c.energy_class), size, c.colour, length, c.cable, c.purpose)


def by_number(design: Design) -> list[Conductor]:
    """Conductors in the order of their numbers."""
    return sorted(design.conductors, key=lambda c: c.number)


def harmless(cell: Any) -> Any:
    """A text that a spreadsheet would take for a formula gets an apostrophe in front; numbers stay numbers."""
    risky = isinstance(cell, str) and cell.lstrip()[:1] in ("=", "+", "-", "@")
    return f"'{cell}" if risky or (isinstance(cell, str) and cell[:1] in ("\t", "\r", "\n")) else cell


def as_csv(loaded: Iterable[Loaded], many: bool) -> str:
    """RFC 4180: a header line, CRLF, quotes where needed; with several jobs their file comes first."""
    made = io.StringIO()
    writer = csv.writer(made, lineterminator="\r\n")
    writer.writerow((("job",) if many else ()) + COLUMNS)
    for one in loaded:
        for c in by_number(one.design):
            cells = ((one.name,) if many else ()) + row(c)
            writer.writerow([f"{x:g}" if isinstance(x, float) else harmless(x) for x in cells])
    return made.getvalue()


def _data(one: Loaded) -> dict[str, Any]:
    return {
        "job": one.name,
        "summary": {
            "conductors": len(one.design.conductors),
            "field": sum(c.made == "field" for c in one.design.conductors),
            "cables": len(one.design.cables),
        },
        "conductors": [dict(zip(COLUMNS, row(c), strict=True)) for c in by_number(one.design)],
        "jumpers": [{"from": str(j.a), "to": str(j.b), "purpose": j.purpose} for j in one.design.jumpers],
        "findings": [text.finding_data(f) for f in text.by_weight(one.design.findings)],
    }


# --- table ------------------------------------------------------------------------------------------------------


def _tables(loaded: list[Loaded], many: bool) -> None:
    out = text.console()
    for i, one in enumerate(loaded):
        if i:
            out.print()
        _list(out, one)
    if many:
        numbers = ("Conductors", "Field", "Factory", "Cables", "Jumpers")
        made = text.table("Job", *numbers, right=numbers)
        for one in loaded:
            d = one.design
            field = sum(c.made == "field" for c in d.conductors)
            counts = (len(d.conductors), field, len(d.conductors) - field, len(d.cables), len(d.jumpers))
            made.add_row(one.name, *(f"{n:,}" for n in counts))
        out.print()
        text.show(out, made)
    text.caution(out)


def _list(out: Console, one: Loaded) -> None:
    design = one.design
    out.print(heading(one), style="bold")
    field = sum(c.made == "field" for c in design.conductors)
    conductors, cables = text.plural(len(design.conductors), "conductor"), text.plural(len(design.cables), "cable")
    out.print(f"{conductors}: {field} field in {cables}, {len(design.conductors) - field} factory")
    groups: list[tuple[str, list[Conductor]]] = []
    for cable in sorted(design.cables, key=lambda c: natural(c.tag)):
        alone = cable.from_place == cable.to_place
        way = f"in {cable.to_place}" if alone else f"{cable.from_place} to {cable.to_place}"
        route = f", route {cable.route}" if cable.route else ""
        title = f"{cable.tag}   field, {cable.energy_class}, {way}{route}, {cable.length_ft:g} ft"
        groups.append((title, [design.conductor_by_key[k] for k in cable.conductors]))
    inside: dict[str, list[Conductor]] = {}
    for c in by_number(design):
        if not c.cable:
            inside.setdefault(f"{c.made}, {c.energy_class}, {c.length_ft:g} ft each", []).append(c)
    groups += [(f"Without cable   {title}", group) for title, group in sorted(inside.items())]
    cells = {c.key: _cells(c) for c in design.conductors}
    titles = ("No.", "From", "To", "Size", "Colour")
    widths = [max([len(t), *(len(row[i]) for row in cells.values())]) for i, t in enumerate(titles)]
    for title, group in groups:
        out.print()
        out.print(title, style="bold")
        made = text.table(*titles, "Purpose", right=("No.",))
        for column, width in zip(made.columns, widths, strict=False):
            column.min_width = width
        for c in sorted(group, key=lambda c: c.number):
            made.add_row(*cells[c.key], c.purpose)
        made.show_header = title == groups[0][0]
        text.show(out, made)
    if design.jumpers:
        out.print()
        out.print("Factory jumpers", style="bold")
        made = text.table("From", "To", "Purpose")
        for j in design.jumpers:
            made.add_row(str(j.a), str(j.b), j.purpose)
        text.show(out, made)


def _cells(c: Conductor) -> tuple[str, ...]:
    return (str(c.number), str(c.a), str(c.b), units.format_awg(c.awg), c.colour)
