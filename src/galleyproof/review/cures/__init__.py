"""Changes of a job that may clear a finding, by the finding's code."""

from galleyproof.review.cures import air, exhaust, fire, motors, panel, power, shutdowns
from galleyproof.review.cures.registry import moves_for, no_cure

__all__ = ["air", "exhaust", "fire", "motors", "moves_for", "no_cure", "panel", "power", "shutdowns"]
