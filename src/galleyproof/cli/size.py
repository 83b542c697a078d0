"""``galleyproof size``: every size of a job, and the whole reasoning of one."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Any

from galleyproof import units
from galleyproof.cli import text
from galleyproof.cli.check import heading
from galleyproof.cli.files import Loaded, load_jobs, one_problem, read_library
from galleyproof.cli.main import ALL_WELL, BAD_INPUT, FOUND
from galleyproof.cli.size_data import number_data, sizes_data
from galleyproof.design.builder import natural
from galleyproof.errors import GalleyproofError, Problem
from galleyproof.findings import Citation
from galleyproof.job.model import Circuit, Job
from galleyproof.library.model import DeviceType
from galleyproof.reasoning import Step, source
from galleyproof.sizing.model import Number, RacewaySize, Sizes
from galleyproof.sizing.raceways import Filling
from galleyproof.sizing.whole_job import size
from galleyproof.yamltext import hint
from galleyproof.yamltext.words import cut

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

NEAR = 5
"""Keys named when nothing of that name is sized. [-]"""


def run(args: Namespace) -> int:
    """Show the sizes of each job, or why one number is what it is."""
    library = read_library(args.library)
    loaded, problems, many = load_jobs([args.job])
    sized, more = size_all(loaded, library)
    problems += more
    if args.why is not None:
        return _why(args, sized, problems, many)
    if args.json:
        _dump([sizes_data(one, sizes) for one, sizes in sized], many)
    elif sized:
        _tables(sized, many)
    text.complain(problems)
    return _status(sized, problems)


def size_all(
    loaded: Iterable[Loaded], library: Mapping[str, DeviceType]
) -> tuple[list[tuple[Loaded, Sizes]], list[Problem]]:
    """The sizes of each job, and what no rule can take."""
    sized: list[tuple[Loaded, Sizes]] = []
    problems: list[Problem] = []
    for one in loaded:
        try:
            sized.append((one, size(one.job, one.design, library)))
        except GalleyproofError as error:
            problems.append(Problem(one.name, 0, "sizing", " ".join(str(error).split())))
    return sized, problems


def _status(sized: list[tuple[Loaded, Sizes]], problems: list[Problem]) -> int:
    if problems:
        return BAD_INPUT
    return FOUND if any(text.weighs(sizes.findings) for _, sizes in sized) else ALL_WELL


def _dump(data: list[dict[str, Any]], many: bool) -> None:
    if many:
        print(text.dump({"jobs": data}), end="")
    elif data:
        print(text.dump(data[0]), end="")


# --- why --------------------------------------------------------------------------------------------------------


def _why(args: Namespace, sized: list[tuple[Loaded, Sizes]], problems: list[Problem], many: bool) -> int:
    having = [(one, sizes, sizes.matching(args.why)) for one, sizes in sized]
    having = [h for h in having if h[2]]
    if sized and not having:
        problems += one_problem(args.job, _unknown(args.why, [sizes for _, sizes in sized])).problems
    elif args.json:
        data = [{"job": one.name, "numbers": [number_data(n) for n in found]} for one, _, found in having]
        _dump(data, many)
    elif having:
        out = text.console()
        for i, (one, sizes, found) in enumerate(having):
            if i:
                out.print()
            out.print(heading(one), style="bold")
            text.show(out, f"Clauses without a name are those of NFPA 70-{sizes.edition}")
            for number in found:
                out.print()
                _reasoning(out, number, sizes.edition)
        if many and len(having) < len(sized):
            out.print()
            out.print(f"{text.plural(len(sized) - len(having), 'job')} of the folder without {cut(args.why)}")
        text.caution(out)
    text.complain(problems)
    return _status([(one, sizes) for one, sizes, _ in having], problems)


def _unknown(item: str, sizes: Iterable[Sizes]) -> str:
    """Nothing of that name; the nearest keys, items and circuits."""
    numbers = [n for one in sizes for n in one.numbers]
    if not numbers:
        return "no number is sized in this job"
    names = dict.fromkeys(x for n in numbers for x in (n.item, n.circuit) if x)
    near = hint(item, names)
    if near:
        return f"nothing called {cut(item)!r} is sized{near}"
    words = {w for w in item.lower().split() if len(w) > 1}
    keys = list(dict.fromkeys(n.key for n in numbers))
    shared = {k: sum(w in k.lower() for w in words) for k in keys}
    best = sorted((k for k in keys if shared[k]), key=lambda k: -shared[k]) or keys
    return f"nothing called {cut(item)!r} is sized; nearest: {', '.join(repr(k) for k in best[:NEAR])}"


def _reasoning(out: Console, number: Number, edition: str) -> None:
    from rich.padding import Padding
    from rich.table import Table
    from rich.text import Text

    line = Text(f"{number.key}: {value(number)}", style="bold")
    if number.given:
        line.append(f"   given: {number.given}")
    if not number.ok:
        line.append("   does not hold", style="red")
    text.show(out, line)
    steps = Table.grid(padding=(0, 1))
    steps.add_column(justify="right", no_wrap=True)
    steps.add_column(overflow="fold")
    for n, step in enumerate(number.result.steps, start=1):
        row = Text(plain(step))
        if step.basis:
            row.append(f"  [{sources(step.basis, edition)}]", style="cyan")
        steps.add_row(f"{n}.", row)
    for passed in number.result.passed_over:
        steps.add_row("-", Text(f"passed over: {passed}", style="dim"))
    for doubt in number.result.doubts:
        steps.add_row("!", Text(f"look it up before relying on it: {doubt}", style="yellow"))
    text.show(out, Padding(steps, (0, 0, 0, 2)))


def plain(step: Step) -> str:
    """A step without its clauses."""
    return str(Step(step.text, step.value, step.unit))


# --- words for clauses ------------------------------------------------------------------------------------------


def sources(basis: Iterable[Citation], edition: str) -> str:
    """Clauses with their notes, each standard named once for those that follow each other."""
    return _clauses(basis, edition, notes=True)


def clauses(basis: Iterable[Citation], edition: str) -> str:
    """Places only: those of NFPA 70 in the job's edition without its name."""
    return _clauses(basis, edition, notes=False)


