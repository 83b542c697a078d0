"""Words on a terminal: tables that wrap and never cut, the caution, JSON."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING, Any, TextIO

from galleyproof.errors import Problem
from galleyproof.findings import Citation, Finding, Severity

if TYPE_CHECKING:
    from rich.console import Console, RenderableType
    from rich.table import Table

WIDTH = 100
"""Columns when nobody reads along on a terminal. [-]"""

CAUTION = (
    "Caution: for qualified persons only. Lock out, tag out and test dead before you touch a conductor. The adopted "
    "local code and the authority having jurisdiction prevail. This is for review by a licensed person; it is never "
    "an approval."
)

STYLES = {Severity.ERROR: "bold red", Severity.WARNING: "yellow", Severity.NOTE: "cyan"}


def console(file: TextIO | None = None) -> Console:
    """Where tables go: as wide as the terminal, or 100 columns."""
    import os

    from rich.console import Console

    where = file or sys.stdout
    watched = where is not None and where.isatty()
    width = None if watched or os.environ.get("COLUMNS", "").isdigit() else WIDTH
    return Console(file=where, width=width, highlight=False, markup=False, emoji=False, soft_wrap=False)


def table(*titles: str, right: Iterable[str] = (), lines: bool = False) -> Table:
    """An empty table; text too long for its column goes on in the next line."""
    from rich import box
    from rich.table import Table

    made = Table(box=box.SIMPLE_HEAD, show_edge=False, show_lines=lines, pad_edge=False, padding=(0, 2, 0, 0))
    for title in titles:
        made.add_column(title, overflow="fold", justify="right" if title in right else "left")
    return made


def show(out: Console, what: RenderableType) -> None:
    """Print a table; away from a terminal without blanks at the ends of its lines."""
    if out.is_terminal:
        out.print(what)
        return
    with out.capture() as capture:
        out.print(what)
    out.file.write("".join(f"{line.rstrip()}\n" for line in capture.get().splitlines()))


def caution(out: Console) -> None:
    """The caution, once."""
    from rich.text import Text

    out.print()
    show(out, Text(CAUTION, style="bold"))


def complain(problems: Iterable[Problem]) -> None:
    """Bad input, one line each, to where errors go."""
    for problem in sorted(set(problems)):
        print(problem, file=sys.stderr)


def dump(value: Any) -> str:
    """A value as JSON, the same each time."""
    return json.dumps(value, indent=2, ensure_ascii=False) + "\n"


def findings_table(findings: Iterable[Finding]) -> Table:
    """Findings with the weightiest first."""
    from rich.text import Text

    made = table("Severity", "Code", "Item", "Found, cure and clause", lines=True)
    for f in by_weight(findings):
        text = Text(f.message)
        if f.cure:
            text.append("\nCure: ", style="bold").append(f.cure)
        if f.basis:
            text.append("\nClause: ", style="bold").append(clauses(f.basis))
        made.add_row(Text(f.severity, style=STYLES[f.severity]), f.code, f.item, text)
    return made


def clauses(basis: Iterable[Citation]) -> str:
    """Clauses with the name of each standard once: ``NFPA 70-2023 430.22, Table 310.16; IMC 508.1``."""
    places: dict[str, list[str]] = {}
    for c in basis:
        places.setdefault(str(replace(c, place="", note="")), []).append(c.place)
    return "; ".join(
        f"{name} {', '.join(dict.fromkeys(p for p in found if p))}".strip() for name, found in places.items()
    )


def by_weight(findings: Iterable[Finding]) -> list[Finding]:
    """Errors, then warnings, then notes; else in the order they come."""
    order = list(Severity)
    return sorted(findings, key=lambda f: order.index(f.severity))


def weighs(findings: Iterable[Finding]) -> bool:
    """Whether a finding makes the exit status 1."""
    return any(f.severity is not Severity.NOTE for f in findings)


def count(findings: Iterable[Finding]) -> dict[str, int]:
    """Number of findings by severity."""
    found = list(findings)
    return {f"{s}s": sum(f.severity is s for f in found) for s in Severity}


def counted(findings: Iterable[Finding]) -> str:
    """``1 error, 2 notes``."""
    words = [f"{n} {name if n != 1 else name[:-1]}" for name, n in count(findings).items() if n]
    return ", ".join(words) or "no findings"


def finding_data(f: Finding) -> dict[str, Any]:
    """A finding as data."""
    return {
        "code": f.code,
        "severity": str(f.severity),
        "item": f.item,
        "message": f.message,
        "cure": f.cure,
        "clauses": [str(c) for c in f.basis],
        "evidence": list(f.evidence),
    }


def plural(n: int, one: str, many: str = "") -> str:
    """``1 job``, ``3 jobs``."""
    return f"{n:,} {one if n == 1 else many or one + 's'}"
