"""Every kind of slip, planted by hand at named terminals, with the class an experienced person would give it.

The classes come from field cases and trade practice, named in each row; the changes are written here, not taken from
the generators, and each is then looked for among what the generators find.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

import pytest
from tests.proof.test_slips_on_site import ROWS as ON_SITE
from tests.solver.kitchens import EXAMPLES

from galleyproof.design.build import build_design
from galleyproof.design.model import Bridge, Design, TerminalId
from galleyproof.job.model import Job
from galleyproof.job.read import read_job
from galleyproof.library.reader import load_library
from galleyproof.proof.slips import KINDS, Slip, all_slips
from galleyproof.proof.slips.model import Bridged, Change, Move, Refit
from galleyproof.proof.study import Outcome, study


def at(text: str) -> TerminalId:
    device, _, mark = text.rpartition(":")
    return TerminalId(device, mark)


def off(*keys: str) -> Change:
    return Change(opened=keys)


def move(*moves: str) -> Change:
    """``conductor end terminal`` each."""
    return Change(moved=tuple(Move(k, e, at(t)) for k, e, t in (m.split() for m in moves)))  # type: ignore[arg-type]


def tie(*pairs: str, ohm: float = 0.05) -> Change:
    return Change(bridged=tuple(Bridged(p, at(p.split()[0]), at(p.split()[1]), ohm) for p in pairs))


def dead(*parts: str) -> Change:
    return Change(dead=tuple(tuple(p.rsplit(".", 1)) for p in parts))  # type: ignore[arg-type]


def refit(device: str, rating: str, value: object) -> Change:
    return Change(refits=(Refit(device, rating, value),))


FERRY, SCHOOL, HOSPITAL = "ferry-cafe", "school-kitchen", "hospital"


@dataclass(frozen=True)
class Row:
    kind: str
    job: str
    change: Change
    verdict: str
    tells: str
    why: str


ROWS = [
    Row("left off", SCHOOL, off("MAU-1/run/2"), "obvious", "MAU-1", "common practice: an open run pair never calls"),
    Row("left off", FERRY, off("FS-1/shutdown2/1/R"), "hidden", "A-1", "field case T01: a shunt trip fails unseen"),
    Row("phase missing", SCHOOL, off("A-1/power/L1"), "obvious", "A-1", "common practice: a pan that does not heat"),
    Row("neutral open", FERRY, off("SD-1/coil/C2"), "hidden", "A-1", "field case T01"),
    Row("common left off", FERRY, off("EF-1/speed/-"), "obvious", "EF-1", "field case E01: signal without its common"),
    Row("equipment ground left off", FERRY, off("A-1/power/PE"), "hidden", "A-1", "NFPA 70 250.4(A)(5)"),
    Row("loose", FERRY, Change(loose=(("H-1-E1/L", 200.0),)), "obvious", "H-1-E1", "field case X07"),
    Row(
        "on the next terminal",
        FERRY,
        move("FS-1/loop1/+/1 b FS-1:1A"),
        "hidden",
        "EF-1",
        "common practice: both conductors of a closed loop on one terminal are a jumper",
    ),
    Row(
        "two conductors exchanged",
        FERRY,
        move("MAU-1/run/1 b MAU-1:J2", "MAU-1/run/2 b MAU-1:J1"),
        "harmless",
        "",
        "common practice: a dry contact has no polarity",
    ),
    Row(
        "polarity reversed",
        FERRY,
        move("EF-1/speed/+ b EF-1:GND", "EF-1/speed/- b EF-1:0-10V"),
        "obvious",
        "EF-1",
        "common practice: an EC fan stands on a reversed signal",
    ),
    Row(
        "phases exchanged",
        SCHOOL,
        move("EF-1/motor/L1/2 b EF-1:V1", "EF-1/motor/L2/2 b EF-1:U1"),
        "hidden",
        "EF-1 runs backwards",
        "common practice: a reversed fan still moves about half its air at normal amperes",
    ),
    Row(
        "line and neutral exchanged",
        FERRY,
        move("H-1-E1/L b H-1-E1:N", "H-1-E1/N b H-1-E1:L"),
        "harmless",
        "",
        "field case L04: the lamp works; only a reading to ground shows it",
    ),
    Row(
        "data pair crossed",
        SCHOOL,
        move("BL-1/A b BL-1:B", "BL-1/B b BL-1:A"),
        "harmless",
        "",
        "no promise of the kitchen hangs on the building's link",
    ),
    Row("wrong throw", FERRY, move("MAU-1/run/2/in a CP1-K1:22"), "obvious", "MAU-1", "field case M04"),
    Row(
        "wrong throw",
        FERRY,
        move("FS-1/loop1/-/1 a FS-1:1R"),
        "announced",
        "alarm",
        "common practice: the loop reads released while the system is armed",
    ),
    Row(
        "cables exchanged",
        FERRY,
        move("SW-1/on/+ b SW-2:1", "SW-1/on/- b SW-2:2", "SW-2/on/+ b SW-1:1", "SW-2/on/- b SW-1:2"),
        "obvious",
        "EF-1",
        "common practice: the light switch starts the fan",
    ),
    Row("motor for the other voltage", SCHOOL, refit("EF-1", "motor_v", 416.0), "obvious", "EF-1", "common practice"),
    Row("own supply tied to the signal", FERRY, tie("EF-1:+10V EF-1:0-10V"), "obvious", "EF-1", "field case E01"),
    Row("drive waits for its keypad", SCHOOL, refit("CP1-T2", "start_from", "keypad"), "obvious", "EF-2", "V01"),
    Row("jumper left in", FERRY, tie("CP1-X3:13 CP1-X3:14"), "hidden", "EF-1", "field case F09: forbid the jumper"),
    Row(
        "jumper missing",
        SCHOOL,
        Change(unbridged=(Bridge(at("CP1-X2:17"), at("CP1-X2:18")),)),
        "hidden",
        "A-1",
        "field case T01: the released side no longer reaches the coil",
    ),
    Row(
        "sensors in series",
        SCHOOL,
        off("TS-1B/+", "TS-1B/-") + move("TS-1A/- b TS-1B:2") + tie("TS-1A:2 TS-1B:1"),
        "announced",
        "alarm",
        "common practice: the second input is empty and reads open",
    ),
    Row(
        "sensors in parallel",
        SCHOOL,
        off("TS-1B/+", "TS-1B/-") + tie("TS-1A:1 TS-1B:1", "TS-1A:2 TS-1B:2"),
        "announced",
        "alarm",
        "field case S02: one input reads half, and the other reads open",
    ),
    Row(
        "wrong thermistor curve",
        SCHOOL,
        refit("TS-1A", "fitted_curve", "NTC 10k curve 3"),
        "harmless",
        "",
        "field case S05: right at room temperature, 11 F high at 200 F; every promise holds",
    ),
    Row("wrong sensor", FERRY, refit("TS-1", "fitted_curve", "Pt1000"), "obvious", "EF-1", "1 kohm reads hot: S02"),
    Row("short in a cable", FERRY, tie("TS-1:1 TS-1:2"), "announced", "alarm", "a shorted sensor is a fault"),
    Row("short to ground", FERRY, tie("A-1:L1 LP-1:N"), "obvious", "A-1", "common practice: its breaker trips"),
    Row(
        "circuits exchanged",
        FERRY,
        move("LP-1/7/L1 a LP-1/9:2", "LP-1/9/L2 a LP-1/7:2"),
        "hidden",
        "",
        "field case G07: a dependence between circuits that nobody knows of",
    ),
    Row("wrong voltage", SCHOOL, move("KM-1/line/L3 a LP-2:N"), "obvious", "A-4", "120 V on a 208 V appliance"),
    Row("circuits back-fed", FERRY, tie("CP1-X1:1 CP1-X1:5"), "hidden", "control power is lost", "field case P16"),
    Row(
        "neutral borrowed",
        SCHOOL,
        move("H-1-E1/N a CP1-X1:9"),
        "harmless",
        "",
        "field case P03: nothing shows while both neutrals are whole",
    ),
    Row("dead pole", SCHOOL, dead("LP-2/20.pole_1"), "obvious", "A-1", "field case O01: a phase lost upstream"),
    Row("disconnect left open", FERRY, dead("EF-1-QB.pole_1", "EF-1-QB.pole_2"), "obvious", "EF-1", "common practice"),
    Row(
        "coil fed from the load side",
        SCHOOL,
        move("KM-1/coil/1 a KM-1:2/T1"),
        "obvious",
        "A-4",
        "common practice: a held-in contactor cannot pull in off its own load side",
    ),
    Row("coil on an unswitched supply", SCHOOL, move("KM-1/coil/1 a CP1-X2:3"), "hidden", "A-4", "field case F13"),
    Row(
        "wrong accessory",
        FERRY,
        refit("LP-1/11", "accessory", "undervoltage"),
        "obvious",
        "A-1",
        "field case T06: with no supply the breaker will not close at all",
    ),
    Row(
        "no cut-off contact",
        FERRY,
        refit("LP-1/11", "type", "breaker_2_shunt_plain"),
        "harmless",
        "",
        "common practice: the coil may burn after a release; the release itself is whole",
    ),
    Row("coil burnt", FERRY, dead("LP-1/11.shunt"), "hidden", "A-1", "field case T01"),
    Row("coil burnt", SCHOOL, dead("KM-1.coil"), "obvious", "A-4", "field case T01: a held-in coil fails safe"),
    Row(
        "contactor welded",
        SCHOOL,
        tie("KM-1:1/L1 KM-1:2/T1", "KM-1:3/L2 KM-1:4/T2", ohm=0.01),
        "hidden",
        "A-4",
        "field case F14: coil dead, load still live",
    ),
    Row("contact stuck closed", FERRY, tie("FS-1:1C FS-1:1A", ohm=0.01), "hidden", "EF-1", "field case F11"),
    Row("contact never makes", FERRY, dead("CP1-K2.r1_no"), "obvious", "", "field case G04: no seal-in"),
    Row("detector open", SCHOOL, dead("DD-1.stop"), "obvious", "MAU-1", "common practice: it stops its unit for good"),
    Row(
        "end-of-line resistor missing",
        SCHOOL,
        refit("BL-1", "type", "link_station"),
        "harmless",
        "",
        "field case N02: 120 ohm power off; no promise hangs on the link",
    ),
    Row(
        "end-of-line resistor doubled",
        SCHOOL,
        tie("BL-1:A BL-1:B", ohm=120.0),
        "harmless",
        "",
        "field case N02: 40 ohm power off",
    ),
    Row("sink for source", SCHOOL, Change(), "obvious", "EF-2", "the input is never driven; found by the generator"),
    Row("fans exchanged", SCHOOL, Change(), "obvious", "EF-", "found by the generator"),
    Row("pair at the wrong unit", HOSPITAL, Change(), "obvious", "", "found by the generator"),
]
"""``Change()`` takes the generator's first slip of the kind."""


