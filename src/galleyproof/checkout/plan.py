"""The shortest check-out: the fewest, safest, quickest readings that between them catch every slip that can be caught.

A weighted set cover with the cost of bringing each preparation about, solved to proven optimality (HiGHS). A reading
on a live circuit costs far more than any dead one, so that none is taken where a safe one tells as much.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

from galleyproof.checkout.model import CAUTIONS, Checkout, Expectation, Preparation, Probe, Stage
from galleyproof.errors import GalleyproofError

HAZARD_MINUTES = 40.0
"""What one step of hazard weighs against minutes of work. [min]."""
STAGES = tuple(Stage)


ROUNDING = 1e-12
"""A gap below this is none. [ratio]"""


class PlanError(GalleyproofError):
    """The solver gave up; the message says with what gap."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One line of the sheet.

    Attributes:
        probe: What to do.
        expected: What it reads on the right wiring.
        catches: Keys of the slips it would show.
        first: Keys of those that no reading before it shows.
        required: Part of the acceptance list, whatever it catches.
    """

    probe: Probe
    expected: Expectation
    catches: tuple[str, ...]
    first: tuple[str, ...]
    required: bool = False


@dataclass(frozen=True)
class Plan:
    """The check-out sheet.

    Attributes:
        readings: In the order of the work.
        preparations: Those the readings need, in order, each with what it takes to get there.
        slips: Number of slips asked about.
        caught: Number that at least one reading shows.
        uncatchable: Keys of those that none of all possible probes shows.
        gap: Proven distance from the optimum; 0 when it is the optimum. [ratio]
        minutes: Of all readings and preparations. [min]
        possible: Number of all possible probes.
    """

    readings: tuple[Reading, ...]
    preparations: tuple[Preparation, ...]
    slips: int
    caught: int
    uncatchable: tuple[str, ...]
    gap: float
    minutes: float
    possible: int

    def words(self) -> str:
        """What it covers, in one sentence."""
        missed = len(self.uncatchable)
        tail = f", {missed:,} cannot be told by any reading" if missed else ", none is left"
        return f"{self.slips:,} slips, {self.caught:,} caught by {len(self.readings):,} readings{tail}"

    def cautions(self) -> tuple[tuple[Stage, str], ...]:
        """The caution of each stage the plan enters."""
        used = {r.probe.stage for r in self.readings}
        return tuple((s, CAUTIONS[s]) for s in STAGES if s in used)


def cost(probe: Probe) -> float:
    """Minutes of work, and hazard weighed in minutes. [min]."""
    return probe.minutes + HAZARD_MINUTES * probe.hazard


def make_plan(
    checkout: Checkout,
    expected: Sequence[Expectation],
    shows: Mapping[str, Sequence[int]],
    required: Sequence[int] = (),
) -> Plan:
    """The plan of least cost.

    Args:
        checkout: All possible probes.
        expected: Expectation of each probe.
        shows: Slip -> indices of the probes that show it; an empty list for a slip none shows.
        required: Probes that belong to the acceptance list whatever they catch.

    Raises:
        PlanError: The solver found no plan.
    """
    uncatchable = tuple(s for s, probes in shows.items() if not probes)
    chosen, gap = _cover(checkout, shows, set(required))
    needed = _needed(checkout, {checkout.probes[i].preparation for i in chosen})
    # the acceptance list comes last, in the order in which officials ask
    order = [*_walk(checkout, sorted(chosen - set(required)), needed), *required]
    catches: dict[int, list[str]] = {i: [] for i in chosen}
    for slip, probes in shows.items():
        for i in probes:
            if i in catches:
                catches[i].append(slip)
    seen: set[str] = set()
    readings = []
    for i in order:
        first = tuple(s for s in catches[i] if s not in seen)
        seen.update(first)
        readings.append(Reading(checkout.probes[i], expected[i], tuple(catches[i]), first, i in set(required)))
    minutes = sum(r.probe.minutes for r in readings) + sum(p.minutes for p in needed)
    return Plan(
        tuple(readings), needed, len(shows), len(seen), uncatchable, gap, minutes, len(checkout.probes)
    )  # fmt: skip


def _cover(checkout: Checkout, shows: Mapping[str, Sequence[int]], required: set[int]) -> tuple[set[int], float]:
    """Probes of least cost that show every slip that can be shown, and the proven gap."""
    rows = {tuple(sorted(set(probes))) for probes in shows.values() if probes}
    rows = {r for r in rows if not required.intersection(r)}
    rows = _least(rows)
    columns = _best(checkout, rows)
    rows = {tuple(i for i in r if i in columns) for r in rows}
    if not rows:
        return set(required), 0.0
    used = sorted({i for r in rows for i in r})
    at = {probe: j for j, probe in enumerate(used)}
    preps = sorted({a for i in used for a in _ancestors(checkout, checkout.probes[i].preparation)})
    given = {a for i in required for a in _ancestors(checkout, checkout.probes[i].preparation)}
    prep_at = {p: len(used) + j for j, p in enumerate(preps)}
    n = len(used) + len(preps)
    weights = np.array(
        [cost(checkout.probes[i]) for i in used]
        + [0.0 if p in given else checkout.preparation(p).minutes for p in preps]
    )
    data: list[float] = []
    i_of: list[int] = []
    j_of: list[int] = []
    low: list[float] = []
    for row in sorted(rows):
        for i in row:
            data.append(1.0)
            i_of.append(len(low))
            j_of.append(at[i])
        low.append(1.0)
    for i in used:
        prep = checkout.probes[i].preparation
        data += [1.0, -1.0]
        i_of += [len(low)] * 2
        j_of += [prep_at[prep], at[i]]
        low.append(0.0)
    for p in preps:
        before = checkout.preparation(p).after
        if before in prep_at:
            data += [1.0, -1.0]
            i_of += [len(low)] * 2
            j_of += [prep_at[before], prep_at[p]]
            low.append(0.0)
    matrix = coo_array((data, (i_of, j_of)), shape=(len(low), n)).tocsr()
    found = milp(
        weights,
        constraints=LinearConstraint(matrix, lb=np.array(low)),
        integrality=np.ones(n, dtype=np.int64),
        bounds=Bounds(0, 1),
        options={"mip_rel_gap": 0.0},
    )
    if found.x is None:
        raise PlanError(f"no plan was found: {found.message}; report the job it happened with")
    chosen = {used[j] for j in range(len(used)) if found.x[j] > 0.5}
    # what is left is less than the sum of the costs is rounded by
    gap = float(found.mip_gap or 0.0)
    return chosen | required, gap if gap > ROUNDING else 0.0


def _least(rows: set[tuple[int, ...]]) -> set[tuple[int, ...]]:
    """Rows that no other one makes superfluous: whoever shows a part of them shows the whole."""
    by_size = sorted(rows, key=len)
    kept: list[frozenset[int]] = []
    holding: dict[int, list[int]] = {}
    for row in by_size:
        members = frozenset(row)
        near = {k for i in row for k in holding.get(i, ())}
        if any(kept[k] <= members for k in near):
            continue
        for i in row:
            holding.setdefault(i, []).append(len(kept))
        kept.append(members)
    return {tuple(sorted(k)) for k in kept}


def _best(checkout: Checkout, rows: set[tuple[int, ...]]) -> set[int]:
    """Probes worth looking at: of those in one preparation that show the same rows, the cheapest."""
    shown: dict[int, list[int]] = {}
    for k, row in enumerate(sorted(rows)):
        for i in row:
            shown.setdefault(i, []).append(k)
    best: dict[tuple[str, tuple[int, ...]], int] = {}
    for i in sorted(shown):
        key = (checkout.probes[i].preparation, tuple(shown[i]))
        other = best.get(key)
        if other is None or cost(checkout.probes[i]) < cost(checkout.probes[other]):
            best[key] = i
    return set(best.values())


def _ancestors(checkout: Checkout, key: str) -> tuple[str, ...]:
    found = []
    while key:
        found.append(key)
        key = checkout.preparation(key).after
    return tuple(found)


def _needed(checkout: Checkout, keys: set[str]) -> tuple[Preparation, ...]:
    wanted = {a for key in keys for a in _ancestors(checkout, key)}
    return tuple(p for p in checkout.preparations if p.key in wanted)


def _walk(checkout: Checkout, chosen: Sequence[int], needed: Sequence[Preparation]) -> list[int]:
    """Readings in the order of the preparations, in each of them place by place from the panel outwards."""
    order = {p.key: n for n, p in enumerate(needed)}
    far = {"the panel": 0.0}
    for i in chosen:
        probe = checkout.probes[i]
        far.setdefault(probe.place, probe.minutes)
        far[probe.place] = min(far[probe.place], probe.minutes) if probe.place != "the panel" else 0.0

    def key(i: int) -> tuple[object, ...]:
        probe = checkout.probes[i]
        return (
            STAGES.index(probe.stage),
            order[probe.preparation],
            far[probe.place],
            probe.place,
            probe.kind != "display",
            _natural(str(probe.red or probe.slot)),
            _natural(str(probe.black or "")),
        )

    return sorted(chosen, key=key)


def _natural(text: str) -> tuple[tuple[int, str | int], ...]:
    """Sorts ``X3:9`` before ``X3:10``."""
    parts: list[tuple[int, str | int]] = []
    number = ""
    for sign in (*text, ""):
        if sign.isdigit():
            number += sign
            continue
        if number:
            parts.append((0, int(number)))
            number = ""
        if sign:
            parts.append((1, sign))
    return tuple(parts)