def _clauses(basis: Iterable[Citation], edition: str, *, notes: bool) -> str:
    said: list[str] = []
    for c in basis:
        own = (c.standard, c.edition) == ("NFPA 70", edition)
        if notes:
            word = c.place if own and c.place else source(c)
        else:
            # what a fact of the trade is about stands beside it already
            word = c.place if own and c.place else (c.standard if not c.edition else str(c))
        if own and c.place and notes and c.note:
            word = f"{word}, {c.note}"
        said.append(word)
    return "; ".join(dict.fromkeys(said))


# --- tables -----------------------------------------------------------------------------------------------------


def _tables(sized: list[tuple[Loaded, Sizes]], many: bool) -> None:
    out = text.console()
    for i, (one, sizes) in enumerate(sized):
        if i:
            out.print()
        _job(out, one, sizes)
    if many:
        out.print()
        text.show(out, _summary(sized))
    text.caution(out)


def _job(out: Console, one: Loaded, sizes: Sizes) -> None:
    out.print(heading(one), style="bold")
    text.show(
        out,
        f"Clauses without a name are those of NFPA 70-{sizes.edition}; all of a number's, and its steps: --why ITEM",
    )
    rows = {n.key: _row(n, sizes.edition) for n in sizes.numbers}
    widths = [
        min(most, max([len(t), *(len(r[i]) for r in rows.values())]))
        for i, (t, most) in enumerate(zip(_TITLES, _WIDEST, strict=False))
    ]
    for at, (tag, numbers) in enumerate(sizes.of_circuit.items()):
        out.print()
        text.show(out, _bold(title(one.job, tag)))
        made = text.table(*_TITLES)
        for column, width in zip(made.columns, widths, strict=False):
            column.width = width
        made.show_header = at == 0
        for n in numbers:
            made.add_row(*rows[n.key], style=None if n.ok else "red")
        text.show(out, made)
    if sizes.raceways:
        out.print()
        text.show(out, _bold("Raceways and open cables"))
        text.show(out, _raceways(sizes.raceways))
    out.print()
    if sizes.findings:
        text.show(out, text.findings_table(sizes.findings))
    text.show(
        out,
        f"{text.plural(len(sizes.numbers), 'number')}, {text.plural(len(sizes.raceways), 'raceway')} and "
        f"{text.plural(len(sizes.conductors), 'conductor')} by NFPA 70-{sizes.edition}: "
        f"{text.counted(sizes.findings)}.",
    )


