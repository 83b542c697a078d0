"""Where the panel's devices sit on the backplate: rows between wireways, power above, control below, strips last.

Sizes of devices are those of their types. The enclosure is the job's; where the job states none the smallest usual
size that holds everything is drawn and marked as proposed. All lengths in inches.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from galleyproof.design.builder import natural
from galleyproof.design.model import Design, Device
from galleyproof.drawing.strip_plan import strip_marks
from galleyproof.job.model import Job
from galleyproof.library.model import DeviceType

WIREWAY_INCH = 2.0
BETWEEN_INCH = 0.5
RIM_INCH = 1.5
"""The backplate is smaller than the enclosure by this on each side (common practice). [in]"""
STRIP_HEIGHT_INCH = 2.4
TERMINAL_INCH: Mapping[str, float] = {"line voltage": 0.32, "Class 1": 0.24, "Class 2": 0.2, "data": 0.2}
"""Width of one terminal by energy class (common practice for 35 mm rail). [in]"""
CLASS_GAP_INCH = 2.0
"""Between power-limited circuits and the others; NFPA 70 725.136 asks for a barrier or 1/4 in. [in]"""
USUAL_INCH = (
    (16, 16, 8),
    (20, 16, 8),
    (20, 20, 8),
    (24, 20, 8),
    (24, 24, 10),
    (30, 24, 10),
    (36, 24, 10),
    (36, 30, 10),
    (36, 36, 12),
    (42, 36, 12),
    (48, 36, 12),
    (60, 36, 12),
    (60, 48, 12),
    (72, 60, 16),
    (72, 72, 16),
    (90, 90, 18),
)
"""Height, width and depth of enclosures commonly stocked. [in]"""


@dataclass(frozen=True, slots=True)
class Placed:
    """A device on the backplate; its corner is measured from the backplate's top left [in]."""

    tag: str
    title: str
    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Arrangement:
    """A panel with everything in it [in].

    Attributes:
        width: Of the enclosure, outside.
        height: Of the enclosure, outside.
        depth: Of the enclosure, outside.
        proposed: True when the job states no enclosure.
        placed: Devices on the backplate.
        wireways: Left, top, width and height of each.
        door: Devices in the door.
        over: What did not fit, by tag.
    """

    width: float
    height: float
    depth: float
    proposed: bool
    placed: tuple[Placed, ...]
    wireways: tuple[tuple[float, float, float, float], ...]
    door: tuple[str, ...]
    over: tuple[str, ...]


DOOR_TYPES = ("push_button", "horn")
POWER_TYPES = ("vfd", "motor_contactor", "light_contactor", "control_breaker", "control_transformer")


@dataclass(frozen=True, slots=True)
class _Thing:
    tag: str
    title: str
    width: float
    height: float
    limited: bool


def arrange(job: Job, design: Design, types: Mapping[str, DeviceType]) -> Arrangement:
    """Place the panel's devices."""
    shelves, door = _shelves(design, types)
    box = job.panel.enclosure
    if box is not None:
        return _fill(shelves, door, box.width, box.height, box.depth, False)
    deepest = max((_size(d, types)[2] for d in _inside(design)), default=0.0)
    made = None
    for height, width, depth in USUAL_INCH:
        made = _fill(shelves, door, width, height, max(depth, deepest + 1.5), True)
        if not made.over:
            return made
    assert made is not None
    return made


def _inside(design: Design) -> list[Device]:
    devices = (d for d in design.devices if d.parent is not None)
    return sorted(devices, key=lambda d: natural(d.tag))


def _size(device: Device, types: Mapping[str, DeviceType]) -> tuple[float, float, float]:
    kind = types.get(device.type)
    return (kind.size_inch if kind is not None else None) or (2.0, 3.0, 3.0)


def _shelves(design: Design, types: Mapping[str, DeviceType]) -> tuple[list[list[_Thing]], tuple[str, ...]]:
    power, control, strips, door = [], [], [], []
    for d in _inside(design):
        if d.type.startswith("terminal_strip"):
            energy = str(d.ratings.get("energy", ""))
            wide = len(strip_marks(design, d.tag)) * TERMINAL_INCH.get(energy, 0.24) + 0.6
            strips.append(_Thing(d.tag, d.title, wide, STRIP_HEIGHT_INCH, energy in ("Class 2", "data")))
            continue
        width, height, _ = _size(d, types)
        if d.type.startswith(DOOR_TYPES):
            door.append(f"{d.tag} {d.title}")
        elif d.type.startswith(POWER_TYPES):
            power.append(_Thing(d.tag, d.title, width, height, False))
        else:
            control.append(_Thing(d.tag, d.title, width, height, not d.type.startswith("relay_120")))
    control.sort(key=lambda t: t.limited)
    return [shelf for shelf in (power, control, strips) if shelf], tuple(door)


def _fill(
    shelves: Sequence[Sequence[_Thing]],
    door: tuple[str, ...],
    width: float,
    height: float,
    depth: float,
    proposed: bool,
) -> Arrangement:
    plate_w, plate_h = width - 2 * RIM_INCH, height - 2 * RIM_INCH
    placed: list[Placed] = []
    ways: list[tuple[float, float, float, float]] = []
    over: list[str] = []
    y = 0.0
    left, right = WIREWAY_INCH, plate_w - WIREWAY_INCH
    for shelf in shelves:
        row: list[_Thing] = []
        rows = [row]
        x = left + BETWEEN_INCH
        for thing in _cut(shelf, right - left - 2 * BETWEEN_INCH):
            gap = CLASS_GAP_INCH if row and row[-1].limited != thing.limited else BETWEEN_INCH
            if row and x + gap + thing.width > right:
                row = []
                rows.append(row)
                x = left + BETWEEN_INCH
            x += (gap if row else 0.0) + thing.width
            row.append(thing)
        for line in rows:
            y += WIREWAY_INCH
            ways.append((left, y - WIREWAY_INCH, right - left, WIREWAY_INCH))
            tallest = max(t.height for t in line)
            x = left + BETWEEN_INCH
            for i, t in enumerate(line):
                if i:
                    x += CLASS_GAP_INCH if line[i - 1].limited != t.limited else BETWEEN_INCH
                placed.append(Placed(t.tag, t.title, x, y + BETWEEN_INCH, t.width, t.height))
                x += t.width
                if x > right or y + tallest + 2 * BETWEEN_INCH + WIREWAY_INCH > plate_h:
                    over.append(t.tag)
            y += tallest + 2 * BETWEEN_INCH
    ways.append((left, y, right - left, WIREWAY_INCH))
    bottom = y + WIREWAY_INCH
    ways += [(0.0, 0.0, WIREWAY_INCH, bottom), (right, 0.0, WIREWAY_INCH, bottom)]
    return Arrangement(width, height, depth, proposed, tuple(placed), tuple(ways), door, tuple(dict.fromkeys(over)))


def _cut(shelf: Sequence[_Thing], room: float) -> list[_Thing]:
    """Strips longer than a rail go on along the next one; nothing else is cut."""
    out: list[_Thing] = []
    for t in shelf:
        rest = t.width
        while rest > room > 0 and t.height == STRIP_HEIGHT_INCH:
            out.append(_Thing(t.tag, t.title, room, t.height, t.limited))
            rest -= room
        out.append(_Thing(t.tag, t.title, rest, t.height, t.limited))
    return out