@cache
def kitchen(name: str) -> tuple[Job, Design, tuple[Slip, ...]]:
    path = EXAMPLES / f"{name}.yaml"
    job = read_job(path.read_bytes(), path.name)
    design = build_design(job)
    return job, design, all_slips(design, load_library())


def found(row: Row, slips: tuple[Slip, ...]) -> Slip | None:
    """The generator's slip with this change, whatever it calls its connections."""
    mine = [s for s in slips if s.kind == row.kind]
    if row.change == Change():
        return mine[0]
    return next((s for s in mine if plain(s.change) == plain(row.change)), None)


def plain(change: Change) -> Change:
    ties = tuple(sorted((replace(b, key="") for b in change.bridged), key=lambda b: (b.a, b.b)))
    return replace(change, bridged=ties, moved=tuple(sorted(change.moved, key=lambda m: (m.conductor, m.end))))


@cache
def outcomes(name: str) -> dict[int, Outcome]:
    """All rows of one job, studied together."""
    job, design, slips = kitchen(name)
    rows = {i: row for i, row in enumerate(ROWS) if row.job == name}
    planted = []
    for i, row in rows.items():
        like = found(row, slips)
        base = like or Slip("", row.kind, (), (), 1.0, "", row.change)
        change = base.change if row.change == Change() else row.change
        planted.append(replace(base, key=str(i), change=change))
    done = study(job, design, load_library(), planted)
    return {int(o.slip.key): o for o in done.outcomes}


