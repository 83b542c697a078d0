"""Changes of the job that take hidden slips away, each tried by a study of its own."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from galleyproof.design.build import build_design
from galleyproof.errors import GalleyproofError
from galleyproof.job.model import ContactorShutdown, Job, Pole, Proving, ShuntShutdown
from galleyproof.library.model import DeviceType
from galleyproof.proof.study import Study, study

MOST_POLES = 4


@dataclass(frozen=True, slots=True)
class Proposal:
    """A change of the job.

    Attributes:
        key: Short name.
        says: What to change, in words.
        why: What it does to a broken conductor, in words.
        job: The job with the change.
    """

    key: str
    says: str
    why: str
    job: Job


@dataclass(frozen=True, slots=True)
class Bought:
    """What a proposal buys.

    Attributes:
        proposal: The proposal.
        before: Hidden slips of the job as it is.
        after: Hidden slips with the change.
        weight_before: Their priors summed: how likely one of them is, relative to the other figure.
        weight_after: The same with the change.
        gone: Keys of slips that were hidden and are not any more.
        new: Keys of hidden slips that come with the change.
    """

    proposal: Proposal
    before: int
    after: int
    weight_before: float
    weight_after: float
    gone: tuple[str, ...]
    new: tuple[str, ...]

    @property
    def share(self) -> float:
        """How likely a hidden slip is with the change, as a share of before. [ratio]."""
        return self.weight_after / self.weight_before if self.weight_before else 1.0


def proposals(job: Job) -> Iterator[Proposal]:
    """Changes that fit a job."""
    shunts = [s for s in job.shutdowns if isinstance(s, ShuntShutdown)]
    if shunts:
        yield Proposal(
            "held-in contactors",
            f"held-in contactors instead of the shunt trips {', '.join(s.tag for s in shunts)}",
            "a coil that must pull in does nothing when its conductor is open; one that is held in drops out",
            _held(job, shunts),
        )
    bare = [f for f in job.fire_systems if not any(p.use == "shutdown" for p in f.poles)]
    zones = {s.zone for s in job.shutdowns}
    usable = [f for f in bare if f.zone in zones and len(f.poles) < MOST_POLES]
    if usable:
        yield Proposal(
            "shutdown off the fire switch",
            f"shutdown straight off a second pole of {', '.join(f.tag for f in usable)}",
            "the shutdown then no longer hangs on the controller, its input and its relay",
            _own_pole(job, [f.tag for f in usable]),
        )
    yield from _alarms(job)
    yield from _more_senses(job)


def _alarms(job: Job) -> Iterator[Proposal]:
    alarm = job.building_alarm
    if (
        alarm is not None
        and alarm.taken_from == "panel contact"
        and all(len(f.poles) < MOST_POLES for f in job.fire_systems)
    ):
        yield Proposal(
            "building alarm off the fire switch",
            f"{alarm.tag} straight off a pole of each fire switch",
            "the building alarm then no longer hangs on the panel's supply",
            _alarm_pole(job),
        )


def _more_senses(job: Job) -> Iterator[Proposal]:
    """Switches that let the panel see what it cannot see now."""
    bare = [f for f in job.exhaust_fans if f.proving is None]
    if bare:
        taken = {f.proving.tag for f in job.exhaust_fans if f.proving}
        proofs = {f.tag: Proving(tag=_free("CS", taken), kind="current switch") for f in bare}
        fans = tuple(
            f.model_copy(update={"proving": proofs[f.tag]}) if f.tag in proofs else f for f in job.exhaust_fans
        )
        yield Proposal(
            "proving switches",
            f"a current switch on the motor of {', '.join(proofs)}",
            "a fan that is told to run and does not is announced the first time it happens",
            job.model_copy(update={"exhaust_fans": fans}),
        )


def _free(letters: str, taken: set[str]) -> str:
    """A tag that nothing has; it is then taken."""
    number = 1
    while f"{letters}-{number}" in taken:
        number += 1
    taken.add(f"{letters}-{number}")
    return f"{letters}-{number}"


def _held(job: Job, shunts: Sequence[ShuntShutdown]) -> Job:
    tags = {s.tag for s in shunts}
    circuits = {s.circuit for s in shunts}
    return job.model_copy(
        update={
            "shutdowns": tuple(
                ContactorShutdown(kind="held-in contactor", tag=s.tag, zone=s.zone, circuit=s.circuit)
                if isinstance(s, ShuntShutdown) and s.tag in tags
                else s
                for s in job.shutdowns
            ),
            "circuits": tuple(
                c.model_copy(update={"shunt_trip": None}) if c.tag in circuits else c for c in job.circuits
            ),
        }
    )


def _own_pole(job: Job, systems: Sequence[str]) -> Job:
    pole = Pole(use="shutdown", side="both sides")
    return job.model_copy(
        update={
            "fire_systems": tuple(
                f.model_copy(
                    update={"poles": (*f.poles, pole), "shutdown_circuit": f.shutdown_circuit or job.panel.circuit}
                )
                if f.tag in systems
                else f
                for f in job.fire_systems
            )
        }
    )


def _alarm_pole(job: Job) -> Job:
    assert job.building_alarm is not None
    pole = Pole(use="building alarm", side="released side")
    return job.model_copy(
        update={
            "building_alarm": job.building_alarm.model_copy(update={"taken_from": "fire switch"}),
            "fire_systems": tuple(f.model_copy(update={"poles": (*f.poles, pole)}) for f in job.fire_systems),
        }
    )


def advise(
    job: Job,
    library: Mapping[str, DeviceType],
    done: Study,
    *,
    progress: Callable[[int, int], None] | None = None,
) -> tuple[Bought, ...]:
    """Try every proposal that fits a job; the ones that buy most stand first.

    Args:
        job: The job.
        library: Device types.
        done: Its study.
        progress: Told (slips done, slips in all) of each study.
    """
    hidden = {o.slip.key: o.slip for o in done.outcomes if o.verdict == "hidden"}
    found: list[Bought] = []
    for proposal in proposals(job):
        try:
            design = build_design(proposal.job)
            then = study(proposal.job, design, library, progress=progress)
        except GalleyproofError:
            # the job leaves no room for it: a circuit or a place is missing
            continue
        after = {o.slip.key for o in then.outcomes if o.verdict == "hidden"}
        found.append(
            Bought(
                proposal,
                len(hidden),
                len(after),
                done.hidden_weight,
                then.hidden_weight,
                tuple(sorted(set(hidden) - after)),
                tuple(sorted(after - set(hidden))),
            )
        )
    return tuple(sorted(found, key=lambda b: b.weight_after - b.weight_before))
