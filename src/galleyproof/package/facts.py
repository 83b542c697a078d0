"""Everything the documents print, worked out once."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

from galleyproof.air.job_air import check_air
from galleyproof.air.model import AirReport
from galleyproof.design.model import Design
from galleyproof.drawing.model import Drawing
from galleyproof.drawing.sheets import draw_sheets
from galleyproof.errors import GalleyproofError
from galleyproof.findings import Finding, Severity
from galleyproof.job.model import Job
from galleyproof.library.model import DeviceType
from galleyproof.package.history import NO_HISTORY, History, history
from galleyproof.proof.model import Proof
from galleyproof.proof.prove import prove
from galleyproof.sizing.model import Sizes
from galleyproof.sizing.whole_job import size, with_sizes

if TYPE_CHECKING:
    from galleyproof.checkout.plan import Plan
    from galleyproof.proof.study import Study
    from galleyproof.savings.study import Study as Year
    from galleyproof.savings.weather import Weather

Library = Mapping[str, DeviceType]
Progress = Callable[[str], None]
T = TypeVar("T")


@dataclass(frozen=True)
class Facts:
    """A job with everything that was computed of it; None for what was not.

    Attributes:
        job: The job.
        design: Its design, every conductor in its computed size.
        library: Device types.
        sizes: Sizes.
        air: The air side.
        proof: The promises over the grid.
        drawing: All sheets.
        study: What every slip would do.
        plan: The check-out sheet.
        slips: Sentence of each slip by key; empty without a plan.
        failed: What could not be computed, with the reason.
        issued: True for an issued set, False for a draft.
    """

    job: Job
    design: Design
    library: Library
    sizes: Sizes | None
    air: AirReport | None
    proof: Proof | None
    drawing: Drawing
    study: Study | None
    plan: Plan | None
    slips: Mapping[str, str]
    failed: tuple[str, ...]
    issued: bool
    savings: Year | None = None
    """The year with and without demand control; needs weather."""
    history: History = NO_HISTORY
    """Earlier revisions, and what this one changed."""

    @property
    def status(self) -> str:
        """``ISSUED`` or ``DRAFT``."""
        return "ISSUED" if self.issued else "DRAFT"

    @property
    def findings(self) -> tuple[Finding, ...]:
        """All findings, each once, the gravest first."""
        found = [*self.design.findings]
        for source in (self.proof, self.sizes, self.air, self.savings):
            found += source.findings if source is not None else ()
        seen: dict[tuple[str, str, str], Finding] = {}
        for f in found:
            seen.setdefault((f.code, f.item, f.message), f)
        return tuple(sorted(seen.values(), key=lambda f: list(Severity).index(f.severity)))


def gather(
    job: Job,
    design: Design,
    library: Library,
    *,
    whole: bool = False,
    issued: bool = False,
    told: Progress | None = None,
    weather: Weather | None = None,
    previous: Sequence[tuple[Job, Design]] = (),
) -> Facts:
    """Compute everything the documents print.

    Args:
        job: The job.
        design: Its design.
        library: Device types.
        whole: Also try every slip, and plan the check-out; takes far longer than all the rest.
        issued: Print ``ISSUED`` in the title blocks; whether that is allowed is the caller's to ask.
        told: Told what is being computed.
        weather: The year's weather, for the savings; None leaves them out.
        previous: Earlier revisions, oldest first.
    """
    say = told or (lambda _words: None)
    failed: list[str] = []

    def tried(what: str, make: Callable[[], T]) -> T | None:
        say(what)
        try:
            return make()
        except GalleyproofError as error:
            failed.append(f"{what}: {' '.join(str(error).split())}")
            return None

    sizes = tried("sizes", lambda: size(job, design, library))
    air = tried("air side", lambda: check_air(job))
    proof = tried("promises", lambda: prove(job, design, library))
    saved = tried("savings", lambda: _year(job, weather)) if weather is not None else None
    say("drawings")
    sized = with_sizes(design, sizes)
    past = history(job, sized, previous, library) if previous else NO_HISTORY
    drawing = draw_sheets(
        job,
        design,
        sizes,
        library=library,
        revisions=past.rows,
        changes=past.changes,
        status="ISSUED" if issued else "DRAFT",
    )
    if not whole:
        return Facts(
            job, sized, library, sizes, air, proof, drawing, None, None, {}, tuple(failed), issued, saved, past
        )
    # these bring the solver along, which takes as long to load as the rest takes to run
    from galleyproof.proof.slips import all_slips
    from galleyproof.proof.study import study

    done = tried("silent faults", lambda: study(job, design, library))
    plan = tried("check-out sheet", lambda: _plan(job, design, library))
    sentences = {s.key: s.sentence for s in all_slips(design, library)} if plan is not None else {}
    return Facts(
        job, sized, library, sizes, air, proof, drawing, done, plan, sentences, tuple(failed), issued, saved, past
    )


def _year(job: Job, weather: Weather) -> Year:
    from galleyproof.savings.study import study

    return study(job, weather)


def _plan(job: Job, design: Design, library: Library) -> Plan:
    from galleyproof.checkout.acceptance import acceptance
    from galleyproof.checkout.plan import make_plan
    from galleyproof.checkout.whole import Bench
    from galleyproof.proof.slips import all_slips

    bench = Bench(job, design, library)
    table = bench.signatures(all_slips(design, library))
    return make_plan(bench.checkout, table.expected, table.shows, acceptance(job, design, bench.checkout))


def blockers(facts: Facts) -> tuple[str, ...]:
    """Why a job may not be called issued; empty when it may."""
    found = [f"{what}" for what in facts.failed]
    for name, value in (("the sizes", facts.sizes), ("the promises", facts.proof)):
        if value is None:
            found.append(f"{name} are not computed")
    if facts.proof is not None:
        for v in facts.proof.verdicts:
            if v.broken:
                first = v.failures[0] if v.failures else None
                where = f": {first.situation}, {first.device} {first.found}" if first else ""
                found.append(f"a promise fails: {v.promise.text}{where}")
    if facts.sizes is not None:
        errors = [f for f in facts.sizes.findings if f.severity is Severity.ERROR]
        found += [f"a size is in error: {f.code} {f.item}: {f.message}" for f in errors]
    sized = facts.sizes.findings if facts.sizes is not None else ()
    errors = [f for f in facts.findings if f.severity is Severity.ERROR and f not in sized]
    found += [f"{f.code} {f.item}: {f.message}" for f in errors]
    if facts.job.job.date is None:
        found.append("the job has no date (job: date); an issued set is dated")
    return tuple(dict.fromkeys(found))


def open_questions(facts: Facts) -> tuple[str, ...]:
    """Everything that somebody still has to answer or to put right, for the cover."""
    job = facts.job
    found: list[str] = []
    for key, answer in job.authority:
        if answer == "not yet confirmed":
            found.append(f"authority: {key.replace('_', ' ')} is not yet confirmed")
    for system in job.fire_systems:
        for i, pole in enumerate(system.poles, 1):
            if pole.side in ("to be measured", "NC", "NO"):
                said = "is to be measured" if pole.side == "to be measured" else f"is only called {pole.side}"
                found.append(f"{system.tag}: the side of pole {i} ({pole.use}) {said}: measure it armed and released")
    if facts.proof is not None:
        found += [f"promise fails: {v.promise.text}" for v in facts.proof.verdicts if v.broken]
        found += [f"promise is never asked for: {v.promise.text}" for v in facts.proof.verdicts if not v.situations]
    weighty = (Severity.ERROR, Severity.WARNING)
    found += [f"{f.severity}: {f.item}: {f.message}" for f in facts.findings if f.severity in weighty]
    found += [f"{what.split(':')[0]} not yet computed" for what in facts.failed]
    if facts.history.renumbered:
        found.append(
            f"{facts.history.renumbered} conductors have other numbers than in revision "
            f"{facts.history.rows[-2].letter}; numbers that are issued stay: galleyproof wires OLD --issue"
        )
    if job.job.date is None:
        found.append("the job has no date")
    return tuple(dict.fromkeys(found))
