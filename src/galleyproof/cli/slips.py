"""``galleyproof slips``: every wiring mistake in every situation, and whether anyone would notice."""

from __future__ import annotations

import time
from argparse import Namespace
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from galleyproof.cli import text
from galleyproof.cli.check import heading
from galleyproof.cli.files import Loaded, load_jobs, read_library
from galleyproof.cli.main import ALL_WELL, BAD_INPUT, FOUND
from galleyproof.cli.proving import progress, within
from galleyproof.errors import CircuitError, Problem
from galleyproof.library.model import DeviceType
from galleyproof.proof.advice import Bought, advise
from galleyproof.proof.study import CLASSES, Outcome, Study, study

if TYPE_CHECKING:
    from rich.console import Console

MEANS = {
    "hidden": "all looks well; a promise fails when it is needed",
    "announced": "an alarm sounds in daily use",
    "obvious": "something plainly does not work in daily use",
    "harmless": "every promise holds",
}
FEW = 12
"""Slips of a kind shown unless all are asked for. [-]"""


def run(args: Namespace) -> int:
    """Study each job."""
    library = read_library(args.library)
    loaded, problems, many = load_jobs([args.job])
    done: list[tuple[Loaded, Study, float, tuple[Bought, ...]]] = []
    with progress(len(loaded), "trying slips") as tell:
        for n, one in enumerate(loaded):
            told = within(tell, one.name, n, len(loaded))
            try:
                start = time.perf_counter()
                result = study(one.job, one.design, library, progress=told)
                seconds = time.perf_counter() - start
                bought = _advice(one, library, result) if args.advise else ()
                done.append((one, result, seconds, bought))
            except CircuitError as error:
                problems.append(Problem(one.name, 0, "circuit", " ".join(str(error).split())))
    if args.json:
        each = [data(result, seconds, bought if args.advise else None) for _, result, seconds, bought in done]
        if many:
            jobs = [{"job": one.name, **d} for (one, *_), d in zip(done, each, strict=True)]
            print(text.dump({"jobs": jobs}), end="")
        elif each:
            print(text.dump(each[0]), end="")
    elif done:
        out = text.console()
        for i, (one, result, _, bought) in enumerate(done):
            if i:
                out.print()
            _tell(out, one, result, bought, advise=args.advise, everything=args.all)
        text.caution(out)
    text.complain(problems)
    if problems:
        return BAD_INPUT
    return FOUND if any(result.count("hidden") for _, result, *_ in done) else ALL_WELL


def _advice(one: Loaded, library: Mapping[str, DeviceType], result: Study) -> tuple[Bought, ...]:
    return advise(one.job, library, result)


def data(done: Study, seconds: float, bought: tuple[Bought, ...] | None = None) -> dict[str, Any]:
    """A study as data."""
    found: dict[str, Any] = {
        "summary": {
            "slips": len(done.outcomes),
            **{verdict: done.count(verdict) for verdict in reversed(CLASSES)},
            "evaluations": done.evaluations,
            "seconds": round(seconds, 3),
        },
        "slips": [_slip(o) for o in done.outcomes],
    }
    if bought is not None:
        found["advice"] = [
            {
                "change": b.proposal.says,
                "why": b.proposal.why,
                "hidden_before": b.before,
                "hidden_after": b.after,
                "weight_before": round(b.weight_before, 3),
                "weight_after": round(b.weight_after, 3),
                "gone": list(b.gone),
                "new": list(b.new),
            }
            for b in bought
        ]
    return found


def _slip(o: Outcome) -> dict[str, Any]:
    return {
        "slip": o.slip.key,
        "kind": o.slip.kind,
        "class": o.verdict,
        "done": o.slip.sentence,
        "seen": o.seen,
        "test": o.test,
        "prior": o.slip.prior,
        "devices": list(o.slip.devices),
        "terminals": [str(t) for t in o.slip.terminals],
        "broken": [
            {
                "promise": b.promise,
                "device": b.device,
                "situations": b.situations,
                "situation": b.situation,
                "found": b.found,
            }
            for b in o.broken
        ],
    }


# --- tables -----------------------------------------------------------------------------------------------------


def _tell(
    out: Console, one: Loaded, done: Study, bought: tuple[Bought, ...], *, advise: bool, everything: bool
) -> None:
    out.print(heading(one), style="bold")
    out.print()
    made = text.table("Class", "Slips", "What it means", right=("Slips",))
    for verdict in CLASSES:
        made.add_row(
            verdict, f"{done.count(verdict):,}", MEANS[verdict], style="bold red" if verdict == "hidden" else ""
        )
    text.show(out, made)
    for verdict in CLASSES if everything else CLASSES[:1]:
        mine = [o for o in done.outcomes if o.verdict == verdict]
        if mine:
            out.print()
            out.print(verdict.capitalize(), style="bold red" if verdict == "hidden" else "bold")
            _group(out, mine, everything=everything)
    if advise:
        out.print()
        _bought(out, bought)
    out.print()
    situations = f"{done.situations:,} situations"
    out.print(f"{len(done.outcomes):,} slips in {situations}: {done.evaluations:,} in all.")


def _group(out: Console, outcomes: list[Outcome], *, everything: bool) -> None:
    """The likeliest first; for hidden ones, who should test for them."""
    ordered = sorted(outcomes, key=lambda o: (-o.slip.prior, o.slip.kind))
    shown = ordered if everything else ordered[:FEW]
    made = text.table("Kind", "What was done", "What one would see")
    for o in shown:
        made.add_row(o.slip.kind, o.slip.sentence, o.seen)
    text.show(out, made)
    if len(shown) < len(ordered):
        out.print(f"  and {text.plural(len(ordered) - len(shown), 'more slip')}; --all shows them")
    tests = dict.fromkeys(o.test for o in ordered if o.test)
    if tests:
        out.print()
        out.print("Tests that keep them from staying", style="bold")
        made = text.table("Slips", "Who does what, and how often", right=("Slips",))
        for test in tests if everything else list(tests)[:FEW]:
            made.add_row(str(sum(o.test == test for o in ordered)), test)
        text.show(out, made)


def _bought(out: Console, bought: tuple[Bought, ...]) -> None:
    out.print("Changes of the job, each tried", style="bold")
    if not bought:
        out.print("  none of the known changes fits this job")
        return
    made = text.table(
        "Change", "Hidden before", "after", "Likelihood", "Why", right=("Hidden before", "after", "Likelihood")
    )
    for b in bought:
        made.add_row(b.proposal.says, str(b.before), str(b.after), f"{b.share:.0%} of before", b.proposal.why)
    text.show(out, made)
