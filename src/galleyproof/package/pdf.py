"""The PDF: tagged, outlined and linked, from sections and sheets. Same input, same bytes."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from importlib import resources
from typing import Any

from galleyproof.drawing.fonts import printable
from galleyproof.package.facts import Facts
from galleyproof.package.model import BLANK, BOX, Block, Items, Para, Picture, Section, Table, Title

LETTER_MM = (215.9, 279.4)
A4_MM = (210.0, 297.0)
_LONG = re.compile(r"\S{19,}")
_JOINT = re.compile(r"(?<=[-/:,.·_+])")
BREAK = "\u200b"
"""Lets a long word go on in the next line; has no glyph."""


def write_pdf(
    facts: Facts,
    cover: Sequence[Block],
    before: Sequence[Section],
    after: Sequence[Section],
    svgs: Mapping[str, str],
) -> bytes:
    """The whole document.

    Args:
        facts: For the title, the status, the paper and the sheets.
        cover: Blocks of the cover.
        before: Sections before the drawings.
        after: Sections after them.
        svgs: The sheets by their number.
    """
    import typst

    identity = facts.job.job
    files: dict[str, bytes] = {"main": _template()}
    sheets = []
    for n, s in enumerate(facts.drawing.sheets):
        name = f"s{n}.svg"
        files[name] = svgs[s.number].encode("utf-8")
        there = facts.drawing.by_number
        links = [
            {"x": k.x, "y": k.y, "width": k.width, "height": k.height, "sheet": k.sheet}
            for k in s.links
            if k.sheet in there
        ]
        alt = f"Sheet {s.number}, {s.title}: {len(s.conductors)} conductors; the terminal-to-terminal list holds them"
        sheets.append(
            {
                "file": name,
                "number": s.number,
                "title": printable(s.title),
                "width": s.width,
                "height": s.height,
                "alt": printable(alt),
                "links": links,
            }
        )
    pictures = [b for s in (*before, *after) for b in s.blocks if isinstance(b, Picture)]
    names = {id(b): f"p{n}.svg" for n, b in enumerate(pictures)}
    files |= {names[id(b)]: b.svg.encode("utf-8") for b in pictures}
    data = {
        "title": printable(f"{identity.number} revision {identity.revision}: {identity.name}"),
        "name": wrappable(identity.name),
        "number": wrappable(identity.number),
        "revision": identity.revision,
        "date": [int(part) for part in identity.date.split("-")] if identity.date else None,
        "date_words": identity.date or "",
        "status": facts.status,
        "paper": list(LETTER_MM if identity.sheet == "ANSI B" else A4_MM),
        "cover": [as_data(b) for b in cover],
        "before": [_section(s, names) for s in before],
        "after": [_section(s, names) for s in after],
        "drawings": [as_data(b) for b in _about_sheets(facts)],
        "sheets": sheets,
    }
    files["data.json"] = json.dumps(data, ensure_ascii=False).encode("utf-8")
    with resources.as_file(resources.files("galleyproof.drawing") / "typeface") as fonts:
        made = typst.compile(files, font_paths=[str(fonts)], ignore_system_fonts=True, timestamp=0)  # type: ignore[call-overload]
    assert isinstance(made, bytes)
    return made


def _template() -> bytes:
    return (resources.files("galleyproof.package") / "template" / "document.typ").read_bytes()


def _about_sheets(facts: Facts) -> tuple[Block, ...]:
    family = "IEC 60617" if facts.job.job.symbols == "IEC" else "NEMA ICS 19"
    return (
        Para(
            f"{len(facts.drawing.sheets)} sheets on {facts.job.job.sheet}, symbols after {family}. Field conductors "
            "are heavy with a landing dot and their number at each end, factory conductors thin and grey."
        ),
    )


def wrappable(text: str) -> str:
    """A text in characters the typeface has, whose long words may be broken."""

    def broken(match: re.Match[str]) -> str:
        pieces = []
        for part in _JOINT.split(match[0]):
            pieces += [part[i : i + 14] for i in range(0, len(part), 14)]
        return BREAK.join(pieces)

    return _LONG.sub(broken, printable(text))


def _cell(text: str) -> str:
    return text if text in (BOX, BLANK) else wrappable(text)


def as_data(block: Block, names: Mapping[int, str] | None = None) -> dict[str, Any]:
    """A block as the templates take it; ``names`` gives the file of each picture by its identity."""
    if isinstance(block, Picture):
        return {"kind": "picture", "file": (names or {})[id(block)], "alt": printable(block.alt)}
    if isinstance(block, Table):
        return {
            "kind": "table",
            "title": wrappable(block.title),
            "columns": [{"title": c.title, "width": c.width, "right": c.right} for c in block.columns],
            "rows": [wrappable(r) if isinstance(r, str) else [_cell(c) for c in r] for r in block.rows],
        }
    if isinstance(block, Title):
        return {"kind": "title", "text": wrappable(block.text)}
    if isinstance(block, Items):
        return {"kind": "items", "lines": [wrappable(line) for line in block.lines], "numbered": block.numbered}
    return {"kind": block.kind, "text": wrappable(block.text)}


def _section(section: Section, names: Mapping[int, str]) -> dict[str, Any]:
    blocks = [as_data(b, names) for b in section.blocks]
    return {"key": section.key, "title": section.title, "wide": section.wide, "blocks": blocks}