@pytest.mark.parametrize("index", range(len(ROWS)), ids=lambda i: f"{ROWS[i].kind}-{i}")
def test_planted(index: int):
    row = ROWS[index]
    outcome = outcomes(row.job)[index]
    assert outcome.verdict == row.verdict, f"{row.why}: {outcome.seen} {[b.promise for b in outcome.broken][:6]}"
    assert row.tells in outcome.seen
    assert bool(outcome.test) == (row.verdict == "hidden")


@pytest.mark.parametrize("index", range(len(ROWS)), ids=lambda i: f"{ROWS[i].kind}-{i}")
def test_found_by_its_generator(index: int):
    row = ROWS[index]
    slip = found(row, kitchen(row.job)[2])
    if row.kind == "short to ground":
        # the generator takes a terminal of the grounding electrode, whichever it is
        slip = next(s for s in kitchen(row.job)[2] if s.kind == row.kind and at("A-1:L1") in s.terminals)
    assert slip is not None
    assert slip.prior > 0
    assert all(str(t) in slip.sentence for t in slip.terminals[:1]) or slip.kind in (
        "sensors in series",
        "sensors in parallel",
        "wrong thermistor curve",
        "wrong sensor",
        "circuits exchanged",
        "disconnect left open",
        "contactor welded",
        "drive waits for its keypad",
        "motor for the other voltage",
        "wrong accessory",
        "no cut-off contact",
        "contact stuck closed",
        "contact never makes",
        "end-of-line resistor missing",
    )


def test_every_kind_has_a_row():
    assert {row.kind for row in (*ROWS, *ON_SITE)} == set(KINDS)
