"""What the panels beside a live drawing say of a conductor, a device or a slip; every number is the core's."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from galleyproof.checkout.model import Probe, Stage
from galleyproof.checkout.probes import LIGHT, Makers, expectation
from galleyproof.checkout.words import said, said_range
from galleyproof.circuit.machine import State
from galleyproof.circuit.meter import LOW_IMPEDANCE_OHM, VOLTMETER_OHM
from galleyproof.design.model import Conductor, Role, TerminalId
from galleyproof.errors import CircuitError
from galleyproof.package.stories import fed, lost, switched
from galleyproof.proof.model import Proof
from galleyproof.proof.reference import reference_state
from galleyproof.proof.slips import Slip
from galleyproof.proof.story import tell
from galleyproof.proof.study import Outcome
from galleyproof.web.live import Live
from galleyproof.web.situations import Asked, presets
from galleyproof.web.wired import NO_V, Walk, Wired

__all__ = [
    "Consequence",
    "DeviceFacts",
    "Read",
    "SlipRow",
    "WireFacts",
    "consequence",
    "device_facts",
    "row_of",
    "slip_rows",
    "wire_facts",
]

FAMILIES = (
    ("Left off or badly landed", ("left off", "phase missing", "neutral open", "common left off", "equipment ground")),
    ("Landed next door", ("on the next terminal", "wrong throw")),
    ("Crossed with a neighbour", ("exchanged", "reversed", "crossed", "cables exchanged")),
    ("Bridged or touching", ("short ", "jumper", "second feed")),
)
"""Headings of the mistakes, and words in the names of their kinds; the rest stands under a heading of its own."""


@dataclass(frozen=True, slots=True)
class Read:
    """One reading to expect.

    Attributes:
        where: Range and terminals of both leads, and where one stands.
        expect: What the right wiring reads there, with its limits.
        wrong: What it reads with the slip in place; empty without one.
        off: Whether that is outside the limits.
    """

    where: str
    expect: str
    wrong: str
    off: bool


@dataclass(frozen=True, slots=True)
class WireFacts:
    """A conductor for people.

    Attributes:
        conductor: As designed.
        size: With insulation and metal.
        why: How its size was found, line by line.
        protected: What protects it, and by which rule.
        raceway: The raceway or cable it runs in, with its trade size.
        cable: Numbers of the conductors beside it.
        ends: Both terminals, with the title and place of their devices.
        situation: The moment in words.
        volts: What stands on both ends then, against the return named.
        against: The return.
        amps: Current in it then.
        reads: What a meter should read then.
        wrong_volts: What stands on both ends with the slip in place, when that differs; empty otherwise.
    """

    conductor: Conductor
    size: str
    why: tuple[str, ...]
    protected: str
    raceway: str
    cable: tuple[int, ...]
    ends: tuple[tuple[TerminalId, str, str], ...]
    situation: str
    volts: tuple[str, str]
    against: str
    amps: str
    reads: tuple[Read, ...]
    wrong_volts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SlipRow:
    """A slip to choose: its key, its kind, what was done."""

    key: str
    kind: str
    sentence: str


@dataclass(frozen=True, slots=True)
class Consequence:
    """What a slip does.

    Attributes:
        row: The slip.
        here: What devices do differently in the situation asked for.
        named: The same in every named situation in which something differs, with its choices.
        burns: Why the wiring cannot stand so; empty otherwise.
        verdict: Its class by the study of all situations; empty while there is none.
        seen: What a person would see, by the study.
        test: Who finds it and when, by the study.
    """

    row: SlipRow
    here: tuple[str, ...]
    named: tuple[tuple[str, str, tuple[str, ...]], ...]
    burns: str
    verdict: str
    seen: str
    test: str


@dataclass(frozen=True, slots=True)
class DeviceFacts:
    """A device for people.

    Attributes:
        tag: Its tag.
        title: What it is.
        kind: Its type.
        place: Where it stands.
        built_into: Tag of the panel it is built into, or empty.
        does: What it does at the moment asked for; empty when nobody watches it.
        situation: The moment in words.
        terminals: Mark, and number and key of each conductor landed there.
        fed: What feeds it.
        switched: What switches it.
        lost: What stops it.
    """

    tag: str
    title: str
    kind: str
    place: str
    built_into: str
    does: str
    situation: str
    terminals: tuple[tuple[str, tuple[tuple[int, str], ...]], ...]
    fed: str
    switched: str
    lost: str


# --- a conductor --------------------------------------------------------------------------------------------------


def wire_facts(live: Live, c: Conductor, asked: Asked, moment: int | None, slip: str) -> WireFacts:
    """All about a conductor at one moment of a situation.

    Args:
        live: The job.
        c: The conductor.
        asked: The situation.
        moment: Place on the way to it; None for the last. [-]
        slip: Key of a slip whose readings stand beside the right ones; empty for none.
    """
    moments = live.right.way(asked)
    at = len(moments) - 1 if moment is None else min(moment, len(moments) - 1)
    walk = live.right.walk(asked)
    sized = live.sizes.conductors.get(c.key)
    number = live.sizes.by_key.get(sized.why_key) if sized is not None else None
    raceway = live.sizes.raceway_by_tag.get(sized.raceway) if sized is not None else None
    devices = live.design.device_by_tag
    ref = live.returns[c.key]
    a, b = live.right.volts(walk, at, c)
    wrong = _wrong_at(live, at, asked, slip)
    then = () if wrong is None else tuple(v.words for v in live.wrong(slip).volts_of(wrong[0], wrong[1], c.key))
    return WireFacts(
        c,
        f"{sized.awg} AWG {sized.insulation} {'copper' if sized.material == 'cu' else 'aluminium'}"
        if sized is not None
        else f"{c.awg} AWG",
        number.result.lines() if number is not None else (),
        _protected(sized.protected_by, sized.protected_a) if sized is not None else "",
        f"{raceway.tag}, {raceway.trade_size + ' in ' if raceway.trade_size else ''}{raceway.kind}" if raceway else "",
        tuple(o.number for o in live.cable_of(c) if o is not c),
        tuple((t, devices[t.device].title, devices[t.device].place) for t in (c.a, c.b)),
        moments[at].words,
        (a.words, b.words),
        "earth" if ref is None else f"its return at {ref}",
        said("amps AC", walk.amps(at, c.key)),
        tuple(_reads(live, walk, at, c, wrong)),
        then if then != (a.words, b.words) else (),
    )


def _protected(rule: str, amps: float | None) -> str:
    return f"{amps:g} A: {rule}" if amps is not None else rule


def _reads(live: Live, walk: Walk, at: int, c: Conductor, wrong: tuple[Walk, int] | None) -> Iterator[Read]:
    """At both ends, against the conductor it belongs to."""
    if c.role is Role.GROUND:
        return
    makers = Makers(live.job, live.design, walk, ())
    others = [o for o in live.cable_of(c) if o is not c and o.role is not Role.GROUND]
    partner = next((o for o in others if o.role in (Role.NEUTRAL, Role.COMMON)), next(iter(others), None))
    for end in (makers.near, makers.far):
        red = end(c)
        black = end(partner) if partner is not None else makers.ground(red)
        if black is None or black == red:
            continue
        light = c.energy_class in LIGHT
        for form in ("dc", "ac") if light else ("ac",):
            shown = walk.volts(at, red, black, form, LOW_IMPEDANCE_OHM if form == "ac" else VOLTMETER_OHM)
            if light and form == "ac" and abs(shown) < NO_V:
                continue
            yield _read(makers, c, red, black, form, shown, wrong)


def _read(
    makers: Makers, c: Conductor, red: TerminalId, black: TerminalId, form: str, shown: float,
    wrong: tuple[Walk, int] | None,
) -> Read:  # fmt: skip
    ohm = LOW_IMPEDANCE_OHM if form == "ac" else VOLTMETER_OHM
    place = makers.place(red)
    probe = Probe(
        "", "", Stage.LINE, "volts AC" if form == "ac" else "volts DC", red, black, "", c.of, place, ohm, 0.0, 0.0, ""
    )
    expected = expectation(probe, shown)
    kind = "AC volts, low-impedance range" if form == "ac" else "DC volts, red first"
    other = "" if makers.place(black) == place else f" (black lead at {makers.place(black)})"
    reads, off = "", False
    if wrong is not None:
        found = wrong[0].volts(wrong[1], red, black, form, ohm)
        reads, off = said(probe.kind, found), not expected.holds(found)
    return Read(
        f"{kind}: {red} to {black}, at {place}{other}", f"{said(probe.kind, shown)}; {said_range(probe, expected)}",
        reads, off,
    )  # fmt: skip


def _wrong_at(live: Live, at: int, asked: Asked, slip: str) -> tuple[Walk, int] | None:
    """Meters on the wiring with the slip, at the moment that stands after the same event."""
    if not slip:
        return None
    try:
        wired = live.wrong(slip)
        moments = wired.way(asked)
    except CircuitError:
        return None
    event = live.right.way(asked)[at].event
    same = [i for i, m in enumerate(moments) if m.event == event]
    return wired.walk(asked), same[-1]


# --- slips --------------------------------------------------------------------------------------------------------


def slip_rows(live: Live, c: Conductor) -> tuple[tuple[str, tuple[SlipRow, ...]], ...]:
    """Mistakes one could make with a conductor, under headings."""
    found: dict[str, list[SlipRow]] = {words: [] for words, _ in FAMILIES}
    for slip in live.slips_of.get(c.key, ()):
        family = next((words for words, parts in FAMILIES if any(p in slip.kind for p in parts)), "Otherwise")
        found.setdefault(family, []).append(row_of(slip))
    return tuple((words, tuple(rows)) for words, rows in found.items() if rows)


def row_of(slip: Slip) -> SlipRow:
    """A slip to choose."""
    return SlipRow(slip.key, slip.kind, slip.sentence)


def consequence(live: Live, key: str, asked: Asked, outcome: Outcome | None) -> Consequence:
    """What a slip does here and in the named situations; with the study's verdict when there is one."""
    slip = live.slip(key)
    verdict, seen, test = (outcome.verdict, outcome.seen, outcome.test) if outcome is not None else ("", "", "")
    try:
        wired = live.wrong(key)
        here = _differences(live, wired, asked)
        named = [(p.name, p.asked.query, _differences(live, wired, p.asked)) for p in presets(live.job)]
    except CircuitError as error:
        burns = f"something burns or trips at once: {' '.join(str(error).split())}"
        return Consequence(row_of(slip), (), (), burns, verdict, seen, test)
    return Consequence(row_of(slip), here, tuple(one for one in named if one[2]), "", verdict, seen, test)


