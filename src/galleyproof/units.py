r"""Quantities as people write them, to and from the one unit the core uses for each kind.

    >>> parse("1-1/2 hp", "power_mech"), parse("2,400 cfm", "airflow"), parse("3' 6\"", "length_inch")
    (1.5, 2400.0, 42.0)
    >>> format(0.4, "ratio")
    '40 %'

The parser is strict: it takes what it can read in one way only and refuses the rest, with the value, the
reason and what is accepted. Arithmetic is exact (rationals), rounded once at the end, so a conversion is
correct to the last bit and ``format`` is a true inverse. Whether a value makes sense (a negative airflow) is
for the model that holds it, not for this module.
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from types import MappingProxyType

from galleyproof.errors import GalleyproofError

__all__ = [
    "ALLOWED",
    "AWG_SIZES",
    "KINDS",
    "Kind",
    "Quantity",
    "Unit",
    "UnitError",
    "format",
    "format_awg",
    "parse",
    "parse_awg",
    "read",
]

# The plain decimal of the smallest float, with its sign and unit, still fits; anything longer is no quantity.
MAX_TEXT = 400


class UnitError(GalleyproofError, ValueError):
    """A quantity that cannot be read in exactly one way."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number with the unit it was written in.

    Attributes:
        value: The number as written, before any conversion. [unit]
        unit: First spelling of the unit: ``degC`` for ``40 °C``.
    """

    value: float
    unit: str


@dataclass(frozen=True, slots=True)
class Unit:
    """One accepted unit of a kind.

    Attributes:
        spellings: Accepted spellings, letter case included; the first is the one we write.
        factor: Core units in one of this unit, exact. [core/unit]
        zero: Core value at zero of this unit; only temperatures have one. [core]
    """

    spellings: tuple[str, ...]
    factor: Fraction
    zero: Fraction = Fraction(0)


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of quantity.

    Attributes:
        name: Key used by ``parse`` and ``format``.
        title: In words, for messages.
        suffix: Ending of the names that hold it: ``_cfm``.
        core: Unit in which the core keeps it; ``-`` for a pure number.
        written: Unit that ``format`` writes; the core unit unless the core keeps a pure number.
        units: Accepted units.
        examples: How it may be written, for messages.
        fractions: Whether fractions of the trade (``1-1/2``) are taken.
        feet_inches: Whether feet and inches together (``3' 6"``) are taken.
    """

    name: str
    title: str
    suffix: str
    core: str
    written: str
    units: tuple[Unit, ...]
    examples: tuple[str, ...]
    fractions: bool = False
    feet_inches: bool = False

    def spellings(self) -> tuple[str, ...]:
        """Every accepted spelling, in table order."""
        return tuple(s for unit in self.units for s in unit.spellings)

    def unit(self, spelling: str) -> Unit | None:
        """The unit so spelled, or None."""
        return next((unit for unit in self.units if spelling in unit.spellings), None)


def _exact(text: str) -> Fraction:
    return Fraction(text)


# Exact by definition: international yard and pound (1959), as in NIST SP 811 (2008), appendix B.
_M_PER_FT = _exact("0.3048")
_M_PER_INCH = _exact("0.0254")
_KG_PER_LB = _exact("0.45359237")
# Exact by definition: standard acceleration of free fall, 3rd CGPM (1901). [m/s2]
_G = _exact("9.80665")
# Horsepower of 550 ft lbf/s (NIST SP 811 B.8), hence 745.69987... W; not the metric horsepower. [W]
_W_PER_HP = 550 * _M_PER_FT * _KG_PER_LB * _G
# International Table Btu: 2326 J/kg times one pound and one degree, 1055.05585262 J (NIST SP 811 B.8). [W]
_W_PER_BTUH = 2326 * _KG_PER_LB / 3600
# Conventional inch of water: 1000 kg/m3 under standard gravity, 249.08891 Pa (NIST SP 811 B.8). [Pa]
_PA_PER_INWC = 1000 * _G * _M_PER_INCH
_FT3 = _M_PER_FT**3  # [m3]
# Celsius degree is one kelvin; Fahrenheit degree is 5/9 of it, with 32 degF at 0 degC. [degF]
_DEGF_PER_DEGC = Fraction(9, 5)

