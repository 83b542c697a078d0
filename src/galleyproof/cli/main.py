"""The commands, their arguments, and what happens when something goes wrong."""

from __future__ import annotations

import argparse
import gc
import os
import sys
from collections.abc import Sequence
from importlib import import_module

from galleyproof import __version__

ALL_WELL, FOUND, BAD_INPUT, INTERRUPTED, PIPE_GONE = 0, 1, 2, 130, 141
"""Exit statuses; the last two are 128 and the number of the signal, as shells count."""

STATUS = """exit status:
  0  all well
  1  there is something to see: an error or a warning among the findings, a broken promise, or
     (compare) a difference
  2  bad input: every problem on its own line of the error output, as file:line: where: what"""


class _Parser(argparse.ArgumentParser):
    """One form for every command: no abbreviations, texts as they are written here."""

    def __init__(self, **given: object) -> None:
        given.setdefault("allow_abbrev", False)
        given.setdefault("formatter_class", _Help)
        super().__init__(**given)  # type: ignore[arg-type]

    def error(self, message: str) -> None:  # type: ignore[override]
        """Say what is wrong and where to read on."""
        self.exit(BAD_INPUT, f"{self.prog}: {message}; see {self.prog} --help\n")


class _Help(argparse.RawDescriptionHelpFormatter):
    def __init__(self, prog: str) -> None:
        super().__init__(prog, max_help_position=18, width=100)


