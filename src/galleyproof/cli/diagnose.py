"""``galleyproof diagnose``: from readings to the slip, one question at a time or from a recorded session."""

from __future__ import annotations

import sys
from argparse import Namespace
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from galleyproof.checkout.beliefs import Observation, Suspect
from galleyproof.checkout.codes import is_run, join, scanned
from galleyproof.checkout.complaints import ComplaintError, complaint
from galleyproof.checkout.diagnosis import Advice, Diagnosis, where
from galleyproof.checkout.doubts import doubt
from galleyproof.checkout.log import Entry, fingerprint, is_log, read_log
from galleyproof.checkout.model import CAUTIONS, Checkout, Probe, Stage
from galleyproof.checkout.recorded import read_session
from galleyproof.checkout.standing import Conflict, conflicts, observations
from galleyproof.checkout.whole import Bench
from galleyproof.checkout.words import ReadingError, answers, understood
from galleyproof.cli import text
from galleyproof.cli.check import heading
from galleyproof.cli.files import Loaded, load_jobs, one_problem, read_bytes, read_library
from galleyproof.cli.main import ALL_WELL, BAD_INPUT, FOUND
from galleyproof.cli.proving import progress
from galleyproof.proof.slips import Slip, all_slips

if TYPE_CHECKING:
    from rich.console import Console

MOST = 5
"""Suspects shown at a time. [-]"""
SMALL = 0.005
"""A chance below this is not worth a line. [ratio]"""
HELP = """Answer with what you read (24.1, 5.2 kΩ, OL) or with one of the words offered. Also:
  undo      take the last answer back
  skip      another question; this one cannot be done now
  why       what the first suspect would read, beside what you read
  say ...   something somebody noticed: say EF-1 does not run in fire
  done      stop here"""


def run(args: Namespace) -> int:
    """Find the slip that explains what was read."""
    library = read_library(args.library)
    loaded, problems, many = load_jobs([args.job])
    if many:
        problems.extend(one_problem(args.job, "is a folder; a diagnosis is of one job").problems)
    if problems or not loaded:
        text.complain(problems)
        return BAD_INPUT
    one = loaded[0]
    bench = Bench(one.job, one.design, library)
    slips = all_slips(one.design, library)
    session, torn = _session(args.readings, one, bench.checkout) if args.readings else ((), ())
    with progress(1, "simulating every slip") as tell:
        table = bench.signatures(slips, lambda at, of: tell(one.name, at / of))
    search = Diagnosis(table, slips, bench.pair)
    for seen in session:
        search.observe(seen)
    by_key = {s.key: s for s in slips}
    if args.json:
        doubts = [{"probe": probe.key, "ask": asked} for probe, asked in _doubts(search, session)]
        print(text.dump(_data(one, search, by_key) | {"conflicts": [_torn(c) for c in torn], "doubts": doubts}), end="")
    elif args.readings:
        out = text.console()
        out.print(heading(one), style="bold")
        for c in torn:
            text.show(out, f"readings that disagree: {where(c.probe)}: {' and '.join(map(_taken, c.entries))}")
        for probe, asked in _doubts(search, session):
            text.show(out, f"ask about the meter first: {where(probe)}: {asked}")
        _report(out, search, by_key)
        text.caution(out)
    else:
        _ask(text.console(), one, search, by_key)
    return FOUND if search.taken and search.suspects(1)[0].slips else ALL_WELL


def _session(name: str, one: Loaded, checkout: Checkout) -> tuple[tuple[Observation, ...], tuple[Conflict, ...]]:
    """Observations of a file, and what disagrees in it when it is a log.

    A log is the file a tablet exported or its codes as scanned, one on a line; everything else is a recorded session.

    Raises:
        InputError: The file is neither, or speaks of another job.
    """
    data: str | bytes = read_bytes(Path(name))
    if is_run(data):
        data = join(scanned(data))
    if not is_log(data):
        return read_session(data, name, checkout), ()
    entries = read_log(data, name)
    issue = fingerprint(one.text)
    other = [e for e in entries if e.job != issue]
    if other and len(other) == len(entries) and not any(one.job.job.name.startswith(e.job_name) for e in other):
        raise one_problem(name, f"is a log of another job ({other[0].job_name}), not of {one.job.job.name}")
    if other:
        said = f"{len(other)} of {len(entries)} entries were taken on another issue of a job ({other[0].job_name})"
        print(f"{name}: {said}; they are used where {one.name} still has their probes", file=sys.stderr)
    return observations(entries, checkout), conflicts(entries, checkout)


