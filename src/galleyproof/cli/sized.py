"""Designs with the sizes the rules ask for, for every command that lists or compares conductors."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from dataclasses import replace

from galleyproof.cli.files import Loaded
from galleyproof.errors import GalleyproofError
from galleyproof.library.model import DeviceType
from galleyproof.sizing.whole_job import size, with_sizes


def with_its_sizes(one: Loaded, library: Mapping[str, DeviceType]) -> Loaded:
    """The job with every conductor of its design at its size; where no rule can say it, as drawn, and that is told."""
    try:
        return replace(one, design=with_sizes(one.design, size(one.job, one.design, library)))
    except GalleyproofError as error:
        words = " ".join(str(error).split())
        print(f"{one.name}: sizes are not computed, conductors stand at their first size: {words}", file=sys.stderr)
        return one