def parser() -> argparse.ArgumentParser:
    """The whole command line."""
    top = _Parser(
        prog="galleyproof",
        usage="galleyproof COMMAND ...",
        description="Design and proof of demand-controlled ventilation panels for commercial kitchens.",
        epilog=STATUS,
    )
    top.add_argument("--version", action="version", version=f"galleyproof {__version__}")
    commands = top.add_subparsers(dest="command", metavar="COMMAND", title="commands", required=True)

    def command(name: str, usage: str, brief: str, more: str) -> argparse.ArgumentParser:
        made = commands.add_parser(
            name, usage=f"galleyproof {name} {usage}", help=brief, description=f"{more}", epilog=STATUS
        )
        made.add_argument("--json", action="store_true", help="the same as data, on standard output")
        made.add_argument("--library", metavar="DIR", help="folder with device types of your own (*.yaml)")
        return made

    job_help = "a job file, or a folder of jobs (every *.yaml in it)"
    made = command(
        "check",
        "JOB... [--cure [--write]] [--json] [--library DIR]",
        "list the findings: what an engineer should know about a job",
        "Read each job, build its design, prove its promises, and list everything an engineer should know:\n"
        "severity, code, item, what was found, what cures it, and the clause it rests on. With --cure also the\n"
        "smallest change of the job that clears every error and warning, each one judged by asking all rules\n"
        "again; what no change of the job can clear is said with the reason.",
    )
    made.add_argument("jobs", nargs="+", metavar="JOB", help=job_help)
    made.add_argument("--cure", action="store_true", help="propose the smallest change that clears all findings")
    made.add_argument(
        "--write",
        action="store_true",
        help="with --cure: write the change into the job file; comments and layout of the file stay, and the exit"
        " status is that of the job as written",
    )
    made = command(
        "wires",
        "JOB [--csv | --json] [--issue] [--library DIR]",
        "list every conductor from terminal to terminal",
        "List every conductor: number, from, to, who makes it, energy class, size, colour, length, cable and\n"
        "purpose; then the factory jumpers. The exit status follows the findings of the design alone; check\n"
        "looks at the whole proof.",
    )
    made.add_argument("job", metavar="JOB", help=job_help)
    made.add_argument("--csv", action="store_true", help="the list as comma-separated values (RFC 4180)")
    made.add_argument(
        "--issue",
        action="store_true",
        help="write the numbers into the job file, so that they stay with their conductors through revisions;"
        " comments and layout of the file stay",
    )
    made = command(
        "prove",
        "JOB [--all] [--out DIR] [--json] [--library DIR]",
        "prove every promise over the whole grid of situations",
        "Simulate the wiring through the whole grid of situations and say of every promise whether it holds;\n"
        "of a broken one, in which situation, what was expected and what was found. Then the findings.",
    )
    made.add_argument("job", metavar="JOB", help=job_help)
    made.add_argument("--all", action="store_true", help="every promise on a line of its own, and every failure")
    made.add_argument(
        "--out", metavar="DIR", help="write proof.json, findings.json, wires.csv and promises.txt to this folder"
    )
    made = command(
        "size",
        "JOB [--why ITEM] [--json] [--library DIR]",
        "size every conductor, its protection and its raceway, each number with its clause",
        "Show by circuit what every conductor, breaker, overload, raceway and supply has to be, beside what the\n"
        "job gives, and the clauses each number rests on; then the raceways and the findings. With --why the\n"
        "whole reasoning of one number: numbered steps with their clauses, and what was passed over.",
    )
    made.add_argument("job", metavar="JOB", help=job_help)
    made.add_argument(
        "--why",
        metavar="ITEM",
        help="the reasoning of one number: its key, or the tag of a device, circuit or raceway for all of its numbers",
    )
    made = command(
        "air",
        "JOB [--why ITEM] [--json] [--library DIR]",
        "check the air: exhaust, balance, ducts, fans, set-points, start-up readings",
        "Show the exhaust of every hood by three methods side by side, the kitchen's balance at every operating\n"
        "point, ducts and fans at design and at idle, motors, set-points with the seven reasons for a least speed,\n"
        "and start-up readings against expectation; then the findings. With --why the whole reasoning of one item.",
    )
    made.add_argument("job", metavar="JOB", help=job_help)
    made.add_argument(
        "--why", metavar="ITEM", help="the reasoning behind a hood, a fan, a make-up unit, or the kitchen's balance"
    )
    made = command(
        "savings",
        "JOB --weather FILE [--why ITEM] [--chart FILE.svg] [--json] [--library DIR]",
        "compute what demand control saves in a year of weather",
        "Run the kitchen hour by hour through a weather file (EPW or TMY3) in three ways: constant volume, two-speed\n"
        "by schedule, demand control by the job's own speed map. Energy of fans, heating, cooling and drying, with\n"
        "the range of a thousand drawn years; money, carbon and payback where the job names prices.",
    )
    made.add_argument("job", metavar="JOB", help=job_help)
    made.add_argument("--weather", metavar="FILE", required=True, help="hourly weather of one year, EPW or TMY3")
    made.add_argument(
        "--why",
        metavar="ITEM",
        help="the reasoning behind one item: a fan, hood or make-up unit, weather, use, fans, heating, cooling, cost",
    )
    made.add_argument("--chart", metavar="FILE.svg", help="write a page of charts: months, speeds, field results")
    made = command(
        "draw",
        "JOB [--sheet N] [-o FILE] [--format svg|dxf] [--json] [--library DIR]",
        "draw the sheets of a job as SVG or DXF",
        "List the sheets of a job, or write one of them: index, one-line, field connections, elementary diagram,\n"
        "panel arrangement, riser, working clearance. Paper and symbols are the job's choice. DXF without --sheet\n"
        "holds all sheets, each with its paper layout.",
    )
    made.add_argument("job", metavar="JOB", help="a job file")
    made.add_argument("--sheet", metavar="N", help="number of one sheet, as in the list: 4.1")
    made.add_argument("-o", dest="output", metavar="FILE", help="where to write; standard output without it")
    made.add_argument(
        "--format", choices=("svg", "dxf"), help="what to write; without it what FILE ends in says, or else SVG"
    )
    made = command(
        "package",
        "JOB -o DIR [--previous OLD ...] [--whole] [--issued] [--weather FILE] [--link ADDRESS] [--json]\n"
        "                          [--library DIR]",
        "write the installation package: PDF, drawings, workbook, labels, job file, manifest",
        "Write everything a crew builds from into one folder: a PDF with cover, sequence, cause and effect, drawings,\n"
        "schedules, scope, installation steps, records and air pages; the drawings as DXF and SVG; a workbook of the\n"
        "schedules; labels; the job file; a manifest with the SHA-256 of each file. The folder is written whole or\n"
        "not at all. What was not computed says so. The same job gives the same bytes; dates come from the job.",
    )
    made.add_argument("job", metavar="JOB", help="a job file")
    made.add_argument(
        "-o", dest="output", metavar="DIR", required=True, help="a new, empty or earlier package's folder"
    )
    made.add_argument(
        "--previous",
        metavar="OLD",
        nargs="+",
        default=[],
        help="earlier revisions, oldest first: job files or folders of their packages; they fill the revision table,"
        " and what changed since the last of them is marked on the sheets and listed",
    )
    made.add_argument(
        "--whole", action="store_true", help="also simulate every wiring mistake: silent faults and check-out sheet"
    )
    made.add_argument(
        "--issued",
        action="store_true",
        help="call it issued, with --whole; refused while a promise fails, a size is in error or the job has no date;"
        " the job file then holds all numbers",
    )
    made.add_argument("--weather", metavar="FILE", help="a year's weather (EPW or TMY3), for the savings page")
    made.add_argument(
        "--link",
        metavar="ADDRESS",
        default="",
        help="address of the job in the app as phones reach it; the QR code of a wire opens ADDRESS/w/NUMBER",
    )
    made = command(
        "trace",
        "JOB LOAD [--json] [--library DIR]",
        "tell what one load is fed from, switched by, and lost when",
        "Answer three questions about one load from the network itself: fed from, switched by, lost when.\n"
        "Coils and control supplies stand indented under the contact they move.",
    )
    made.add_argument("job", metavar="JOB", help=job_help)
    made.add_argument("load", metavar="LOAD", help="tag of a device: a fan, an appliance, a valve, a relay ...")
    made = command(
        "plan",
        "JOB [--json] [--library DIR]",
        "print the shortest check-out sheet that catches every slip a reading can catch",
        "Simulate every single wiring mistake at every possible reading, and choose the fewest, safest and\n"
        "quickest readings that between them show all that can be shown; the choice is proven optimal. Stage\n"
        "by stage from dead to functional, the acceptance list last; then what no reading tells.",
    )
    made.add_argument("job", metavar="JOB", help=job_help)
    made = command(
        "diagnose",
        "JOB [--readings FILE] [--json] [--library DIR]",
        "find the wiring mistake behind a few readings",
        "Ask for one reading at a time, always the one that tells most for its effort and hazard, until one\n"
        "mistake (or one pair) is left; explain why. With --readings take a recorded session instead: readings\n"
        "and complaints in a YAML file, or the log a field sheet exported; docs/check-out.md says how they are\n"
        "written.",
    )
    made.add_argument("job", metavar="JOB", help="a job file")
    made.add_argument("--readings", metavar="FILE", help="a recorded session or an exported log instead of questions")
    made = command(
        "fieldsheet",
        "JOB -o FILE [--json] [--library DIR]",
        "write the field sheet: check-out, drawings and diagnosis in one file for a tablet",
        "Write one HTML file that a tablet opens with no network: the check-out sheet one reading at a time with its\n"
        "terminals lit on the drawings, and the search for the mistake when a reading is out of tolerance. Readings\n"
        "stay on the tablet and are exported as a log, which diagnose reads. The same job gives the same bytes.",
    )
    made.add_argument("job", metavar="JOB", help="a job file")
    made.add_argument("-o", dest="output", metavar="FILE", required=True, help="where to write the HTML file")
    made = command(
        "slips",
        "JOB [--advise] [--all] [--json] [--library DIR]",
        "try every wiring mistake in every situation, and say whether anyone would notice",
        "Put every single wiring mistake into the design, one at a time, and try it in every situation of the\n"
        "grid: hidden (all looks well; a promise fails when it is needed), announced (an alarm), obvious\n"
        "(something plainly does not work) or harmless. Hidden ones head the report, each with the reading that\n"
        "catches it, and with the tests that keep them from staying. With --advise the study is run again with\n"
        "each change of the job that fits, to show what it buys and which hidden ones it removes.",
    )
    made.add_argument("job", metavar="JOB", help=job_help)
    made.add_argument("--advise", action="store_true", help="try changes of the job that take hidden slips away")
    made.add_argument("--all", action="store_true", help="every slip of every class")
    made = command(
        "compare",
        "OLD NEW [-o DIR] [--json] [--library DIR]",
        "tell what changed from one revision of a job to another",
        "The difference of two designs: conductors added, removed, re-landed, re-sized, re-numbered, or changed\n"
        "otherwise; devices added, removed or altered; jumpers; the controller's program. Two folders are\n"
        "compared file by file of the same name.",
    )
    made.add_argument("old", metavar="OLD", help="the earlier job")
    made.add_argument("new", metavar="NEW", help="the later job")
    made.add_argument(
        "-o",
        dest="output",
        metavar="DIR",
        help="draw the revision into this folder: sheets with what was added, removed, re-landed or re-sized marked, as"
        " SVG, and the list of it",
    )
    made = commands.add_parser(
        "serve",
        usage="galleyproof serve [--port N] [--no-browser] [--data DIR]\n"
        "                         [--host ADDRESS [--name HOST] [--behind-https]]",
        help="open the app in the browser: jobs, drawings, check-out, issued sets",
        description="Serve the app and open the browser on it; Ctrl-C stops it. Jobs are kept in this user's data\n"
        "folder; on this computer alone no account is needed. For a team: --host, once there are accounts, and a\n"
        "PostgreSQL database named by the environment variable GALLEYPROOF_DATABASE_URL (postgresql://...).",
        epilog="exit status:\n  0  stopped by Ctrl-C\n  2  it could not start: the error output says why, and the cure",
    )
    made.add_argument(
        "--port", type=_port, metavar="N", help="port to listen on; without it 8440, or the next free one"
    )
    made.add_argument(
        "--host",
        default="127.0.0.1",
        metavar="ADDRESS",
        help="address to listen on; beyond this computer needs accounts",
    )
    made.add_argument("--no-browser", action="store_true", help="do not open the browser")
    made.add_argument(
        "--data", metavar="DIR", help="folder for the jobs and the log; without it the user's data folder"
    )
    made.add_argument(
        "--name", action="append", metavar="HOST", help="with --host: a name under which browsers ask for it; repeat it"
    )
    made.add_argument(
        "--behind-https", action="store_true", help="browsers reach it by https, through a server in front of it"
    )
    made = commands.add_parser(
        "accounts",
        usage="galleyproof accounts list [--json] [--data DIR]\n"
        "       galleyproof accounts add NAME --role ROLE [--password-file FILE] [--data DIR]\n"
        "       galleyproof accounts password NAME [--password-file FILE] [--data DIR]\n"
        "       galleyproof accounts role NAME --role ROLE [--data DIR]\n"
        "       galleyproof accounts off NAME [--data DIR]\n"
        "       galleyproof accounts on NAME [--data DIR]",
        help="add, list and change the accounts of people who sign in",
        description="Accounts of the app, from the computer that keeps the jobs. The first account is an\n"
        "administrator's, who can add the others in the browser; with it, serve --host lets other computers in.\n"
        "A new password and switching off end all sign-ins and tokens of the person.",
        epilog="exit status:\n  0  done\n  2  refused: the error output says why, and the cure",
    )
    made.add_argument("action", choices=("list", "add", "password", "role", "off", "on"), metavar="ACTION", help="what")
    made.add_argument("name", nargs="?", metavar="NAME", help="whose account")
    made.add_argument(
        "--role",
        choices=("engineer", "installer", "reviewer", "administrator"),
        help="engineer, installer, reviewer or administrator",
    )
    made.add_argument(
        "--password-file",
        metavar="FILE",
        help="take the password from the one line of a file, - for the standard input, instead of asking for it",
    )
    made.add_argument("--data", metavar="DIR", help="folder with the jobs; without it the user's data folder")
    made.add_argument("--json", action="store_true", help="with list: the same as data, on standard output")
    stored = (
        (
            "backup",
            "write everything the app has stored into one file",
            "Write all jobs with all their saves, readings, issued sets, accounts and the log into one file, as they\n"
            "are at one moment; a server may go on working. The file fits either kind of database.",
            "where to write; there must be no such file yet",
        ),
        (
            "restore",
            "bring a backup back, whole or not at all",
            "Check a backup, then bring it into the database: whole or not at all. A backup of an earlier version is\n"
            "brought forward. Stop a server that runs on the database first.",
            "a file that backup wrote",
        ),
    )
    for name, brief, more, what in stored:
        made = commands.add_parser(
            name,
            usage=f"galleyproof {name} FILE [--data DIR]" + (" [--replace]" if name == "restore" else ""),
            help=brief,
            description=f"{more}\nWhich database: GALLEYPROOF_DATABASE_URL, or else the one in the data folder.",
            epilog="exit status:\n  0  done\n  2  not done, nothing was changed: the error output says why",
        )
        made.add_argument("file", metavar="FILE", help=what)
        made.add_argument("--data", metavar="DIR", help="folder of the jobs; without it the user's data folder")
        if name == "restore":
            made.add_argument(
                "--replace", action="store_true", help="take out all that the database holds for what the backup holds"
            )
    return top