_ONE = Fraction(1)
_KILO = Fraction(1000)
_MILLI = Fraction(1, 1000)
_MICRO = Fraction(1, 10**6)


def _length(core_m: Fraction) -> tuple[Unit, ...]:
    return (
        Unit(("ft", "ft.", "'", "′"), _M_PER_FT / core_m),
        Unit(("in", "in.", '"', "″"), _M_PER_INCH / core_m),
        Unit(("m",), 1 / core_m),
        Unit(("cm",), Fraction(1, 100) / core_m),
        Unit(("mm",), _MILLI / core_m),
    )


_AMPERES = (Unit(("A",), _ONE), Unit(("mA",), _MILLI), Unit(("kA",), _KILO))

# fmt: off
_TABLE = (
    Kind("voltage", "voltage", "_v", "V", "V",
         (Unit(("V",), _ONE), Unit(("mV",), _MILLI), Unit(("kV",), _KILO)),
         ("208 V", "24 V")),
    Kind("current", "current", "_a", "A", "A", _AMPERES, ("7.5 A", "20 mA")),
    Kind("fault_current", "fault current", "_a", "A", "A", _AMPERES, ("10 kA", "22,000 A")),
    Kind("power_mech", "shaft power", "_hp", "hp", "hp",
         (Unit(("hp", "HP"), _ONE), Unit(("kW",), 1000 / _W_PER_HP), Unit(("W",), 1 / _W_PER_HP)),
         ("1.5 hp", "1-1/2 hp", "1.1 kW"), fractions=True),
    Kind("power_elec", "electric power", "_w", "W", "W",
         (Unit(("W",), _ONE), Unit(("kW",), _KILO)),
         ("1.2 kW", "60 W")),
    Kind("apparent_power", "apparent power", "_va", "VA", "VA",
         (Unit(("VA",), _ONE), Unit(("kVA",), _KILO)),
         ("75 VA", "1.5 kVA")),
    # common practice: the M in MBH is the Roman thousand, not mega.
    Kind("gas_heat", "gas input", "_btuh", "Btu/h", "Btu/h",
         (Unit(("Btu/h", "BTU/h", "Btuh", "BTUH"), _ONE), Unit(("kBtu/h", "MBH"), _KILO),
          Unit(("kW",), 1000 / _W_PER_BTUH), Unit(("W",), 1 / _W_PER_BTUH)),
         ("120,000 Btu/h", "120 MBH", "35 kW")),
    Kind("length_ft", "length", "_ft", "ft", "ft", _length(_M_PER_FT),
         ("3.5 ft", "3' 6\"", "42 in", "1.07 m"), fractions=True, feet_inches=True),
    Kind("length_inch", "length", "_inch", "in", "in", _length(_M_PER_INCH),
         ("42 in", "3' 6\"", "5-1/2 in", "140 mm"), fractions=True, feet_inches=True),
    Kind("area", "area", "_sqft", "sq ft", "sq ft",
         (Unit(("sq ft", "sqft", "ft2", "ft²"), _ONE),
          Unit(("sq in", "sqin", "in2", "in²"), Fraction(1, 144)),
          Unit(("m2", "m²"), 1 / _M_PER_FT**2), Unit(("mm2", "mm²"), _MICRO / _M_PER_FT**2)),
         ("4.5 sq ft", "0.42 m²")),
    Kind("airflow", "airflow", "_cfm", "cfm", "cfm",
         (Unit(("cfm", "CFM", "ft3/min", "ft³/min"), _ONE), Unit(("L/s", "l/s"), 60 * _MILLI / _FT3),
          Unit(("m3/h", "m³/h"), Fraction(1, 60) / _FT3), Unit(("m3/s", "m³/s"), 60 / _FT3)),
         ("2400 cfm", "2,400 cfm", "1130 L/s", "4080 m³/h")),
    Kind("air_velocity", "air velocity", "_fpm", "fpm", "fpm",
         (Unit(("fpm", "FPM", "ft/min"), _ONE), Unit(("m/s",), 60 / _M_PER_FT)),
         ("1500 fpm", "7.6 m/s")),
    Kind("static_pressure", "static pressure", "_inwc", "in wc", "in wc",
         (Unit(("in wc", "inwc", "in. wc", "in w.c.", "in. w.c.", "in WC", "inWC", "in wg", "in w.g."), _ONE),
          Unit(("Pa",), 1 / _PA_PER_INWC), Unit(("kPa",), 1000 / _PA_PER_INWC)),
         ("1.25 in wc", "310 Pa"), fractions=True),
    Kind("temperature", "temperature", "_degf", "degF", "degF",
         (Unit(("degF", "°F", "F"), _ONE), Unit(("degC", "°C", "C"), _DEGF_PER_DEGC, Fraction(32))),
         ("75 degF", "75 °F", "24 °C")),
    Kind("temperature_difference", "temperature difference", "_degf", "degF", "degF",
         (Unit(("degF", "°F", "F"), _ONE), Unit(("degC", "°C", "C", "K"), _DEGF_PER_DEGC)),
         ("10 degF", "5 K")),
    Kind("time", "time", "_s", "s", "s",
         (Unit(("s", "sec"), _ONE), Unit(("min",), Fraction(60)), Unit(("h", "hr"), Fraction(3600)),
          Unit(("ms",), _MILLI)),
         ("30 s", "5 min", "1.5 h")),
    Kind("frequency", "frequency", "_hz", "Hz", "Hz",
         (Unit(("Hz",), _ONE), Unit(("kHz",), _KILO)),
         ("60 Hz", "2 kHz")),
    # Two code points draw the same sign: Greek omega (U+03A9) and the compatibility ohm (U+2126).
    Kind("resistance", "resistance", "_ohm", "ohm", "ohm",
         (Unit(("ohm", "\u03a9", "\u2126"), _ONE), Unit(("kohm", "k\u03a9", "k\u2126"), _KILO),
          Unit(("Mohm", "M\u03a9", "M\u2126"), 1 / _MICRO), Unit(("mohm", "m\u03a9", "m\u2126"), _MILLI)),
         ("120 ohm", "10 kohm", "10 k\u03a9")),
    # Likewise micro (U+00B5) and Greek mu (U+03BC).
    Kind("capacitance", "capacitance", "_uf", "uF", "uF",
         (Unit(("uF", "\u00b5F", "\u03bcF"), _ONE), Unit(("nF",), _MILLI), Unit(("pF",), _MICRO),
          Unit(("F",), 1 / _MICRO)),
         ("7.5 uF", "100 nF")),
    Kind("mass", "mass", "_lb", "lb", "lb",
         (Unit(("lb",), _ONE), Unit(("kg",), 1 / _KG_PER_LB)),
         ("85 lb", "38 kg")),
    Kind("ratio", "ratio", "_ratio", "-", "%",
         (Unit(("%", "percent"), Fraction(1, 100)),),
         ("40 %", "112.5 %")),
)
# fmt: on

