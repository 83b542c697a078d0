"""``galleyproof package``: the installation package of a job, in a folder."""

from __future__ import annotations

import sys
from argparse import Namespace
from pathlib import Path

from galleyproof.cli import text
from galleyproof.cli.check import heading
from galleyproof.cli.files import load_job, read_library
from galleyproof.cli.main import ALL_WELL, FOUND
from galleyproof.errors import InputError, Problem


def run(args: Namespace) -> int:
    """Compute everything, write all files, say what is open.

    Raises:
        InputError: The job cannot be taken or may not be called issued, or the folder cannot be written.
    """
    from galleyproof.package.facts import blockers, gather, open_questions
    from galleyproof.package.folder import put_package
    from galleyproof.package.whole import make_package

    library = read_library(args.library)
    one = load_job(Path(args.job))
    watched = sys.stderr is not None and sys.stderr.isatty()

    def told(words: str) -> None:
        if watched:
            print(f"computing: {words}", file=sys.stderr)

    weather = None
    if args.weather:
        from galleyproof.cli.savings import weather_of

        weather = weather_of(Path(args.weather))
    whole = args.whole or args.issued
    facts = gather(one.job, one.design, library, whole=whole, issued=args.issued, told=told, weather=weather)
    if args.issued:
        against = blockers(facts)
        if against:
            raise InputError([Problem(one.name, 0, "may not be called issued", what) for what in against])
    told("documents")
    files = make_package(facts, one.text, args.link)
    put_package(Path(args.output), files)
    found = open_questions(facts)
    if args.json:
        rows = [{"name": name, "bytes": len(content)} for name, content in files.items()]
        data = {"job": one.name, "status": facts.status, "folder": args.output, "files": rows, "open": list(found)}
        print(text.dump(data), end="")
    else:
        out = text.console()
        out.print(heading(one), style="bold")
        text.show(out, f"{facts.status}: {text.plural(len(files), 'file')} in {args.output}")
        made = text.table("File", "Bytes", right=("Bytes",))
        for name, content in files.items():
            made.add_row(name, f"{len(content):,}")
        text.show(out, made)
        for question in found:
            text.show(out, f"open: {question}")
        text.caution(out)
    proof = facts.proof
    broken = proof is not None and any(not v.holds for v in proof.verdicts)
    return FOUND if broken or facts.failed or text.weighs(facts.findings) else ALL_WELL
