"""Prices, carbon and the time in which an investment comes back; simple, without interest or rising prices."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeVar

from galleyproof.air.steps import AirError, require
from galleyproof.savings.weather import Array

__all__ = ["Rates", "simple_payback_years"]

Number = TypeVar("Number", float, Array)


@dataclass(frozen=True, slots=True)
class Rates:
    """What energy costs and emits; None where nobody said.

    Attributes:
        currency: Three letters.
        per_kwh: Price of electric energy. [currency/kWh]
        per_therm: Price of gas. [currency/therm]
        kg_per_kwh: Carbon dioxide of electric energy. [kg/kWh]
        kg_per_therm: Carbon dioxide of gas. [kg/therm]
    """

    currency: str = "USD"
    per_kwh: float | None = None
    per_therm: float | None = None
    kg_per_kwh: float | None = None
    kg_per_therm: float | None = None

    def __post_init__(self) -> None:
        for name, value, unit in (
            ("price of electric energy", self.per_kwh, f"{self.currency}/kWh"),
            ("price of gas", self.per_therm, f"{self.currency}/therm"),
            ("carbon of electric energy", self.kg_per_kwh, "kg/kWh"),
            ("carbon of gas", self.kg_per_therm, "kg/therm"),
        ):
            if value is not None:
                require(name, value, unit, least=0.0, cure="savings are not earned by negative prices")

    @property
    def priced(self) -> bool:
        """Whether both prices are known."""
        return self.per_kwh is not None and self.per_therm is not None

    @property
    def counted(self) -> bool:
        """Whether both carbon factors are known."""
        return self.kg_per_kwh is not None and self.kg_per_therm is not None

    def cost(self, kwh: Number, therm: Number) -> Number:
        """What so much energy costs [currency].

        Raises:
            AirError: A price is not known.
        """
        if self.per_kwh is None or self.per_therm is None:
            raise AirError("prices are not known; name both, per kWh and per therm")
        return kwh * self.per_kwh + therm * self.per_therm

    def carbon_kg(self, kwh: Number, therm: Number) -> Number:
        """What so much energy emits [kg].

        Raises:
            AirError: A factor is not known.
        """
        if self.kg_per_kwh is None or self.kg_per_therm is None:
            raise AirError("carbon factors are not known; name both, per kWh and per therm")
        return kwh * self.kg_per_kwh + therm * self.kg_per_therm


def simple_payback_years(investment: float, saved_per_year: float) -> float | None:
    """Time in which savings pay an investment back.

    Args:
        investment: Cost at the start. [currency]
        saved_per_year: Savings. [currency/a]

    Returns:
        Years; None where nothing is saved. [a]

    Leaves out:
        Interest, rising prices, upkeep.
    """
    require("investment", investment, "currency", least=0.0)
    if saved_per_year <= 0.0:
        return None
    return investment / saved_per_year
