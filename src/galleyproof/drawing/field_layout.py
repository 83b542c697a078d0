"""From planned groups to places on paper: one column of a field connection sheet.

A column has the panel's inner devices on the left, the terminal strips (or whatever feeds the place) next to them,
and the field devices to the right. Heights are settled from top to bottom; what has been placed never moves again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from galleyproof.design.builder import natural
from galleyproof.design.model import Conductor, Design, TerminalId
from galleyproof.drawing.draft import Draft, Register
from galleyproof.drawing.field_plan import Group, Row, Run, is_panel
from galleyproof.drawing.fonts import listed, width, wrap
from galleyproof.drawing.model import Layer, Symbol
from galleyproof.drawing.parts import bracket, cable_words, straight
from galleyproof.drawing.symbols import TERMINAL, Family, icon_of

PITCH = 5.0
"""Between parallel conductors [mm]."""
CABLE_PITCH = 8.6
"""To the first conductor of a cable, whose tag stands above it [mm]."""
ABOVE = 3.6
BELOW = 2.4
BETWEEN = 2.6
TAG_LINE = 4.2
TEXT_LINE = 3.7
LEAST_MARKS_MM = 12.0
"""Room for marks in a device block that has any, so that words stand below each other [mm]."""
INNER, SOURCE = -1, 0
Landings = Sequence[tuple[str, float]]
"""Mark and height of each landing on one edge."""


@dataclass(frozen=True, slots=True)
class Bands:
    """Left and right edge of each column of blocks, from -1 (panel devices) upwards [mm]."""

    edges: Mapping[int, tuple[float, float]]

    def gap(self, left: int) -> tuple[float, float]:
        """The room between a column and the next one."""
        return self.edges[left][1], self.edges[left + 1][0]

    @property
    def last(self) -> int:
        """Rightmost column of devices."""
        return max(self.edges)


def bands(x0: float, x1: float, columns: int) -> Bands:
    """Column edges in the width from ``x0`` to ``x1`` for this many columns of devices."""
    inner, first_gap, source = 25.0, 31.0, 24.0
    device = {1: 60.0, 2: 74.0}.get(columns, 58.0)
    gap = (x1 - x0 - inner - first_gap - source - columns * device) / columns
    edges = {INNER: (x0, x0 + inner), SOURCE: (x0 + inner + first_gap, x0 + inner + first_gap + source)}
    at = edges[SOURCE][1]
    for c in range(1, columns + 1):
        edges[c] = (at + gap, at + gap + device)
        at += gap + device
    return Bands(edges)


@dataclass(frozen=True, slots=True)
class Open:
    """A block that may still grow downwards."""

    tag: str = ""
    last: tuple[object, ...] = ()
    bottom: float = 0.0


@dataclass(frozen=True, slots=True)
class Block:
    """A device's outline with its rows.

    Attributes:
        tag: Device.
        column: Which column of blocks.
        top: Upper edge. [mm]
        bottom: Lower edge. [mm]
        left: Mark and height of each landing on the left edge.
        right: The same on the right edge.
    """

    tag: str
    column: int
    top: float
    bottom: float
    left: tuple[tuple[str, float], ...]
    right: tuple[tuple[str, float], ...]


@dataclass
class Column:
    """One column of a sheet while it fills."""

    design: Design
    bands: Bands
    y: float
    limit: float
    inner_of: Mapping[TerminalId, Conductor]
    family: Family
    runs: list[tuple[Run, float]] = field(default_factory=list)
    inner_runs: list[tuple[Conductor, float]] = field(default_factory=list)
    sources: dict[int, list[Block]] = field(default_factory=lambda: {INNER: [], SOURCE: []})
    blocks: list[Block] = field(default_factory=list)
    brackets: list[tuple[str, int, float, float]] = field(default_factory=list)
    rows: list[tuple[Row, float]] = field(default_factory=list)

    def _floor(self, column: int) -> float:
        """Lowest edge of what stands in a column so far."""
        mine = self.sources[column] if column <= SOURCE else [b for b in self.blocks if b.column == column]
        return max((b.bottom for b in mine), default=self.y)

    def add(self, group: Group) -> bool:
        """Place a group below everything else; False, and nothing placed, if there is no room."""
        kept = (dict(self.sources), list(self.blocks))
        self.sources = {k: list(v) for k, v in self.sources.items()}
        heights = self._heights(group)
        bottom = max([h + BELOW for h in heights] + [b.bottom for b in self.blocks])
        if bottom > self.limit:
            self.sources, self.blocks = kept
            return False
        for row, y in zip(group.rows, heights, strict=True):
            self.rows.append((row, y))
            self.runs.extend((run, y) for run in row.runs)
        self._bracket(group, heights)
        return True

    @property
    def bottom(self) -> float:
        """Lowest edge of everything placed."""
        ends = [b.bottom for b in (*self.blocks, *self.sources[INNER], *self.sources[SOURCE])]
        return max([self.y, *ends, *(y + BELOW for _, y in self.rows)])

    # heights -----------------------------------------------------------------------------------------------
    def _heights(self, group: Group) -> list[float]:
        heights: list[float] = []
        last_y = self.rows[-1][1] if self.rows else None
        last_cables: dict[int, str] = {}
        span = _spans(group.rows)
        placed: dict[tuple[int, str], float] = {}
        for i, row in enumerate(group.rows):
            cables = {run.from_column: run.conductor.cable for run in row.runs}
            starts = any(cable and last_cables.get(gap) != cable for gap, cable in cables.items())
            if last_y is None:
                y = self.y + CABLE_PITCH
            else:
                y = last_y + (CABLE_PITCH if starts else PITCH)
            for column in range(1, self.bands.last + 1):
                tag = row.device_at(column)
                if (tag is None and row.passes(column)) or (tag is not None and (column, tag) not in placed):
                    y = max(y, self._floor(column) + (BETWEEN + ABOVE if tag else BETWEEN + 1.0))
            y = self._grow_sources(row, y)
            for column in range(1, self.bands.last + 1):
                tag = row.device_at(column)
                if tag is None:
                    continue
                top = placed.setdefault((column, tag), y - ABOVE)
                if i == span[column, tag]:
                    self._close_block(group.rows, [*heights, y], column, tag, top)
            heights.append(y)
            last_y, last_cables = y, {**last_cables, **cables}
        return heights

    def _close_block(self, rows: Sequence[Row], ys: Sequence[float], column: int, tag: str, top: float) -> None:
        left, right = [], []
        for row, y in zip(rows, ys, strict=False):
            for run in row.runs:
                if run.to_column == column and run.right.device == tag:
                    left.append((run.right.mark, y))
                if run.from_column == column and run.left.device == tag:
                    right.append((run.left.mark, y))
        low = max(y for _, y in (*left, *right)) + BELOW
        height = self._text_height(tag, column, left, right)
        self.blocks.append(Block(tag, column, top, max(low, top + height), tuple(left), tuple(right)))

    def _text_height(self, tag: str, column: int, left: Landings, right: Landings) -> float:
        tags, titles = self.words(tag, column, left, right)
        return 1.2 + TAG_LINE * len(tags) + TEXT_LINE * (len(titles) + 1) + 0.6

    def text_room(self, column: int, left: Landings, right: Landings) -> tuple[float, float]:
        """From where to where the words of a device block may go: between its marks, left of its picture."""
        x0, x1 = self.bands.edges[column]
        return x0 + marks_room(left), x1 - marks_room(right) - 9.5

    def words(self, tag: str, column: int, left: Landings, right: Landings) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """Lines of a device's tag and of its title."""
        x0, x1 = self.text_room(column, left, right)
        title = self.design.device_by_tag[tag].title
        return wrap(tag, x1 - x0, 2.5, True), wrap(title, x1 - x0, 2.0, False, 2)

    # sources and panel devices -----------------------------------------------------------------------------
    def _grow_sources(self, row: Row, y: float) -> float:
        """Settle the row's height against both columns of sources, and let their blocks grow."""
        source = row.source
        inner = self.inner_of.get(source) if source is not None else None
        inside = None
        if inner is not None and source is not None:
            inside = inner.b if inner.a == source else inner.a
        for column, terminal in ((SOURCE, source), (INNER, inside)):
            if terminal is not None and not self._continues(column, terminal):
                y = max(y, self._floor(column) + BETWEEN + self.header(column, terminal.device) + ABOVE - 0.6)
        for column, terminal in ((SOURCE, source), (INNER, inside)):
            if terminal is None:
                continue
            spot = (terminal.mark, y)
            both = (spot,) if column == SOURCE and inside is not None else ()
            mine = self.sources[column]
            if self._continues(column, terminal):
                b = mine[-1]
                mine[-1] = replace(b, bottom=y + BELOW, left=(*b.left, *both), right=(*b.right, spot))
            else:
                top = y - ABOVE + 0.6 - self.header(column, terminal.device)
                mine.append(Block(terminal.device, column, top, y + BELOW, both, (spot,)))
        if inner is not None:
            self.inner_runs.append((inner, y))
        return y

    def _continues(self, column: int, terminal: TerminalId) -> bool:
        mine = self.sources[column]
        if not mine or mine[-1].tag != terminal.device:
            return False
        strip = self.design.device_by_tag[terminal.device].type.startswith("terminal_strip")
        return not strip or natural(mine[-1].right[-1][0]) < natural(terminal.mark)

    def header(self, column: int, tag: str) -> float:
        """Height of the words on top of a block of sources."""
        x0, x1 = self.bands.edges[column]
        lines = len(wrap(tag, x1 - x0 - 2.0, 2.5, True))
        more = 0 if is_panel(self.design, tag) else len(self.place_lines(tag))
        return 1.0 + lines * TAG_LINE + more * 3.2

    def place_lines(self, tag: str) -> tuple[str, ...]:
        """Where a source stands that is not in the panel."""
        x0, x1 = self.bands.edges[SOURCE]
        return wrap(self.design.device_by_tag[tag].place, x1 - x0 - 2.0, 2.0, False, 2)

    def _bracket(self, group: Group, heights: Sequence[float]) -> None:
        open_: dict[int, list[object]] = {}
        done: list[tuple[str, int, float, float]] = []
        for row, y in zip(group.rows, heights, strict=True):
            for run in row.runs:
                cable = run.conductor.cable
                if not cable:
                    continue
                now = open_.get(run.from_column)
                if now is not None and now[0] == cable:
                    now[2] = y
                else:
                    if now is not None:
                        done.append((str(now[0]), run.from_column, float(str(now[1])), float(str(now[2]))))
                    open_[run.from_column] = [cable, y, y]
        done += [(str(v[0]), gap, float(str(v[1])), float(str(v[2]))) for gap, v in open_.items()]
        self.brackets += done


