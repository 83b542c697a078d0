"""Kinds of slips that field cases brought, each with the class an experienced person would give it.

Played in the field kitchens: what the three examples do not have stands there (a high leg, several fans, a wet run).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import pytest
from tests.design.support import LIBRARY
from tests.outside.field_kitchens import field

from galleyproof.proof.study import Outcome, study


@dataclass(frozen=True)
class Row:
    kind: str
    kitchen: str
    slip: str
    verdict: str
    tells: str
    why: str


ROWS = (
    Row("suppression not armed", "starter", "suppression-not-armed/FS-1", "announced", "alarm", "field case F09"),
    Row("snap switch stuck", "shutdowns", "snap-switch-stuck/FS-1/2", "hidden", "GV-1", "field case F11"),
    Row("sequence reversed", "starter", "sequence-reversed/CP1-K1", "hidden", "in fire", "field case F03"),
    Row("make-up set to run on", "starter", "make-up-set-to-run-on/MAU-1", "hidden", "MAU-1", "field case F03"),
    Row(
        "restart set otherwise", "starter", "restart-set-otherwise/EF-1", "hidden", "back", "O10: after an outage only"
    ),
    Row("link set otherwise", "lights", "link-set-otherwise/BL-1", "harmless", "", "N05: no promise hangs on the link"),
    Row(
        "signal of the other kind",
        "shutdowns",
        "signal-of-the-other-kind/EF-1/output",
        "harmless",
        "",
        "field case E05: at the extremes it does what it should",
    ),
    Row(
        "input set for milliamperes",
        "shutdowns",
        "input-set-for-milliamperes/EF-1",
        "hidden",
        "EF-1 stays at",
        "common practice: 250 ohm behind 100 ohm leave 7.1 V of 10: it runs, and never at full speed",
    ),
    Row("speed from the keypad", "drive", "speed-from-the-keypad/CP1-T2", "obvious", "EF-1", "field case V01"),
    Row("motor draws too much", "starter", "motor-draws-too-much/EF-1", "obvious", "EF-1 stands", "O04: it trips"),
    Row("little air", "starter", "little-air/EF-1", "harmless", "", "field case O04: fewer amperes, and it turns"),
    Row("overload set too high", "starter", "overload-set-too-high/CP1-Q1", "hidden", "burns", "field case O01"),
    Row(
        "phase lost while it runs",
        "starter",
        "phase-lost-while-it-runs/EF-1/trips",
        "obvious",
        "EF-1 stands",
        "field case O01, with an overload that works",
    ),
    Row(
        "phase lost while it runs",
        "starter",
        "phase-lost-while-it-runs/EF-1/turns-on",
        "hidden",
        "EF-1 stays at 90%",
        "field case O01: a motor that turns turns on",
    ),
    Row(
        "drive's reference reversed",
        "drive",
        "drive's-reference-reversed/CP1-T2",
        "obvious",
        "EF-1",
        "common practice: a drive does not go below zero, it stays at its least speed",
    ),
    Row(
        "drive's reference without common",
        "drive",
        "drive's-reference-without-common/CP1-T2",
        "obvious",
        "EF-1",
        "common practice: nothing comes in, it stays at its least speed",
    ),
    Row("run on another input", "drive", "run-on-another-input/CP1-T2", "obvious", "EF-1 stands", "common practice"),
    Row(
        "least speed set too high",
        "drive",
        "least-speed-set-too-high/CP1-T2",
        "harmless",
        "",
        "common practice: it moves more air than asked for, which costs and endangers nobody",
    ),
    Row("drive stands on a fault", "drive", "drive-stands-on-a-fault/CP1-T2", "obvious", "EF-1 stands", "V07: a trip"),
    Row("EC fan dead", "shutdowns", "EC-fan-dead/EF-1", "obvious", "EF-1 stands", "E01"),
    Row("EC fan dead", "shutdowns", "EC-fan-dead/EF-1/stands", "obvious", "EF-1 stands", "common practice"),
    Row("link port silent", "lights", "link-port-silent/CP1-K1", "harmless", "", "N05: no promise hangs on the link"),
    Row("lamp dead", "lights", "lamp-dead/H-1-E1", "obvious", "H-1-E1", "common practice: volts and no light"),
    Row("drive dead", "drive", "drive-dead/CP1-T2", "obvious", "EF-1 stands", "field case V14"),
    Row("supply on the drive's output", "drive", "supply-on-the-drive's-output/CP1-T2", "obvious", "EF-1", "V14"),
    Row(
        "noise of the drive",
        "drive",
        "noise-of-the-drive/CP1-T2/reference",
        "hidden",
        "EF-1 stays at 80%",
        "V04: 8 V of 10 V",
    ),
    Row("noise of the drive", "drive", "noise-of-the-drive/TS-1/pair", "harmless", "", "S09: two more sensors decide"),
    Row(
        "coil for other volts",
        "shutdowns",
        "coil-for-other-volts/LP-1/10",
        "hidden",
        "A-1",
        "field case T01: never trips",
    ),
    Row("coil for other volts", "shutdowns", "coil-for-other-volts/KM-1", "obvious", "A-2", "a held-in one fails safe"),
    Row("breaker left off", "shutdowns", "breaker-left-off/LP-1/10", "obvious", "A-1", "common practice"),
    Row(
        "control supply too small",
        "shutdowns",
        "control-supply-too-small/CP1-T1",
        "hidden",
        "CP1-P1",
        "field case P10: the last load to join, the horn, does not work",
    ),
    Row(
        "fed from a shunt-tripped breaker",
        "shutdowns",
        "fed-from-a-shunt-tripped-breaker/LP-1/2",
        "hidden",
        "EF-1 stands in fire",
        "field case F05",
    ),
    Row(
        "shared neutral open",
        "two legs",
        "shared-neutral-open/LP-1/8/LP-1/9",
        "obvious",
        "H-2-E1",
        "P03: 40 V of 120 V",
    ),
    Row(
        "second feed at the far end",
        "lights",
        "second-feed-at-the-far-end/H-1-E1/LP-1/2",
        "obvious",
        "H-1-E1",
        "field case P16: lamps never off",
    ),
    Row("coupled volts", "shutdowns", "coupled-volts/GV-1/holds", "hidden", "GV-1", "P14: the valve does not drop out"),
    Row(
        "coupled volts", "wet run", "coupled-volts/MAU-1/wakes", "obvious", "MAU-1", "field case X02: it runs uncalled"
    ),
    Row("on the high leg", "high leg", "on-the-high-leg/LP-1/9", "hidden", "burns out", "P02: it works until then"),
    Row(
        "line and neutral exchanged in the panel",
        "lights",
        "line-and-neutral-exchanged-in-the-panel/LP-1/9",
        "harmless",
        "",
        "field case L04: only a reading to ground shows it",
    ),
    Row("burnt out", "starter", "burnt-out/EF-1", "obvious", "EF-1 stands", "common practice: full volts, no amperes"),
    Row("burnt out", "starter", "burnt-out/CP1-T1", "obvious", "EF-1", "common practice: a panel without its 24 V"),
    Row(
        "rotor locked", "starter", "rotor-locked/EF-1", "obvious", "EF-1 stands", "common practice: its overload trips"
    ),
    Row(
        "make-up unit does not answer",
        "starter",
        "make-up-unit-does-not-answer/MAU-1/locked-out",
        "obvious",
        "MAU-1 stands",
        "field case M11 turned round: called, and it never comes",
    ),
    Row(
        "make-up unit does not answer",
        "starter",
        "make-up-unit-does-not-answer/MAU-1/own-24",
        "obvious",
        "MAU-1 stands",
        "common practice: the fuse inside the unit",
    ),
    Row("valve stuck", "shutdowns", "valve-stuck/GV-1/open", "hidden", "GV-1", "common practice: dirt under the seat"),
    Row("valve stuck", "shutdowns", "valve-stuck/GV-1/shut", "obvious", "A-3", "common practice: no gas"),
    Row(
        "shunt trip jammed", "shunt", "shunt-trip-jammed/LP-1/10", "hidden", "A-1", "field case T01: unseen until then"
    ),
    Row("overload set too low", "starter", "overload-set-too-low/CP1-Q1", "obvious", "EF-1 stands", "common practice"),
    Row(
        "overload contact bypassed",
        "starter",
        "overload-contact-bypassed/CP1-Q1",
        "hidden",
        "burns",
        "common practice: it trips, and the motor runs on",
    ),
    Row("coil for other volts", "starter", "coil-for-other-volts/CP1-Q1", "obvious", "EF-1", "common practice"),
    Row(
        "coil on an unswitched supply",
        "shutdowns",
        "coil-on-an-unswitched-supply/GV-1/another",
        "hidden",
        "GV-1",
        "field case F13, off the hot of another circuit",
    ),
    Row("belt off", "starter", "belt-off/EF-1", "obvious", "EF-1 stands", "common practice: the wheel is still"),
    Row("overload tripped", "starter", "overload-tripped/CP1-Q1", "obvious", "EF-1 stands", "common practice"),
    Row(
        "contactor pole burnt",
        "shutdowns",
        "contactor-pole-burnt/KM-1/main_1",
        "obvious",
        "A-2 is off",
        "common practice: one of two lines is gone",
    ),
    Row(
        "proving switch set too high",
        "proved",
        "proving-switch-set-too-high/AF-1",
        "obvious",
        "MAU-1",
        "field case M07: the proof opens at reduced air; at full speed all is fine",
    ),
    Row(
        "sensor outside its hood",
        "lights",
        "sensor-outside-its-hood/TS-1",
        "obvious",
        "EF-1 stands",
        "common practice: heat under the hood starts nothing",
    ),
    Row("sensors averaged", "drive", "sensors-averaged/H-1/mixed", "announced", "alarm", "S03: empty inputs read open"),
    Row(
        "one signal for all",
        "three easy fans",
        "one-signal-for-all/EF-1/EF-2/EF-3",
        "hidden",
        "EF-1 stays at 44%",
        "field case E02: three inputs of 2.2 kohm behind 100 ohm leave 4.4 V of the 5 V of half speed",
    ),
)


@cache
def outcomes(kitchen: str) -> dict[str, Outcome]:
    """All rows of one kitchen, studied together."""
    made = field(kitchen)
    wanted = [made.slips[made.place[row.slip]] for row in ROWS if row.kitchen == kitchen]
    return {o.slip.key: o for o in study(made.job, made.design, LIBRARY, wanted).outcomes}


@pytest.mark.parametrize("row", ROWS, ids=lambda r: r.slip)
def test_class(row: Row) -> None:
    outcome = outcomes(row.kitchen)[row.slip]
    assert outcome.slip.kind == row.kind
    assert outcome.verdict == row.verdict, f"{row.why}: {outcome.seen} {[b.promise for b in outcome.broken][:6]}"
    assert row.tells in outcome.seen
    assert bool(outcome.test) == (row.verdict == "hidden")


@pytest.mark.parametrize("row", ROWS, ids=lambda r: r.slip)
def test_told_where_it_is(row: Row) -> None:
    """The sentence names a place at which a person finds it."""
    slip = field(row.kitchen).slips[field(row.kitchen).place[row.slip]]
    assert slip.prior > 0
    assert slip.terminals
    assert any(str(t) in slip.sentence or t.device in slip.sentence for t in slip.terminals)
