"""The panel on paper: arrangement to scale with its parts, and the working space in front of it."""

from __future__ import annotations

from collections.abc import Mapping

from galleyproof.design.model import Design
from galleyproof.drawing.arrangement import RIM_INCH, Arrangement, arrange
from galleyproof.drawing.draft import Draft, Register, heading
from galleyproof.drawing.fonts import fit, printable, width, wrap
from galleyproof.drawing.grids import ColumnHead, draw_grid
from galleyproof.drawing.model import Arc, Canvas, Layer
from galleyproof.drawing.paper import Paper
from galleyproof.drawing.strip_plan import SERIES_TITLE
from galleyproof.job.model import Job
from galleyproof.library.model import DeviceType
from galleyproof.sizing import panel as panel_rules

INCH_MM = 25.4
SCALES = (1, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 16, 20, 24, 32, 40)
"""Usual reductions. [-]"""
WIDEST_LEAF_INCH = 36.0
"""A wider enclosure has a door of two leaves (common practice). [in]"""


def inches(value: float) -> str:
    """``24 in``, ``24-1/2 in``: sixteenths, as on drawings."""
    whole, part = divmod(round(value * 16), 16)
    if not part:
        return f"{whole} in"
    down = 16
    while part % 2 == 0:
        part, down = part // 2, down // 2
    return f"{whole}-{part}/{down} in" if whole else f"{part}/{down} in"


def scale_for(width_inch: float, height_inch: float, room_w: float, room_h: float) -> float:
    """Least reduction of the usual ones at which a size fits a room [mm]; the largest if none does."""
    for scale in SCALES:
        if width_inch * INCH_MM / scale <= room_w and height_inch * INCH_MM / scale <= room_h:
            return scale
    return max(width_inch * INCH_MM / room_w, height_inch * INCH_MM / room_h)


def across(canvas: Canvas, x0: float, x1: float, y: float, words: str) -> None:
    """A dimension from left to right: line, two strokes, and its words above."""
    canvas.line(Layer.DIMENSION, (x0, y), (x1, y))
    for x in (x0, x1):
        canvas.line(Layer.DIMENSION, (x - 0.9, y + 0.9), (x + 0.9, y - 0.9))
    canvas.text(Layer.DIMENSION, (x0 + x1) / 2, y - 1.2, words, 2.0, "middle")


def upright(canvas: Canvas, x: float, y0: float, y1: float, words: str) -> None:
    """A dimension from top to bottom, its words reading upwards."""
    canvas.line(Layer.DIMENSION, (x, y0), (x, y1))
    for y in (y0, y1):
        canvas.line(Layer.DIMENSION, (x - 0.9, y + 0.9), (x + 0.9, y - 0.9))
    canvas.text(Layer.DIMENSION, x - 1.2, (y0 + y1) / 2, words, 2.0, "middle", turned=True)


def arrangement_sheet(
    job: Job, design: Design, types: Mapping[str, DeviceType], paper: Paper, register: Register, number: str
) -> Draft:
    """The backplate to scale, its parts, and what sits in the door."""
    plan = arrange(job, design, types)
    draft = Draft(number, f"Panel arrangement: {printable(job.panel.tag)}", SERIES_TITLE, paper)
    canvas = draft.canvas
    x0, top, bottom = paper.x0 + 4.0, paper.y0 + 2.0, paper.body_y1 - 3.0
    parts_x = paper.x0 + (paper.x1 - paper.x0) * 0.52
    heading(canvas, x0, parts_x - 6.0, top - 1.0, "BACKPLATE")
    room_w, room_h = parts_x - x0 - 24.0, bottom - top - 26.0
    scale = scale_for(plan.width, plan.height, room_w, room_h)
    draft.scale = f"1:{scale:g}"
    mm = INCH_MM / scale
    left, y = x0 + 12.0, top + 18.0
    canvas.box(Layer.BUILDING, left, y, plan.width * mm, plan.height * mm)
    plate_x, plate_y = left + RIM_INCH * mm, y + RIM_INCH * mm
    canvas.box(Layer.DEVICE, plate_x, plate_y, (plan.width - 2 * RIM_INCH) * mm, (plan.height - 2 * RIM_INCH) * mm)
    across(canvas, left, left + plan.width * mm, y - 3.0, inches(plan.width))
    upright(canvas, left - 3.0, y, y + plan.height * mm, inches(plan.height))
    over = set(plan.over)
    for wx, wy, ww, wh in plan.wireways:
        if wy + wh <= plan.height - 2 * RIM_INCH + 1e-6:
            canvas.box(Layer.NOTE, plate_x + wx * mm, plate_y + wy * mm, ww * mm, wh * mm)
            _wireway(canvas, plate_x + wx * mm, plate_y + wy * mm, ww * mm, wh * mm)
    numbers: dict[str, int] = {}
    for p in plan.placed:
        item = numbers.setdefault(p.tag, len(numbers) + 1)
        if p.tag in over:
            continue
        dx, dy = plate_x + p.x * mm, plate_y + p.y * mm
        canvas.box(Layer.DEVICE, dx, dy, p.width * mm, p.height * mm, p.tag)
        low = min((wy for _, wy, _, _ in plan.wireways if wy >= p.y + p.height), default=plan.height)
        _name(canvas, p.tag, item, dx, dy, p.width * mm, p.height * mm, plate_y + low * mm)
        register.note(p.tag, draft, dx, dy)
    _parts(draft, design, plan, numbers, parts_x, top)
    return draft


