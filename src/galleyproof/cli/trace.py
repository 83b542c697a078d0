"""``galleyproof trace``: fed from, switched by, lost when, for one load."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterator, Mapping
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from galleyproof.circuit.world import build_machine
from galleyproof.cli import text
from galleyproof.cli.check import bad, heading
from galleyproof.cli.files import Loaded, load_jobs, one_problem, read_library
from galleyproof.cli.main import ALL_WELL, BAD_INPUT, FOUND
from galleyproof.cli.proving import prove_all
from galleyproof.design.model import Design
from galleyproof.library.model import DeviceType
from galleyproof.proof.model import Proof
from galleyproof.proof.promises import effect_slots
from galleyproof.proof.reference import reference_path, reference_state
from galleyproof.proof.story import Story, Way, tell
from galleyproof.yamltext import hint

if TYPE_CHECKING:
    from rich.console import Console


def run(args: Namespace) -> int:
    """Answer the three questions about one load, in each job that has it."""
    library = read_library(args.library)
    loaded, problems, many = load_jobs([args.job])
    having = [one for one in loaded if args.load in _loads(one.design)]
    if loaded and not having:
        known = dict.fromkeys(tag for one in loaded for tag in _loads(one.design))
        text.complain([*problems, *one_problem(args.job, _unknown(args.load, loaded, known)).problems])
        return BAD_INPUT
    proofs, more = prove_all(having, library)
    problems += more
    shown = [(one, _story(one, proofs[one.name], library, args.load)) for one in having if one.name in proofs]
    if args.json:
        data = [_data(one, story) for one, story in shown]
        if many:
            print(text.dump({"jobs": data}), end="")
        elif data:
            print(text.dump(data[0]), end="")
    elif shown:
        out = text.console()
        for i, (one, story) in enumerate(shown):
            if i:
                out.print()
            _print(out, one, story)
        if many and len(having) < len(loaded):
            out.print()
            out.print(f"{text.plural(len(loaded) - len(having), 'job')} of the folder without {args.load}")
        text.caution(out)
    text.complain(problems)
    if problems:
        return BAD_INPUT
    return FOUND if any(bad(proof) for proof in proofs.values()) else ALL_WELL


def _loads(design: Design) -> list[str]:
    """Devices one can ask about: all but strips and boards, which only hold others."""
    return [d.tag for d in design.devices if not d.type.startswith(("terminal_strip", "panelboard"))]


def _unknown(load: str, loaded: list[Loaded], known: Mapping[str, Any]) -> str:
    made = [d.tag for one in loaded for d in one.design.devices if d.of == load or d.tag.startswith(f"{load}-")]
    if made:
        return f"{load} is no device of its own; ask for one of its devices: {', '.join(dict.fromkeys(made))}"
    return f"there is no load {load!r} in this job{hint(load, known)}"


def _story(one: Loaded, proof: Proof, library: Mapping[str, DeviceType], load: str) -> Story:
    machine = build_machine(one.job, one.design, library)
    return tell(
        one.design,
        machine,
        reference_state(one.job, machine),
        load,
        proof.lost_when.get(load, ()),
        zones=dict.fromkeys(f.zone for f in one.job.fire_systems),
        watched=load in effect_slots(one.job, one.design),
    )


def _data(one: Loaded, story: Story) -> dict[str, Any]:
    situation = reference_path(one.job)[-1].name
    return {"job": one.name, **asdict(story), "situation": _situation(situation, story)}


def _situation(reference: str, story: Story) -> str:
    return f"{reference} · {story.situation or 'fire systems armed'}"


# --- words ------------------------------------------------------------------------------------------------------


def _print(out: Console, one: Loaded, story: Story) -> None:
    from rich.padding import Padding
    from rich.text import Text

    design = one.design
    out.print(heading(one), style="bold")
    out.print()
    out.print(f"{story.load} · {story.title} · {story.place}", style="bold")
    situation = _situation(reference_path(one.job)[-1].name, story)
    text.show(out, f"Situation: everything supplied, {situation}")
    for title, lines in (
        ("Fed from", _fed(design, story)),
        ("Switched by", _switched(design, story)),
        ("Lost when", _lost(story)),
    ):
        out.print()
        out.print(title, style="bold")
        for depth, line in lines:
            text.show(out, Padding(Text(line), (0, 0, 0, 2 + 3 * depth)))


def _name(design: Design, tag: str) -> str:
    device = design.device_by_tag.get(tag)
    return f"{tag} ({device.title})" if device else tag


def _at(way: Way) -> list[str]:
    """By which conductors each terminal is reached."""
    return [f"at {mark} by {_by(numbers)}" for mark, numbers in zip(way.marks, way.conductors, strict=True) if numbers]


def _by(numbers: tuple[int, ...]) -> str:
    return f"conductor{'s' if len(numbers) > 1 else ''} {', '.join(map(str, numbers))}"


def _source(design: Design, way: Way) -> str:
    return " and ".join(_name(design, s) for s in way.sources)


def _title(design: Design, story: Story, way: Way) -> str:
    """What a way is: ``power``, or ``control supply CP1-T1``."""
    own = way.device == story.load
    if way.what in ("power", "signal"):
        return way.what if own else f"{way.what} of {_name(design, way.device)}"
    if way.what == "control supply":
        return f"control supply {_name(design, way.device)}"
    return way.what if own else f"{way.what}, at {_name(design, way.device)}"


def _fed(design: Design, story: Story) -> Iterator[tuple[int, str]]:
    if not story.ways:
        yield 0, "nothing, in this situation"
    for way in story.ways:
        title = _title(design, story, way)
        if way.sources:
            yield 0, f"{title}: from {_source(design, way)}"
            for line in _at(way):
                yield 1, line
        else:
            pair = f"{title}: {way.device} gives the voltage itself, out and back at {' and '.join(way.marks)}"
            yield 0, pair
            yield 1, _by(way.conductors[0])


def _switched(design: Design, story: Story) -> Iterator[tuple[int, str]]:
    for way in story.ways:
        if way.switches or way.listens:
            yield 0, f"{_title(design, story, way)}:"
            yield from _movers(design, way, 1)
    if not any(way.switches or way.listens for way in story.ways):
        yield 0, "nothing, in this situation"


def _movers(design: Design, way: Way, depth: int) -> Iterator[tuple[int, str]]:
    if way.listens:
        yield depth, f"the controller's program, which looks at {', '.join(way.listens)}"
    for mover in way.switches:
        contacts = f"contact{'s' if len(mover.contacts) > 1 else ''} {', '.join(mover.contacts)}"
        looks = f", which looks at {', '.join(mover.listens)}" if mover.listens else ""
        yield depth, f"{_name(design, mover.device)}, {contacts}: {mover.moved_by}{looks}"
        for coil in mover.coil:
            yield depth + 1, f"{coil.what}: from {_source(design, coil)} {'; '.join(_at(coil))}"
            yield from _movers(design, coil, depth + 2)


def _lost(story: Story) -> Iterator[tuple[int, str]]:
    if not story.watched:
        yield (
            0,
            (
                "not looked at: the proof watches what fans, make-up units, appliances, lights, dampers, gas valves "
                "and alarms do"
            ),
        )
    elif story.situation:
        yield 0, f"at rest in daily use; it works when {story.situation}"
    elif not story.lost_when:
        yield 0, "no single event of the grid stops it"
    for event in story.lost_when:
        yield 0, event
