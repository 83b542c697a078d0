"""Temperature sensors: resistance from temperature and back.

Two thermistor curves of the trade both read 10 kohm at 25 degC and part from there: curve 2 and curve 3. A
reading at room temperature cannot tell them apart; one at 200 degF can (827 ohm against 985 ohm).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import Literal, TypeAlias

from galleyproof.findings import Citation, Cited
from galleyproof.tables.reader import TableError, load

__all__ = [
    "BetaCurve",
    "SensorCurve",
    "ThermistorCurve",
    "beta_curve",
    "ntc_10k_curve",
    "pt_degc",
    "pt_ohm",
    "pt_tolerance_k",
]

_ZERO_DEGC_K = 273.15
_R25_K = 298.15


@dataclass(frozen=True, slots=True)
class ThermistorCurve:
    """A thermistor by 1/T = A + B ln R + C (ln R)^3.

    Attributes:
        name: ``NTC 10k curve 2``.
        a: Coefficient. [1/K]
        b: Coefficient of ln R, R in ohm. [1/K]
        c: Coefficient of (ln R)^3. [1/K]
        min_degc: Coldest temperature the curve answers for. [degC]
        max_degc: Hottest. [degC]
        basis: Where the coefficients come from.
    """

    name: str
    a: float
    b: float
    c: float
    min_degc: float
    max_degc: float
    basis: Citation

    def degc(self, sensor_ohm: float) -> float:
        """Temperature at a resistance.

        Args:
            sensor_ohm: Resistance of the sensor alone. [ohm]

        Returns:
            Temperature. [degC]

        Raises:
            TableError: Outside the curve's range: an open or shorted sensor, or another part.
        """
        if math.isfinite(sensor_ohm) and sensor_ohm > 0.0:
            found = self._degc(sensor_ohm)
            if self.min_degc - 1e-6 <= found <= self.max_degc + 1e-6:
                return found
        raise TableError(
            f"sensor_ohm={sensor_ohm:g} ohm is outside {self.name}: {self.ohm(self.max_degc):.0f} ohm at "
            f"{self.max_degc:g} degC to {self.ohm(self.min_degc):.0f} ohm at {self.min_degc:g} degC"
        )

    def ohm(self, sensor_degc: float) -> float:
        """Resistance at a temperature: the formula solved for R (its cubic has one real root).

        Args:
            sensor_degc: Temperature of the sensor. [degC]

        Returns:
            Resistance. [ohm]

        Raises:
            TableError: Outside the curve's range.
        """
        if not self.min_degc <= sensor_degc <= self.max_degc:
            raise TableError(
                f"sensor_degc={sensor_degc:g} degC is outside {self.name}, {self.min_degc:g} to {self.max_degc:g} degC"
            )
        x = (self.a - 1.0 / (sensor_degc + _ZERO_DEGC_K)) / self.c
        y = math.sqrt((self.b / (3.0 * self.c)) ** 3 + (x / 2.0) ** 2)
        return math.exp(math.cbrt(y - x / 2.0) - math.cbrt(y + x / 2.0))

    def _degc(self, sensor_ohm: float) -> float:
        log = math.log(sensor_ohm)
        return 1.0 / (self.a + self.b * log + self.c * log**3) - _ZERO_DEGC_K


@dataclass(frozen=True, slots=True)
class BetaCurve:
    """A thermistor by one Beta; an approximation away from the two temperatures it was fitted at.

    Attributes:
        name: ``NTC 10k Beta 3435``.
        r25_ohm: Resistance at 25 degC. [ohm]
        beta_k: Beta. [K]
        basis: Where the Beta comes from.
    """

    name: str
    r25_ohm: float
    beta_k: float
    basis: Citation

    def ohm(self, sensor_degc: float) -> float:
        """Resistance at a temperature [ohm].

        Args:
            sensor_degc: Temperature of the sensor. [degC]

        Raises:
            TableError: At or below absolute zero.
        """
        if not sensor_degc > -_ZERO_DEGC_K:
            raise TableError(f"sensor_degc={sensor_degc:g} degC is not a temperature")
        return self.r25_ohm * math.exp(self.beta_k * (1.0 / (sensor_degc + _ZERO_DEGC_K) - 1.0 / _R25_K))

    def degc(self, sensor_ohm: float) -> float:
        """Temperature at a resistance [degC].

        Args:
            sensor_ohm: Resistance of the sensor alone. [ohm]

        Raises:
            TableError: Not a resistance above zero, or one the curve never reaches.
        """
        if math.isfinite(sensor_ohm) and sensor_ohm > 0.0:
            inverse_k = math.log(sensor_ohm / self.r25_ohm) / self.beta_k + 1.0 / _R25_K
            if inverse_k > 0.0:
                return 1.0 / inverse_k - _ZERO_DEGC_K
        raise TableError(f"sensor_ohm={sensor_ohm:g} ohm is outside {self.name}")


SensorCurve: TypeAlias = ThermistorCurve | BetaCurve


@cache
def ntc_10k_curve(curve: Literal["2", "3"]) -> ThermistorCurve:
    """One of the two 10 kohm thermistor curves of the trade.

    Args:
        curve: ``2`` or ``3``. Ask for it, or measure the sensor hot.

    Raises:
        TableError: Another curve.

    Code basis:
        Common practice: published coefficient sets, compared with printed tables.

    Examples:
        >>> round(ntc_10k_curve("2").ohm(25))
        10000
    """
    row = load("common_practice_ntc_10k_curves").exact(curve=curve)
    return ThermistorCurve(
        name=f"NTC 10k curve {curve}",
        a=row.number("a"),
        b=row.number("b"),
        c=row.number("c"),
        min_degc=row.number("min_degc"),
        max_degc=row.number("max_degc"),
        basis=row.citation("a"),
    )


def beta_curve(r25_ohm: float, beta_k: float) -> BetaCurve:
    """A thermistor from what its data sheet states.

    Args:
        r25_ohm: Resistance at 25 degC. [ohm]
        beta_k: Beta. [K]

    Raises:
        TableError: A value is not above zero.
    """
    if not (r25_ohm > 0.0 and beta_k > 0.0 and math.isfinite(r25_ohm) and math.isfinite(beta_k)):
        raise TableError(f"r25_ohm={r25_ohm:g} ohm, beta_k={beta_k:g} K: both must be above zero")
    basis = Citation("job", "", f"R25 {r25_ohm:g} ohm, Beta {beta_k:g} K", "one-Beta approximation")
    return BetaCurve(f"NTC R25 {r25_ohm:g} ohm Beta {beta_k:g} K", r25_ohm, beta_k, basis)


@cache
def _coefficient(key: str) -> float:
    return load("iec60751_2022_coefficients").exact(key=key).number("value")


@cache
def _pt_basis() -> tuple[Citation, ...]:
    return (load("iec60751_2022_coefficients").citation(),)


def _check_nominal(nominal_ohm: float) -> None:
    if not (math.isfinite(nominal_ohm) and nominal_ohm > 0.0):
        raise TableError(f"nominal_ohm={nominal_ohm:g} ohm cannot be: 100 for Pt100, 1000 for Pt1000")


def _pt_ratio(t: float) -> float:
    a, b, c = (_coefficient(k) for k in "abc")
    return 1.0 + a * t + b * t * t + (c * (t - 100.0) * t**3 if t < 0.0 else 0.0)


def pt_ohm(sensor_degc: float, nominal_ohm: float = 1000.0) -> Cited[float]:
    """Resistance of a platinum sensor.

    Args:
        sensor_degc: Temperature of the sensor. [degC]
        nominal_ohm: 100 for Pt100, 1000 for Pt1000: resistance at 0 degC. [ohm]

    Returns:
        Resistance. [ohm]

    Raises:
        TableError: Outside -200 degC to 850 degC.

    Code basis:
        IEC 60751, R(t) = R0 (1 + A t + B t^2 + C (t - 100) t^3), C below 0 degC only.

    Examples:
        >>> round(pt_ohm(100).value, 1)
        1385.1
    """
    _check_nominal(nominal_ohm)
    low, high = _coefficient("min_degc"), _coefficient("max_degc")
    if not low <= sensor_degc <= high:
        raise TableError(f"sensor_degc={sensor_degc:g} degC is outside IEC 60751, {low:g} to {high:g} degC")
    return Cited(nominal_ohm * _pt_ratio(sensor_degc), _pt_basis())


def pt_degc(sensor_ohm: float, nominal_ohm: float = 1000.0) -> Cited[float]:
    """Temperature of a platinum sensor.

    Args:
        sensor_ohm: Resistance of the sensor alone, leads taken off. [ohm]
        nominal_ohm: 100 for Pt100, 1000 for Pt1000. [ohm]

    Returns:
        Temperature, to 1e-9 K by bisection (the curve rises everywhere). [degC]

    Raises:
        TableError: Outside the curve: an open or shorted sensor, or another part.

    Code basis:
        IEC 60751, solved for t.
    """
    _check_nominal(nominal_ohm)
    low, high = _coefficient("min_degc"), _coefficient("max_degc")
    ratio = sensor_ohm / nominal_ohm
    if not _pt_ratio(low) <= ratio <= _pt_ratio(high):
        raise TableError(
            f"sensor_ohm={sensor_ohm:g} ohm is outside a platinum sensor of {nominal_ohm:g} ohm: "
            f"{nominal_ohm * _pt_ratio(low):.1f} to {nominal_ohm * _pt_ratio(high):.1f} ohm"
        )
    while high - low > 1e-9:
        middle = (low + high) / 2.0
        low, high = (middle, high) if _pt_ratio(middle) < ratio else (low, middle)
    return Cited((low + high) / 2.0, _pt_basis())


def pt_tolerance_k(sensor_degc: float, accuracy_class: Literal["a", "b"] = "b") -> Cited[float]:
    """How far a platinum sensor may be off.

    Args:
        sensor_degc: Temperature of the sensor. [degC]
        accuracy_class: ``a`` or ``b``.

    Returns:
        Plus or minus. [K]

    Code basis:
        IEC 60751, classes A and B.

    Leaves out:
        The temperature span each class is defined for.
    """
    fixed = _coefficient(f"class_{accuracy_class}_tol_k")
    return Cited(fixed + _coefficient(f"class_{accuracy_class}_tol_per_k") * abs(sensor_degc), _pt_basis())