def _name(canvas: Canvas, tag: str, item: int, x: float, y: float, w: float, h: float, low: float) -> None:
    """The tag where it fits, lying or standing; else the item number of the list, at last below, above ``low``."""
    words = printable(tag)
    for text in (words, str(item)):
        long = width(text, 2.0, True)
        if long <= w - 1.2 and h >= 3.4:
            canvas.text(Layer.DEVICE, x + w / 2, y + h / 2 + 1.0, text, 2.0, "middle", bold=True, subject=tag)
            return
        if long <= h - 1.2 and w >= 3.4:
            canvas.text(Layer.DEVICE, x + w / 2 + 1.0, y + h / 2, text, 2.0, "middle", bold=True, turned=True)
            return
    base = y + h + (2.6 if item % 2 else 5.4)  # neighbours would touch
    if base + 0.4 <= low:
        canvas.text(Layer.DEVICE, x + w / 2, base, str(item), 2.0, "middle", bold=True, subject=tag)


def _wireway(canvas: Canvas, x: float, y: float, w: float, h: float) -> None:
    """What the empty ducts are, where there is room to say it."""
    words = "wireway"
    long = width(words, 2.0)
    if long <= w - 4.0 and h >= 3.4:
        canvas.text(Layer.NOTE, x + w / 2, y + h / 2 + 1.0, words, 2.0, "middle")
    elif long <= h - 4.0 and w >= 3.4:
        canvas.text(Layer.NOTE, x + w / 2 + 1.0, y + h / 2, words, 2.0, "middle", turned=True)


def _parts(draft: Draft, design: Design, plan: Arrangement, numbers: Mapping[str, int], x: float, top: float) -> None:
    canvas, paper = draft.canvas, draft.paper
    x1 = paper.x1 - 3.0
    y = heading(canvas, x, x1, top - 1.0, "PARTS ON THE BACKPLATE")
    rows = []
    sizes = {p.tag: p for p in reversed(plan.placed)}
    for tag, item in numbers.items():
        p = sizes[tag]
        device = design.device_by_tag[tag]
        rows.append((str(item), tag, device.title, f"{inches(p.width)} x {inches(p.height)}"))
    wide = x1 - x
    heads = (
        ColumnHead("item", 11.0, "middle"),
        ColumnHead("tag", 30.0, "start", True),
        ColumnHead("what", wide - 11.0 - 30.0 - 42.0),
        ColumnHead("width x height", 42.0),
    )
    room = int((paper.body_y1 - y - 40.0) / 4.2) - 1
    shown = rows[:room]
    draw_grid(canvas, x, y + 1.0, heads, shown)
    y += 1.0 + (len(shown) + 1) * 4.2 + 6.0
    notes = [
        f"Enclosure {inches(plan.width)} x {inches(plan.height)} x {inches(plan.depth)} deep, "
        + ("proposed: the job states none." if plan.proposed else "as the job states it."),
        "In the door: " + (", ".join(plan.door) if plan.door else "nothing") + ".",
        "Line voltage and Class 1 stand apart from power-limited circuits (NFPA 70 725.136).",
    ]
    if len(rows) > room:
        notes.append(f"{len(rows) - room} more parts: see the bill of material.")
    if plan.over:
        notes.append("DOES NOT FIT: " + ", ".join(plan.over) + ".")
    for note in notes:
        for line in wrap(note, x1 - x, 2.0, False, 3):
            canvas.text(Layer.NOTE, x, y, line, 2.0)
            y += 3.8


# --- working space ----------------------------------------------------------------------------------------------