def marks_room(landings: Landings) -> float:
    """Room for the marks along one edge of a device block [mm]."""
    if not landings:
        return 2.0
    return max(LEAST_MARKS_MM, 5.0 + max(width(mark, 2.0) for mark, _ in landings))


def _spans(rows: Sequence[Row]) -> dict[tuple[int, str], int]:
    """Last row of each device of a group."""
    last: dict[tuple[int, str], int] = {}
    for i, row in enumerate(rows):
        for run in row.runs:
            last[run.from_column, run.left.device] = i
            last[run.to_column, run.right.device] = i
    return last


# --- drawing --------------------------------------------------------------------------------------------------


def draw_column(column: Column, draft: Draft, register: Register, bars: Mapping[TerminalId, Sequence[str]]) -> None:
    """Put a filled column onto its sheet."""
    canvas, design = draft.canvas, column.design
    cables = {c.tag: c for c in design.cables}
    for block in (*column.sources[INNER], *column.sources[SOURCE]):
        _draw_source(column, block, draft, register)
    for block in column.blocks:
        _draw_device(column, block, draft, register)
    for run, y in column.runs:
        x0, x1 = column.bands.edges[run.from_column][1], column.bands.edges[run.to_column][0]
        gap = column.bands.gap(run.from_column)
        straight(canvas, run.conductor, run.left_end, x0, x1, y, (gap[0] + gap[1]) / 2)
    x0, x1 = column.bands.gap(INNER)
    drawn = {c.key for c, _ in column.inner_runs}
    for conductor, y in column.inner_runs:
        inner_end = "b" if is_source_end(column, conductor, y) else "a"
        straight(canvas, conductor, inner_end, x0, x1, y, (x0 + x1) / 2)
    for row, y in column.rows:
        source = row.source
        if source is None or (source in column.inner_of and column.inner_of[source].key in drawn):
            continue
        if source in bars:
            canvas.text(Layer.BRIDGE, x1 - 1.2, y + 0.9, listed(bars[source], x1 - x0 - 2.0, "bar to ", 3), 2.0, "end")
    for tag, gap_no, top, bottom in column.brackets:
        left, right = column.bands.gap(gap_no)
        words = cable_words(cables[tag], right - left - 12.0)
        bracket(canvas, left + 7.2, top - 5.0, bottom + 1.5, words, tag)


