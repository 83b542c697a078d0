"""Field types of the job model: text with a unit in the file, a float in one core unit in the model."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BeforeValidator, StringConstraints, WithJsonSchema

from galleyproof import units


class Kind:
    """Annotation that remembers which quantity kind a field has, so that writing can undo reading."""

    __slots__ = ("kind", "positive")

    def __init__(self, kind: str, positive: bool) -> None:
        self.kind = kind
        self.positive = positive


def _reader(kind: str, *, positive: bool, signed: bool = False) -> BeforeValidator:
    def read(value: Any) -> float:
        if isinstance(value, bool) or value is None or isinstance(value, (list, dict)):
            raise ValueError(f"{value!r} is not a quantity; write a number with its unit, e.g. {_EXAMPLE[kind]}")
        if isinstance(value, float) and not isinstance(value, bool):
            # A float inside Python is already in the core unit; the YAML reader hands over text only.
            number = value
        else:
            number = units.parse(str(value), kind)
        if positive and number <= 0:
            raise ValueError(f"{value} must be greater than zero")
        may_be_negative = signed or kind in ("temperature", "temperature_difference", "length_ft")
        if not positive and not may_be_negative and number < 0:
            raise ValueError(f"{value} must not be negative")
        return number

    return BeforeValidator(read)


_EXAMPLE = {
    "voltage": "120 V",
    "current": "15 A",
    "power_mech": "1.5 hp",
    "power_elec": "400 W",
    "apparent_power": "50 VA",
    "length_ft": "45 ft",
    "length_inch": "48 in",
    "airflow": "2,400 cfm",
    "static_pressure": "1.2 inwc",
    "temperature": "75 degF",
    "time": "5 s",
    "frequency": "60 Hz",
    "resistance": "120 ohm",
    "ratio": "40 %",
    "fault_current": "10 kA",
    "gas_heat": "120000 Btu/h",
    "area": "21 sq ft",
}


def _schema(kind: str) -> WithJsonSchema:
    return WithJsonSchema({"type": "string", "description": f"a number with its unit, e.g. {_EXAMPLE[kind]}"})


Volts = Annotated[float, _reader("voltage", positive=True), Kind("voltage", True), _schema("voltage")]
Amps = Annotated[float, _reader("current", positive=True), Kind("current", True), _schema("current")]
FaultAmps = Annotated[
    float, _reader("fault_current", positive=True), Kind("fault_current", True), _schema("fault_current")
]
Horsepower = Annotated[float, _reader("power_mech", positive=True), Kind("power_mech", True), _schema("power_mech")]
Watts = Annotated[float, _reader("power_elec", positive=True), Kind("power_elec", True), _schema("power_elec")]
VoltAmps = Annotated[
    float, _reader("apparent_power", positive=True), Kind("apparent_power", True), _schema("apparent_power")
]
Feet = Annotated[float, _reader("length_ft", positive=True), Kind("length_ft", True), _schema("length_ft")]
Altitude = Annotated[float, _reader("length_ft", positive=False), Kind("length_ft", False), _schema("length_ft")]
Inches = Annotated[float, _reader("length_inch", positive=True), Kind("length_inch", True), _schema("length_inch")]
Cfm = Annotated[float, _reader("airflow", positive=True), Kind("airflow", True), _schema("airflow")]
Inwc = Annotated[
    float, _reader("static_pressure", positive=False), Kind("static_pressure", False), _schema("static_pressure")
]
SignedInwc = Annotated[
    float,
    _reader("static_pressure", positive=False, signed=True),
    Kind("static_pressure", False),
    _schema("static_pressure"),
]
SquareFeet = Annotated[float, _reader("area", positive=True), Kind("area", True), _schema("area")]
DegF = Annotated[float, _reader("temperature", positive=False), Kind("temperature", False), _schema("temperature")]
Seconds = Annotated[float, _reader("time", positive=False), Kind("time", False), _schema("time")]
Hertz = Annotated[float, _reader("frequency", positive=True), Kind("frequency", True), _schema("frequency")]
Ohms = Annotated[float, _reader("resistance", positive=True), Kind("resistance", True), _schema("resistance")]
Ratio = Annotated[float, _reader("ratio", positive=False), Kind("ratio", False), _schema("ratio")]
BtuPerHour = Annotated[float, _reader("gas_heat", positive=True), Kind("gas_heat", True), _schema("gas_heat")]


def _awg(value: Any) -> str:
    return units.parse_awg(str(value))


AwgSize = Annotated[
    str,
    BeforeValidator(lambda v: v if isinstance(v, str) and v.replace("/0", "").isdigit() else _awg(v)),
    Kind("awg", True),
    WithJsonSchema({"type": "string", "description": "a conductor size, e.g. 18 AWG, 4/0 AWG, 250 kcmil"}),
]

Tag = Annotated[
    str,
    StringConstraints(min_length=1, max_length=24, pattern=r"^[A-Za-z][A-Za-z0-9]*([-/.][A-Za-z0-9]+)*$"),
]
Text = Annotated[str, StringConstraints(min_length=1, max_length=200, strip_whitespace=True)]
