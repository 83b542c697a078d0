"""``galleyproof plan``: the shortest check-out sheet of a job."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from galleyproof.checkout.acceptance import acceptance
from galleyproof.checkout.plan import Plan, make_plan
from galleyproof.checkout.whole import Bench
from galleyproof.checkout.words import said_range
from galleyproof.cli import text
from galleyproof.cli.check import heading
from galleyproof.cli.files import Loaded, load_jobs, read_library
from galleyproof.cli.main import ALL_WELL, BAD_INPUT
from galleyproof.cli.proving import progress
from galleyproof.errors import CircuitError, Problem
from galleyproof.library.model import DeviceType
from galleyproof.proof.slips import Slip, all_slips

if TYPE_CHECKING:
    from rich.console import Console


def run(args: Namespace) -> int:
    """Print the plan of each job."""
    library = read_library(args.library)
    loaded, problems, many = load_jobs([args.job])
    shown: list[tuple[Loaded, Plan, dict[str, Slip]]] = []
    with progress(len(loaded), "simulating every slip") as tell:
        for done, one in enumerate(loaded):

            def told(at: int, of: int, name: str = one.name, done: int = done) -> None:
                tell(name, (done + at / of) / len(loaded))

            try:
                shown.append((one, *plan_of(one, library, told)))
            except CircuitError as error:
                problems.append(Problem(one.name, 0, "circuit", " ".join(str(error).split())))
    if args.json:
        data = [_data(one, plan, slips) for one, plan, slips in shown]
        if many:
            print(text.dump({"jobs": data}), end="")
        elif data:
            print(text.dump(data[0]), end="")
    else:
        out = text.console()
        for i, (one, plan, slips) in enumerate(shown):
            if i:
                out.print()
            _print(out, one, plan, slips)
        if shown:
            text.caution(out)
    text.complain(problems)
    return BAD_INPUT if problems else ALL_WELL


def plan_of(one: Loaded, library: Mapping[str, DeviceType], told: Any = None) -> tuple[Plan, dict[str, Slip]]:
    """The plan of one job and its slips by key."""
    bench = Bench(one.job, one.design, library)
    slips = all_slips(one.design, library)
    table = bench.signatures(slips, told)
    required = acceptance(one.job, one.design, bench.checkout)
    return make_plan(bench.checkout, table.expected, table.shows, required), {s.key: s for s in slips}


def _data(one: Loaded, plan: Plan, slips: Mapping[str, Slip]) -> dict[str, Any]:
    return {
        "job": one.name,
        "summary": {
            "probes": len(plan.readings),
            "slips": plan.slips,
            "caught": plan.caught,
            "uncatchable": len(plan.uncatchable),
            "gap": plan.gap,
            "minutes": round(plan.minutes, 1),
            "possible": plan.possible,
        },
        "cautions": {stage.value: words for stage, words in plan.cautions()},
        "preparations": [
            {
                "preparation": p.key,
                "stage": p.stage.value,
                "do": p.words,
                "minutes": p.minutes,
                "needs": p.needs,
                "after": p.after,
            }
            for p in plan.preparations
        ],
        "probes": [
            {
                "probe": r.probe.key,
                "stage": r.probe.stage.value,
                "preparation": r.probe.preparation,
                "do": r.probe.words,
                "place": r.probe.place,
                "about": r.probe.about,
                "expected": said_range(r.probe, r.expected),
                "caution": r.probe.caution,
                "minutes": r.probe.minutes,
                "hazard": r.probe.hazard,
                "acceptance": r.required,
                "catches": list(r.catches),
            }
            for r in plan.readings
        ],
        "uncatchable": [{"slip": key, "sentence": slips[key].sentence} for key in plan.uncatchable],
    }


def _print(out: Console, one: Loaded, plan: Plan, slips: Mapping[str, Slip]) -> None:
    from rich.padding import Padding
    from rich.text import Text

    out.print(heading(one), style="bold")
    out.print()
    text.show(out, f"{plan.words()}.")
    optimal = "the least that does it" if plan.gap == 0.0 else f"within {plan.gap:.2%} of the least"
    text.show(
        out,
        f"Of {plan.possible:,} possible readings these are {optimal}, proven (gap {plan.gap:g}); about "
        f"{plan.minutes:.0f} minutes of work.",
    )
    preparation = stage = ""
    words = {p.key: p for p in plan.preparations}
    cautions = dict(plan.cautions())
    listed = False
    for number, reading in enumerate(plan.readings, 1):
        probe = reading.probe
        if reading.required and not listed:
            listed = True
            preparation = ""
            out.print()
            out.print("Acceptance list", style="bold")
        elif probe.stage != stage and not reading.required:
            stage = probe.stage
            out.print()
            out.print(f"Stage: {stage}", style="bold")
            text.show(out, Padding(Text(cautions[probe.stage], style="yellow"), (0, 0, 0, 2)))
        if probe.preparation != preparation:
            preparation = probe.preparation
            prep = words[preparation]
            needs = f" (with {prep.needs})" if prep.needs else ""
            out.print()
            text.show(out, Padding(Text(f"{prep.words}{needs}:"), (0, 0, 0, 2)))
        text.show(out, Padding(Text(f"[ ] {number}. {probe.words}"), (0, 0, 0, 4)))
        news = f"; {text.plural(len(reading.first), 'slip')} no line before shows" if reading.first else ""
        text.show(out, Padding(Text(f"expect {said_range(probe, reading.expected)}{news}"), (0, 0, 0, 9)))
        if probe.caution:
            text.show(out, Padding(Text(probe.caution, style="yellow"), (0, 0, 0, 9)))
    if plan.uncatchable:
        out.print()
        out.print("No reading tells", style="bold")
        for key in plan.uncatchable:
            text.show(out, Padding(Text(f"{slips[key].sentence}."), (0, 0, 0, 2)))
    out.print()
