"""The field sheet: check-out, drawings and diagnosis of one job in one file that needs no network."""

from galleyproof.checkout.log import read_log as read_back

__all__ = ["read_back"]
