"""Which field conductors are drawn together, and in which rows: the placement behind the field connection sheets.

A *place* is where field devices stand. The panel's strips and whatever stands elsewhere are *sources* on the left;
the place's own devices follow to the right in columns, each conductor leading from a column to a later one. Every
conductor gets a row and runs straight along it: the rows are ordered so that none leads through a device. Where the
devices of a group would need more columns than a sheet has, or no such order exists, the group falls apart: by what
its conductors belong to, then by cable, at last into pairs of devices, which always fit.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from galleyproof.design.builder import natural
from galleyproof.design.model import Conductor, Design, EnergyClass, TerminalId
from galleyproof.drawing.paths import Wire

MAX_COLUMNS = 3
"""Columns of field devices on a sheet's width [-]."""


@dataclass(frozen=True, slots=True)
class Run(Wire):
    """One conductor on its row, from the column of its left landing to that of its right one."""

    from_column: int
    to_column: int


@dataclass(slots=True)
class Row:
    """Conductors that share one height; their columns do not overlap."""

    runs: list[Run] = field(default_factory=list)

    @property
    def source(self) -> TerminalId | None:
        """The landing in column 0, if the row begins there."""
        return next((r.left for r in self.runs if r.from_column == 0), None)

    def device_at(self, column: int) -> str | None:
        """Tag of the device that this row touches in a column."""
        for r in self.runs:
            if r.from_column == column:
                return r.left.device
            if r.to_column == column:
                return r.right.device
        return None

    def passes(self, column: int) -> bool:
        """Whether a conductor leads past this column."""
        return any(r.from_column < column < r.to_column for r in self.runs)

    def free(self, first: int, last: int) -> bool:
        """Whether nothing runs between two columns."""
        return all(r.to_column <= first or r.from_column >= last for r in self.runs)


@dataclass(frozen=True, slots=True)
class Group:
    """Conductors drawn together: rows from top to bottom.

    Attributes:
        rows: At least one.
        columns: Columns of devices it takes, without the sources. [-]
        first: Least conductor number, which orders the groups.
    """

    rows: tuple[Row, ...]
    columns: int
    first: int


@dataclass(frozen=True, slots=True)
class Area:
    """All groups of one place that take the same width."""

    place: str
    wide: bool
    groups: tuple[Group, ...]

    @property
    def columns(self) -> int:
        """Columns of devices [-]."""
        return max(g.columns for g in self.groups)


def is_panel(design: Design, tag: str) -> bool:
    """Whether a device is built into the panel (or is the panel)."""
    device = design.device_by_tag[tag]
    return device.parent is not None or tag == design.panel


def _shared(design: Design, tag: str) -> bool:
    """Strips and panelboards: they serve everything, so they hold no group together."""
    return design.device_by_tag[tag].type.startswith(("terminal_strip", "panelboard"))


def place_of(design: Design, conductor: Conductor) -> str:
    """The place on whose sheet a conductor is drawn: where its far end stands."""
    ends = [t.device for t in (conductor.b, conductor.a) if not is_panel(design, t.device)]
    if not ends:
        return design.device_by_tag[conductor.b.device].place

    def near(tag: str) -> int:
        """Panelboards and their breakers are where things come from."""
        kind = design.device_by_tag[tag].type
        return 2 if kind.startswith("panelboard") else 1 if kind.startswith("breaker") else 0

    return design.device_by_tag[min(ends, key=near)].place


def plan_areas(design: Design, line: bool) -> tuple[Area, ...]:
    """Areas of the line-voltage sheets, or of the control sheets, in the order they are drawn."""
    by_place: dict[str, list[Conductor]] = {}
    for c in sorted(design.conductors, key=lambda c: c.number):
        if c.made == "field" and (c.energy_class is EnergyClass.LINE) == line:
            by_place.setdefault(place_of(design, c), []).append(c)
    areas: list[Area] = []
    for place, conductors in by_place.items():
        groups = [g for part in _together(design, place, conductors) for g in _plan_group(design, place, part)]
        groups.sort(key=lambda g: g.first)
        for wide in (True, False):
            mine = tuple(g for g in groups if (g.columns > 1) == wide)
            if mine:
                areas.append(Area(place, wide, mine))
    return tuple(areas)


def _is_source(design: Design, place: str, tag: str) -> bool:
    return is_panel(design, tag) or design.device_by_tag[tag].place != place


def _together(design: Design, place: str, conductors: Sequence[Conductor]) -> list[list[Conductor]]:
    """Conductors that share a device of the place or a cable."""
    root: dict[str, str] = {}

    def find(x: str) -> str:
        root.setdefault(x, x)
        while root[x] != x:
            root[x] = root[root[x]]
            x = root[x]
        return x

    for c in conductors:
        ties = [f"c {c.key}", *([f"w {c.cable}"] if c.cable else [])]
        own = (t.device for t in (c.a, c.b) if not _is_source(design, place, t.device))
        ties += [f"d {tag}" for tag in own if not _shared(design, tag)]
        for tie in ties[1:]:
            root[find(tie)] = find(ties[0])
    parts: dict[str, list[Conductor]] = {}
    for c in conductors:
        parts.setdefault(find(f"c {c.key}"), []).append(c)
    return list(parts.values())


