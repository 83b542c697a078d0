"""Probes, the shortest check-out plan, diagnosis."""