KINDS: Mapping[str, Kind] = MappingProxyType({kind.name: kind for kind in _TABLE})
"""Every kind of quantity, by name."""

ALLOWED: Mapping[str, tuple[str, ...]] = MappingProxyType({kind.name: kind.spellings() for kind in _TABLE})
"""Accepted unit spellings by kind; for documents and the JSON Schema."""

_VULGAR = {
    "½": Fraction(1, 2), "⅓": Fraction(1, 3), "⅔": Fraction(2, 3), "¼": Fraction(1, 4), "¾": Fraction(3, 4),
    "⅙": Fraction(1, 6), "⅚": Fraction(5, 6), "⅛": Fraction(1, 8), "⅜": Fraction(3, 8), "⅝": Fraction(5, 8),
    "⅞": Fraction(7, 8),
}  # fmt: skip
# The fractions found on rulers and motor nameplates. Others are refused: 120/208 is no fraction.
_DENOMINATORS = frozenset({2, 3, 4, 6, 8, 12, 16, 20, 32, 64})

_PLAIN = r"(?:[1-9][0-9]{0,2}(?:,[0-9]{3})+|[0-9]+)(?:\.[0-9]+)?|\.[0-9]+"
_NUMBER = re.compile(
    rf"""(?:(?P<whole>[0-9]+)(?:[ -](?=[0-9½⅓⅔¼¾⅙⅚⅛⅜⅝⅞])|(?=[½⅓⅔¼¾⅙⅚⅛⅜⅝⅞])))?
         (?:(?P<num>[0-9]{{1,3}})/(?P<den>[0-9]{{1,3}})|(?P<vulgar>[½⅓⅔¼¾⅙⅚⅛⅜⅝⅞]))(?![0-9.,/])
       | (?P<plain>{_PLAIN})(?![0-9.,/]|\ [0-9½⅓⅔¼¾⅙⅚⅛⅜⅝⅞])""",
    re.VERBOSE,
)
_FEET_INCHES = re.compile(
    r"(?P<feet>[0-9]+) ?(?:'|′|ft\.?)(?:-| - | ?)(?P<inches>[0-9½⅓⅔¼¾⅙⅚⅛⅜⅝⅞][^'′\"″a-z]*?) ?(?:\"|″|in\.?)"
)
_DIGIT = re.compile(r"[0-9½⅓⅔¼¾⅙⅚⅛⅜⅝⅞]")


