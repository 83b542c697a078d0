"""The page of commands is what the commands say of themselves."""

from __future__ import annotations

import runpy
from pathlib import Path

ROOT = Path(__file__).parents[2]


def test_the_page_is_current() -> None:
    """Writing it again gives the same text."""
    page = runpy.run_path(str(ROOT / "scripts" / "write_command_docs.py"))["page"]
    assert page() == (ROOT / "docs" / "commands.md").read_text(encoding="utf-8")