_TITLES = ("Item", "What", "Size", "Given", "Holds", "By")
_WIDEST = (13, 23, 12, 17, 5)


def _row(n: Number, edition: str) -> tuple[str, ...]:
    holds = "no" if not n.ok else ("yes" if n.given else "")
    return (n.item, n.what, value(n), n.given, holds, clauses(deciding(n), edition))


def value(n: Number) -> str:
    """A number as the table shows it; a share beside a share in percent as one, too."""
    share = n.result.value
    if isinstance(share, float) and n.result.unit == "-" and "%" in n.given:
        return f"{share:.1%}"
    return n.text


def deciding(n: Number) -> tuple[Citation, ...]:
    """Clauses of the last step that has any: what the number itself goes by, not what went into it."""
    return next((step.basis for step in reversed(n.result.steps) if step.basis), n.basis)


def _bold(words: str) -> Any:
    from rich.text import Text

    return Text(words, style="bold")


def title(job: Job, tag: str) -> str:
    """``LP-2/8   EF-2, 208Y/120 V, lines L1 L2 L3, breaker 30 A``; the panel for what belongs to no circuit."""
    circuit = next((c for c in job.circuits if c.tag == tag), None)
    if circuit is None:
        if tag == job.panel.tag:
            return f"{tag}   the panel and its control power"
        return f"{tag}   the panelboard and its feeder" if any(p.tag == tag for p in job.panelboards) else tag
    return f"{tag}   {', '.join(_circuit(job, circuit))}"


def _circuit(job: Job, circuit: Circuit) -> Iterator[str]:
    feeds = list(users(job, circuit.tag))
    if feeds:
        yield ", ".join(feeds)
    elif circuit.note:
        yield circuit.note
    board = next((p for p in job.panelboards if p.tag == circuit.panelboard), None)
    supply = next((s for s in job.supplies if board and s.tag == board.supply), None)
    if supply:
        yield supply.system
    yield f"{'line' if len(circuit.lines) == 1 else 'lines'} {' '.join(circuit.lines)}"
    yield f"breaker {circuit.breaker:g} A"


def users(job: Job, circuit: str) -> Iterator[str]:
    """Tags of what a circuit feeds, in the order of the job."""
    if job.panel.circuit == circuit:
        yield job.panel.tag
    for hood in job.hoods:
        if hood.lights and hood.lights.circuit == circuit:
            yield f"lights of {hood.tag}"
        yield from (a.tag for a in hood.appliances if a.circuit == circuit)
    yield from (f.tag for f in job.exhaust_fans if f.circuit == circuit)
    yield from (u.tag for u in job.makeup_units if u.circuit == circuit)
    yield from (f"shutdown coils of {s.tag}" for s in job.fire_systems if s.shutdown_circuit == circuit)


def _raceways(raceways: Iterable[RacewaySize]) -> Table:
    made = text.table("Raceway", "Size", "From and to", "Holds", "Fill", right=("Fill",))
    for r in sorted(raceways, key=lambda r: natural(r.tag)):
        way = f"{r.from_place} to {r.to_place}, {r.length_ft:g} ft"
        held = "; ".join(filling(f) for f in r.contents)
        fill = f"{r.fill_ratio:.0%} of {r.max_fill_ratio:.0%}" if r.trade_size else ""
        made.add_row(r.tag, f"{r.trade_size} {r.kind}".strip(), way, f"{held} ({r.energy_class})", fill)
    return made


def filling(f: Filling) -> str:
    """``3 × 10 AWG THWN-2``, or a cable by its name."""
    if f.cable_diameter_inch is not None:
        return f"{f.count} × {f.size}, {f.cable_diameter_inch:g} in across"
    return f"{f.count} × {units.format_awg(f.size)} {f.insulation}"


def _summary(sized: list[tuple[Loaded, Sizes]]) -> Table:
    numbers = ("Numbers", "Raceways", "Conductors", "Errors", "Warnings", "Notes")
    made = text.table("Job", *numbers, right=numbers)
    for one, sizes in sized:
        n = text.count(sizes.findings)
        cells = (len(sizes.numbers), len(sizes.raceways), len(sizes.conductors), *n.values())
        made.add_row(one.name, *(f"{c:,}" for c in cells))
    return made