def parse(text: str | float, kind: str) -> float:
    """Read a written quantity.

    Args:
        text: What was written: ``1.5 hp``, ``3' 6"``, ``2,400 cfm``. A bare number is refused.
        kind: Name of a kind in ``KINDS``.

    Returns:
        The value, rounded once from the exact result. [core unit of the kind]

    Raises:
        UnitError: It cannot be read in exactly one way; the message has the value, the reason and the cure.
        KeyError: There is no such kind (a mistake in the program, not in the text).
    """
    known = KINDS[kind]
    number, unit = _read(text, known)
    return _to_float(number * unit.factor + unit.zero, text, known)


def read(text: str | float, kind: str) -> Quantity:
    """Read a written quantity, keeping its own unit, so that an editor can give it back as it was written.

    Args:
        text: As for ``parse``.
        kind: As for ``parse``.

    Returns:
        The number as written and the first spelling of its unit; feet with inches give feet.

    Raises:
        UnitError: As for ``parse``.
        KeyError: As for ``parse``.
    """
    known = KINDS[kind]
    number, unit = _read(text, known)
    return Quantity(_to_float(number, text, known), unit.spellings[0])


def format(value: float, kind: str) -> str:  # noqa: A001 (the inverse of parse; always called as units.format)
    """Write a value of the core so that ``parse`` gives exactly the same float.

    Args:
        value: Finite number. [core unit of the kind]
        kind: Name of a kind in ``KINDS``.

    Returns:
        Shortest exact decimal, without exponent, and the unit: ``2400 cfm``, ``0.1 in wc``, ``40 %``.

    Raises:
        UnitError: The value is not finite.
        KeyError: There is no such kind.
    """
    known = KINDS[kind]
    number = float(value)
    if not math.isfinite(number):
        raise UnitError(f"{number!r} is not a {known.title}: only finite numbers can be written")
    # repr() is the shortest decimal that gives this float back; from here on all is exact.
    decimal = Decimal(repr(number))
    if known.core == "-":
        decimal = decimal.scaleb(2)  # a pure number is written in percent
    digits = f"{decimal:f}"
    if "." in digits:
        digits = digits.rstrip("0").rstrip(".")
    return f"{'0' if digits == '-0' else digits} {known.written}"


def _to_float(exact: Fraction, text: str | float, kind: Kind) -> float:
    try:
        return float(exact)
    except OverflowError:
        raise _refuse(text, kind, "the number is too large") from None


