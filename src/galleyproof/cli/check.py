"""``galleyproof check``: the findings of jobs."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from galleyproof.cli import text
from galleyproof.cli.files import Loaded, load_jobs, read_library
from galleyproof.cli.main import ALL_WELL, BAD_INPUT, FOUND
from galleyproof.errors import InputError, Problem
from galleyproof.findings import Finding
from galleyproof.library.model import DeviceType
from galleyproof.proof.model import Proof

if TYPE_CHECKING:
    from galleyproof.review.search import Cure
    from galleyproof.review.whole import Review


def run(args: Namespace) -> int:
    """List the findings of each job; look for a cure where one is asked."""
    # here, because other commands take their words from this module and need none of the rules
    from galleyproof.cli.job_findings import review_all

    library = read_library(args.library)
    loaded, problems, many = load_jobs(args.jobs)
    reviews, more = review_all(loaded, library)
    problems += more
    shown = [_Checked(one, reviews[one.name]) for one in loaded if one.name in reviews]
    if args.cure:
        shown = [_cured(c, library, problems, write=args.write) for c in shown]
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


def _cured(c: _Checked, library: Mapping[str, DeviceType], problems: list[Problem], *, write: bool) -> _Checked:
    """The job with a proposal, written into its file where that is asked."""
    from galleyproof.cli import cure

    found = cure.cure(c.one, c.seen, library)
    written = False
    if write:
        try:
            cure.write(c.one, found)
            written = bool(found.changes)
        except InputError as error:
            problems += error.problems
    return replace(c, cure=found, written=written)


@dataclass(frozen=True, slots=True)
class _Checked:
    """A job with what was found, and what was done about it."""

    one: Loaded
    seen: Review
    cure: Cure | None = None
    written: bool = False

    @property
    def bad(self) -> bool:
        """Whether the job as it now stands makes the exit status 1."""
        if self.written and self.cure is not None:
            return bool(self.cure.left)
        return text.weighs(self.seen.findings) or bad(self.seen.proof)


def bad(proof: Proof) -> bool:
    """Whether a proof makes the exit status 1."""
    return text.weighs(proof.findings) or proof.held < len(proof.verdicts)


def _tables(shown: list[_Checked], many: bool) -> None:
    out = text.console()
    for i, c in enumerate(shown):
        if i:
            out.print()
        out.print(heading(c.one), style="bold")
        if c.seen.findings:
            text.show(out, text.findings_table(c.seen.findings))
        out.print(verdict(c.seen.proof, c.seen.findings))
        if c.cure is not None:
            from galleyproof.cli import cure

            cure.show(out, c.one, c.cure, written=c.written)
    if many:
        out.print()
        text.show(out, summary([(c.one, c.seen.proof, c.seen.findings) for c in shown]))


def heading(one: Loaded) -> str:
    """``examples/ferry-cafe.yaml · SM-101 revision A · Saltmarrow Ferry Café``."""
    return f"{one.name} · {one.job.job.number} revision {one.job.job.revision} · {one.job.job.name}"


def verdict(proof: Proof, findings: Sequence[Finding]) -> str:
    """One line: findings and promises."""
    n = len(proof.verdicts)
    kept = "all hold" if proof.held == n else f"{proof.held} hold, {n - proof.held} broken"
    return (
        f"{text.counted(findings).capitalize()}; {text.plural(n, 'promise')} over "
        f"{text.plural(proof.situations, 'situation')}: {kept}."
    )


def summary(shown: Iterable[tuple[Loaded, Proof, Sequence[Finding]]]) -> Any:
    """A line for each job."""
    numbers = ("Promises", "Broken", "Situations", "Errors", "Warnings", "Notes")
    made = text.table("Job", *numbers, right=numbers)
    for one, proof, findings in shown:
        n = text.count(findings)
        broken = len(proof.verdicts) - proof.held
        cells = (len(proof.verdicts), broken, proof.situations, n["errors"], n["warnings"], n["notes"])
        made.add_row(one.name, *(f"{c:,}" for c in cells))
    return made


def _data(c: _Checked) -> dict[str, Any]:
    counts = text.count(c.seen.findings)
    proof = c.seen.proof
    made = {
        "job": c.one.name,
        "summary": {**counts, "promises": len(proof.verdicts), "held": proof.held, "situations": proof.situations},
        "findings": [text.finding_data(f) for f in text.by_weight(c.seen.findings)],
    }
    if c.cure is not None:
        from galleyproof.cli import cure

        made["cure"] = cure.data(c.one, c.cure, written=c.written)
    return made
