"""Everything electrical that has a size, by published rules, each number with its clause and its steps."""

from galleyproof.sizing.model import Number, RacewaySize, SizedConductor, Sizes
from galleyproof.sizing.whole_job import size, with_sizes

__all__ = ["Number", "RacewaySize", "SizedConductor", "Sizes", "size", "with_sizes"]
