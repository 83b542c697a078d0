"""``galleyproof compare``: what changed from one revision to another."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from galleyproof.cli import text
from galleyproof.cli.check import heading
from galleyproof.cli.files import Loaded, load_jobs, make_folder, one_problem, put, read_library
from galleyproof.cli.main import ALL_WELL, BAD_INPUT, FOUND
from galleyproof.cli.sized import with_its_sizes
from galleyproof.cli.wires import COLUMNS, row
from galleyproof.design.difference import Change, Difference, difference, rerouted_fields
from galleyproof.design.difference_words import NUMBERS_STAY, schedules
from galleyproof.design.model import Conductor, Device
from galleyproof.library.model import DeviceType

if TYPE_CHECKING:
    from rich.console import Console


def run(args: Namespace) -> int:
    """Compare two jobs, or two folders of jobs file by file."""
    library = read_library(args.library)
    old, problems, old_many = load_jobs([args.old])
    new, more, new_many = load_jobs([args.new])
    problems += more
    if old_many != new_many and not problems:
        folder, file = (args.old, args.new) if old_many else (args.new, args.old)
        problems += one_problem(file, f"is one job, but {folder} is a folder; compare two jobs or two folders").problems
    if problems:
        text.complain(problems)
        return BAD_INPUT
    old, new = ([with_its_sizes(one, library) for one in some] for some in (old, new))
    if old_many:
        before, after = {o.path.name: o for o in old}, {n.path.name: n for n in new}
        pairs = [(o, after[name]) for name, o in before.items() if name in after]
        only_old = [o.name for name, o in before.items() if name not in after]
        only_new = [n.name for name, n in after.items() if name not in before]
    else:
        pairs, only_old, only_new = [(old[0], new[0])], [], []
    found = [(o, n, difference(o.design, n.design)) for o, n in pairs]
    if args.output is not None:
        if old_many:
            raise one_problem(args.old, "is a folder; -o draws the revision of one job")
        _draw(found[0], Path(args.output), library)
    if args.json:
        data = [{"old": o.name, "new": n.name, **_data(d)} for o, n, d in found]
        if old_many:
            print(text.dump({"jobs": data, "jobs_removed": only_old, "jobs_added": only_new}), end="")
        else:
            print(text.dump(data[0]), end="")
    else:
        out = text.console()
        for i, (o, n, d) in enumerate(found):
            if i:
                out.print()
            _print(out, o, n, d)
        for title, names in (("Jobs only in the old folder", only_old), ("Jobs only in the new folder", only_new)):
            if names:
                out.print()
                out.print(title, style="bold")
                for name in names:
                    out.print(f"  {name}")
        if old_many and found:
            out.print()
            text.show(out, _summary(found))
    same = all(d.empty for _, _, d in found) and not only_old and not only_new
    return ALL_WELL if same else FOUND


def _draw(one: tuple[Loaded, Loaded, Difference], folder: Path, library: Mapping[str, DeviceType]) -> None:
    """Write the sheets on which something changed, marked, and the list of it all.

    Raises:
        InputError: The folder or a file cannot be written.
    """
    from galleyproof.drawing.fonts import printable
    from galleyproof.drawing.paper import Revision, TitleBlock
    from galleyproof.drawing.revision import changes_of, list_of_changes, marked, sheets_by_key
    from galleyproof.drawing.sheets import draw_sheets
    from galleyproof.drawing.svg import write_svg

    old, new, d = one
    changes = changes_of(d)
    before, after = (marked(draw_sheets(x.job, x.design, library=library), changes, old=x is old) for x in (old, new))
    where = sheets_by_key(before, "old")
    for key, words in sheets_by_key(after, "new").items():
        where[key] = f"{where[key]}; {words}" if key in where else words
    identity = new.job.job
    revision = Revision(identity.revision, identity.date or "", f"changes since revision {old.job.job.revision}")
    block = TitleBlock(printable(identity.name), printable(identity.number), (revision,))
    listed = list_of_changes(changes, where, identity.sheet, block)
    make_folder(folder)
    for word, drawing in (("changes", listed), ("old", before), ("new", after)):
        for sheet in drawing:
            put(folder / f"{word}-{sheet.number}.svg", write_svg(sheet))


def _data(d: Difference) -> dict[str, Any]:
    def pairs(fields: tuple[str, ...], group: Iterable[Any]) -> list[dict[str, Any]]:
        made = []
        for p in group:
            was, now = _values(p.old), _values(p.new)
            changed = {f: {"old": was[f], "new": now[f]} for f in fields}
            made.append({"key": p.new.key, "number": p.new.number, **changed})
        return made

    return {
        "same": d.empty,
        "summary": _counts(d),
        "added": [{"key": c.key, **_values(c)} for c in d.added],
        "removed": [{"key": c.key, **_values(c)} for c in d.removed],
        "relanded": pairs(("from", "to"), d.relanded),
        "resized": pairs(("size",), d.resized),
        "renumbered": pairs(("number",), d.renumbered),
        "otherwise": [
            {"key": p.new.key, "number": p.new.number, "changes": [_change(c) for c in rerouted_fields(p)]}
            for p in d.rerouted
        ],
        "devices_added": [_device(x) for x in d.devices_added],
        "devices_removed": [_device(x) for x in d.devices_removed],
        "devices_altered": [_change(c) for c in d.devices_altered],
        "jumpers": [_change(c) for c in d.jumpers],
        "program": [_change(c) for c in d.program],
    }


def _values(c: Conductor) -> dict[str, Any]:
    return dict(zip(COLUMNS, row(c), strict=True))


def _device(d: Device) -> dict[str, str]:
    return {"tag": d.tag, "type": d.type, "title": d.title, "place": d.place}


def _change(c: Change) -> dict[str, str]:
    return {"item": c.item, "what": c.what, "old": c.old, "new": c.new}


def _counts(d: Difference) -> dict[str, int]:
    return {
        "added": len(d.added),
        "removed": len(d.removed),
        "relanded": len(d.relanded),
        "resized": len(d.resized),
        "renumbered": len(d.renumbered),
        "otherwise": len(d.rerouted),
        "devices": len(d.devices_added) + len(d.devices_removed) + len({c.item for c in d.devices_altered}),
        "jumpers": len(d.jumpers),
        "program": len({c.item for c in d.program}),
    }


def _summary(found: list[tuple[Loaded, Loaded, Difference]]) -> Any:
    names = ("Added", "Removed", "Re-landed", "Re-sized", "Re-numbered", "Other", "Devices", "Jumpers", "Program")
    made = text.table("Job", *names, right=names)
    for _, n, d in found:
        made.add_row(n.path.name, *(f"{x:,}" if x else "" for x in _counts(d).values()))
    return made


# --- tables -----------------------------------------------------------------------------------------------------


def _print(out: Console, old: Loaded, new: Loaded, d: Difference) -> None:
    out.print(f"Old: {heading(old)}", style="bold")
    out.print(f"New: {heading(new)}", style="bold")
    if d.empty:
        out.print()
        out.print("No difference: both are wired and set alike.")
        return
    for schedule in schedules(d):
        out.print()
        out.print(f"{schedule.title} ({len(schedule.rows)})", style="bold")
        made = text.table(*schedule.columns, right=("No.", "Old No.", "New No."))
        for cells in schedule.rows:
            made.add_row(*cells)
        text.show(out, made)
        if schedule.title == "Conductors re-numbered":
            text.show(out, NUMBERS_STAY)
