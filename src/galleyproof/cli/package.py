"""``galleyproof package``: the installation package of a job, in a folder."""

from __future__ import annotations

import sys
from argparse import Namespace
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from galleyproof.cli import text
from galleyproof.cli.check import heading
from galleyproof.cli.files import load_job, one_problem, read_library
from galleyproof.cli.main import ALL_WELL, FOUND
from galleyproof.errors import InputError, Problem

if TYPE_CHECKING:
    from galleyproof.cli.files import Loaded
    from galleyproof.design.model import Design
    from galleyproof.job.model import Job


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

    previous = _previous(one, args.previous)
    weather = None
    if args.weather:
        from galleyproof.cli.savings import weather_of

        weather = weather_of(Path(args.weather))
    whole = args.whole or args.issued
    facts = gather(
        one.job,
        one.design,
        library,
        whole=whole,
        issued=args.issued,
        told=told,
        weather=weather,
        previous=previous,
    )
    if args.issued:
        against = blockers(facts)
        if against:
            raise InputError([Problem(one.name, 0, "may not be called issued", what) for what in against])
    told("documents")
    files = make_package(facts, one.text, args.link, spare=True)
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
        sheets = {name: content for name, content in files.items() if "/" in name}
        for name, content in files.items():
            if name not in sheets:
                made.add_row(name, f"{len(content):,}")
        words = f"sheets/ ({text.plural(len(sheets), 'sheet')})"
        made.add_row(words, f"{sum(map(len, sheets.values())):,}")
        text.show(out, made)
        for question in found:
            text.show(out, f"open: {question}")
        text.caution(out)
    proof = facts.proof
    broken = proof is not None and any(not v.holds for v in proof.verdicts)
    return FOUND if broken or facts.failed or text.weighs(facts.findings) else ALL_WELL


def _previous(one: Loaded, names: Sequence[str]) -> list[tuple[Job, Design]]:
    """Earlier revisions, oldest first: job files, or folders of their packages.

    Raises:
        InputError: One of them cannot be taken, or two revisions are called alike.
    """
    found: list[tuple[Job, Design]] = []
    seen = {one.job.job.revision: one.name}
    for name in names:
        path = Path(name)
        old = load_job(path / "job.yaml" if path.is_dir() else path)
        letter = old.job.job.revision
        if letter in seen:
            raise one_problem(
                old.name, f"is revision {letter} like {seen[letter]}; every revision has a letter of its own"
            )
        seen[letter] = old.name
        found.append((old.job, old.design))
    return found
