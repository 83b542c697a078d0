"""A job's whole check-out: every slip at every probe."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from galleyproof.checkout.bench import Standing, standing
from galleyproof.checkout.model import Checkout, Reading
from galleyproof.checkout.probes import candidates, readings
from galleyproof.checkout.quick import QuickBench
from galleyproof.checkout.signatures import Signatures, collected, differences
from galleyproof.design.model import Design
from galleyproof.errors import CircuitError
from galleyproof.job.model import Job
from galleyproof.library.model import DeviceType
from galleyproof.proof.collector import without_collector
from galleyproof.proof.model import Step
from galleyproof.proof.slips import Change, Slip, apply

Progress = Callable[[int, int], None]


class Bench:
    """One job on the bench: the right wiring once, and any slip when it is asked for.

    Args:
        job: The job.
        design: Its design.
        library: Device types.
    """

    def __init__(self, job: Job, design: Design, library: Mapping[str, DeviceType]) -> None:
        self.job = job
        self.design = design
        self.library = library
        stood: list[Standing] = []

        def stand(design: Design, steps: Sequence[Step]) -> Standing:
            stood.append(self._stand(design, steps))
            return stood[-1]

        self.checkout: Checkout = candidates(job, design, stand)
        self._quick = QuickBench(job, design, library, self.checkout, stood[0])
        self._reached: dict[str, tuple[dict[int, Reading] | None, int | None]] = {}
        self.right: tuple[Reading, ...] = self._quick.read

    def _stand(self, design: Design, steps: Sequence[Step]) -> Standing:
        return standing(self.job, design, self.library, steps)

    def changed(self, change: Change) -> dict[int, Reading] | None:
        """Probes that read otherwise with a change in place; None when the network then has no solution."""
        try:
            return self._quick.changed(change)
        except CircuitError:
            return None

    def plainly(self, change: Change) -> dict[int, Reading]:
        """As ``changed``, from a machine built anew: slow, and the measure of the quick way.

        Raises:
            CircuitError: The network has no solution.
        """
        there = self._stand(apply(self.design, change), self.checkout.steps)
        return differences(self.right, readings(there, self.checkout))

    def pair(self, a: Slip, b: Slip) -> dict[int, Reading] | None:
        """Two slips at once; simulated, but where nothing feels both: there each reads as alone."""
        alone = self.apart(a, b)
        return self.changed(a.change + b.change) if alone is None else alone

    @property
    def standing(self) -> Standing:
        """The right wiring over the script."""
        return self._quick.right

    def are_apart(self, a: Slip, b: Slip) -> bool:
        """Whether nothing feels both of two slips."""
        (mine, reach), (others, far) = self._alone(a), self._alone(b)
        return mine is not None and others is not None and reach is not None and far is not None and not reach & far

    def apart(self, a: Slip, b: Slip) -> dict[int, Reading] | None:
        """Readings of two slips that nothing feels both of; None when something may."""
        mine, others = self._alone(a)[0], self._alone(b)[0]
        if mine is None or others is None or not self.are_apart(a, b):
            return None
        return mine | others

    def _alone(self, slip: Slip) -> tuple[dict[int, Reading] | None, int | None]:
        found = self._reached.get(slip.key)
        if found is None:
            try:
                found = self._quick.reached(slip.change)
            except CircuitError:
                found = (None, None)
            self._reached[slip.key] = found
        return found

    def signatures(self, slips: Sequence[Slip], progress: Progress | None = None) -> Signatures:
        """What each slip reads.

        Args:
            slips: The slips.
            progress: Told (slips done, slips in all) now and then.
        """
        found: list[tuple[str, Mapping[int, Reading]]] = []
        with without_collector():
            for n, slip in enumerate(slips):
                found.append((slip.key, self._alone(slip)[0] or {}))
                if progress and n % 20 == 0:
                    progress(n, len(slips))
        return collected(self.checkout, self.right, found)