def is_source_end(column: Column, conductor: Conductor, y: float) -> bool:
    """Whether the conductor's ``a`` is the strip's terminal of the row at this height."""
    return any(h == y and row.source == conductor.a for row, h in column.rows)


def _draw_source(column: Column, block: Block, draft: Draft, register: Register) -> None:
    canvas = draft.canvas
    x0, x1 = column.bands.edges[block.column]
    kind = column.design.device_by_tag[block.tag].type
    strip = kind.startswith("terminal_strip")
    layer = Layer.STRIP if strip else Layer.DEVICE
    canvas.box(layer, x0, block.top, x1 - x0, block.bottom - block.top, block.tag)
    y = block.top + 1.0
    for line in wrap(block.tag, x1 - x0 - 2.0, 2.5, True):
        y += TAG_LINE
        canvas.text(layer, (x0 + x1) / 2, y - 1.0, line, 2.5, "middle", bold=True, subject=block.tag)
    if block.column == SOURCE and not is_panel(column.design, block.tag):
        for line in column.place_lines(block.tag):
            y += 3.2
            canvas.text(Layer.NOTE, (x0 + x1) / 2, y - 1.0, line, 2.0, "middle")
    before: str | None = None
    for mark, at in block.right:
        if strip:
            canvas.items.append(Symbol(TERMINAL, x0 + 5.0, round(at, 3), (), block.tag))
            canvas.text(layer, (x0 + x1) / 2 + 1.5, at + 1.0, mark, 2.0, "middle", bold=True)
            if before is not None and not _next(before, mark):
                _jump(draft, x0, x1, at)
        else:
            canvas.text(layer, x1 - 2.0, at + 1.0, mark, 2.0, "end")
        before = mark
    register.note(block.tag, draft, x0 + 1.0, block.top)


