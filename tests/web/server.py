"""The app on a port of this computer, for tests with a browser."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager

import uvicorn
from starlette.types import ASGIApp

PATIENCE_S = 20.0


@contextmanager
def serving(app: ASGIApp) -> Iterator[str]:
    """Serve an app until the block ends; gives its address."""
    with socket.socket() as bound:
        bound.bind(("127.0.0.1", 0))
        server = uvicorn.Server(uvicorn.Config(app, log_level="error", ws="none", lifespan="off"))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [bound]}, daemon=True)
        thread.start()
        end = time.monotonic() + PATIENCE_S
        while not server.started:
            assert time.monotonic() < end, "the app did not start"
            time.sleep(0.01)
        yield f"http://127.0.0.1:{bound.getsockname()[1]}"
        server.should_exit = True
        thread.join(PATIENCE_S)