def clearance_sheet(job: Job, design: Design, types: Mapping[str, DeviceType], paper: Paper, number: str) -> Draft:
    """The space to keep clear in front of the panel, from above and from the side."""
    plan = arrange(job, design, types)
    draft = Draft(number, f"Working clearance: {printable(job.panel.tag)}", "Working clearance plan", paper)
    canvas = draft.canvas
    systems = {s.tag: s.system for s in job.supplies}
    boards = {b.tag: systems[b.supply] for b in job.panelboards}
    feeding = {c.device for con in design.conductors if con.made == "field" for c in (con.a, con.b)}
    used = [c for c in job.circuits if c.tag in feeding] or list(job.circuits)
    volts = max((panel_rules.v_to_ground(boards[c.panelboard], c.lines) for c in used), key=lambda v: v.value)
    space = panel_rules.working_space(volts, job.panel.facing, width_inch=plan.width)
    need = space.value
    x0, top, bottom = paper.x0 + 4.0, paper.y0 + 2.0, paper.body_y1 - 3.0
    half = (paper.x1 - paper.x0) * 0.42
    deep = plan.depth + max(need.depth_inch, job.panel.clear_in_front) + 8.0
    scale = scale_for(
        max(need.width_inch, plan.width, deep) + 20.0, max(deep, need.height_inch + 12.0), half, bottom - top - 34.0
    )
    draft.scale = f"1:{scale:g}"
    mm = INCH_MM / scale
    heading(canvas, x0, x0 + half, top - 1.0, "FROM ABOVE")
    _plan_view(canvas, job, plan, need, x0 + half / 2, top + 24.0, mm)
    side_x = x0 + half + 12.0
    heading(canvas, side_x, side_x + half, top - 1.0, "FROM THE SIDE")
    _side_view(canvas, job.panel.tag, plan, need, side_x + 14.0, bottom - 14.0, mm)
    text_x = side_x + half + 6.0
    room = paper.x1 - 3.0 - text_x
    y = top + 14.0
    enough = job.panel.clear_in_front >= need.depth_inch - 1e-9
    notes = [
        f"{volts.value:g} V to ground, {job.panel.facing} opposite: condition {need.condition}.",
        f"Needed: {inches(need.depth_inch)} deep, {inches(need.width_inch)} wide, {inches(need.height_inch)} high.",
        f"The job states {inches(job.panel.clear_in_front)} clear in front"
        + ("." if enough else ": TOO LITTLE. Keep more clear, or hang the panel elsewhere."),
        "Nothing is stored in this space; the door opens at least 90 degrees.",
        "Basis: " + "; ".join(dict.fromkeys(f"{c}" for c in space.basis)) + ".",
    ]
    for note in notes:
        for line in wrap(note, room, 2.0, False, 12):
            canvas.text(Layer.NOTE, text_x, y, line, 2.0)
            y += 3.8
        y += 2.0
    return draft


def _plan_view(
    canvas: Canvas, job: Job, plan: Arrangement, need: panel_rules.WorkingSpace, x: float, y: float, mm: float
) -> None:
    w, d = plan.width * mm, plan.depth * mm
    wall = max(need.width_inch, plan.width) * mm / 2 + 8.0
    canvas.line(Layer.BUILDING, (x - wall, y), (x + wall, y))
    for i in range(int(2 * wall / 5)):
        at = x - wall + i * 5.0
        canvas.line(Layer.BUILDING, (at, y), (at + 2.5, y - 2.5))
    canvas.box(Layer.DEVICE, x - w / 2, y, w, d, job.panel.tag)
    tag = fit(job.panel.tag, w - 2.0, 2.5, True)
    if d >= 5.0:
        canvas.text(Layer.DEVICE, x, y + d / 2 + 1.2, tag, 2.5, "middle", bold=True)
    front = y + d
    space_w, space_d = need.width_inch * mm, need.depth_inch * mm
    canvas.line(Layer.RACEWAY, (x - space_w / 2, front), (x - space_w / 2, front + space_d))
    canvas.line(Layer.RACEWAY, (x - space_w / 2, front + space_d), (x + space_w / 2, front + space_d))
    canvas.line(Layer.RACEWAY, (x + space_w / 2, front), (x + space_w / 2, front + space_d))
    leaf = w
    if plan.width > WIDEST_LEAF_INCH:
        leaf = w / 2
        canvas.items.append(Arc(Layer.DIMENSION, round(x + w / 2, 3), round(front, 3), round(leaf, 3), 180.0, 270.0))
    canvas.items.append(Arc(Layer.DIMENSION, round(x - w / 2, 3), round(front, 3), round(leaf, 3), 270.0, 360.0))
    across(
        canvas,
        x - space_w / 2,
        x + space_w / 2,
        front + max(space_d, leaf) + 6.0,
        f"keep clear: {inches(need.width_inch)}",
    )
    upright(canvas, x - space_w / 2 - 4.0, front, front + space_d, inches(need.depth_inch))
    across(canvas, x - w / 2, x + w / 2, y - 5.0, inches(plan.width))


def _side_view(
    canvas: Canvas, tag: str, plan: Arrangement, need: panel_rules.WorkingSpace, x: float, floor: float, mm: float
) -> None:
    d, high = plan.depth * mm, need.height_inch * mm
    reach = need.depth_inch * mm
    canvas.line(Layer.BUILDING, (x - 4.0, floor), (x + d + reach + 10.0, floor))
    canvas.line(Layer.BUILDING, (x, floor), (x, floor - high - 6.0))
    low = floor - max((need.height_inch - plan.height) / 2, 0.0) * mm
    canvas.box(Layer.DEVICE, x, low - plan.height * mm, d, plan.height * mm)
    middle = low - plan.height * mm / 2
    if d >= 5.0:
        words = fit(tag, plan.height * mm - 2.0, 2.5, True)
        canvas.text(Layer.DEVICE, x + d / 2 + 1.2, middle, words, 2.5, "middle", bold=True, turned=True)
    canvas.line(Layer.RACEWAY, (x + d, floor - high), (x + d + reach, floor - high), (x + d + reach, floor - 0.6))
    across(canvas, x + d, x + d + reach, floor - high - 3.0, inches(need.depth_inch))
    upright(canvas, x + d + reach + 5.0, floor - high, floor, inches(need.height_inch))