def _read(text: str | float, kind: Kind) -> tuple[Fraction, Unit]:
    """The exact number as written, and its unit."""
    if not isinstance(text, str):
        raise _refuse(text, kind, "the number has no unit")
    if len(text) > MAX_TEXT:
        raise _refuse(text, kind, f"the text is longer than {MAX_TEXT} characters")
    # A no-break space comes with text pasted from a document and means a space.
    body = text.replace("\u00a0", " ").replace("\u202f", " ").strip(" ")
    if not body:
        raise _refuse(text, kind, "nothing is written")
    sign = -1 if body.startswith("-") else 1
    body = body.removeprefix("-")
    if kind.feet_inches and (both := _FEET_INCHES.fullmatch(body)):
        inches, rest = _number(both["inches"], text, kind)
        if rest or inches >= 12:
            raise _refuse(text, kind, "beside feet, inches must be one number below 12")
        return sign * (int(both["feet"]) + inches / 12), kind.units[0]  # a kind with feet_inches lists feet first
    number, rest = _number(body, text, kind)
    spelling = rest.strip(" ")
    unit = kind.unit(spelling)
    if unit is None:
        raise _refuse(text, kind, *_unit_reason(spelling, kind))
    return sign * number, unit


def _number(body: str, text: str, kind: Kind) -> tuple[Fraction, str]:
    """The number that ``body`` starts with, and what follows it."""
    found = _NUMBER.match(body)
    if found is None:
        raise _refuse(text, kind, _number_reason(body))
    rest = body[found.end() :]
    if found["plain"]:
        return Fraction(found["plain"].replace(",", "")), rest
    if not kind.fractions:
        raise _refuse(text, kind, _fraction_reason(kind))
    if found["vulgar"]:
        part = _VULGAR[found["vulgar"]]
    else:
        num, den = int(found["num"]), int(found["den"])
        if den not in _DENOMINATORS or not 0 < num < den:
            raise _refuse(text, kind, f"{num}/{den} is not a fraction of a ruler or a nameplate, such as 1/2")
        part = Fraction(num, den)
    return int(found["whole"] or 0) + part, rest


def _number_reason(body: str) -> str:
    if re.match(r"[0-9.]", body) is None:
        if re.match(r"[+]?(?:nan|inf)", body, re.IGNORECASE):
            return "a number must be finite"
        if body.startswith("+"):
            return "a plus sign is not written"
        return "it must start with a number in the digits 0 to 9"
    if re.match(r"[0-9]+[ -]?[0-9]*/", body):
        return "the number is not one number"
    if re.match(r"[0-9.,]* [0-9½⅓⅔¼¾⅙⅚⅛⅜⅝⅞]", body):
        return "a number must not hold a space; thousands are grouped by commas or not at all"
    return "the point is the decimal sign and a comma may only group thousands by three"


def _fraction_reason(kind: Kind) -> str:
    if kind.name == "voltage":
        return "two voltages name a system (its own key), not one voltage"
    return f"a {kind.title} is written as a decimal, not as a fraction"


def _unit_reason(spelling: str, kind: Kind) -> tuple[str, str]:
    """Why the unit is refused, and the nearest unit there is."""
    if not spelling:
        return "the number has no unit", ""
    if re.match(r"[eE][+-]?[0-9]", spelling):
        return "a number is written out, without an exponent", ""
    if kind.name == "voltage" and re.fullmatch(r"V ?(?:[AaDd][Cc])", spelling):
        which = "direct" if spelling[-2] in "Dd" else "alternating"
        return f"a voltage is a number of volts only; that it is {which} current belongs in its own key", "V"
    if kind.name == "voltage" and re.match(r"Y ?/", spelling):
        return _fraction_reason(kind), ""
    if kind.feet_inches and re.match(r"(?:'|′|ft) ?-? ?[0-9]", spelling):
        return "feet and inches are not both marked, or not in this order", ""
    elsewhere = [other.title for other in _TABLE if other.unit(spelling)]
    if elsewhere:
        return f"{_cut(spelling)!r} is a unit of {_either(elsewhere)}, not of {kind.title}", ""
    return f"{_cut(spelling)!r} is not a known unit", _nearest(spelling, kind.spellings())


