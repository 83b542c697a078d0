"""What a start of the app loads: the rooms that compute come when a page first needs them."""

from __future__ import annotations

import subprocess
import sys
from importlib.util import find_spec

import pytest

LATER = (
    "numpy",
    "scipy",
    "ezdxf",
    "typst",
    "galleyproof.sizing",
    "galleyproof.proof.prove",
    "galleyproof.checkout.beliefs",
)
CODE = "import sys; import {module}; print(*[m for m in {later} if m in sys.modules])"


@pytest.mark.parametrize(
    ("module", "later"),
    [
        ("galleyproof.web.app", LATER),
        # most starts find the database up to date
        ("galleyproof.store.upgrade", ("alembic",)),
    ],
)
def test_heavy_rooms_come_later(module, later):
    for name in later:
        assert find_spec(name) is not None  # a name of nothing would never be loaded
    found = subprocess.run(
        [sys.executable, "-c", CODE.format(module=module, later=later)], capture_output=True, text=True, check=True
    )
    assert found.stdout.split() == []
