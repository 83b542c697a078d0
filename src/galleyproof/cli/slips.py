"""``galleyproof slips``: every wiring mistake in every situation, and whether anyone would notice."""

from __future__ import annotations

import time
from argparse import Namespace
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from galleyproof.checkout.catching import Catch, catches
from galleyproof.checkout.whole import Bench
from galleyproof.checkout.words import said, said_range
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
    done: list[_Done] = []
    with progress(len(loaded), "trying slips") as tell:
        for n, one in enumerate(loaded):
            told = within(tell, one.name, n, len(loaded))
            try:
                start = time.perf_counter()
                result = study(one.job, one.design, library, progress=told)
                seconds = time.perf_counter() - start
                bought = _advice(one, library, result) if args.advise else ()
                done.append(_Done(one, result, seconds, _caught(one, library, result), bought))
            except CircuitError as error:
                problems.append(Problem(one.name, 0, "circuit", " ".join(str(error).split())))
    if args.json:
        each = [data(d.result, d.seconds, d.bought if args.advise else None, d.caught) for d in done]
        if many:
            jobs = [{"job": d.job.name, **found} for d, found in zip(done, each, strict=True)]
            print(text.dump({"jobs": jobs}), end="")
        elif each:
            print(text.dump(each[0]), end="")
    elif done:
        out = text.console()
        for i, one_done in enumerate(done):
            if i:
                out.print()
            _tell(out, one_done, advise=args.advise, everything=args.all)
        text.caution(out)
    text.complain(problems)
    if problems:
        return BAD_INPUT
    return FOUND if any(d.result.count("hidden") for d in done) else ALL_WELL


@dataclass(frozen=True)
class _Done:
    """One job studied."""

    job: Loaded
    result: Study
    seconds: float
    caught: Mapping[str, Catch | None]
    bought: tuple[Bought, ...]


def _caught(one: Loaded, library: Mapping[str, DeviceType], result: Study) -> dict[str, Catch | None]:
    """What catches each hidden slip."""
    hidden = [o.slip for o in result.outcomes if o.verdict == "hidden"]
    return catches(Bench(one.job, one.design, library), hidden) if hidden else {}


def _advice(one: Loaded, library: Mapping[str, DeviceType], result: Study) -> tuple[Bought, ...]:
    return advise(one.job, library, result)


def data(
    done: Study,
    seconds: float,
    bought: tuple[Bought, ...] | None = None,
    caught: Mapping[str, Catch | None] | None = None,
) -> dict[str, Any]:
    """A study as data; hidden slips with the reading that catches them and, if asked, the changes that remove them."""
    found: dict[str, Any] = {
        "summary": {
            "slips": len(done.outcomes),
            **{verdict: done.count(verdict) for verdict in reversed(CLASSES)},
            "evaluations": done.evaluations,
            "seconds": round(seconds, 3),
        },
        "slips": [
            {**_slip(o), **(_of_hidden(o, caught or {}, bought) if o.verdict == "hidden" else {})}
            for o in done.outcomes
        ],
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


def _of_hidden(o: Outcome, caught: Mapping[str, Catch | None], bought: tuple[Bought, ...] | None) -> dict[str, Any]:
    found: dict[str, Any] = {}
    if o.slip.key in caught:
        catch = caught[o.slip.key]
        found["caught_by"] = catch and {
            "probe": catch.probe.key,
            "stage": catch.probe.stage.value,
            "preparation": catch.probe.preparation,
            "do": catch.probe.words,
            "expected": said_range(catch.probe, catch.expected),
            "reads": said(catch.probe.kind, catch.reads),
            "others": catch.beside,
        }
    if bought is not None:
        found["removed_by"] = [b.proposal.says for b in bought if o.slip.key in b.gone]
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


def _tell(out: Console, told: _Done, *, advise: bool, everything: bool) -> None:
    done, bought = told.result, told.bought
    out.print(heading(told.job), style="bold")
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
            _group(out, mine, told.caught, bought, everything=everything)
    if advise:
        out.print()
        _bought(out, bought)
    out.print()
    situations = f"{done.situations:,} situations"
    out.print(f"{len(done.outcomes):,} slips in {situations}: {done.evaluations:,} in all.")


def _group(
    out: Console,
    outcomes: list[Outcome],
    caught: Mapping[str, Catch | None],
    bought: tuple[Bought, ...],
    *,
    everything: bool,
) -> None:
    """The likeliest first; for hidden ones, what catches or removes them, and who should test for them."""
    ordered = sorted(outcomes, key=lambda o: (-o.slip.prior, o.slip.kind))
    shown = ordered if everything else ordered[:FEW]
    hidden = outcomes[0].verdict == "hidden"
    columns = ["Kind", "What was done", "What one would see"]
    if hidden:
        columns.append("What catches it")
    if hidden and bought:
        columns.append("What removes it")
    made = text.table(*columns)
    for o in shown:
        row = [o.slip.kind, o.slip.sentence, o.seen]
        if hidden:
            catch = caught.get(o.slip.key)
            row.append(catch.words() if catch else "no reading shows it")
        if hidden and bought:
            row.append("; ".join(b.proposal.says for b in bought if o.slip.key in b.gone) or "none of those tried")
        made.add_row(*row)
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
