"""A job's field sheet: everything computed here, once, and put into one file."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from galleyproof.checkout.acceptance import acceptance
from galleyproof.checkout.log import fingerprint
from galleyproof.checkout.plan import Plan, make_plan
from galleyproof.checkout.signatures import Signatures
from galleyproof.checkout.whole import Bench
from galleyproof.design.model import Design
from galleyproof.drawing.fonts import printable
from galleyproof.drawing.model import Drawing, Symbol, Text
from galleyproof.drawing.sheets import draw_sheets
from galleyproof.drawing.svg import write_svg
from galleyproof.fieldsheet.facts import facts
from galleyproof.fieldsheet.paper import as_json, page
from galleyproof.fieldsheet.tables import packed
from galleyproof.job.model import Job
from galleyproof.library.model import DeviceType
from galleyproof.proof.slips import Slip, all_slips
from galleyproof.sizing.model import Sizes

Told = Callable[[int, int], None]
FOOT = (
    "Qualified persons only. Reviewed by a licensed engineer or electrician before use; the adopted local code and the "
    "authority having jurisdiction prevail. This sheet approves nothing."
)


@dataclass(frozen=True)
class Computed:
    """What a field sheet is made of.

    Attributes:
        signatures: What every slip reads.
        slips: The slips, in the order of the signatures.
        plan: The check-out plan.
        drawing: All sheets.
        design: The design.
    """

    signatures: Signatures
    slips: Sequence[Slip]
    plan: Plan
    drawing: Drawing
    design: Design


def compute(
    job: Job, design: Design, library: Mapping[str, DeviceType], sizes: Sizes | None = None, told: Told | None = None
) -> Computed:
    """Simulate every slip at every probe, choose the plan, draw the sheets.

    Args:
        job: The job.
        design: Its design.
        library: Device types.
        sizes: Computed sizes, for the drawings; None when they are not computed.
        told: Told (slips done, slips in all) now and then.

    Raises:
        CircuitError: The design has no solution.
    """
    bench = Bench(job, design, library)
    slips = all_slips(design, library)
    signatures = bench.signatures(slips, told)
    required = acceptance(job, design, bench.checkout)
    plan = make_plan(bench.checkout, signatures.expected, signatures.shows, required)
    return Computed(signatures, slips, plan, draw_sheets(job, design, sizes, library=library), design)


def write_sheet(job: Job, job_text: str | bytes, computed: Computed) -> str:
    """The page; the same job gives the same page to the byte.

    Args:
        job: The job.
        job_text: Its file as issued; its fingerprint stands in every reading.
        computed: What was computed from it.
    """
    tables = packed(computed.signatures)
    drawing = computed.drawing
    data = facts(
        job, fingerprint(job_text), computed.signatures, computed.slips, computed.plan, drawing, computed.design
    )
    head = job.job
    words = {
        "title": f"Field sheet: {head.name}",
        "name": head.name,
        "number": head.number,
        "revision": head.revision,
        "panel": job.panel.tag,
        "foot": FOOT,
    }
    blocks = {
        "facts": as_json(data | {"words": list(tables.words)}),
        "numbers": tables.numbers,
        "stream": tables.stream,
        "drawings": as_json([write_svg(sheet) for sheet in drawing]),
    }
    texts = [t.content for sheet in drawing for item in sheet.items for t in _texts(item)]
    return page(words, blocks, [*texts, printable(head.name)])


def _texts(item: object) -> list[Text]:
    if isinstance(item, Text):
        return [item]
    return [text for _, text in item.texts] if isinstance(item, Symbol) else []
