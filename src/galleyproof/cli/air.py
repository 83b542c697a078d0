"""``galleyproof air``: the air side of a job, and the whole reasoning behind one item."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from galleyproof.air.job_air import check_air
from galleyproof.air.model import AirReport
from galleyproof.cli import text
from galleyproof.cli.air_data import report_data
from galleyproof.cli.air_tables import sections
from galleyproof.cli.check import heading
from galleyproof.cli.files import Loaded, load_jobs, one_problem, read_library
from galleyproof.cli.main import ALL_WELL, BAD_INPUT, FOUND
from galleyproof.errors import GalleyproofError, Problem
from galleyproof.yamltext import hint
from galleyproof.yamltext.words import cut

if TYPE_CHECKING:
    from rich.console import Console

NEAR = 12
"""Items named when nothing is called as asked. [-]"""


def run(args: Namespace) -> int:
    """Show the air of each job, or the reasoning behind one item."""
    read_library(args.library)  # a wrong library is told here too
    loaded, problems, many = load_jobs([args.job])
    checked: list[tuple[Loaded, AirReport]] = []
    for one in loaded:
        try:
            checked.append((one, check_air(one.job)))
        except GalleyproofError as error:
            problems.append(Problem(one.name, 0, "air", " ".join(str(error).split())))
    if args.why is not None:
        return _why(args, checked, problems, many)
    if args.json:
        _dump([{"job": one.name, **report_data(report)} for one, report in checked], many)
    elif checked:
        out = text.console()
        for i, (one, report) in enumerate(checked):
            if i:
                out.print()
            _print(out, one, report)
        text.caution(out)
    text.complain(problems)
    return _status(checked, problems)


def _status(checked: Iterable[tuple[Loaded, AirReport]], problems: list[Problem]) -> int:
    if problems:
        return BAD_INPUT
    return FOUND if any(text.weighs(report.findings) for _, report in checked) else ALL_WELL


def _dump(data: list[dict[str, Any]], many: bool) -> None:
    if many:
        print(text.dump({"jobs": data}), end="")
    elif data:
        print(text.dump(data[0]), end="")


def _print(out: Console, one: Loaded, report: AirReport) -> None:
    out.print(heading(one), style="bold")
    for title, table, remarks in sections(report):
        out.print()
        out.print(title, style="bold")
        if table is not None:
            text.show(out, table)
        for remark in remarks:
            text.show(out, remark)
    if report.findings:
        out.print()
        out.print("Findings", style="bold")
        text.show(out, text.findings_table(report.findings))
    out.print()
    text.show(out, f"{text.counted(report.findings).capitalize()}. Flows are those of the schedule; measure them.")


# --- why --------------------------------------------------------------------------------------------------------


def _why(args: Namespace, checked: list[tuple[Loaded, AirReport]], problems: list[Problem], many: bool) -> int:
    asked = args.why.casefold()
    having = []
    for one, report in checked:
        item = next((name for name in report.reasons if name.casefold() == asked), None)
        if item is not None:
            having.append((one, report, item))
    if checked and not having:
        known = dict.fromkeys(name for _, report in checked for name in report.reasons)
        problems += one_problem(args.job, _unknown(args.why, known)).problems
    elif args.json:
        _dump(
            [{"job": one.name, "item": item, "numbers": _numbers(report, item)} for one, report, item in having], many
        )
    elif having:
        out = text.console()
        for i, (one, report, item) in enumerate(having):
            if i:
                out.print()
            out.print(heading(one), style="bold")
            _reasoning(out, report, item)
        if many and len(having) < len(checked):
            out.print()
            out.print(f"{text.plural(len(checked) - len(having), 'job')} of the folder without {cut(args.why)}")
        text.caution(out)
    text.complain(problems)
    return _status([(one, report) for one, report, _ in having], problems)


def _unknown(item: str, known: Iterable[str]) -> str:
    names = list(known)
    near = hint(item, names)
    listed = ", ".join(names[:NEAR]) + (f" and {len(names) - NEAR} more" if len(names) > NEAR else "")
    return f"the air check has no number about {cut(item)!r}{near}; items here: {listed}"


def _numbers(report: AirReport, item: str) -> list[dict[str, Any]]:
    return [{"what": w.title, "value": w.value, "steps": list(w.lines)} for w in report.reasons[item]]


def _reasoning(out: Console, report: AirReport, item: str) -> None:
    from rich.padding import Padding
    from rich.text import Text

    for why in report.reasons[item]:
        out.print()
        text.show(out, Text(f"{item}: {why.title}: {why.value}", style="bold"))
        for line in why.lines:
            text.show(out, Padding(Text(line), (0, 0, 0, 2)))
    mine = [f for f in report.findings if f.item == item]
    if mine:
        out.print()
        text.show(out, text.findings_table(mine))
