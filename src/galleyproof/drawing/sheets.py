"""All sheets of a job."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from galleyproof.design.model import Design
from galleyproof.drawing import index, riser, strip_plan
from galleyproof.drawing.draft import Draft, Register
from galleyproof.drawing.elementary import Elementary
from galleyproof.drawing.field_sheets import FieldSheets
from galleyproof.drawing.fonts import printable
from galleyproof.drawing.model import Drawing
from galleyproof.drawing.oneline import OneLine
from galleyproof.drawing.panel_sheets import arrangement_sheet, clearance_sheet
from galleyproof.drawing.paper import PAPERS, Revision, TitleBlock
from galleyproof.drawing.revision import Changed, change_drafts, sheets_of_changes, with_marks
from galleyproof.job.model import Job
from galleyproof.library.model import DeviceType
from galleyproof.library.reader import load_library
from galleyproof.sizing.model import Sizes
from galleyproof.sizing.whole_job import with_sizes


def draw_sheets(
    job: Job,
    design: Design,
    sizes: Sizes | None = None,
    *,
    library: Mapping[str, DeviceType] | None = None,
    revisions: Sequence[Revision] = (),
    changes: Sequence[Changed] = (),
    status: str = "DRAFT",
) -> Drawing:
    """Every sheet of a job.

    Args:
        job: Says paper and symbols, and what the title block holds.
        design: What is drawn.
        sizes: Computed sizes; where they are missing the sheets say "not yet computed".
        library: Device types; without them the shipped ones.
        revisions: Rows of the revision table, oldest first; without them the job's own revision.
        changes: What this revision changed, marked on the sheets and listed on one more.
        status: As the title block says it.
    """
    paper = PAPERS[job.job.sheet]
    design = with_sizes(design, sizes)
    register = Register()
    types = library if library is not None else load_library()
    symbols = job.job.symbols
    drafts: list[Draft] = []
    drafts += OneLine(job, design, types, paper, register, symbols, 2).lay_out()
    drafts += FieldSheets(design, paper, register, symbols, 3, "Line-voltage field connections").lay_out(True)
    drafts += FieldSheets(design, paper, register, symbols, 4, "Control field connections").lay_out(False)
    drafts += Elementary(design, types, paper, register, symbols, 5).lay_out()
    drafts.append(arrangement_sheet(job, design, types, paper, register, "6.1"))
    drafts += strip_plan.lay_out(design, paper, register, 6, 2)
    drafts += riser.lay_out(job, design, sizes, paper, register, 7)
    drafts.append(clearance_sheet(job, design, types, paper, "8.1"))
    if changes:
        drafts += change_drafts(changes, sheets_of_changes(changes, drafts), paper)
    revised = job.job.revision if changes else ""
    drafts = [*index.lay_out(drafts, paper, symbols, sizes is not None, 1, revised), *drafts]
    register.resolve()
    rows = revisions or (Revision(job.job.revision, job.job.date or "", "first issue of this revision"),)
    block = TitleBlock(printable(job.job.name), printable(job.job.number), tuple(rows), status)
    of = f"of {len(drafts)} sheets"
    return Drawing(block.job, tuple(with_marks(d.finish(block, of), changes) for d in drafts))
