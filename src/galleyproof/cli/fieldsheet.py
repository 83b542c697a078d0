"""``galleyproof fieldsheet``: check-out, drawings and diagnosis of one job in one file for a tablet."""

from __future__ import annotations

import sys
from argparse import Namespace
from pathlib import Path

from galleyproof.cli import text
from galleyproof.cli.check import heading
from galleyproof.cli.files import load_job, put, read_library
from galleyproof.cli.main import ALL_WELL
from galleyproof.cli.proving import progress
from galleyproof.errors import GalleyproofError
from galleyproof.sizing.whole_job import size


def run(args: Namespace) -> int:
    """Compute everything and write the file.

    Raises:
        InputError: The job cannot be taken, or the file cannot be written.
    """
    from galleyproof.fieldsheet.whole import compute, write_sheet

    library = read_library(args.library)
    one = load_job(Path(args.job))
    try:
        sizes = size(one.job, one.design, library)
    except GalleyproofError as error:
        sizes = None
        words = " ".join(str(error).split())
        print(f"{one.name}: sizes are not computed, the drawings say so: {words}", file=sys.stderr)
    with progress(1, "simulating every slip") as tell:
        computed = compute(one.job, one.design, library, sizes, lambda at, of: tell(one.name, at / of))
    made = write_sheet(one.job, one.text, computed)
    put(Path(args.output), made)
    plan = computed.plan
    data = {
        "job": one.name,
        "file": args.output,
        "bytes": len(made.encode()),
        "readings": len(plan.readings),
        "slips": plan.slips,
        "caught": plan.caught,
        "sheets": len(computed.drawing.sheets),
    }
    if args.json:
        print(text.dump(data), end="")
    else:
        out = text.console()
        out.print(heading(one), style="bold")
        text.show(out, f"{args.output}: {data['bytes']:,} bytes, {text.plural(len(computed.drawing.sheets), 'sheet')}")
        text.show(out, f"{plan.words()}.")
        text.caution(out)
    return ALL_WELL
