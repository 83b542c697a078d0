"""A page that says what went wrong and where to go on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from fastapi.responses import HTMLResponse

from galleyproof.web.page import Page, Part, show

__all__ = ["message"]


@dataclass(frozen=True, kw_only=True)
class MessagePage(Page):
    """The whole page."""

    template: ClassVar[str] = "message.html"
    words: str


@dataclass(frozen=True, kw_only=True)
class MessagePart(Part):
    """The same as a note on the page that asked."""

    template: ClassVar[str] = "_note.html"
    title: str
    words: str


def message(request: Request, status: int, title: str, words: str) -> HTMLResponse:
    """Say it as a page, or as a note when a part of a page asked."""
    if "hx-request" in request.headers:
        made = show(request, MessagePart(title=title, words=words), status)
        made.headers["hx-retarget"], made.headers["hx-reswap"] = "#notes", "beforeend"
        return made
    return show(request, MessagePage(title=title, words=words), status)