def _next(mark: str, following: str) -> bool:
    return mark.isdigit() and following.isdigit() and int(following) == int(mark) + 1


def _jump(draft: Draft, x0: float, x1: float, y: float) -> None:
    """Terminals of the strip are left out above this one: a double stroke across."""
    for dy in (3.1, 2.5):
        draft.canvas.line(Layer.STRIP, (x0 + 1.5, y - dy), (x1 - 1.5, y - dy))


def _draw_device(column: Column, block: Block, draft: Draft, register: Register) -> None:
    canvas = draft.canvas
    x0, x1 = column.bands.edges[block.column]
    canvas.box(Layer.DEVICE, x0, block.top, x1 - x0, block.bottom - block.top, block.tag)
    for marks, x, anchor in ((block.left, x0 + 2.0, "start"), (block.right, x1 - 2.0, "end")):
        before = None
        for mark, y in marks:
            canvas.text(Layer.DEVICE, x, y + 1.0, mark, 2.0, "start" if anchor == "start" else "end")
            if before is not None and before[0] == mark:
                tie = x - 1.0 if anchor == "start" else x + 1.0
                canvas.line(Layer.DEVICE, (tie, before[1] + 1.4), (tie, y - 1.4))
            before = (mark, y)
    left, right = column.text_room(block.column, block.left, block.right)
    tags, titles = column.words(block.tag, block.column, block.left, block.right)
    y = block.top + 1.2
    for line in tags:
        y += TAG_LINE
        canvas.text(Layer.DEVICE, left, y - 1.0, line, 2.5, bold=True, subject=block.tag)
    for line in titles:
        y += TEXT_LINE
        canvas.text(Layer.DEVICE, left, y - 1.0, line, 2.0)
    here = register.note(block.tag, draft, x0 + 1.0, block.top)
    register.want(draft, block.tag, left, y + TEXT_LINE - 1.0, right - left, here=here)
    icon_x = x1 - marks_room(block.right) - 4.6
    shape = icon_of(column.design.device_by_tag[block.tag].type, column.family)
    canvas.items.append(Symbol(shape, round(icon_x, 3), round(block.top + 5.0, 3), (), block.tag))


def bar_marks(design: Design) -> dict[TerminalId, Sequence[str]]:
    """Marks to which bars lead from each strip's terminal that has any."""
    partners: dict[TerminalId, list[str]] = {}
    for bridge in design.bridges:
        if bridge.a.device == bridge.b.device:
            partners.setdefault(bridge.a, []).append(bridge.b.mark)
            partners.setdefault(bridge.b, []).append(bridge.a.mark)
    return {terminal: sorted(marks, key=natural) for terminal, marks in partners.items()}
