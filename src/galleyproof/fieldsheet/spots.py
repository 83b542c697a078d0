"""Where a terminal or a device is drawn, so that a page can light it on its sheet."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from galleyproof.drawing.model import Drawing, Polyline, Sheet, Symbol, Text

Spot = tuple[int, float, float] | tuple[int, float, float, float, float]
"""Index of the sheet and the place on it; of a device also its width and height. [-], [mm], [mm], [mm], [mm]"""
MOST = 6
"""Places kept of one terminal. [-]"""


def spots(drawing: Drawing, terminals: Iterable[str], tags: Iterable[str]) -> dict[str, tuple[Spot, ...]]:
    """Terminal or tag -> its places, the sheets of field connections first; those that are not drawn are left out.

    Args:
        drawing: All sheets.
        terminals: Terminals as written, ``CP1-X2:14``.
        tags: Tags of devices.
    """
    wanted = set(terminals)
    devices = {t.partition(":")[0] for t in wanted} | set(tags)
    ports: dict[str, list[Spot]] = {}
    marks: dict[str, list[Spot]] = {}
    bodies: dict[str, list[Spot]] = {}
    names: dict[str, list[Spot]] = {}
    for n, sheet in _in_order(drawing.sheets):
        for port in sheet.ports:
            ports.setdefault(str(port.terminal), []).append((n, port.x, port.y))
        for item in sheet.items:
            subject = item.subject
            if subject not in devices:
                continue
            if isinstance(item, Text):
                (marks if item.content in wanted else names).setdefault(
                    item.content if item.content in wanted else subject, []
                ).append((n, item.x, item.y))
            elif isinstance(item, Symbol):
                for _, text in item.texts:
                    mark = f"{subject}:{text.content}"
                    if mark in wanted:
                        marks.setdefault(mark, []).append((n, item.x, item.y))
                size = (2 * item.shape.half_width, 2 * item.shape.half_height)
                bodies.setdefault(subject, []).append((n, item.x, item.y, *size))
            elif isinstance(item, Polyline) and item.closed:
                (x0, x1), (y0, y1) = ((min(c), max(c)) for c in zip(*item.points, strict=True))
                bodies.setdefault(subject, []).append((n, (x0 + x1) / 2, (y0 + y1) / 2, x1 - x0, y1 - y0))
    found: dict[str, tuple[Spot, ...]] = {}
    for name in sorted(wanted | set(tags)):
        device = name.partition(":")[0]
        places = [*ports.get(name, ()), *marks.get(name, ())] or bodies.get(device) or names.get(device, [])
        rounded = dict.fromkeys((p[0], *(round(v, 1) for v in p[1:])) for p in places)
        if rounded:
            found[name] = tuple(rounded)[:MOST]  # type: ignore[assignment]
    return found


def _in_order(sheets: Sequence[Sheet]) -> list[tuple[int, Sheet]]:
    """Sheets as a person at the terminals would take them up: connections, elementary diagram, then the rest."""
    order = {"3": 0, "4": 0, "5": 1, "6": 2, "2": 3}
    return sorted(enumerate(sheets), key=lambda s: (order.get(s[1].number.partition(".")[0], 9), s[0]))
