"""A real server of the app for a bench, in a process of its own."""

from __future__ import annotations

import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

PATIENCE_S = 60.0


@contextmanager
def serving(folder: Path) -> Iterator[str]:
    """Serve what a data folder holds until the block ends; gives the address."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    call = [sys.executable, "-m", "galleyproof", "serve", "--no-browser", "--data", str(folder), "--port", str(port)]
    process = subprocess.Popen(call, stdout=subprocess.DEVNULL)
    try:
        end = time.monotonic() + PATIENCE_S
        while True:
            try:
                socket.create_connection(("127.0.0.1", port), 1.0).close()
                break
            except OSError:
                if time.monotonic() > end or process.poll() is not None:
                    raise RuntimeError("the server did not start") from None
                time.sleep(0.05)
        yield f"http://127.0.0.1:{port}/"
    finally:
        process.terminate()
        process.wait(10)
