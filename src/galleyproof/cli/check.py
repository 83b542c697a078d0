"""``galleyproof check``: the findings of jobs."""

from __future__ import annotations

from argparse import Namespace
from typing import Any

from galleyproof.cli import text
from galleyproof.cli.files import Loaded, load_jobs, read_library
from galleyproof.cli.main import ALL_WELL, BAD_INPUT, FOUND
from galleyproof.cli.proving import prove_all
from galleyproof.proof.model import Proof


def run(args: Namespace) -> int:
    """List the findings of each job."""
    library = read_library(args.library)
    loaded, problems, many = load_jobs(args.jobs)
    proofs, more = prove_all(loaded, library)
    problems += more
    shown = [(one, proofs[one.name]) for one in loaded if one.name in proofs]
    if args.json:
        data = [_data(one, proof) for one, proof in shown]
        if many:
            print(text.dump({"jobs": data}), end="")
        elif data:
            print(text.dump(data[0]), end="")
    elif shown:
        _tables(shown, many)
    text.complain(problems)
    if problems:
        return BAD_INPUT
    return FOUND if any(bad(proof) for _, proof in shown) else ALL_WELL


def bad(proof: Proof) -> bool:
    """Whether a proof makes the exit status 1."""
    return text.weighs(proof.findings) or proof.held < len(proof.verdicts)


def _tables(shown: list[tuple[Loaded, Proof]], many: bool) -> None:
    out = text.console()
    for i, (one, proof) in enumerate(shown):
        if i:
            out.print()
        out.print(heading(one), style="bold")
        if proof.findings:
            text.show(out, text.findings_table(proof.findings))
        out.print(verdict(proof))
    if many:
        out.print()
        text.show(out, summary(shown))


def heading(one: Loaded) -> str:
    """``examples/ferry-cafe.yaml · SM-101 revision A · Saltmarrow Ferry Café``."""
    return f"{one.name} · {one.job.job.number} revision {one.job.job.revision} · {one.job.job.name}"


def verdict(proof: Proof) -> str:
    """One line: findings and promises."""
    n = len(proof.verdicts)
    kept = "all hold" if proof.held == n else f"{proof.held} hold, {n - proof.held} broken"
    return (
        f"{text.counted(proof.findings).capitalize()}; {text.plural(n, 'promise')} over "
        f"{text.plural(proof.situations, 'situation')}: {kept}."
    )


def summary(shown: list[tuple[Loaded, Proof]]) -> Any:
    """A line for each job."""
    numbers = ("Promises", "Broken", "Situations", "Errors", "Warnings", "Notes")
    made = text.table("Job", *numbers, right=numbers)
    for one, proof in shown:
        n = text.count(proof.findings)
        broken = len(proof.verdicts) - proof.held
        cells = (len(proof.verdicts), broken, proof.situations, n["errors"], n["warnings"], n["notes"])
        made.add_row(one.name, *(f"{c:,}" for c in cells))
    return made


def _data(one: Loaded, proof: Proof) -> dict[str, Any]:
    counts = text.count(proof.findings)
    return {
        "job": one.name,
        "summary": {**counts, "promises": len(proof.verdicts), "held": proof.held, "situations": proof.situations},
        "findings": [text.finding_data(f) for f in text.by_weight(proof.findings)],
    }