def _refuse(text: str | float, kind: Kind, reason: str, nearest: str = "") -> UnitError:
    shown = _cut(text) if isinstance(text, str) else text
    hint = f"; nearest unit: {nearest!r}" if nearest else ""
    like = ", ".join(kind.examples)
    units = ", ".join(kind.spellings())
    return UnitError(f"{shown!r} cannot be read as {kind.title}: {reason}{hint}. Write it like {like} (units: {units})")


def _cut(text: str) -> str:
    return text if len(text) <= 40 else f"{text[:37]}..."


def _either(titles: list[str]) -> str:
    unique = list(dict.fromkeys(titles))
    return unique[0] if len(unique) == 1 else f"{', '.join(unique[:-1])} or {unique[-1]}"


def _nearest(word: str, known: tuple[str, ...]) -> str:
    """The known spelling closest to ``word``; letter case counts least."""
    folded: dict[str, str] = {}
    for spelling in known:
        folded.setdefault(spelling.casefold(), spelling)
    close = difflib.get_close_matches(_cut(word).casefold(), list(folded), n=1, cutoff=0.5)
    return folded[close[0]] if close else ""


def _awg_sizes() -> Iterator[str]:
    yield from (str(n) for n in (30, 28, 26, 24, 22, 20, 18, 16, 14, 12, 10, 8, 6, 4, 3, 2, 1))
    yield from ("1/0", "2/0", "3/0", "4/0")
    yield from (str(n) for n in (250, 300, 350, 400, 500, 600, 700, 750, 800, 900, 1000, 1250, 1500, 1750, 2000))


AWG_SIZES: tuple[str, ...] = tuple(_awg_sizes())
"""Conductor sizes as labels, thinnest first: AWG numbers, then kcmil from 250 on.

From 18 AWG on these are the sizes of NFPA 70-2023, chapter 9, table 8; the thinner ones are common practice.
"""


def parse_awg(text: str | float) -> str:
    """Read a conductor size.

    Args:
        text: ``18 AWG``, ``4/0 AWG`` or ``250 kcmil``.

    Returns:
        Its label in ``AWG_SIZES``: ``18``, ``4/0``, ``250``. A label, not a number.

    Raises:
        UnitError: It is not one of those sizes, or not written so.
    """
    body = text.strip(" ") if isinstance(text, str) and len(text) <= MAX_TEXT else ""
    written = {format_awg(size): size for size in AWG_SIZES}
    found = re.fullmatch(r"([0-9]{1,4}|[0-9]/0) ?(AWG|kcmil)", body)
    if found and (size := written.get(f"{found[1]} {found[2]}")):
        return size
    shown = _cut(text) if isinstance(text, str) else text
    close = difflib.get_close_matches(_cut(body), list(written), n=1, cutoff=0.5)
    hint = f"; nearest size: {close[0]!r}" if close else ""
    raise UnitError(
        f"{shown!r} cannot be read as conductor size{hint}. Write it like 18 AWG, 4/0 AWG, 250 kcmil "
        f"(AWG sizes: {', '.join(s for s in AWG_SIZES if _is_awg(s))}; "
        f"kcmil sizes: {', '.join(s for s in AWG_SIZES if not _is_awg(s))})"
    )


def format_awg(size: str) -> str:
    """Write a conductor size label with its unit: ``4/0 AWG``, ``250 kcmil``.

    Raises:
        UnitError: The label is not in ``AWG_SIZES``.
    """
    if size not in AWG_SIZES:
        raise UnitError(f"{size!r} is not a conductor size label; labels: {', '.join(AWG_SIZES)}")
    return f"{size} {'AWG' if _is_awg(size) else 'kcmil'}"


def _is_awg(size: str) -> bool:
    return AWG_SIZES.index(size) < AWG_SIZES.index("250")
