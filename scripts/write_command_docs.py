"""Write docs/commands.md from the commands' own help.

Run from the checkout: ``.venv/bin/python scripts/write_command_docs.py``.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent
PAGE = ROOT / "docs" / "commands.md"
VERBS = (
    "check",
    "wires",
    "prove",
    "size",
    "air",
    "savings",
    "draw",
    "package",
    "trace",
    "slips",
    "compare",
    "plan",
    "diagnose",
    "fieldsheet",
    "serve",
    "backup",
    "restore",
    "accounts",
)
HEAD = """# Commands

Written by `scripts/write_command_docs.py` from the commands' own help; a test keeps it current.

Exit status: 0 all well, 1 there is something to see, 2 bad input. Bad input is told on the error output, every
problem on its own line as `file:line: where: what`. A job is a file, or a folder of them.
"""


def help_of(*words: str) -> str:
    """Help text of one command."""
    env = {**os.environ, "COLUMNS": "100", "NO_COLOR": "1"}
    call = [sys.executable, "-m", "galleyproof", *words, "--help"]
    return subprocess.run(call, capture_output=True, text=True, check=True, env=env).stdout.rstrip()


def page() -> str:
    """The page."""
    parts = [HEAD, f"```\n{help_of()}\n```\n"]
    parts += [f"## {verb}\n\n```\n{help_of(verb)}\n```\n" for verb in VERBS]
    return "\n".join(parts)


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
