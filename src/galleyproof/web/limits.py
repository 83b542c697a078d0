"""Limits of what is taken from the network, held before it is in memory."""

from __future__ import annotations

from starlette.exceptions import HTTPException
from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["LIMITS", "Bounded", "TooLarge", "most_bytes"]

MB = 1_000_000
LIMITS = (
    ("/sign-in", MB // 50),
    ("/link/", MB // 50),
    ("/account", MB // 50),
    ("/people", MB // 50),
    ("/api/", 33 * MB),
)
"""Largest body of a request by the beginning of its path; the first that fits. [byte]"""
MOST = 33 * MB
"""Largest body elsewhere: a log of readings with the form around it. [byte]"""


class TooLarge(HTTPException):
    """A body beyond the limit."""

    def __init__(self, at_most: int) -> None:
        size = f"{at_most // MB} MB" if at_most >= MB else f"{at_most // 1000} kB"
        super().__init__(413, f"what was sent is larger than {size}, which is the most taken here; send less")


def most_bytes(path: str) -> int:
    """Largest body taken at a path. [byte]."""
    return next((at_most for begin, at_most in LIMITS if path.startswith(begin)), MOST)


class Bounded:
    """Stops reading a body that is too large; refuses addresses that hold a zero byte, which no database takes."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, with its body bounded."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        at_most = most_bytes(scope["path"])
        read = 0
        headers = dict(scope["headers"])
        named = headers.get(b"content-length", b"")
        too_large = named.isdigit() and (len(named) > 15 or int(named) > at_most)
        if "\0" in scope["path"] or b"%00" in scope.get("query_string", b""):
            nothing = "/api/nothing" if scope["path"].startswith("/api/") else "/nothing"
            scope = {**scope, "path": nothing, "raw_path": nothing.encode(), "query_string": b""}

        async def bounded() -> Message:
            nonlocal read
            message = await receive()
            if message["type"] == "http.request":
                read += len(message.get("body", b""))
                if too_large or read > at_most:
                    raise TooLarge(at_most)
            return message

        await self.app(scope, bounded, send)
