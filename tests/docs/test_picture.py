"""The README's picture shows what the simulation finds today."""

from __future__ import annotations

import runpy
from pathlib import Path

ROOT = Path(__file__).parents[2]


def test_picture_is_current() -> None:
    """Drawing it again gives the same bytes."""
    picture = runpy.run_path(str(ROOT / "scripts" / "make_picture.py"))["picture"]
    assert picture() == (ROOT / "docs" / "picture.svg").read_text(encoding="utf-8")