def _taken(entry: Entry) -> str:
    return f"{entry.read} ({entry.by}, {entry.taken_at})"


def _doubts(search: Diagnosis, session: tuple[Observation, ...]) -> list[tuple[Probe, str]]:
    """What to ask about the meter before a recorded reading is believed."""
    table = search.signatures
    own = [seen.either[0] for seen in session if not seen.text]
    asked = [(table.checkout.probes[i], doubt(table.checkout.probes[i], table.expected[i], read)) for i, read in own]
    return [(probe, words) for probe, words in asked if words]


def _torn(c: Conflict) -> dict[str, Any]:
    return {"probe": c.probe.key, "readings": [{"read": e.read, "by": e.by, "at": e.taken_at} for e in c.entries]}


# --- data -------------------------------------------------------------------------------------------------------


def _data(one: Loaded, search: Diagnosis, slips: dict[str, Slip]) -> dict[str, Any]:
    advice = search.next_probe()
    return {
        "job": one.name,
        "readings": len(search.taken),
        "fits": search.fits,
        "sure": search.sure,
        "suspects": [
            {
                "slips": [{"slip": k, "sentence": slips[k].sentence} for k in s.slips],
                "not_told_apart": [{"slip": k, "sentence": slips[k].sentence} for k in s.others],
                "chance": round(s.chance, 4),
                "unexplained": s.unexplained,
                "why": search.explain(s),
            }
            for s in search.suspects(MOST)
            if s.chance >= SMALL
        ],
        "next": None
        if advice is None
        else {
            "probe": advice.probe.key,
            "preparation": advice.preparation.words,
            "do": advice.probe.words,
            "caution": advice.probe.caution or CAUTIONS[advice.probe.stage],
            "bits": round(advice.bits, 3),
            "minutes": advice.minutes,
        },
    }


# --- words ------------------------------------------------------------------------------------------------------


def _report(out: Console, search: Diagnosis, slips: dict[str, Slip], *, why: bool = True) -> None:
    out.print()
    if search.taken and not search.fits:
        text.show(
            out,
            "Nothing in this tool's world fits these readings: no single slip and no pair of slips that was tried. "
            "Read the oddest one again; then think of what is not wiring: settings, a broken part inside, noise.",
        )
    suspects = [s for s in search.suspects(MOST) if s.chance >= SMALL]
    if search.sure and suspects[0].slips:
        out.print("Found", style="bold")
    else:
        out.print("Suspects", style="bold")
    for s in suspects:
        _suspect(out, s, slips)
    if why and suspects and search.taken:
        out.print()
        out.print("Why the first", style="bold")
        for line in search.explain(suspects[0]):
            _indented(out, line, 2)
    advice = search.next_probe()
    out.print()
    if search.sure or advice is None:
        if advice is None:
            text.show(out, "No further reading tells more.")
        return
    out.print("Next", style="bold")
    _advice(out, search, advice)


def _suspect(out: Console, s: Suspect, slips: dict[str, Slip]) -> None:
    if not s.slips:
        _indented(out, f"{s.chance:.0%}  nothing that a reading could show is wrong", 2)
        return
    both = " and ".join(slips[k].sentence for k in s.slips)
    _indented(out, f"{s.chance:.0%}  {both}", 2)
    if s.others:
        shared = {t.device for t in slips[s.slips[0]].terminals}
        for k in s.others:
            shared &= {t.device for t in slips[k].terminals}
        at = f"; all are at {', '.join(sorted(shared))}" if shared else ""
        _indented(out, f"no reading tells it from {text.plural(len(s.others), 'other')}{at}; look there yourself:", 7)
        for k in s.others[:MOST]:
            _indented(out, slips[k].sentence, 9)
        if len(s.others) > MOST:
            _indented(out, f"and {len(s.others) - MOST} more", 9)


