"""What a job file must also fulfil when every single value is right.

Input errors only: names that lead nowhere, voltages a supply cannot give, things that contradict each other.
A mistake of engineering that could really be built is not one of them; the design and the proof find those.
"""

from galleyproof.job.checks import airside, coverage, fire, loads, power, promises, references, tags, usage
from galleyproof.job.checks.registry import CHECKS, Check, check_register

__all__ = [
    "CHECKS",
    "Check",
    "airside",
    "check_register",
    "coverage",
    "fire",
    "loads",
    "power",
    "promises",
    "references",
    "tags",
    "usage",
]
