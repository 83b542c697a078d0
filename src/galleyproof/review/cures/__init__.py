"""Changes of a job that may clear a finding, by the finding's code."""

from galleyproof.review.cures import exhaust, fire, power, shutdowns
from galleyproof.review.cures.registry import moves_for, no_cure

__all__ = ["exhaust", "fire", "moves_for", "no_cure", "power", "shutdowns"]
