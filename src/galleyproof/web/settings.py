"""What the app is started with."""

from __future__ import annotations

import os
import sys
from dataclasses import dataclass, field
from pathlib import Path

__all__ = ["LOOPBACK", "Settings", "data_folder"]

LOOPBACK = ("127.0.0.1", "localhost", "::1")
"""Names under which only this computer is reached."""


def data_folder() -> Path:
    """Where this user's data lives, as the system's own conventions say.

    ``GALLEYPROOF_DATA`` names another folder.
    """
    named = os.environ.get("GALLEYPROOF_DATA")
    if named:
        return Path(named)
    home = Path.home()
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA", home / "AppData" / "Local"))
    elif sys.platform == "darwin":
        base = home / "Library" / "Application Support"
    else:
        base = Path(os.environ.get("XDG_DATA_HOME") or home / ".local" / "share")
    return base / "galleyproof"


@dataclass(frozen=True)
class Settings:
    """What the app is started with.

    Attributes:
        database_url: Where jobs are kept.
        host: Address it listens on.
        port: Its port. [-]
        hosts: Further names under which browsers may ask for it.
        secure: Whether browsers reach it by https, so that cookies travel by https only.
        workers: Whether calculations run in processes of their own; without, inside the server (tests).
    """

    database_url: str
    host: str = "127.0.0.1"
    port: int = 8440
    hosts: tuple[str, ...] = field(default=())
    secure: bool = False
    workers: bool = True

    @property
    def address(self) -> str:
        """Where browsers find it: under its first further name when it has one."""
        if self.secure:
            return f"https://{self.hosts[0] if self.hosts else self.host}"
        name = self.hosts[0] if self.hosts and not self.loopback else self.host
        return f"http://{f'[{name}]' if ':' in name else name}:{self.port}"

    @property
    def loopback(self) -> bool:
        """Whether only this computer reaches it."""
        return self.host in LOOPBACK
