"""``galleyproof prove``: every promise over the whole grid."""

from __future__ import annotations

import io
import sys
from argparse import Namespace
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from galleyproof.cli import text
from galleyproof.cli.check import bad, heading, summary, verdict
from galleyproof.cli.files import Loaded, load_jobs, make_folder, put, read_library, stems
from galleyproof.cli.main import ALL_WELL, BAD_INPUT, FOUND
from galleyproof.cli.proving import prove_all
from galleyproof.cli.sized import with_its_sizes
from galleyproof.cli.wires import as_csv
from galleyproof.proof.model import Proof, Verdict

if TYPE_CHECKING:
    from rich.console import Console

KINDS = {
    "heat-start": "heat under a hood starts its exhaust by itself",
    "fire-exhaust": "exhaust in a release, as the sequence asks",
    "fire-makeup": "make-up in a release, as the sequence asks",
    "fire-fuel": "protected appliances lose fuel and power in a release",
    "hand-reset": "nothing comes back until a hand resets",
    "gas-outage": "gas stays shut after an outage until a hand resets",
    "building-alarm": "the building alarm is raised in a release, and only then",
    "local-alarm": "the horn sounds in a release",
    "makeup-with": "make-up runs when its exhaust runs",
    "makeup-only-with": "make-up never runs without its exhaust",
    "sensor-fault": "a broken sensor gives full exhaust",
    "sensor-alarm": "a broken sensor sounds the horn",
    "switch-on": "fans run while their switch is on",
    "switch-off": "fans stand while their switch is off and all is cold",
    "lights": "lights follow their switch",
    "control-loss": "what happens when control power is lost",
    "damper": "a fan runs only with its damper open",
    "works": "appliances and gas work in daily use",
    "quiet": "the horn is silent in daily use",
    "own": "the job's own promises",
}
"""What each kind promises, in a few words; docs/promises.md says it in full."""

FEW = 5
"""Failures shown for each promise unless all are asked for. [-]"""


def run(args: Namespace) -> int:
    """Prove every promise of each job."""
    library = read_library(args.library)
    loaded, problems, many = load_jobs([args.job])
    if args.out:
        # known before the work, not after it
        make_folder(Path(args.out))
    proofs, more = prove_all(loaded, library)
    problems += more
    shown = [(one, proofs[one.name]) for one in loaded if one.name in proofs]
    listed = [(with_its_sizes(one, library), proof) for one, proof in shown] if args.out else []
    written = _write(Path(args.out), listed, many) if args.out else []
    if args.json:
        if many:
            print(text.dump({"jobs": [{"job": one.name, **data(proof)} for one, proof in shown]}), end="")
        elif shown:
            print(text.dump(data(shown[0][1])), end="")
    elif shown:
        out = text.console()
        for i, (one, proof) in enumerate(shown):
            if i:
                out.print()
            _tell(out, one, proof, everything=args.all)
        if many:
            out.print()
            text.show(out, summary((one, proof, proof.findings) for one, proof in shown))
        text.caution(out)
    for line in written:
        print(line, file=sys.stderr if args.json else sys.stdout)
    text.complain(problems)
    if problems:
        return BAD_INPUT
    return FOUND if any(bad(proof) for _, proof in shown) else ALL_WELL


def data(proof: Proof) -> dict[str, Any]:
    """A proof as data."""
    return {
        "summary": {"promises": len(proof.verdicts), "held": proof.held, "situations": proof.situations},
        "promises": [
            {
                "promise": v.promise.key,
                "clause": str(v.promise.clause),
                "holds": v.holds,
                "failures": [
                    {"situation": f.situation, "device": f.device, "expected": f.expected, "found": f.found}
                    for f in v.failures
                ],
            }
            for v in proof.verdicts
        ],
    }


# --- files ------------------------------------------------------------------------------------------------------