def _plan_group(design: Design, place: str, conductors: Sequence[Conductor]) -> list[Group]:
    for by_tag in (False, True):
        columns = _columns(design, place, conductors, by_tag)
        if columns is not None and max(columns.values(), default=0) <= MAX_COLUMNS:
            rows = _rows(design, conductors, columns)
            if rows is not None:
                return [_group(rows)]
    for field_name in ("of", "cable"):
        parts: dict[str, list[Conductor]] = {}
        for c in conductors:
            parts.setdefault(getattr(c, field_name), []).append(c)
        if len(parts) > 1:
            return [g for part in parts.values() for g in _plan_group(design, place, part)]
    pairs: dict[tuple[str, str], list[Conductor]] = {}
    for c in conductors:
        left, right = _by_side(design, place, c)
        pairs.setdefault((left.device, right.device), []).append(c)
    groups = []
    for (left_tag, right_tag), mine in pairs.items():
        made = _rows(design, mine, {left_tag: 0, right_tag: 1})
        if made is None:  # both landings on one device: one row each
            made = [Row([Run(c, "a", 0, 1)]) for c in mine]
        groups.append(_group(made))
    return groups


def _group(rows: Sequence[Row]) -> Group:
    runs = [r for row in rows for r in row.runs]
    return Group(tuple(rows), max(r.to_column for r in runs), min(r.conductor.number for r in runs))


def _by_side(design: Design, place: str, c: Conductor) -> tuple[TerminalId, TerminalId]:
    """Landings of a conductor, the one nearer to the panel first."""

    def rank(t: TerminalId) -> tuple[int, int]:
        panel = is_panel(design, t.device)
        return (0 if panel else 1 if _is_source(design, place, t.device) else 2, 0 if t == c.a else 1)

    first, second = sorted((c.a, c.b), key=rank)
    return first, second


def _columns(design: Design, place: str, conductors: Sequence[Conductor], by_tag: bool) -> dict[str, int] | None:
    """Column of each device: sources 0, others after whatever feeds them, or after devices of a lower tag.

    None when that runs in a circle.
    """
    column: dict[str, int] = {}
    after: dict[str, set[str]] = {}
    for c in conductors:
        left, right = _by_side(design, place, c)
        if left.device == right.device:
            return None
        own = not _is_source(design, place, left.device) and not _is_source(design, place, right.device)
        if by_tag and own and natural(right.device) < natural(left.device):
            left, right = right, left
        both_sources = _is_source(design, place, right.device)
        for t in (left, right):
            source = _is_source(design, place, t.device) and not (both_sources and t == right)
            column.setdefault(t.device, 0 if source else 1)
        if not _is_source(design, place, left.device):
            after.setdefault(right.device, set()).add(left.device)
    for _ in range(len(column) + 1):
        moved = False
        for tag in sorted(after, key=natural):
            least = 1 + max(column[other] for other in after[tag])
            if column[tag] < least:
                column[tag], moved = least, True
        if not moved:
            return column
    return None


def _rows(design: Design, conductors: Sequence[Conductor], column: Mapping[str, int]) -> list[Row] | None:
    """Rows in which no conductor leads through a device, or None."""
    runs = []
    for c in conductors:
        swap = (column[c.b.device], natural(c.b.device)) < (column[c.a.device], natural(c.a.device))
        left_end, left, right = ("b", c.b, c.a) if swap else ("a", c.a, c.b)
        if column[left.device] >= column[right.device]:
            return None
        runs.append(Run(c, left_end, column[left.device], column[right.device]))
    chains = _depth_order(design, runs)
    rows: list[Row] = []
    for run in chains:
        spot = _spot(rows, run)
        if spot is None:
            rows.append(Row([run]))
        elif isinstance(spot, Row):
            spot.runs.append(run)
        else:
            rows.insert(spot[0], Row([run]))
    return rows if _clear(rows, max(column.values())) else None


def _depth_order(design: Design, runs: Sequence[Run]) -> list[Run]:
    """Runs out of the sources first, those to near columns before those to far ones, strips in true order."""

    def key(run: Run) -> tuple[object, ...]:
        bars = design.device_by_tag[run.left.device].type.startswith("panelboard")
        left = terminal_order(run.left)
        return (run.from_column, run.to_column, bars, *left, natural(run.right.mark), run.conductor.number)

    first: dict[str, int] = {}
    for run in sorted(runs, key=key):
        first.setdefault(run.right.device, len(first))
    return sorted(runs, key=lambda r: (r.from_column, r.to_column, first[r.right.device], *key(r)[2:]))


def _spot(rows: Sequence[Row], run: Run) -> Row | tuple[int] | None:
    """Where a run goes: an existing row of its left device, a place right below that device, or the end."""
    if run.from_column == 0:
        return None
    mine = [i for i, row in enumerate(rows) if row.device_at(run.from_column) == run.left.device]
    for i in mine:
        row = rows[i]
        if row.free(run.from_column, run.to_column) and row.device_at(run.to_column) in (None, run.right.device):
            return row
    return (mine[-1] + 1,) if mine else None


def _clear(rows: Sequence[Row], last: int) -> bool:
    """Whether each device has its rows to itself in its column."""
    for column in range(1, last + 1):
        spans: dict[str, list[int]] = {}
        for i, row in enumerate(rows):
            tag = row.device_at(column)
            if tag is not None:
                spans.setdefault(tag, []).append(i)
        for tag, mine in spans.items():
            for i in range(mine[0], mine[-1] + 1):
                other = rows[i].device_at(column)
                if rows[i].passes(column) or (other is not None and other != tag):
                    return False
    return True


def terminal_order(t: TerminalId) -> tuple[object, ...]:
    """Sort key: device, then mark, as they stand on a strip."""
    return (natural(t.device), natural(t.mark))


def all_runs(areas: Iterable[Area]) -> list[Run]:
    """Every run of some areas."""
    return [run for area in areas for group in area.groups for row in group.rows for run in row.runs]
