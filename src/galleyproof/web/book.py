"""A job's check-out as it goes from the calculator to the pages and to the search: small enough to be kept.

Plan, probes and slips are pickled and packed; what every slip reads goes as arrays of probes and values, each value
once, and becomes a table again where it is needed.
"""

from __future__ import annotations

import math
import pickle
import zlib
from array import array
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate, pairwise
from typing import TYPE_CHECKING

from galleyproof.errors import CircuitError, InputError, Problem
from galleyproof.web.work import Progress

if TYPE_CHECKING:
    from galleyproof.checkout.model import Checkout, Preparation, Probe, Reading
    from galleyproof.checkout.plan import Plan
    from galleyproof.checkout.signatures import Signatures
    from galleyproof.fieldsheet.spots import Spot
    from galleyproof.proof.slips.model import Slip

__all__ = ["Book", "OpenBook", "checked_out", "open_book", "table_of"]


@dataclass(frozen=True, slots=True)
class Book:
    """What the calculator hands over.

    Attributes:
        pages: Everything but the table, packed; empty when the text cannot be taken.
        table: What every slip reads, packed.
        problems: What is wrong with the text, with its lines.
        words: Why there is none though the text is well; empty when there is one.
    """

    pages: bytes = b""
    table: bytes = b""
    problems: tuple[Problem, ...] = ()
    words: str = ""

    @property
    def written(self) -> bool:
        """Whether there is anything in it."""
        return bool(self.pages)


@dataclass(frozen=True)
class OpenBook:
    """A check-out, ready to be looked at.

    Attributes:
        job_name: Name of the job.
        checkout: All possible probes.
        plan: The plan.
        slips: The slips.
        right: Reading of every probe on the right wiring.
        sheets: Number, title, width and height of every sheet. [mm]
        spots: Terminal or tag -> where it is drawn.
    """

    job_name: str
    checkout: Checkout
    plan: Plan
    slips: tuple[Slip, ...]
    right: tuple[Reading, ...]
    sheets: tuple[tuple[str, str, float, float], ...]
    spots: Mapping[str, tuple[Spot, ...]]

    @cached_property
    def at(self) -> dict[str, int]:
        """Key of a probe -> its index."""
        return {p.key: i for i, p in enumerate(self.checkout.probes)}

    @cached_property
    def slip_by_key(self) -> dict[str, Slip]:
        """Slips by key."""
        return {s.key: s for s in self.slips}

    @cached_property
    def place_in_plan(self) -> dict[str, int]:
        """Key of a probe of the plan -> its place in it, from 0."""
        return {r.probe.key: n for n, r in enumerate(self.plan.readings)}

    def probe(self, key: str) -> Probe | None:
        """A probe by its key; None when this job has no such one."""
        index = self.at.get(key)
        return None if index is None else self.checkout.probes[index]

    def preparation_of(self, probe: Probe) -> Preparation:
        """State the installation is in for a probe."""
        return self.checkout.preparation(probe.preparation)


def _written(
    opened: OpenBook,
    signatures: Signatures,
) -> Book:
    """Pack a check-out.

    Args:
        opened: Everything but the table.
        signatures: What every slip reads.
    """
    return Book(zlib.compress(pickle.dumps(opened), 1), _packed(signatures.changed))


def open_book(book: Book) -> OpenBook:
    """Everything but the table."""
    found = pickle.loads(zlib.decompress(book.pages))  # noqa: S301  made by our own process, never from outside
    assert isinstance(found, OpenBook)
    return found


def table_of(book: Book, opened: OpenBook) -> Signatures:
    """The table again."""
    from galleyproof.checkout.signatures import Signatures

    changed = _unpacked(book.table)
    return Signatures(opened.checkout, opened.right, tuple(s.key for s in opened.slips), changed)


def _packed(changed: Sequence[Mapping[int, Reading]]) -> bytes:
    places: dict[Reading, int] = {}
    lengths = array("I", (len(c) for c in changed))
    probes = array("I", (i for c in changed for i in c))
    values = array("I", (places.setdefault(_one(r), len(places)) for c in changed for r in c.values()))
    return zlib.compress(pickle.dumps((lengths, probes, values, list(places))), 1)


def _unpacked(data: bytes) -> tuple[dict[int, Reading], ...]:
    lengths, probes, values, readings = pickle.loads(zlib.decompress(data))  # noqa: S301  as above
    ends = list(accumulate(lengths, initial=0))
    return tuple({i: readings[v] for i, v in zip(probes[a:b], values[a:b], strict=True)} for a, b in pairwise(ends))


def _one(reading: Reading) -> Reading:
    """A reading as a key: numbers as floats, so that equal ones are one."""
    if isinstance(reading, str):
        return reading
    assert not math.isnan(reading)
    return float(reading)


def checked_out(text: str, progress: Progress) -> Book:
    """Simulate every slip at every probe, plan the check-out, and find where its terminals are drawn."""
    from galleyproof.checkout.acceptance import acceptance
    from galleyproof.checkout.plan import make_plan
    from galleyproof.checkout.whole import Bench
    from galleyproof.design.build import build_design
    from galleyproof.drawing.sheets import draw_sheets
    from galleyproof.fieldsheet.spots import spots
    from galleyproof.job.read import read_job
    from galleyproof.library.reader import load_library
    from galleyproof.proof.slips import all_slips
    from galleyproof.sizing.whole_job import size

    try:
        job = read_job(text, "job")
        design = build_design(job)
    except InputError as error:
        return Book(problems=error.problems)
    library = load_library()
    progress(0.0, "the right wiring")
    try:
        bench = Bench(job, design, library)
        slips = all_slips(design, library)
        table = bench.signatures(slips, lambda n, of: progress(0.85 * n / max(of, 1), f"slip {n:,} of {of:,}"))
        progress(0.9, "the shortest plan")
        plan = make_plan(bench.checkout, table.expected, table.shows, acceptance(job, design, bench.checkout))
    except CircuitError as error:
        return Book(words=" ".join(str(error).split()))
    progress(0.95, "where the terminals are drawn")
    drawing = draw_sheets(job, design, size(job, design, library), library=library)
    terminals = {str(t) for p in bench.checkout.probes for t in (p.red, p.black) if t is not None}
    places = spots(drawing, terminals, {p.about for p in bench.checkout.probes})
    sheets = tuple((s.number, s.title, s.width, s.height) for s in drawing.sheets)
    return _written(OpenBook(job.job.name, bench.checkout, plan, slips, bench.right, sheets, places), table)
