"""Galleyproof: design and proof of demand-controlled ventilation panels for commercial kitchens."""

__version__ = "0.1.0"