def _write(folder: Path, shown: list[tuple[Loaded, Proof]], many: bool) -> list[str]:
    """The results of each job; a folder of jobs gets a folder for each.

    Raises:
        InputError: A file cannot be written.
    """
    lines = []
    short = stems(one for one, _ in shown)
    for one, proof in shown:
        into = folder / short[one.name] if many else folder
        make_folder(into)
        page = io.StringIO()
        _tell(text.console(page), one, proof, everything=True)
        results = {
            "proof.json": text.dump(data(proof)),
            "findings.json": text.dump([text.finding_data(f) for f in text.by_weight(proof.findings)]),
            "wires.csv": as_csv([one], many=False),
            "promises.txt": f"{page.getvalue()}\n{text.CAUTION}\n",
        }
        for name, content in results.items():
            put(into / name, content)
        lines.append(f"Wrote {', '.join(results)} to {into}")
    return lines


# --- tables -----------------------------------------------------------------------------------------------------


def _tell(out: Console, one: Loaded, proof: Proof, *, everything: bool) -> None:
    out.print(heading(one), style="bold")
    out.print()
    if everything:
        text.show(out, _each(proof.verdicts))
    else:
        text.show(out, _kinds(proof.verdicts))
    broken = [v for v in proof.verdicts if not v.holds]
    if broken:
        out.print()
        out.print("Broken promises", style="bold red")
        for v in broken:
            _broken(out, v, everything=everything)
    if proof.findings:
        out.print()
        out.print("Findings", style="bold")
        text.show(out, text.findings_table(proof.findings))
    out.print()
    out.print(verdict(proof, proof.findings))


def _by_kind(verdicts: Iterable[Verdict]) -> dict[str, list[Verdict]]:
    kinds: dict[str, list[Verdict]] = {}
    for v in verdicts:
        kinds.setdefault(v.promise.kind, []).append(v)
    return kinds


def _kinds(verdicts: Iterable[Verdict]) -> Any:
    """One line for each kind of promise."""
    counts = ("Promised", "Held", "Broken")
    made = text.table("Kind", "What is promised", *counts, "Clause", right=counts)
    for kind, group in _by_kind(verdicts).items():
        held = sum(v.holds for v in group)
        clauses = dict.fromkeys(_clause(v) for v in group)
        failed = len(group) - held
        numbers = (str(len(group)), str(held), str(failed) if failed else "")
        cells = (kind, KINDS.get(kind, group[0].promise.text), *numbers, "; ".join(clauses))
        made.add_row(*cells, style="bold red" if failed else "")
    return made


def _clause(v: Verdict) -> str:
    """A clause without its note; a practice has no place, only a note."""
    clause = v.promise.clause
    return clause.standard if clause.standard == "common practice" else str(clause)


def _each(verdicts: Iterable[Verdict]) -> Any:
    """One line for each promise, by kind."""
    made = text.table("Kind", "Promise", "Asked in", "", "Clause", right=("Asked in",))
    for kind, group in _by_kind(verdicts).items():
        for i, v in enumerate(group):
            holds = "holds" if v.holds else "broken" if v.situations else "never asked"
            cells = (kind if not i else "", v.promise.text, f"{v.situations:,}", holds, _clause(v))
            made.add_row(*cells, style="" if v.holds else "bold red")
    return made


def _broken(out: Console, v: Verdict, *, everything: bool) -> None:
    out.print()
    text.show(out, f"{v.promise.text} ({v.promise.clause})")
    if not v.situations:
        out.print("  no situation of the grid asks for it, so it is not shown to hold")
        return
    made = text.table("  Situation", "Device", "Expected", "Found")
    shown = v.failures if everything else v.failures[:FEW]
    for f in shown:
        made.add_row(f"  {f.situation}", f.device, f.expected, f.found)
    text.show(out, made)
    rest = v.broken - len(shown)
    if rest:
        more = "" if len(shown) == len(v.failures) else "; --all shows more"
        out.print(f"  and {text.plural(rest, 'more situation')}{more}")