def _differences(live: Live, wired: Wired, asked: Asked) -> tuple[str, ...]:
    right, wrong = live.right.way(asked)[-1].state, wired.way(asked)[-1].state
    found = []
    for tag in live.right.on.slots:
        should, does = live.right.on.words(right, tag), wired.on.words(wrong, tag)
        if should != does:
            found.append(f"{tag}: {does} instead of {should}")
    if wrong.chatter:
        found.append(f"{', '.join(wrong.chatter)} keep switching each other without end")
    return tuple(found)


# --- a device -----------------------------------------------------------------------------------------------------


def device_facts(live: Live, tag: str, asked: Asked, moment: int | None, proof: Proof | None) -> DeviceFacts:
    """All about a device at one moment of a situation.

    Args:
        live: The job.
        tag: The device's tag, which the job has.
        asked: The situation.
        moment: Place on the way to it; None for the last. [-]
        proof: The proof, for what stops the device; None while there is none.
    """
    device = live.design.device_by_tag[tag]
    on = live.right.on
    moments = live.right.way(asked)
    at = len(moments) - 1 if moment is None else min(moment, len(moments) - 1)
    told = ("", "", "")
    if not device.type.startswith(("terminal_strip", "panelboard")):
        state = reference_state(live.job, on.machine)
        events = proof.lost_when.get(tag, ()) if proof is not None else ()
        watched = tag in on.slots
        story = tell(live.design, on.machine, state, tag, events, zones=on.zones, watched=watched)
        stops = lost(story) if watched else "not watched by the proof: it looks at what loads, dampers and alarms do"
        later = "being computed; open it again in a moment"
        told = (fed(story), switched(story), stops if proof is not None or not watched else later)
    return DeviceFacts(
        tag,
        device.title,
        live.library[device.type].title if device.type in live.library else device.type.replace("_", " "),
        device.place,
        device.parent or "",
        _does(live, moments[at].state, tag) if tag in on.slots else "",
        moments[at].words,
        tuple(_landed(live, tag)),
        *told,
    )


def _does(live: Live, state: State, tag: str) -> str:
    words = live.right.on.words(state, tag)
    return f"runs at {words}" if words.endswith("%") and words[0].isdigit() else words


def _landed(live: Live, tag: str) -> Iterable[tuple[str, tuple[tuple[int, str], ...]]]:
    marks: dict[str, list[tuple[int, str]]] = {}
    for terminal, conductors in live.design.conductors_at.items():
        if terminal.device == tag:
            marks[terminal.mark] = [(c.number, str(c.b if c.a == terminal else c.a)) for c in conductors]
    for mark in sorted(marks, key=lambda m: (not m.isdigit(), int(m) if m.isdigit() else 0, m)):
        yield mark, tuple(marks[mark])
