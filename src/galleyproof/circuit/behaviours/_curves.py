"""Sensor kinds of the job as curves."""

from __future__ import annotations

from galleyproof.tables import sensors
from galleyproof.tables.reader import TableError

MAX_DEGC = 150.0
MIN_DEGC = -40.0


def sensor_ohm(kind: str, degc: float) -> float:
    """Resistance of a job's sensor kind at a temperature [ohm]."""
    if kind == "Pt1000":
        return sensors.pt_ohm(degc).value
    return sensors.ntc_10k_curve("3" if kind.endswith("3") else "2").ohm(degc)


def sensor_degc(kind: str, ohm: float) -> float:
    """Temperature a controller set to this kind shows; at the ends of the curve it stays there [degC]."""
    try:
        if kind == "Pt1000":
            return sensors.pt_degc(ohm).value
        return sensors.ntc_10k_curve("3" if kind.endswith("3") else "2").degc(ohm)
    except TableError:
        hot = ohm < 1000.0 if kind != "Pt1000" else ohm > 1000.0
        return MAX_DEGC if hot else MIN_DEGC
