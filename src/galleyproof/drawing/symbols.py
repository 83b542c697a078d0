"""Graphic symbols, each in the two standard families a job may ask for.

IEC forms follow the general symbols of IEC 60617 (contacts as a blade that opens, coils as boxes, resistors as
boxes), NEMA forms those of NEMA ICS 19 (contacts as two bars, coils as circles, resistors as zigzags); both from
memory of the open standards, drawn anew on a grid of half a millimetre. Inline symbols reach from -6 to +6 along x,
where their conductors end.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Literal

from galleyproof.drawing.model import Arc, Layer, Point, Polyline, Stroke, SymbolShape

Family = Literal["IEC", "NEMA"]
S = Layer.SYMBOL
REACH = 6.0
"""Half the length of an inline symbol [mm]."""


def _path(*points: Point, closed: bool = False, filled: bool = False) -> Polyline:
    return Polyline(S, points, closed, filled)


def _box(half_width: float, half_height: float) -> Polyline:
    w, h = half_width, half_height
    return _path((-w, -h), (w, -h), (w, h), (-w, h), closed=True)


def _circle(r: float, x: float = 0.0, y: float = 0.0, filled: bool = False) -> Arc:
    return Arc(S, x, y, r, filled=filled)


def _leads(half: float) -> list[Stroke]:
    return [_path((-REACH, 0), (-half, 0)), _path((half, 0), (REACH, 0))]


def _shape(name: str, strokes: Sequence[Stroke], half_width: float, half_height: float, means: str) -> SymbolShape:
    return SymbolShape(name, tuple(strokes), half_width, half_height, means)


def _blade(closed: bool) -> list[Stroke]:
    """The IEC contact: a blade off its fixed side, or lying behind a short stop where it is normally closed."""
    strokes = _leads(3.0)
    if closed:
        return [*strokes, _path((-3, 0), (3.6, -1.6)), _path((3, 0), (3, -2.6))]
    return [*strokes, _path((-3, 0), (2.6, -2.4))]


def _bars(closed: bool) -> list[Stroke]:
    """The NEMA contact: two bars, with a stroke across where it is normally closed."""
    strokes = [*_leads(1.4), _path((-1.4, -2.4), (-1.4, 2.4)), _path((1.4, -2.4), (1.4, 2.4))]
    return [*strokes, _path((-2.6, 2.4), (2.6, -2.4))] if closed else strokes


def _zigzag() -> Polyline:
    tops = ((-3.33 + i * 1.333, -1.5 if i % 2 == 0 else 1.5) for i in range(6))
    return _path((-4.0, 0.0), *tops, (4.0, 0.0))


def _resistor(family: Family) -> list[Stroke]:
    return [*_leads(4.0), _box(4.0, 1.4)] if family == "IEC" else [*_leads(4.0), _zigzag()]


def _inline(family: Family) -> dict[str, SymbolShape]:
    iec = family == "IEC"
    f = family
    out: dict[str, SymbolShape] = {}

    def add(name: str, strokes: Sequence[Stroke], half_height: float, means: str) -> None:
        out[name] = _shape(f"{name}_{f}".upper(), strokes, REACH, half_height, means)

    add("contact_no", _blade(False) if iec else _bars(False), 2.6, "make contact, normally open")
    add("contact_nc", _blade(True) if iec else _bars(True), 2.6, "break contact, normally closed")
    add("coil", [*_leads(3.0), _box(3.0, 2.2) if iec else _circle(3.0)], 3.0, "coil")
    cross: list[Stroke] = [_path((2.0, -1.0), (4.0, 1.0)), _path((2.0, 1.0), (4.0, -1.0))]
    add(
        "breaker",
        [*_blade(False), *cross]
        if iec
        else [*_leads(3.2), _circle(0.5, -2.7), _circle(0.5, 2.7), Arc(S, 0, 1.6, 4.2, 50, 130)],
        2.8,
        "circuit breaker, one pole",
    )
    heater: list[Stroke] = (
        [_path((-6, 0), (-3, 0), (-3, -1.8), (3, -1.8), (3, 0), (6, 0))]
        if iec
        else [*_leads(3.0), Arc(S, -1.5, 0, 1.5, 0, 180), Arc(S, 1.5, 0, 1.5, 180, 360)]
    )
    add("heater", heater, 2.0, "thermal overload element")
    add("resistor", _resistor(f), 1.6, "resistor")
    add(
        "sensor",
        [*_resistor(f), _path((-3.4, 2.6), (2.2, -2.6), (3.6, -2.6))],
        2.8,
        "temperature sensor, a resistance that follows heat",
    )
    cap: list[Stroke] = [_path((0, -1.4), (0, -3.4)), _path((-1.2, -3.4), (1.2, -3.4))]
    dots = [*_leads(2.9), _circle(0.5, -2.4), _circle(0.5, 2.4)]
    add(
        "button",
        [*_blade(False), *cap] if iec else [*dots, _path((-3, -1.4), (3, -1.4)), *cap],
        3.6,
        "push button, hand operated",
    )
    turn: list[Stroke] = [_path((0, -1.3), (0, -3.2)), _path((-1.2, -3.2), (0, -3.2)), _path((0, -2.6), (1.2, -2.6))]
    add(
        "switch",
        [*_blade(False), *turn] if iec else [*dots, _path((-2.0, -0.3), (2.4, -2.6))],
        3.4,
        "maintained switch",
    )
    add(
        "isolator",
        [*_blade(False), _path((3, -1.2), (3, 1.2))] if iec else [*dots, _path((-2.0, -0.3), (2.6, -2.2))],
        2.8,
        "disconnect, one pole",
    )
    add("load", [*_leads(3.0), _box(3.0, 2.0)], 2.2, "load")
    lamp: list[Stroke] = [*_leads(2.8), _circle(2.8), _path((-2, -2), (2, 2)), _path((-2, 2), (2, -2))]
    add("lamp", lamp, 2.8, "lamp")
    wave: list[Stroke] = [Arc(S, -0.8, 0, 0.8, 0, 180), Arc(S, 0.8, 0, 0.8, 180, 360)]
    letter = _path((-1.3, 1.4), (-1.3, -1.4), (0, 0.5), (1.3, -1.4), (1.3, 1.4))
    add("motor", [*_leads(2.8), _circle(2.8), letter], 2.8, "motor")
    add("source_ac", [*_leads(2.8), _circle(2.8), *wave], 2.8, "alternating-current source")
    direct: list[Stroke] = [_path((-1.4, -0.6), (1.4, -0.6)), _path((-1.4, 0.6), (1.4, 0.6))]
    add("source_dc", [*_leads(2.8), _box(2.8, 2.2), *direct], 2.4, "direct-current source or output")
    add("joint", [_path((-6, 0), (6, 0))], 0.4, "joined inside the device")
    return out


def _icons(family: Family) -> dict[str, SymbolShape]:
    """Small pictures for device blocks, 9 mm by 8 mm at most; switches and coils differ with the family."""
    iec = family == "IEC"
    fan: list[Stroke] = [_circle(3.2)]
    for sx, sy in ((1, 1), (-1, -1)):
        fan.append(_path((0, 0), (sx * 1.1, sy * 2.4), (sx * 2.3, sy * 1.2), closed=True))
    fan += [_path((0, 0), (2.4, -1.1), (1.2, -2.3), closed=True), _path((0, 0), (-2.4, 1.1), (-1.2, 2.3), closed=True)]
    motor: list[Stroke] = [
        _circle(3.2),
        _path((-1.5, 1.6), (-1.5, -1.6), (0, 0.6), (1.5, -1.6), (1.5, 1.6)),
    ]
    valve: list[Stroke] = [
        _path((-3, -0.4), (3, 3), (3, -0.4), (-3, 3), closed=True),
        _path((0, 1.3), (0, -1.4)),
        _box(1.6, 1.0),
    ]
    valve[2] = _path((-1.6, -3.4), (1.6, -3.4), (1.6, -1.4), (-1.6, -1.4), closed=True)
    damper: list[Stroke] = [
        _path((-3.4, -3), (3.4, -3)),
        _path((-3.4, 3), (3.4, 3)),
        _path((-2.2, 1.8), (2.2, -1.8)),
        _circle(0.5, filled=True),
    ]
    probe: list[Stroke] = [
        _circle(1.3, 0, 2.2),
        _path((-0.7, 1.0), (-0.7, -3.2), (0.7, -3.2), (0.7, 1.0)),
        _path((0, 1.8), (0, -1.4)),
    ]
    lamp: list[Stroke] = [_circle(2.8), _path((-2, -2), (2, 2)), _path((-2, 2), (2, -2))]
    flame: list[Stroke] = [
        _path((0, -3.4), (1.8, -0.4), (1.4, 2.2), (0, 3.2), (-1.4, 2.2), (-1.8, -0.4), closed=True),
        _path((-0.8, 2.0), (0, 0), (0.8, 2.0)),
    ]
    heat: list[Stroke] = [_box(3.2, 3.2)]
    heat += [_path((x, 2), (x + 0.8, 0.7), (x, -0.7), (x + 0.8, -2)) for x in (-2.0, -0.4, 1.2)]
    breaker: list[Stroke] = [_box(2.2, 3.2), _path((-1, -1.6), (1, -1.6), (1, 1.6), (-1, 1.6), closed=True)]
    breaker.append(_path((-1, 0), (1, 0)))
    if iec:
        switch: list[Stroke] = [_path((-3.8, 0), (-2.2, 0)), _path((2.2, 0), (3.8, 0)), _path((-2.2, 0), (2.0, -2.2))]
        knife = [*switch, _path((2.2, -1.1), (2.2, 1.1))]
    else:
        switch = [_circle(0.5, -2.6, 0), _circle(0.5, 2.6, 0), _path((-2.1, -0.2), (2.2, -2.2))]
        switch += [_path((-3.8, 0), (-3.1, 0)), _path((3.1, 0), (3.8, 0))]
        knife = switch
    bars: list[Stroke] = [_path((-3.4, y), (3.4, y)) for y in (-2.0, 0.0, 2.0)]
    bars += [_circle(0.45, x, y, True) for x, y in ((-1.8, -2.0), (0.6, -2.0), (-0.6, 0.0), (1.8, 0.0), (0.0, 2.0))]
    coil: list[Stroke] = [
        _path((-3.8, 0), (-2.6, 0)),
        _path((2.6, 0), (3.8, 0)),
        _box(2.6, 2.0) if iec else _circle(2.6),
    ]
    turn: list[Stroke] = [_box(2.6, 3.2), _circle(1.4), _path((0, 0), (1.0, -1.0))]
    screen: list[Stroke] = [_box(3.4, 2.6), _path((-2.2, -0.8), (2.2, -0.8)), _path((-2.2, 0.8), (0.8, 0.8))]
    air: list[Stroke] = [_path((-3.4, -3), (3.4, -3), (3.4, 3), (-3.4, 3), closed=True)]
    air += [_path((-2, y), (1.6, y), (0.8, y - 0.7)) for y in (-1.2, 0.4, 2.0)]
    waves: list[Stroke] = [Arc(S, -2.1, -1.5, 0.6, 0, 180), Arc(S, -0.9, -1.5, 0.6, 180, 360)]
    converter: list[Stroke] = [_box(3.2, 3.2), _path((-3.2, 3.2), (3.2, -3.2)), *waves]
    supply = [*converter, _path((0.6, 1.3), (2.4, 1.3)), _path((0.6, 2.1), (2.4, 2.1))]
    drive = [*converter, Arc(S, 0.9, 1.7, 0.6, 0, 180), Arc(S, 2.1, 1.7, 0.6, 180, 360)]
    ring: list[Stroke] = [_circle(2.6), _circle(1.2), _path((-3.8, 0), (-2.6, 0)), _path((2.6, 0), (3.8, 0))]
    bell: list[Stroke] = [Arc(S, 0, 1.2, 2.6, 0, 180), _path((-2.6, 1.2), (2.6, 1.2)), _circle(0.6, 0, 2.0)]
    link: list[Stroke] = [_path((-3.4, -1), (-1, -1), (1, 1), (3.4, 1)), _path((-3.4, 1), (-1, 1), (1, -1), (3.4, -1))]
    icons = {
        "fan": (fan, "fan"),
        "motor": (motor, "motor"),
        "valve": (valve, "gas valve with coil"),
        "damper": (damper, "motorised damper"),
        "probe": (probe, "temperature sensor"),
        "light": (lamp, "hood light"),
        "gas": (flame, "gas appliance"),
        "heat": (heat, "electric appliance"),
        "breaker": (breaker, "breaker of a panelboard"),
        "knife": (knife, "disconnect"),
        "bars": (bars, "panelboard, neutral and ground bars"),
        "contactor": (coil, "contactor or relay"),
        "turn": (turn, "wall switch"),
        "screen": (screen, "operator display or panel device"),
        "air": (air, "make-up air unit"),
        "ring": (ring, "current or air-flow switch"),
        "alarm": (bell, "building alarm"),
        "link": (link, "data link"),
        "switch": (switch, "switch"),
        "supply": (supply, "direct-current supply"),
        "drive": (drive, "variable-frequency drive"),
    }
    return {n: _shape(f"ICON_{n}_{family}".upper(), s, 4.0, 3.6, m) for n, (s, m) in icons.items()}


LANDING = SymbolShape("LANDING", (Arc(Layer.LANDING, 0, 0, 0.75, filled=True),), 0.75, 0.75, "landing of a conductor")
TERMINAL = SymbolShape("TERMINAL", (Arc(Layer.STRIP, 0, 0, 0.9),), 0.9, 0.9, "terminal of a strip")


def earth(layer: Layer = S) -> tuple[Stroke, ...]:
    """Protective earth, hanging down from its origin."""
    rows = ((0.0, 2.4), (1.0, 1.5), (2.0, 0.6))
    return (
        Polyline(layer, ((0, -2), (0, 0))),
        *(Polyline(layer, ((-half, y), (half, y))) for y, half in rows),
    )


@lru_cache(maxsize=2)
def inline(family: Family) -> dict[str, SymbolShape]:
    """Symbols that stand in a line of the elementary diagram and of the one-line, by what they are."""
    return _inline(family)


@lru_cache(maxsize=2)
def icons(family: Family) -> dict[str, SymbolShape]:
    """Pictures in device blocks, by what they show."""
    return _icons(family)


_ICON_OF = (
    ("motor_contactor", "contactor"),
    ("motor_", "motor"),
    ("ec_fan", "fan"),
    ("makeup", "air"),
    ("damper", "damper"),
    ("gas_valve", "valve"),
    ("gas_appliance", "gas"),
    ("appliance", "heat"),
    ("hood_light", "light"),
    ("temperature_sensor", "probe"),
    ("current_switch", "ring"),
    ("airflow_switch", "ring"),
    ("breaker", "breaker"),
    ("disconnect", "knife"),
    ("panelboard", "bars"),
    ("contactor", "contactor"),
    ("light_contactor", "contactor"),
    ("relay", "contactor"),
    ("switch", "turn"),
    ("fire_switch", "switch"),
    ("master", "switch"),
    ("display", "screen"),
    ("alarm_module", "alarm"),
    ("horn", "alarm"),
    ("link_station", "link"),
    ("power_supply", "supply"),
    ("vfd", "drive"),
)


def icon_of(device_type: str, family: Family) -> SymbolShape:
    """The picture for a device type; devices of a user's own library get the plain one."""
    for start, name in _ICON_OF:
        if device_type.startswith(start):
            return icons(family)[name]
    return icons(family)["screen"]
