"""Which reading catches a slip: the one of least work and hazard, of all that anyone could take."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from galleyproof.checkout.model import Checkout, Expectation, Probe, Reading
from galleyproof.checkout.plan import cost
from galleyproof.checkout.signatures import Signatures
from galleyproof.checkout.whole import Bench, Progress
from galleyproof.checkout.words import said, said_range
from galleyproof.proof.slips import Slip


@dataclass(frozen=True, slots=True)
class Catch:
    """A reading that shows a slip.

    Attributes:
        probe: What to do.
        expected: What it reads on the right wiring.
        reads: What it reads with the slip.
        beside: How many other readings would show it too.
    """

    probe: Probe
    expected: Expectation
    reads: Reading
    beside: int

    def words(self) -> str:
        """In one line: what to do, what it should read and what it reads."""
        probe = self.probe
        return (
            f"{probe.preparation}: {probe.words}; right: {said_range(probe, self.expected)}, "
            f"with this slip: {said(probe.kind, self.reads)}"
        )


def catches(bench: Bench, slips: Sequence[Slip], progress: Progress | None = None) -> dict[str, Catch | None]:
    """The reading that catches each slip, None where no reading shows it.

    Args:
        bench: The job on the bench.
        slips: The slips.
        progress: Told (slips done, slips in all) now and then.
    """
    table = bench.signatures(slips, progress)
    ways = _ways(table.checkout)
    return {slip.key: _least(table, n, slip.key, ways) for n, slip in enumerate(slips)}


def _least(table: Signatures, n: int, key: str, ways: Mapping[str, float]) -> Catch | None:
    probes, shows = table.checkout.probes, table.shows[key]
    if not shows:
        return None
    i = min(shows, key=lambda i: (cost(probes[i]) + ways[probes[i].preparation], i))
    return Catch(probes[i], table.expected[i], table.changed[n][i], len(shows) - 1)


def _ways(checkout: Checkout) -> dict[str, float]:
    """Minutes from dark to each preparation. [min]."""
    found: dict[str, float] = {"": 0.0}
    for prep in checkout.preparations:
        found[prep.key] = found[prep.after] + prep.minutes
    return found
