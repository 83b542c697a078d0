"""Labels for conductors and terminals: lists for a label printer, and a sheet with QR codes."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Mapping, Sequence
from importlib import resources
from typing import Any
from urllib.parse import quote

from galleyproof import units
from galleyproof.design.builder import natural
from galleyproof.design.model import Conductor, TerminalId
from galleyproof.package.facts import Facts
from galleyproof.package.pdf import A4_MM, LETTER_MM, wrappable
from galleyproof.package.schedules import by_number

WIRES = ("number", "end", "landed_at", "other_end", "size", "colour", "cable", "class", "link")
TERMINALS = ("strip", "place", "conductors", "to")


def link_of(facts: Facts, conductor: Conductor, base: str) -> str:
    """What the code of a conductor says: the address of its page in the app.

    Args:
        facts: For the job's number.
        conductor: The conductor.
        base: Address of the job in the app as phones reach it; the wire stands below it as ``/w/NUMBER``. Without it
            a ``galleyproof:`` address that names job and number.
    """
    start = base.rstrip("/") if base else f"galleyproof:jobs/{quote(facts.job.job.number, safe='')}"
    return f"{start}/w/{conductor.number}"


def wire_labels(facts: Facts, base: str) -> str:
    """Two labels for each conductor, RFC 4180."""
    rows = []
    for c in by_number(facts):
        for end, here, there in (("a", c.a, c.b), ("b", c.b, c.a)):
            size = units.format_awg(c.awg)
            link = link_of(facts, c, base)
            rows.append((c.number, end, here, there, size, c.colour, c.cable, c.energy_class, link))
    return _csv(WIRES, rows)


def terminal_labels(facts: Facts) -> str:
    """One label for each place of each terminal strip, in its order."""
    design = facts.design
    rows = []
    for device in sorted(design.devices, key=lambda d: natural(d.tag)):
        if device.type != "terminal_strip":
            continue
        for place in range(1, int(device.ratings["places"]) + 1):
            terminal = TerminalId(device.tag, str(place))
            here = design.conductors_at.get(terminal, ())
            field = [c for c in here if c.made == "field"]
            others = [str(c.b if c.a == terminal else c.a) for c in field or here]
            rows.append((device.tag, place, " ".join(str(c.number) for c in here), " ".join(others)))
    return _csv(TERMINALS, rows)


def _csv(heads: Sequence[str], rows: Iterable[Sequence[Any]]) -> str:
    made = io.StringIO()
    writer = csv.writer(made, lineterminator="\r\n")
    writer.writerow(heads)
    writer.writerows([_harmless(str(cell)) for cell in row] for row in rows)
    return made.getvalue()


def _harmless(cell: str) -> str:
    """A text that a spreadsheet would take for a formula gets an apostrophe in front."""
    return f"'{cell}" if cell.lstrip()[:1] in ("=", "+", "-", "@") or cell[:1] in ("\t", "\r", "\n") else cell


def label_files(facts: Facts, base: str) -> dict[str, bytes]:
    """What the sheets of labels are set from: two labels for each of the field's conductors, with a QR code."""
    import segno

    files: dict[str, bytes] = {
        "main": (resources.files("galleyproof.package") / "template" / "labels.typ").read_bytes()
    }
    shown = []
    for c in by_number(facts):
        if c.made != "field":
            continue
        name = f"q{c.number}.svg"
        code = io.BytesIO()
        # any of the eight masks reads; trying all of them takes most of the time
        made = segno.make(link_of(facts, c, base), error="m", micro=False, boost_error=False, mask=2)
        made.save(code, kind="svg", border=1, xmldecl=False, svgns=True, omitsize=True, light="#fff")
        files[name] = code.getvalue()
        words = {"number": str(c.number), "size": f"{units.format_awg(c.awg)} {c.colour}", "file": name}
        ends = ((c.a, c.b), (c.b, c.a))
        shown += [{**words, "at": wrappable(str(a)), "to": wrappable(str(b))} for a, b in ends]
    identity = facts.job.job
    data = {
        "title": wrappable(f"{identity.number} revision {identity.revision}: conductor labels"),
        "status": facts.status,
        "paper": list(LETTER_MM if identity.sheet == "ANSI B" else A4_MM),
        "labels": shown,
        "date": [int(part) for part in identity.date.split("-")] if identity.date else None,
    }
    files["data.json"] = json.dumps(data, ensure_ascii=False).encode("utf-8")
    return files


def labels_pdf(files: Mapping[str, bytes]) -> bytes:
    """The sheets of labels."""
    import typst

    with resources.as_file(resources.files("galleyproof.drawing") / "typeface") as fonts:
        pdf = typst.compile(dict(files), font_paths=[str(fonts)], ignore_system_fonts=True, timestamp=0)  # type: ignore[call-overload]
    assert isinstance(pdf, bytes)
    return pdf