def _port(text: str) -> int:
    try:
        port = int(text)
    except ValueError:
        port = -1
    if not 0 <= port <= 65535:
        raise argparse.ArgumentTypeError(f"{text!r} is no port; give a number from 1 to 65535")
    return port


def collect_seldom() -> None:
    """Look for garbage seldom: values here are frozen and hold no cycles, and looking took a third of the time."""
    gc.set_threshold(200_000, 50, 50)


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit status and never lets an error through."""
    collect_seldom()
    from galleyproof.errors import GalleyproofError, InputError

    try:
        try:
            args = parser().parse_args(argv)
            if args.command == "wires" and args.csv and args.json:
                raise SystemExit(_say("galleyproof wires: choose one of --csv and --json"))
            if args.command == "check" and args.write and not args.cure:
                raise SystemExit(_say("galleyproof check: --write writes what --cure proposes; give both"))
            if sys.stdout is not None and hasattr(sys.stdout, "reconfigure"):
                # tables adapt to the terminal's own encoding; data is always UTF-8
                data = getattr(args, "json", False) or getattr(args, "csv", False) or args.command == "draw"
                sys.stdout.reconfigure(**({"encoding": "utf-8"} if data else {"errors": "replace"}))
            if sys.stderr is not None and hasattr(sys.stderr, "reconfigure"):
                sys.stderr.reconfigure(errors="replace")
            status: int = import_module(f"galleyproof.cli.{args.command}").run(args)
        finally:
            # what cannot be written any more must be known here, not while the interpreter leaves
            if sys.stdout is not None:
                sys.stdout.flush()
    except SystemExit as error:
        return error.code if isinstance(error.code, int) else ALL_WELL
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:
        _let_go()
        return PIPE_GONE
    except InputError as error:
        return _say(*(str(p) for p in error.problems))
    except GalleyproofError as error:
        return _say(f"galleyproof: {error}")
    except OSError as error:
        _let_go()
        return _say(f"galleyproof: output cannot be written: {(error.strerror or str(error)).lower()}")
    except Exception as error:  # noqa: BLE001 - the last resort: a user gets one line, never a traceback
        words = " ".join(str(error).split())
        return _say(f"galleyproof: this should not happen ({type(error).__name__}: {words}); please report it")
    return status


def _say(*lines: str) -> int:
    if sys.stderr is not None:
        for line in lines:
            print(line, file=sys.stderr)
    return BAD_INPUT


def _let_go() -> None:
    """Point standard output at nothing, so that leaving does not fail a second time."""
    nothing = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nothing, 1)
