"""``galleyproof check``: the findings of jobs."""

from __future__ import annotations

from argparse import Namespace
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from galleyproof.cli import text
from galleyproof.cli.files import Loaded, load_jobs, read_library
from galleyproof.cli.main import ALL_WELL, BAD_INPUT, FOUND
from galleyproof.cli.proving import prove_all
from galleyproof.errors import InputError
from galleyproof.proof.model import Proof

if TYPE_CHECKING:
    from galleyproof.review.search import Cure


def run(args: Namespace) -> int:
    """List the findings of each job; look for a cure where one is asked."""
    library = read_library(args.library)
    loaded, problems, many = load_jobs(args.jobs)
    if not args.cure:
        proofs, more = prove_all(loaded, library)
        shown = [_Checked(one, proofs[one.name]) for one in loaded if one.name in proofs]
    else:
        from galleyproof.cli import cure
        from galleyproof.cli.job_findings import review_all

        reviews, more = review_all(loaded, library)
        shown = []
        for one in loaded:
            seen = reviews.get(one.name)
            if seen is None:
                continue
            found = cure.cure(one, seen, library)
            written = False
            if args.write:
                try:
                    cure.write(one, found)
                    written = bool(found.changes)
                except InputError as error:
                    more += error.problems
            shown.append(_Checked(one, seen.proof, found, written))
    problems += more
    if args.json:
        data = [_data(c) for c in shown]
        if many:
            print(text.dump({"jobs": data}), end="")
        elif data:
            print(text.dump(data[0]), end="")
    elif shown:
        _tables(shown, many)
    text.complain(problems)
    if problems:
        return BAD_INPUT
    return FOUND if any(c.bad for c in shown) else ALL_WELL


@dataclass(frozen=True, slots=True)
class _Checked:
    """A job with what was found, and what was done about it."""

    one: Loaded
    proof: Proof
    cure: Cure | None = None
    written: bool = False

    @property
    def bad(self) -> bool:
        """Whether the job as it now stands makes the exit status 1."""
        if self.written and self.cure is not None:
            return bool(self.cure.left)
        return bad(self.proof)


def bad(proof: Proof) -> bool:
    """Whether a proof makes the exit status 1."""
    return text.weighs(proof.findings) or proof.held < len(proof.verdicts)


def _tables(shown: list[_Checked], many: bool) -> None:
    out = text.console()
    for i, c in enumerate(shown):
        if i:
            out.print()
        out.print(heading(c.one), style="bold")
        if c.proof.findings:
            text.show(out, text.findings_table(c.proof.findings))
        out.print(verdict(c.proof))
        if c.cure is not None:
            from galleyproof.cli import cure

            cure.show(out, c.one, c.cure, written=c.written)
    if many:
        out.print()
        text.show(out, summary([(c.one, c.proof) for c in shown]))


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


def _data(c: _Checked) -> dict[str, Any]:
    counts = text.count(c.proof.findings)
    proof = c.proof
    made = {
        "job": c.one.name,
        "summary": {**counts, "promises": len(proof.verdicts), "held": proof.held, "situations": proof.situations},
        "findings": [text.finding_data(f) for f in text.by_weight(proof.findings)],
    }
    if c.cure is not None:
        from galleyproof.cli import cure

        made["cure"] = cure.data(c.one, c.cure, written=c.written)
    return made