def _advice(out: Console, search: Diagnosis, advice: Advice) -> None:
    probe = advice.probe
    if advice.preparation.key != search.here:
        needs = f" (with {advice.preparation.needs})" if advice.preparation.needs else ""
        _indented(out, f"First: {advice.preparation.words}{needs}.", 2)
    _indented(out, f"{probe.words}.", 2)
    if probe.caution:
        _indented(out, probe.caution, 2)


def _indented(out: Console, line: str, by: int) -> None:
    from rich.padding import Padding
    from rich.text import Text

    text.show(out, Padding(Text(line), (0, 0, 0, by)))


# --- one question at a time -----------------------------------------------------------------------------------------


def _ask(out: Console, one: Loaded, search: Diagnosis, slips: dict[str, Slip]) -> None:
    out.print(heading(one), style="bold")
    text.caution(out)
    out.print()
    out.print(HELP)
    left_out: set[str] = set()
    stage: Stage | None = None
    while True:
        advice = None if search.sure else search.next_probe(lambda p: p.key not in left_out)
        if advice is None:
            _report(out, search, slips)
            if not _command(out, "undo, say ... or done> ", search, slips, left_out, None):
                return
            continue
        if advice.probe.stage is not stage:
            stage = advice.probe.stage
            out.print()
            text.show(out, f"Stage: {stage}. {CAUTIONS[stage]}")
        out.print()
        _advice(out, search, advice)
        words = answers(advice.probe)
        if words:
            _indented(out, f"({', '.join(words)})", 2)
        if not _command(out, "> ", search, slips, left_out, advice):
            _report(out, search, slips, why=False)
            return


def _command(
    out: Console,
    prompt: str,
    search: Diagnosis,
    slips: dict[str, Slip],
    left_out: set[str],
    advice: Advice | None,
) -> bool:
    """Take one line; False when the person has finished."""
    out.file.write(prompt)
    out.file.flush()
    line = sys.stdin.readline()
    said = line.strip()
    if not line or said == "done":
        return False
    verb, _, rest = said.partition(" ")
    commands: dict[str, Callable[[], None]] = {
        "undo": lambda: _undo(out, search),
        "why": lambda: _why(out, search, slips),
        "say": lambda: _say(out, search, rest),
        "help": lambda: out.print(HELP),
        "skip": lambda: left_out.add(advice.probe.key) if advice else None,
    }
    if verb in commands:
        commands[verb]()
        return True
    if advice is None or not said:
        return bool(said) or advice is not None
    try:
        reading = understood(advice.probe, said)
    except ReadingError as error:
        text.show(out, str(error))
        if _is_complaint(search, said):
            text.show(out, f"if that is what somebody noticed, write: say {said}")
        return True
    index = search.signatures.checkout.probes.index(advice.probe)
    asked = doubt(advice.probe, search.signatures.expected[index], reading)
    if asked:
        _indented(out, f"{asked}; undo takes the reading back", 2)
    search.add(index, reading)
    top = search.suspects(1)[0]
    name = " and ".join(slips[k].sentence for k in top.slips) or "nothing is wrong"
    _indented(out, f"so far: {name} ({top.chance:.0%})", 2)
    return True


def _undo(out: Console, search: Diagnosis) -> None:
    out.print("taken back" if search.undo() else "there is nothing to take back")


def _why(out: Console, search: Diagnosis, slips: dict[str, Slip]) -> None:
    for s in search.suspects(1):
        _suspect(out, s, slips)
        for line in search.explain(s):
            _indented(out, line, 4)


def _is_complaint(search: Diagnosis, what: str) -> bool:
    try:
        complaint(search.signatures.checkout, what)
    except ComplaintError:
        return False
    return True


def _say(out: Console, search: Diagnosis, what: str) -> None:
    try:
        search.observe(complaint(search.signatures.checkout, what))
    except ComplaintError as error:
        text.show(out, str(error))
